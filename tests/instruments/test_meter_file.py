"""A shop describes its own meter in a file; mistakes are listed with their places."""

from importlib import resources
from pathlib import Path
from typing import Any

import pytest
import yaml

from proveout.errors import InputError
from proveout.instruments import Function, default_meter, load_meter


def _general_purpose() -> dict[str, Any]:
    file = resources.files("proveout.instruments") / "meters" / "general_purpose.yaml"
    content: dict[str, Any] = yaml.safe_load(file.read_text(encoding="utf-8"))
    return content


def _written(folder: Path, content: object) -> Path:
    path = folder / "shop.yaml"
    path.write_text(yaml.safe_dump(content), encoding="utf-8")
    return path


def test_the_general_purpose_meter_has_every_function() -> None:
    assert all(default_meter().has(function) for function in Function)


def test_a_copied_file_gives_the_same_meter(tmp_path: Path) -> None:
    assert load_meter(_written(tmp_path, _general_purpose())) == default_meter()


def test_every_value_has_its_source() -> None:
    def bare(node: object, place: str) -> list[str]:
        if isinstance(node, dict):
            has_value = any(isinstance(v, int | float) for v in node.values())
            found = [place] if has_value and not node.get("source") else []
            return found + [p for k, v in node.items() for p in bare(v, f"{place}.{k}")]
        if isinstance(node, list):
            return [p for i, v in enumerate(node) for p in bare(v, f"{place}[{i}]")]
        return []

    assert bare(_general_purpose(), "meter") == []


def test_a_shop_sets_its_own_input_resistance(tmp_path: Path) -> None:
    content = _general_purpose()
    content["functions"]["volts_dc"]["input_resistance"] = {"value": 1e6, "source": "the meter's manual"}
    assert load_meter(_written(tmp_path, content)).input_resistance(Function.VOLTS_DC) == 1e6


def test_all_mistakes_are_listed_with_their_places(tmp_path: Path) -> None:
    content = _general_purpose()
    content["colour"] = "yellow"
    content["functions"]["volts_dc"]["ranges"][0]["resolution"] = 0.003
    content["functions"]["ohms"]["ranges"].reverse()
    del content["functions"]["amps"]["least"]["source"]
    del content["leads"]["zeroed"]
    with pytest.raises(InputError) as caught:
        load_meter(_written(tmp_path, content))
    text = str(caught.value)
    for part in (
        "shop.yaml",
        "colour",
        "functions.volts_dc.ranges.0",
        "1, 2 or 5 times",
        "ascending order",
        "functions.amps.least.source",
        "leads.zeroed",
    ):
        assert part in text


@pytest.mark.parametrize(
    ("function", "key", "rule"),
    [
        ("ohms", "open_circuit_volts", "open_circuit_volts must be given"),
        ("volts_dc", "input_resistance", "input_resistance must be given"),
    ],
)
def test_what_a_function_needs_must_be_there(tmp_path: Path, function: str, key: str, rule: str) -> None:
    content = _general_purpose()
    del content["functions"][function][key]
    with pytest.raises(InputError, match=f"functions.{function}: {rule}"):
        load_meter(_written(tmp_path, content))


def test_an_ohms_range_needs_its_source_resistance(tmp_path: Path) -> None:
    content = _general_purpose()
    del content["functions"]["ohms"]["ranges"][0]["series_resistance"]
    with pytest.raises(InputError, match="positive series_resistance"):
        load_meter(_written(tmp_path, content))


@pytest.mark.parametrize(("key", "value"), [("low", 20.0), ("high", 2000.0)])
def test_the_ordinary_span_lies_within_the_whole(tmp_path: Path, key: str, value: float) -> None:
    content = _general_purpose()
    content["functions"]["volts_dc"]["broad"][key] = value
    with pytest.raises(InputError, match="low and high"):
        load_meter(_written(tmp_path, content))


def test_a_span_must_hold_zero(tmp_path: Path) -> None:
    content = _general_purpose()
    content["functions"]["volts_ac"]["least"]["value"] = 1.0
    with pytest.raises(InputError, match="least must lie between"):
        load_meter(_written(tmp_path, content))


@pytest.mark.parametrize("text", ["{", "just words", "[1, 2]", "", "functions: {torque: {}}"])
def test_a_file_of_another_kind_is_refused(tmp_path: Path, text: str) -> None:
    path = tmp_path / "shop.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=r"shop\.yaml"):
        load_meter(path)


def test_a_missing_or_unreadable_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"none\.yaml: .*cannot be read"):
        load_meter(tmp_path / "none.yaml")
    (tmp_path / "binary.yaml").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match=r"binary\.yaml: .*cannot be read"):
        load_meter(tmp_path / "binary.yaml")
