"""The JSON Schema sees in an editor what it can of the same mistakes; jsonschema is the independent judge."""

from __future__ import annotations

import jsonschema
import pytest

from circuits.small_circuit import SMALL, SMALL_CHART
from proveout.circuits import chart_json_schema, circuit_json_schema
from proveout.circuits.marked_yaml import read_marked
from proveout.network.elements import ELEMENTS

VALIDATOR = jsonschema.Draft202012Validator(circuit_json_schema())


def test_the_schemas_are_themselves_valid_drafts_of_2020_12() -> None:
    jsonschema.Draft202012Validator.check_schema(circuit_json_schema())
    jsonschema.Draft202012Validator.check_schema(chart_json_schema())


def test_the_small_circuit_and_its_chart_fit() -> None:
    VALIDATOR.validate(read_marked(SMALL, "small").data)
    jsonschema.Draft202012Validator(chart_json_schema()).validate(read_marked(SMALL_CHART, "chart").data)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("kind: battery", "kind: batery"),
        ("area: 0.5}", "aera: 0.5}"),
        ("nodes: [bat, feed]", "nodes: [bat]"),
        ("    healthy: true\n", '    healthy: true\n    when: {key: ["on"]}\n'),
        ("      resistance_25: {value: 2500, tol: 0.05, source: common practice}\n", ""),
        ("faults: {resistive:", "faults: {resistve:"),
        ("colour: [BN]", "colour: [BR]"),
        ("proof: gauge\n", ""),
    ],
)
def test_a_mistake_that_an_editor_can_see_is_seen(old: str, new: str) -> None:
    assert not VALIDATOR.is_valid(read_marked(SMALL.replace(old, new), "small").data)


def test_every_kind_is_offered_with_its_values_and_their_units() -> None:
    part = circuit_json_schema()["$defs"]["Part"]
    assert [option["const"] for option in part["properties"]["kind"]["oneOf"]] == list(ELEMENTS)
    wire = next(rule for rule in part["allOf"] if rule["if"]["properties"]["kind"]["const"] == "wire")
    assert wire["then"]["properties"]["values"]["properties"]["area"]["description"].startswith(
        "cross-section of the copper [mm2]"
    )
