"""Commands for ready circuits and the vehicle's own sheets."""

import json
import re
from pathlib import Path

from cli.running import LAMP, Garage
from proveout.circuits import load_circuit, ready_names


def test_the_ready_circuits_are_listed(garage: Garage) -> None:
    assert [row["name"] for row in garage.twin("circuits", "list")["circuits"]] == list(ready_names())


def test_a_circuit_is_shown_with_what_can_be_typed(garage: Garage) -> None:
    says = garage.ok("circuits", "show", str(LAMP))
    assert "C1: Connector behind the guard" in says
    assert "light" in says
    assert "dim (burns dimly)" in says
    assert garage.twin("circuits", "show", str(LAMP))["proof"] == "light"


def test_a_sheet_is_made_checked_and_drawn(garage: Garage) -> None:
    sheet = garage.folder / "mine.yaml"
    garage.ok("circuits", "new", str(LAMP), str(sheet), "--set", "wire.w_feed.colour=GN/WH", "--set", "name=my-lamp")
    assert load_circuit(sheet).parts["w_feed"].colour == ["GN", "WH"]
    assert "no mistakes" in garage.ok("circuits", "check", str(sheet))
    drawing = garage.folder / "mine.svg"
    garage.ok("circuits", "draw", str(sheet), "--measure", "lamp_volts", "-o", str(drawing))
    assert drawing.read_text("utf-8").startswith("<svg")


def test_a_sheet_can_be_asked_for_colour_by_colour(garage: Garage) -> None:
    sheet = garage.folder / "mine.yaml"
    # Feed wire, ground wire, three cavities, one access time; Enter keeps what the base says.
    garage.ok("circuits", "new", str(LAMP), str(sheet), "--ask", typed="\nrot\nBU\n\n\n\n30\n")
    made = load_circuit(sheet)
    answers = [made.parts["w_feed"].colour, made.parts["w_gnd"].colour, made.access["guard"].minutes]
    assert answers != [["RD", "WH"], ["BN"], 12]


def test_a_file_that_is_there_is_not_written_over(garage: Garage) -> None:
    sheet = garage.folder / "mine.yaml"
    sheet.write_text("mine")
    assert "is there already" in garage.refused("circuits", "new", str(LAMP), str(sheet))
    assert sheet.read_text() == "mine"
    garage.ok("circuits", "new", str(LAMP), str(sheet), "--replace")
    assert load_circuit(sheet).name.startswith("work-lamp")


def test_the_keys_that_can_be_set_are_listed(garage: Garage) -> None:
    keys = {row["key"]: row["now"] for row in garage.twin("circuits", "new", str(LAMP), "--keys")["keys"]}
    assert keys["wire.w_feed.colour"] == "RD/WH"
    assert "give the FILE" in garage.refused("circuits", "new", str(LAMP))


def test_all_mistakes_of_a_file_are_reported_at_once_with_their_lines(garage: Garage) -> None:
    broken = garage.folder / "broken.yaml"
    text = (
        LAMP.read_text("utf-8").replace('cavity: "2", side', 'cavity: "9", side').replace("setup: dead", "setup: ded")
    )
    broken.write_text(text, "utf-8")
    says = garage.refused("circuits", "check", str(broken))
    lines = text.splitlines()
    for word in ('cavity: "9"', "setup: ded"):
        number = next(k for k, line in enumerate(lines, 1) if word in line)
        assert re.search(rf"broken\.yaml:line {number},", says), says


def test_the_schema_is_json_schema_printed_or_written(garage: Garage) -> None:
    schema = json.loads(garage.ok("circuits", "schema"))
    assert schema["$schema"].startswith("https://json-schema.org")
    file = garage.folder / "schema.json"
    garage.ok("circuits", "schema", "--service", "-o", str(file))
    assert json.loads(file.read_text("utf-8"))["properties"]["steps"]


def test_a_place_that_cannot_be_written_is_named(garage: Garage) -> None:
    (garage.folder / "file").write_text("in the way")
    place = Path(garage.folder / "file" / "x.svg")
    assert "cannot be written" in garage.refused("circuits", "draw", str(LAMP), "-o", str(place))


def test_an_unknown_measurement_is_not_drawn(garage: Garage) -> None:
    assert "lamp_volts" in garage.refused("circuits", "draw", str(LAMP), "--measure", "lamp_volt")
