"""JSON Schema (draft 2020-12) of circuit files and service charts, for editors that complete and check as one types."""

from __future__ import annotations

import math
from typing import Any

from proveout.circuits.schema import Circuit
from proveout.circuits.service_chart import ServiceChart
from proveout.network.elements import ELEMENTS, Element, Parameter

__all__ = ["chart_json_schema", "circuit_json_schema"]

_DRAFT = "https://json-schema.org/draft/2020-12/schema"
_VALUE = [{"type": "number"}, {"$ref": "#/$defs/Value"}, {"$ref": "#/$defs/Driven"}]
_WRITTEN_AS_NUMBER = (
    ("Part", "cavity"),
    ("Point", "cavity"),
    ("Vehicle", "make"),
    ("Vehicle", "model"),
    ("Vehicle", "engine"),
)


def circuit_json_schema() -> dict[str, Any]:
    """Return the schema of a circuit file: the element kinds listed, each kind with its nodes and values described."""
    schema = Circuit.model_json_schema(by_alias=True)
    part = schema["$defs"]["Part"]
    part["properties"]["kind"] = {
        "description": "element kind",
        "oneOf": [{"const": kind.name, "title": kind.title} for kind in ELEMENTS.values()],
    }
    part["allOf"] = [_kind(kind) for kind in ELEMENTS.values()]
    for model, field in _WRITTEN_AS_NUMBER:
        schema["$defs"][model]["properties"][field]["type"] = ["string", "number"]
    return {"$schema": _DRAFT, **schema}


def chart_json_schema() -> dict[str, Any]:
    """Return the schema of a service chart."""
    return {"$schema": _DRAFT, **ServiceChart.model_json_schema()}


def _kind(kind: Element) -> dict[str, Any]:
    """Return what holds for a part of one kind."""
    required = [name for name, parameter in kind.parameters.items() if parameter.default is None]
    values = {
        "properties": {name: _parameter(parameter) for name, parameter in kind.parameters.items()},
        "additionalProperties": False,
        "required": required,
    }
    then: dict[str, Any] = {"nodes": _nodes(kind), "values": values, "faults": _faults(kind)}
    if not kind.switched:
        then["when"] = {"maxProperties": 0}
    return {
        "if": {"properties": {"kind": {"const": kind.name}}, "required": ["kind"]},
        "then": {"properties": then, **({"required": ["values"]} if required else {})},
    }


def _nodes(kind: Element) -> dict[str, Any]:
    count = len(kind.terminals)
    return {"description": f"nodes at: {', '.join(kind.terminals)}", "minItems": count, "maxItems": count}


def _faults(kind: Element) -> dict[str, Any]:
    modes = {mode.name: {"description": mode.title} for mode in kind.faults}
    return {"properties": modes, "additionalProperties": False}


def _parameter(parameter: Parameter) -> dict[str, Any]:
    unit = "no unit" if parameter.unit == "1" else parameter.unit
    default = "no default" if parameter.default is None else f"default {parameter.default:g}"
    span = f"{parameter.low:g} to {parameter.high:g}"
    described = {"description": f"{parameter.meaning} [{unit}], {span}, {default}", "anyOf": _VALUE}
    if parameter.default is None or math.isinf(parameter.default):
        return described
    return {**described, "default": parameter.default}
