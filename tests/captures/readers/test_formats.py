"""Files written by independent libraries give the numbers that were written."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pyarrow as pa
import pytest
from asammdf import MDF, Signal
from numpy.typing import NDArray
from pyarrow import feather, parquet
from scipy.io import wavfile
from vcd import VCDWriter

from proveout.captures.readers import ChannelOverrule, Overrules, read
from proveout.errors import InputError

COUNT = 400
TIMES = np.arange(COUNT) / 800
WAVE = np.sin(2 * np.pi * 50 * TIMES)


@pytest.mark.parametrize(
    ("kind", "full"),
    [("int16", 32768.0), ("int32", 2147483648.0), ("uint8", 128.0), ("float32", 1.0), ("float64", 1.0)],
)
def test_wav_written_by_scipy(kind: str, full: float) -> None:
    tracks = np.stack([0.5 * WAVE, -0.25 * WAVE], axis=1)
    offset = 128 if kind == "uint8" else 0
    stored = (tracks * full + offset).astype(kind)
    file = io.BytesIO()
    wavfile.write(file, 800, stored)
    capture = read(file.getvalue())
    for channel, track in zip(capture.channels, tracks.T, strict=True):
        assert channel.clock.rate == 800
        np.testing.assert_allclose(channel.samples, track, atol=1.0 / full if full > 1 else 1e-7)
    assert any(guess.what == "full scale" for guess in capture.guesses) == (full > 1)


def test_wav_at_full_scale_is_called_clipped() -> None:
    file = io.BytesIO()
    wavfile.write(file, 800, np.clip(40_000 * WAVE, -32768, 32767).astype(np.int16))
    capture = read(file.getvalue(), Overrules(channels={"channel 1": ChannelOverrule(unit="V", full_scale=20.0)}))
    (channel,) = capture.channels
    assert (channel.unit, channel.over_low) == ("V", -20.0)
    assert channel.samples.min() == -20.0
    assert any("clipped" in note for note in capture.notes)


def test_wav_cut_short_is_told() -> None:
    file = io.BytesIO()
    wavfile.write(file, 800, (WAVE * 1000).astype(np.int16))
    capture = read(file.getvalue()[:-200])
    assert capture.channels[0].samples.size == COUNT - 100
    assert any("cut short" in note for note in capture.notes)


@pytest.fixture(scope="module")
def mdf(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two groups with clocks of their own, one channel with a linear conversion, one with invalid samples."""
    path = tmp_path_factory.mktemp("mdf") / "a.mf4"
    counts = (np.arange(COUNT) % 200).astype(np.uint8)
    invalid = np.arange(COUNT) % 100 == 7
    with MDF(version="4.10") as file:
        file.append(
            [
                Signal(WAVE, TIMES, unit="mV", name="Crank"),
                Signal(counts, TIMES, unit="A", name="Clamp", conversion={"a": 0.5, "b": 1.0}),
                Signal(WAVE, TIMES, unit="V", name="Partly", invalidation_bits=invalid),
            ]
        )
        file.append([Signal(np.array([0, 1, 0, 1], np.uint8), np.array([0, 0.1, 0.25, 0.7]), name="Level")])
        file.append([Signal(np.array([b"idle", b"off "]), np.array([0.0, 1.0]), name="Words", encoding="utf-8")])
        file.save(path, overwrite=True)
    return path


def test_mdf_written_by_asammdf(mdf: Path) -> None:
    capture = read(mdf)
    assert [channel.name for channel in capture.channels] == ["Crank", "Clamp", "Partly", "Level"]
    np.testing.assert_allclose(capture.channel("Crank").samples, WAVE / 1000, rtol=1e-12)
    np.testing.assert_array_equal(capture.channel("Clamp").samples, (np.arange(COUNT) % 200) * 0.5 + 1)
    assert capture.channel("Clamp").samples.dtype == np.float32
    assert capture.channel("Crank").clock.rate == 800
    np.testing.assert_array_equal(capture.channel("Level").clock.at(np.arange(4)), [0, 0.1, 0.25, 0.7])
    assert np.isnan(capture.channel("Partly").samples[7::100]).all()
    assert any("'Words' holds no plain numbers" in note for note in capture.notes)


def test_a_rate_that_is_given_goes_before_the_times_in_the_file(mdf: Path) -> None:
    for data in (mdf.read_bytes(), as_parquet(), as_feather(), b"Time,A\n0,1\n1,2\n3,4\n"):
        capture = read(data, Overrules(rate=5000.0))
        assert {channel.clock.rate for channel in capture.channels} == {5000.0}
        assert "time" not in {channel.name.casefold() for channel in capture.channels}
    with pytest.raises(InputError, match="leave the rate out"):
        read(dump(np.array([7, 9])), Overrules(rate=5000.0))


def test_mdf_packed_by_asammdf(mdf: Path, tmp_path: Path) -> None:
    with MDF(mdf) as file:
        file.save(tmp_path / "packed.mf4", compression=2)
    np.testing.assert_array_equal(read(tmp_path / "packed.mf4").channel("Crank").samples, read(mdf).channels[0].samples)


def test_mdf_of_an_older_version_is_named(tmp_path: Path) -> None:
    with MDF(version="3.30") as file:
        file.append([Signal(WAVE, TIMES, name="Crank")])
        file.save(tmp_path / "old.mdf")
    with pytest.raises(InputError, match=r"version '3\.30'"):
        read(tmp_path / "old.mdf")


def test_mdf_whose_links_lead_in_a_circle_is_refused(mdf: Path) -> None:
    data = bytearray(mdf.read_bytes())
    first = int.from_bytes(data[64 + 24 : 64 + 32], "little")  # head block: link to the first data group
    data[first + 24 : first + 32] = first.to_bytes(8, "little")  # data group: link to the next one
    with pytest.raises(InputError, match="circle"):
        read(bytes(data))


def test_mdf_cut_short_is_refused_with_what_to_do(mdf: Path) -> None:
    data = mdf.read_bytes()
    with pytest.raises(InputError, match=r"damaged or cut short.*copy it again"):
        read(data[: len(data) // 2])


def table() -> pa.Table:
    gaps = pa.array([None if k % 50 == 3 else float(value) for k, value in enumerate(WAVE)])
    return pa.table(
        {
            "time [ms]": TIMES * 1000,
            "Crank": pa.array((WAVE * 1000).astype(np.int32)),
            "Cam [mV]": gaps,
            "On": pa.array(WAVE > 0),
            "Word": pa.array(["x"] * COUNT),
        },
        schema=pa.schema(
            [
                pa.field("time [ms]", pa.float64()),
                pa.field("Crank", pa.int32(), metadata={"unit": "mV"}),
                pa.field("Cam [mV]", pa.float64()),
                pa.field("On", pa.bool_()),
                pa.field("Word", pa.string()),
            ]
        ),
    )


def as_parquet() -> bytes:
    file = io.BytesIO()
    parquet.write_table(table(), file, row_group_size=100)
    return file.getvalue()


def as_feather() -> bytes:
    file = io.BytesIO()
    feather.write_feather(table(), file, compression="zstd", chunksize=150)
    return file.getvalue()


def as_stream() -> bytes:
    file = io.BytesIO()
    with pa.ipc.new_stream(file, table().schema) as writer:
        writer.write_table(table(), max_chunksize=77)
    return file.getvalue()


@pytest.mark.parametrize(
    ("write", "name"),
    [(as_parquet, "parquet"), (as_feather, "arrow"), (as_stream, "arrow")],
    ids=["parquet", "feather", "stream"],
)
def test_tables_written_by_pyarrow(write: object, name: str) -> None:
    assert callable(write)
    capture = read(write())
    assert capture.origin.format == name
    crank, cam, on = capture.channels
    assert (crank.unit, cam.unit, on.unit) == ("V", "V", "")
    assert crank.clock.rate == 800
    np.testing.assert_allclose(crank.samples, (WAVE * 1000).astype(np.int32) / 1000, rtol=1e-6)
    assert np.isnan(cam.samples[3::50]).all()
    np.testing.assert_allclose(np.delete(cam.samples, np.s_[3::50]), np.delete(WAVE / 1000, np.s_[3::50]), rtol=1e-6)
    np.testing.assert_array_equal(on.samples, WAVE > 0)
    assert any("'Word'" in note for note in capture.notes)


def test_time_stamps_of_a_table_lose_nothing_to_the_size_of_a_date() -> None:
    stamps = pa.array(np.arange(COUNT) * 250 + 1_764_066_467_605_000_123, pa.timestamp("ns"))
    file = io.BytesIO()
    parquet.write_table(pa.table({"at": stamps, "A": WAVE}), file)
    assert read(file.getvalue()).channels[0].clock.rate == 4e6


def test_numpy_archive_with_times_and_with_a_rate() -> None:
    with_times, with_rate = io.BytesIO(), io.BytesIO()
    np.savez_compressed(with_times, t=TIMES, crank=WAVE)
    np.savez(with_rate, fs=np.array(800), crank=WAVE, pair=np.stack([WAVE, -WAVE]))
    for file, names in ((with_times, ["crank"]), (with_rate, ["crank", "pair 1", "pair 2"])):
        capture = read(file.getvalue())
        assert [channel.name for channel in capture.channels] == names
        assert capture.channels[0].clock.rate == 800
        np.testing.assert_array_equal(capture.channels[0].samples, WAVE)


@pytest.mark.parametrize("kind", ["<f4", ">f8", "<i2", "u1", "<i8", "?"])
@pytest.mark.parametrize("order", ["C", "F"])
def test_numpy_arrays_of_every_type(kind: str, order: str) -> None:
    written = np.asarray(np.stack([np.arange(COUNT) % 2, np.arange(COUNT) % 3 % 2], axis=1), dtype=kind, order=order)  # type: ignore[call-overload]
    file = io.BytesIO()
    np.save(file, written)
    capture = read(file.getvalue(), Overrules(rate=1000.0))
    for channel, track in zip(capture.channels, written.T, strict=True):
        np.testing.assert_array_equal(channel.samples, track.astype(float))


def test_numpy_records_name_their_channels() -> None:
    records = np.zeros(COUNT, dtype=[("time", "f8"), ("crank [mV]", "f4")])
    records["time"], records["crank [mV]"] = TIMES, WAVE
    file = io.BytesIO()
    np.save(file, records)
    channel = read(file.getvalue()).channel("crank")
    assert (channel.unit, channel.clock.rate) == ("V", 800)


def test_arrays_of_objects_are_never_loaded() -> None:
    file = io.BytesIO()
    np.save(file, np.array([{"a": 1}], dtype=object), allow_pickle=True)
    with pytest.raises(InputError, match="Python objects"):
        read(file.getvalue())


def dump(write_levels: NDArray[np.int64]) -> bytes:
    file = io.StringIO()
    with VCDWriter(file, timescale="10 us", date="2026-11-25") as writer:
        bit = writer.register_var("top", "level", "wire", size=1, init=0)
        count = writer.register_var("top", "count", "integer", size=8, init=3)
        real = writer.register_var("top.inner", "volts", "real", init=1.5)
        for k, tick in enumerate(write_levels, start=1):
            writer.change(bit, int(tick), k % 2)
            writer.change(count, int(tick), k % 256)
            writer.change(real, int(tick), k / 2)
    return file.getvalue().encode()


def test_vcd_written_by_pyvcd() -> None:
    ticks = np.array([7, 9, 30, 31, 80])
    capture = read(dump(ticks))
    level, count, volts = capture.channels
    assert [channel.name for channel in capture.channels] == ["top.level", "top.count", "top.inner.volts"]
    assert level.clock.holds
    np.testing.assert_allclose(level.clock.at(np.arange(6)), np.array([0, *ticks]) * 1e-5, rtol=1e-12)
    np.testing.assert_array_equal(level.samples, [0, 1, 0, 1, 0, 1])
    np.testing.assert_array_equal(count.samples, [3, 1, 2, 3, 4, 5])
    np.testing.assert_array_equal(volts.samples, [1.5, 0.5, 1, 1.5, 2, 2.5])


def test_vcd_in_the_words_of_the_standard() -> None:
    """IEEE 1364-2005, clause 18.2: declarations, dumpvars, scalar and vector changes, unknown and high impedance."""
    text = """
    $date June 26, 1989 10:05:41 $end
    $version by hand $end
    $timescale 1 ns $end
    $scope module top $end
    $var wire 1 *@ clock $end
    $var reg 4 (k bus [3:0] $end
    $upscope $end
    $enddefinitions $end
    #500 $dumpvars x*@ bx (k $end
    #505 0*@ b1010 (k
    #510 1*@
    #520 z*@ b11 (k
    #600
    """
    clock, bus = read(text.encode()).channels
    np.testing.assert_allclose(clock.clock.at(np.arange(5)), np.array([500, 505, 510, 520, 600]) * 1e-9)
    np.testing.assert_array_equal(clock.samples, [np.nan, 0, 1, np.nan, np.nan])
    np.testing.assert_array_equal(bus.samples, [np.nan, 10, 3, 3])


def test_vcd_cut_short_gives_what_came_before() -> None:
    text = dump(np.arange(1, 400))
    capture = read(text[: len(text) // 2] + b"\n#9x9\n")
    assert capture.channels[0].samples.size > 100
    assert any("what came before is read" in note for note in capture.notes)
