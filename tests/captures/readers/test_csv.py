"""CSV as instruments and loggers write it: every form gives the same numbers, and what is odd is said."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proveout.captures.capture import Capture
from proveout.captures.readers import Overrules, read
from proveout.errors import InputError

TIMES = (0.0, 0.0005, 0.001, 0.0015, 0.002, 0.0025)
VOLTS = (0.25, -1.5, 3.125, 0.0, 4.5, -0.75)


def written(
    delimiter: str = ",",
    decimal: str = ".",
    newline: str = "\n",
    head: tuple[str, ...] = ("Time [s]", "Crank [V]"),
    unit: tuple[str, ...] = (),
    scale: tuple[float, float] = (1.0, 1.0),
    before: str = "",
    behind: str = "",
) -> str:
    """Write the recording with the csv module of the standard library."""
    file = io.StringIO()
    writer = csv.writer(file, delimiter=delimiter, lineterminator=behind + newline)
    for row in (head, unit):
        if row:
            writer.writerow(row)
    for time, volt in zip(TIMES, VOLTS, strict=True):
        cells = f"{time * scale[0]:.4f}", f"{volt * scale[1]:.3f}"
        writer.writerow([cell.replace(".", decimal) for cell in cells])
    return before + file.getvalue()


FORMS = {
    "comma": written(),
    "semicolon and decimal comma": written(";", ","),
    "tab and decimal comma": written("\t", ","),
    "bar": written("|"),
    "carriage return and line feed": written(newline="\r\n"),
    "carriage return": written(newline="\r"),
    "milliseconds and millivolt in a second header row": written(
        head=("Time", "Crank"), unit=("(ms)", "(mV)"), scale=(1e3, 1e3)
    ),
    "microseconds in words": written(head=("Time in us", "Crank in mV"), scale=(1e6, 1e3)),
    "an empty line between headings and numbers": written(head=("Time", "Crank"), unit=("s", "V\n"), newline="\n"),
    "lines about the instrument first": written(
        before="Instrument,Invented scope\nSerial,12345\nDate,2026-11-25 10:00:00\nRecord length,6\n\n"
    ),
    "a comment sign before the headings": written(head=("# Time [s]", "Crank [V]")),
    "a delimiter at the end of every row": written(behind=","),
    "a delimiter at the end of rows only": written(behind=",").replace("Crank [V],", "Crank [V]"),
    "quoted cells": written().replace("0.0005", '"0.0005"').replace("Crank [V]", '"Crank [V]"'),
    "no end of line at the end": written().rstrip("\n"),
    "aligned by spaces": written(" ", head=("Time[s]", "Crank[V]")).replace(" ", "     "),
}


def agrees(capture: Capture) -> None:
    (crank,) = capture.channels
    assert (crank.name, crank.unit) == ("Crank", "V")
    assert crank.clock.rate == 2000.0
    assert crank.clock.start == 0.0
    np.testing.assert_allclose(crank.samples, VOLTS, rtol=1e-6, atol=1e-9)


@pytest.mark.parametrize("form", FORMS)
def test_every_form_gives_the_same_recording(form: str) -> None:
    agrees(read(FORMS[form].encode()))


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_every_encoding_gives_the_same_recording(encoding: str) -> None:
    agrees(read(written(before="Ort;Köln\n", delimiter=";").encode(encoding)))


def test_a_degree_sign_that_was_encoded_twice_is_read_as_one() -> None:
    twice = "Time [s],Coolant [°C]\n0,22.5\n1,23\n2,23.5\n".encode().decode("latin-1").encode()
    assert read(twice).channels[0].unit == "°C"


def test_a_delimiter_at_the_end_of_every_row_shifts_no_column() -> None:
    text = "Time,A [V],B [V]\n" + "".join(f"{k / 10},{k},{-k},\n" for k in range(20))
    capture = read(text.encode())
    assert [channel.name for channel in capture.channels] == ["A", "B"]
    np.testing.assert_array_equal(capture.channel("A").samples, np.arange(20))
    np.testing.assert_array_equal(capture.channel("B").samples, -np.arange(20))


@pytest.mark.parametrize(
    ("lines", "rate"),
    [
        ("Sample Interval,1.0e-05,s", 1e5),
        ("Sample interval [us],10", 1e5),
        ("Sampling rate: 50 kHz", 5e4),
        ("# fs = 25000 Hz", 25e3),
        ("Abtastrate: 2 MS/s", 2e6),
        ("XINCR 4.0E-6", None),
        ("X Increment,4.0E-6", 2.5e5),
    ],
)
def test_a_sample_interval_above_the_table_gives_the_time_base(lines: str, rate: float | None) -> None:
    capture = read(f"Model,Invented\n{lines}\nVertical scale,0.5,V\nCH1 [V],CH2 [A]\n1.5,2\n1.6,3\n1.7,4\n".encode())
    assert [channel.unit for channel in capture.channels] == ["V", "A"]
    if rate is None:
        assert any("no time base" in note for note in capture.notes)
    else:
        assert capture.channels[0].clock.rate == pytest.approx(rate, rel=1e-12)
        assert any(guess.setting == "rate" for guess in capture.guesses)


def test_words_beside_the_first_rows_are_no_channel() -> None:
    side = ["Record Length,2500", "Sample Interval,2e-06", "Trigger Point,0"]
    rows = [f"{-0.005 + 2e-6 * k:.6f},{0.04 * (k % 3):.2f}" for k in range(60)]
    text = "\n".join(f"{side[k] if k < len(side) else ','},,{row}" for k, row in enumerate(rows)) + "\n"
    (channel,) = read(text.encode()).channels
    assert channel.clock.rate == 500_000
    assert channel.clock.start == -0.005
    np.testing.assert_allclose(channel.samples[:4], [0, 0.04, 0.08, 0], rtol=1e-6)


def test_an_increment_in_the_headings_gives_the_time_base() -> None:
    text = "X,CH1,Start,Increment,\nSequence,Volt,-1.0e-3,4.0e-06\n0,1.20,\n1,1.24,\n2,1.28,\n3,1.2,\n"
    channel = read(text.encode()).channel("CH1")
    assert (channel.unit, channel.clock.start, channel.clock.rate) == ("V", -1e-3, 250_000.0)


def test_without_any_time_base_the_times_are_called_sample_numbers() -> None:
    capture = read(b"1.5\n2.5\n0.25\n3\n")
    assert capture.channels[0].clock.rate == 1.0
    assert any("sample numbers, not seconds" in note for note in capture.notes)
    assert read(b"1.5\n2.5\n0.25\n3\n", Overrules(rate=1e4)).channels[0].clock.rate == 1e4


def test_over_range_marks_are_missing_samples_with_the_side_told() -> None:
    cells = ["1.5", "****", "OL", "-OL", "+OL", "inf", "-inf", "∞", "-∞", "", "9.9E37", "2"]
    text = "time [us],v [mV]\n" + "".join(f"{k},{cell}\n" for k, cell in enumerate(cells))
    capture = read(text.encode())
    (channel,) = capture.channels
    assert np.isnan(channel.samples[1:-1]).all()
    np.testing.assert_allclose(channel.samples[[0, -1]], [1.5e-3, 2e-3], rtol=1e-6)
    told = " ".join(capture.notes)
    assert "4 samples marked as above" in told
    assert "3 samples marked as below" in told
    assert "2 samples marked as beyond" in told
    assert channel.over_high == pytest.approx(2e-3)


def test_unevenly_spaced_samples_keep_their_own_times() -> None:
    channel = read(b"time,v\n0,1.5\n1.3,2.5\n1.9,0.25\n5,3\n").channels[0]
    assert not channel.clock.even
    assert not channel.clock.holds
    np.testing.assert_array_equal(channel.clock.at(np.arange(4)), [0, 1.3, 1.9, 5])


def test_a_list_of_edges_holds_each_value_until_the_next() -> None:
    text = b"Time [s],D0,D1\n0.0,0,0\n0.0123,1,0\n0.0224,1,1\n0.0330,0,1\n0.0450,0,0\n"
    capture = read(text)
    assert all(channel.clock.holds for channel in capture.channels)
    assert any(guess.setting == "holds" for guess in capture.guesses)
    assert not read(text, Overrules(holds=False)).channels[0].clock.holds


def test_in_a_log_with_one_value_a_row_each_channel_has_its_own_times() -> None:
    text = b"Time,A,B,C\n0.0,1.5,,\n0.1,,7,\n0.2,,,3\n0.31,1.6,,\n0.45,,8,\n0.5,,,4\n0.6,1.7,,\n"
    capture = read(text)
    np.testing.assert_allclose(capture.channel("A").samples, [1.5, 1.6, 1.7], rtol=1e-6)
    np.testing.assert_allclose(capture.channel("A").clock.at(np.arange(3)), [0, 0.31, 0.6])
    np.testing.assert_allclose(capture.channel("B").clock.at(np.arange(2)), [0.1, 0.45])


def test_a_log_that_starts_channel_by_channel_gives_each_its_own_start() -> None:
    """In the form of a recorded warm-up log: clock times, a last value repeated until the next one arrives."""
    rows = ["Time,Coolant [Â°C],Pressure [kPa],Speed [RPM]", "08:19:47.605,22,,", "08:19:47.696,22,98.0,"]
    rows += ["08:19:47.785,22,98.0,0.0", "08:19:47.875,23,98.0,0.0", "08:19:47.965,23,97.0,0.0"]
    rows += ["08:19:48.057,23,97.0,910.0", "08:19:48.150,24,97.0,910.0", "08:19:48.240,24,96.0,910.0"]
    capture = read("\n".join(rows).encode() + b"\n")
    coolant, pressure, speed = capture.channels
    assert (coolant.unit, pressure.unit, speed.unit) == ("°C", "Pa", "rpm")
    assert pressure.samples[0] == pytest.approx(98_000)
    assert coolant.clock.at(0) == pytest.approx(8 * 3600 + 19 * 60 + 47.605)
    assert pressure.clock.at(0) - coolant.clock.at(0) == pytest.approx(0.091)
    assert all(channel.clock.holds for channel in capture.channels)


def test_clock_times_go_on_past_midnight() -> None:
    channel = read(b"Time,U [V]\n23:59:59.5,1\n00:00:00.5,2\n00:00:01.5,5\n").channels[0]
    assert channel.clock.start == 86_399.5
    assert channel.clock.rate == 1.0


def test_dates_with_times_and_decimal_commas_are_read() -> None:
    text = "Datum/Zeit;U [V]\n25.11.2026 23:59:59,5;1,5\n26.11.2026 00:00:00,5;1,6\n26.11.2026 00:00:01,5;1,7\n"
    capture = read(text.encode(), Overrules(time_column="Datum/Zeit"))
    assert capture.channels[0].clock.rate == 1.0
    assert capture.details["first time stamp"] == "25.11.2026 23:59:59,5"


def test_stamps_too_coarse_for_the_rate_still_give_the_even_rate() -> None:
    text = "Time,A\n" + "".join(f"{k * 1e-6 + 0.001:.2e},{k % 7}.5\n" for k in range(2000))
    capture = read(text.encode())
    assert capture.channels[0].clock.rate == 1e6
    assert any(guess.what == "sample rate" and "rounding" in guess.why for guess in capture.guesses)


def test_time_running_backwards_is_told_and_never_mixed() -> None:
    joined = read(b"time,v\n0,1\n1,2\n2,3\n3,4\n0,9\n1,9\n")
    np.testing.assert_array_equal(joined.channels[0].samples, [1, 2, 3, 4])
    assert any("runs backwards at row 5" in note and "rows 1 to 4 of 6" in note for note in joined.notes)
    swapped = read(b"time,v\n0,1\n1,2\n3,4\n2,3\n4,5\n5,6\n6.5,7\n")
    np.testing.assert_array_equal(swapped.channels[0].samples, [1, 2, 3, 4, 5, 6, 7])
    assert any("put in order of time" in note for note in swapped.notes)


def test_a_time_stamp_that_comes_twice_loses_no_sample() -> None:
    capture = read(b"time,v\n0,1.5\n1,2.5\n1,0.25\n4,3\n4.5,2\n")
    times = capture.channels[0].clock.at(np.arange(5))
    assert capture.channels[0].samples.size == 5
    assert np.all(np.diff(times) > 0)
    np.testing.assert_allclose(times, [0, 1, 1, 4, 4.5])
    assert any("the same as the one before" in note for note in capture.notes)


def test_a_row_cut_short_at_the_end_is_left_out_and_told() -> None:
    capture = read(b"Time,A,B\n0.001,1.25,2.50\n0.002,1.26,2.51\n0.003,1.27,2.52\n0.004,1.2")
    assert capture.channel("A").samples.size == 3
    assert any("cut short" in note for note in capture.notes)


def test_irregular_rows_are_told() -> None:
    rows = "".join(f"0.0{k:02d},1.28,2.53\n" for k in range(10, 30))
    capture = read(f"Time,A,B\n0.008,1.26\nrecording paused\n0.009,1,2,7\n{rows}".encode())
    told = " ".join(capture.notes)
    assert "recording paused" in told
    assert "more than 3 cells" in told


def test_columns_of_words_are_left_out_and_levels_in_words_are_read() -> None:
    capture = read(b"Time,State,Comment\n0.001,high,a\n0.0021,low,b\n0.004,high,c\n0.0045,low,d\n")
    np.testing.assert_array_equal(capture.channel("State").samples, [1, 0, 1, 0])
    assert any("'Comment'" in note for note in capture.notes)


def test_commas_as_delimiter_and_decimal_sign_at_once_are_refused() -> None:
    with pytest.raises(InputError, match="both the delimiter and the decimal sign"):
        read(b"Time,CH1\n0,001,1,25\n0,002,1,26\n0,003,1,27\n")


def test_a_column_of_decimal_commas_alone_is_one_channel() -> None:
    np.testing.assert_allclose(read(b"Voltage\n0,123\n0,456\n0,012\n").channels[0].samples, [0.123, 0.456, 0.012])


def test_numbers_with_more_figures_than_single_precision_holds_stay_as_they_are() -> None:
    rows = "".join(f"{k},{20000000.25 + k}\n" for k in range(10))
    channel = read(f"Time [s],Count\n{rows}".encode()).channels[0]
    assert channel.samples.dtype == np.float64
    assert channel.samples[3] == 20000003.25


def test_a_column_that_merely_counts_the_rows_is_no_channel() -> None:
    for head in ("", "Sample", "No."):
        rows = "".join(f"{k},{k / 1000:.3f},{k % 5}\n" for k in range(20))
        (channel,) = read(f"{head},Time [s],A [V]\n{rows}".encode()).channels
        assert (channel.name, channel.clock.rate) == ("A", 1000.0)


def test_channels_with_a_time_column_each_keep_their_own_times() -> None:
    a, b = read(b"Time,A,Time,B\n0,1,0.5,7\n1,2,1.75,8\n2,1,2.5,9\n3,1,3.75,9\n").channels
    assert a.clock.rate == 1.0
    np.testing.assert_array_equal(b.clock.at(np.arange(4)), [0.5, 1.75, 2.5, 3.75])


def test_a_channel_that_measures_a_time_or_is_called_x_is_no_time() -> None:
    text = b"Sample interval,1 ms\nInjection time [ms],X,Battery [V]\n2.5,3,12.5\n2.6,1,12.6\n2.4,2,12.5\n"
    capture = read(text)
    assert [channel.name for channel in capture.channels] == ["Injection time", "X", "Battery"]
    assert capture.channels[0].clock.rate == 1000.0


def test_a_true_minus_sign_is_a_minus() -> None:
    np.testing.assert_array_equal(read("Time,A\n0,−0.5\n1,0.5\n2,−1\n".encode()).channels[0].samples, [-0.5, 0.5, -1])


def test_a_table_of_times_only_or_of_numbers_with_words_says_what_is_wrong() -> None:
    with pytest.raises(InputError, match="no column but a time"):
        read(b"Time\n0.5\n0.75\n0.9\n")
    with pytest.raises(InputError, match="hold no numbers are left out: 'A'"):
        read(b"Time,A\n0,1.5V\n1,2.5V\n2,1V\n")


def test_two_hundred_channels_are_read() -> None:
    head = "Time [ms]," + ",".join(f"C{k} [V]" for k in range(200))
    rows = [f"{t}," + ",".join(f"{t * k / 8:.3f}" for k in range(200)) for t in range(50)]
    capture = read("\n".join([head, *rows]).encode())
    assert len(capture.channels) == 200
    np.testing.assert_allclose(capture.channel("C199").samples, np.arange(50) * 199 / 8, atol=1e-3)


def test_epoch_stamps_in_milliseconds_are_recognised_and_told() -> None:
    capture = read(b"timestamp,A\n1764066467605,1\n1764066467705,2\n1764066467805,1\n")
    assert capture.channels[0].clock.rate == 10.0
    assert any(guess.setting == "time-unit" and guess.taken == "ms" for guess in capture.guesses)


@settings(max_examples=60, deadline=None)
@given(
    rows=st.lists(st.tuples(st.integers(-99_999, 99_999), st.integers(-99_999, 99_999)), min_size=3, max_size=60),
    delimiter=st.sampled_from([";", "\t", "|"]),
    decimal=st.sampled_from([".", ","]),
    newline=st.sampled_from(["\n", "\r\n", "\r"]),
    encoding=st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]),
    trailing=st.booleans(),
)
def test_what_is_written_in_any_form_comes_back(
    rows: list[tuple[int, int]], delimiter: str, decimal: str, newline: str, encoding: str, trailing: bool
) -> None:
    lines = [delimiter.join(["Time (ms)", "A (V)", "B (mV)"])]
    for k, (a, b) in enumerate(rows):
        cells = [f"{k * 0.5:.1f}", f"{a / 1000:.3f}", f"{b / 1000:.3f}"]
        lines.append(delimiter.join(cell.replace(".", decimal) for cell in cells) + delimiter * trailing)
    capture = read((newline.join(lines) + newline).encode(encoding))
    assert capture.channel("A").clock.rate == 2000.0
    np.testing.assert_allclose(capture.channel("A").samples, [a / 1000 for a, _ in rows], rtol=1e-6)
    np.testing.assert_allclose(capture.channel("B").samples, [b / 1e6 for _, b in rows], rtol=1e-6)


def test_a_file_is_read_the_same_from_a_disk_as_from_memory(tmp_path: Path) -> None:
    path = tmp_path / "a.txt"
    path.write_bytes(FORMS["comma"].encode())
    agrees(read(path))
    assert read(path).origin.sha256 == read(path.read_bytes()).origin.sha256
