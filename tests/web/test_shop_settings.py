"""The shop's settings: kept beside the cases, and obeyed in everything that is shown."""

from __future__ import annotations

from pathlib import Path

import pytest

from proveout.errors import StoreError
from proveout.web import Workbench
from proveout.web.figures import as_the_shop_writes
from proveout.web.shop_settings import ShopSettings, read_settings, write_settings
from web.story import harness_fields, words_of
from web.visitor import Visitor

SI, US, COMMA = ShopSettings(), ShopSettings(units="us"), ShopSettings(decimal=",")


@pytest.mark.parametrize(
    ("text", "settings", "written"),
    [
        ("Key off, engine cold, 20 C", US, "Key off, engine cold, 68 °F"),
        ("at 100 °C", US, "at 212 °F"),
        ("at -40 C", US, "at -40 °F"),
        ("hand pump at 50 kPa", US, "hand pump at 14.8 inHg"),
        ("rail at 300 kPa", US, "rail at 43.5 psi"),
        ("67.7 kPa (20.0 inHg)", US, "20.0 inHg"),
        ("67.7 kPa (20.0 inHg)", SI, "67.7 kPa"),
        ("at 20 C", SI, "at 20 C"),
        ("4.98 V to 5.02 V", COMMA, "4,98 V to 5,02 V"),
        ("1,081.50 EUR", COMMA, "1\u202f081,50 EUR"),
        ("P0335, CE cavity 41", COMMA, "P0335, CE cavity 41"),
        ("1.2.3 and 127.0.0.1", COMMA, "1.2.3 and 127.0.0.1"),
        ("CE 41, 43", COMMA, "CE 41, 43"),
    ],
)
def test_temperatures_pressures_and_decimals_are_as_the_shop_writes_them(
    text: str, settings: ShopSettings, written: str
) -> None:
    """Celsius to Fahrenheit by definition; 1 inHg = 3386.389 Pa and 1 psi = 6894.757 Pa: NIST SP 811, from memory."""
    assert as_the_shop_writes(text, settings) == written


def test_what_was_set_is_kept_and_obeyed(visitor: Visitor, bench: Workbench) -> None:
    fields = {"units": "us", "decimal": ",", "labour_rate": "104,5", "wrong_repair": "", "currency": "USD"}
    assert visitor.send("/settings", {**fields, "paper": "letter", "shop": "Quay"}).status_code == 303
    kept = bench.settings
    assert (kept.units, kept.decimal, kept.labour_rate, kept.wrong_repair) == ("us", ",", 104.5, 150.0)
    visitor.send("/cases/1/harness", harness_fields("CE"))
    assert "4,75 V to 5,25 V" in words_of(visitor.see("/cases/1?do=measure.reference_at_ce"))


@pytest.mark.parametrize(
    "fields",
    [{"labour_rate": "lots"}, {"units": "cubits"}, {"decimal": "·"}, {"language": "xx"}, {"currency": "x" * 50}],
)
def test_what_cannot_be_is_told_and_not_kept(visitor: Visitor, bench: Workbench, fields: dict[str, str]) -> None:
    answer = visitor.send("/settings", {"units": "si", "decimal": ".", "paper": "a4", "shop": "Quay", **fields})
    assert answer.status_code == 422
    assert 'value="Quay"' in answer.text
    assert bench.settings == ShopSettings()


def test_a_damaged_file_of_settings_is_told(tmp_path: Path) -> None:
    file = tmp_path / "shop.json"
    assert read_settings(file) == ShopSettings()
    write_settings(file, US)
    assert read_settings(file) == US
    file.write_text('{"units": "cubits"}')
    with pytest.raises(StoreError, match="put the file right or remove it"):
        read_settings(file)
    with pytest.raises(StoreError, match="cannot be kept"):
        write_settings(tmp_path / "nowhere" / "shop.json", US)
