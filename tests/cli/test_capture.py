"""A recording alone: read, explained and compared from the command line."""

from __future__ import annotations

import hashlib
import json
from pathlib import Path

import numpy as np
import pytest

from cli.recordings import crank_csv
from cli.running import Garage
from proveout.cli.capture_lines import quantity
from proveout.cli.capture_overrules import clamp_scale


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("recordings")
    (made / "crank.csv").write_text(crank_csv(lost=1), "utf-8")
    (made / "good.csv").write_text(crank_csv(lost=0), "utf-8")
    return made


def test_a_file_alone_is_read_and_understood(garage: Garage, folder: Path) -> None:
    said = garage.ok("capture", "read", str(folder / "crank.csv"))
    assert "Crank  V  crank sensor" in said
    assert "at 20 kHz" in said
    assert "--attenuation 'Crank=...'" in said
    assert "wheel: 60-2" in said
    assert "lost tooth" in said
    assert "Not decided" in said


def test_the_twin_holds_what_the_text_says(garage: Garage, folder: Path) -> None:
    twin = garage.twin("capture", "read", str(folder / "crank.csv"))
    assert twin["capture"]["origin"]["sha256"] == twin["findings"]["sha256"]
    assert twin["capture"]["channels"][0]["rate"] == 20_000
    assert {guess["setting"] for guess in twin["capture"]["guesses"]} >= {"delimiter", "decimal", "attenuation"}
    assert [f["word"] for f in twin["findings"]["findings"] if f["name"] == "wheel"] == ["60-2"]
    assert sum(mark["kind"] == "lost tooth" for mark in twin["findings"]["marks"]) == 1


def test_a_guess_is_overruled_by_the_option_that_stands_beside_it(garage: Garage, folder: Path) -> None:
    words = [
        "--attenuation",
        "Crank=10:1",
        "--rate",
        "40000",
        "--rename",
        "Crank=Engine",
        "--role",
        "Crank=crank sensor",
    ]
    twin = garage.twin("capture", "read", str(folder / "crank.csv"), *words)
    (channel,) = twin["capture"]["channels"]
    assert (channel["name"], channel["rate"]) == ("Engine", 40_000)
    assert twin["findings"]["roles"]["Engine"] == {"role": "crank sensor", "why": "as given", "given": True}
    (high,) = [f for f in twin["findings"]["findings"] if f["name"] == "high level"]
    assert high["value"] == pytest.approx(50, rel=0.02)
    assert not any(guess["setting"] == "attenuation" for guess in twin["capture"]["guesses"])


def test_a_log_of_many_channels_is_read_without_a_word_of_setting(garage: Garage, tmp_path: Path) -> None:
    rows = [
        f"08:19:{20 + k * 0.1:06.3f},{22 + k // 40},{98.0 + (k // 7) % 3},{900 + (k // 3) % 5 * 10}" for k in range(300)
    ]
    path = tmp_path / "log.txt"
    path.write_text("Time,Coolant [Â°C],Pressure [kPa],Speed [RPM]\n" + "\n".join(rows) + "\n", "utf-8")
    said = garage.ok("capture", "read", str(path))
    assert "Coolant" in said
    assert "°C" in said


def test_two_recordings_are_compared_figure_by_figure(garage: Garage, folder: Path) -> None:
    said = garage.ok("capture", "compare", str(folder / "crank.csv"), str(folder / "good.csv"))
    assert "lost teeth of Crank: up from 0 to 1" in said
    twin = garage.twin("capture", "compare", str(folder / "crank.csv"), str(folder / "good.csv"))
    (row,) = [row for row in twin["rows"] if row["name"] == "lost teeth"]
    assert (row["value"], row["reference"], row["verdict"]) == (1, 0, "changed")


def test_what_cannot_be_read_is_said_in_one_sentence(garage: Garage, tmp_path: Path) -> None:
    (tmp_path / "empty.csv").write_bytes(b"")
    (tmp_path / "picture.csv").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(100))
    assert "0 bytes" in garage.refused("capture", "read", str(tmp_path / "empty.csv"))
    assert "a PNG picture" in garage.refused("capture", "read", str(tmp_path / "picture.csv"))
    assert "cannot be read" in garage.refused("capture", "read", str(tmp_path / "none.csv"))
    assert "no scale of a current clamp" in garage.refused("capture", "read", "a.csv", "--clamp", "A=much")
    assert "no number for --attenuation" in garage.refused("capture", "read", "a.csv", "--attenuation", "A=x")


def test_a_constant_channel_and_a_missing_one_are_read_to_the_end(garage: Garage, tmp_path: Path) -> None:
    path = tmp_path / "flat.csv"
    path.write_text("Time [ms],Flat [V],None [V]\n" + "".join(f"{k},5.0,NaN\n" for k in range(50)), "utf-8")
    twin = json.loads(garage.ok("capture", "read", str(path), "--json"))
    assert any("constant" in note for note in twin["capture"]["notes"])
    assert any("no usable sample" in note for note in twin["capture"]["notes"])
    assert twin["findings"]["undecided"]


@pytest.mark.parametrize(
    ("text", "scale"), [("10mV/A", 100.0), ("100 A/V", 100.0), ("1mV/A", 1000.0), ("0.1 V/A", 10.0), ("20", 20.0)]
)
def test_the_scale_of_a_clamp_is_read_as_it_is_printed_on_it(text: str, scale: float) -> None:
    assert clamp_scale(text) == pytest.approx(scale)


@pytest.mark.parametrize(
    ("value", "unit", "uncertainty", "text"),
    [
        (4.9991, "V", 0.0014, "4.999 ± 0.0014 V"),
        (0.003, "V", 0.0016, "3 ± 1.6 mV"),
        (0.001 - 1e-12, "V", None, "1 mV"),
        (29987.605, "s", None, "29987.6 s"),
        (101_325.0, "Pa", None, "101.3 kPa"),
        (58.0, "1", None, "58"),
        (None, "V", None, "not known"),
        (0.0, "V", None, "0 V"),
    ],
)
def test_a_quantity_stands_with_its_uncertainty_under_one_prefix(
    value: float | None, unit: str, uncertainty: float | None, text: str
) -> None:
    assert quantity(value, unit, uncertainty) == text


def lamp_csv(folder: Path, volts: float) -> Path:
    """Write a recording of an invented work lamp's feed."""
    rng = np.random.default_rng(7)
    rows = "".join(f"{k / 1000:.3f},{value:.3f}\n" for k, value in enumerate(volts + rng.normal(0, 0.01, 2000)))
    path = folder / "lamp.csv"
    path.write_text("Time [s],Feed [V]\n" + rows, "utf-8")
    return path


def test_a_recording_is_attached_and_moves_the_suspects(garage: Garage, tmp_path: Path) -> None:
    garage.lamp()
    garage.ok("harness", "C1", "1=RD/WH", "2=BN")
    said = garage.ok("capture", "attach", str(lamp_csv(tmp_path, 9.0)), "lamp_volts", "--note", "engine off")
    assert "Voltage at the lamp: 9.00 V" in said
    assert "lamp.csv, channel Feed" in said
    assert "OUTSIDE; the manual says" in said
    assert "Rules out" in said
    assert "Voltage at the lamp: 9.00 V" in garage.ok("log")
    assert "Voltage at the lamp: 9.00 V" in garage.ok("show")
    assert "lamp_volts" not in garage.ok("next")


def test_the_attached_file_is_kept_and_its_fingerprint_stands_in_the_report(garage: Garage, tmp_path: Path) -> None:
    garage.lamp()
    garage.ok("harness", "C1", "1=RD/WH", "2=BN")
    file = lamp_csv(tmp_path, 9.0)
    garage.ok("capture", "attach", str(file), "lamp_volts")
    fingerprint = hashlib.sha256(file.read_bytes()).hexdigest()
    kept = garage.folder / "captures" / "originals" / fingerprint[:2] / fingerprint
    assert kept.read_bytes() == file.read_bytes()
    garage.ok("report", "-o", str(tmp_path))
    page = (tmp_path / "case-1.html").read_text("utf-8")
    assert "Recorded signals" in page
    assert fingerprint in page.replace("&#8203;", "").replace("<wbr>", "")
    assert "lamp.csv" in page


def test_an_attached_recording_can_be_taken_back(garage: Garage, tmp_path: Path) -> None:
    garage.lamp()
    garage.ok("harness", "C1", "1=RD/WH", "2=BN")
    before = garage.twin("show")["suspects"]
    garage.ok("capture", "attach", str(lamp_csv(tmp_path, 9.0)), "lamp_volts")
    garage.ok("undo")
    assert garage.twin("show")["suspects"] == before


def test_a_recording_needs_the_harness_check_and_a_measurement_that_it_answers(garage: Garage, tmp_path: Path) -> None:
    garage.lamp()
    file = str(lamp_csv(tmp_path, 9.0))
    assert "no probing at C1" in garage.refused("capture", "attach", file, "lamp_volts")
    garage.ok("harness", "C1", "1=RD/WH", "2=BN")
    assert "no capture answers" in garage.refused("capture", "attach", file, "ground_ohms")
    assert "did you mean 'lamp_volts'" in garage.refused("capture", "attach", file, "lamp_volt")
    assert "no channel 'B'; it has 'Feed'" in garage.refused("capture", "attach", file, "lamp_volts", "--channel", "B")
