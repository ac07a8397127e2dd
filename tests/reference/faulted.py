"""What each part of a circuit is in one state of the vehicle: conditions, drawn tolerances and faults put together.

Written from the schema's words, apart from the product's own reading of them.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

from proveout.circuits.schema import Circuit, Driven, Part, Value
from proveout.network.elements import ELEMENTS

__all__ = ["Drawn", "Fault", "PartNow", "Situation", "part_now"]

Fault = tuple[str, str, float | None]
"""Part (or bridge), fault mode, and the value that the mode gives: of the parameter, a multiple of it, or None."""

Drawn = Mapping[tuple[str, str], float]
"""(part, parameter) to its drawn value; for a driven quantity, to its deviation from what the set-up says."""


@dataclass(frozen=True)
class Situation:
    """One state of the vehicle: a set-up, one of its phases (None where it has none), faults, drawn parameters."""

    circuit: Circuit
    setup: str
    phase: int | None = None
    faults: Sequence[Fault] = ()
    drawn: Drawn = field(default_factory=dict)

    @cached_property
    def settings(self) -> dict[str, str | float | bool]:
        """Every condition with its setting: the circuit's default, then the set-up's, then the phase's."""
        setup = self.circuit.setups[self.setup]
        found = {name: condition.default for name, condition in self.circuit.conditions.items()}
        found.update(setup.set)
        if self.phase is not None:
            found.update(setup.phases[self.phase].set)
        return found


@dataclass(frozen=True)
class PartNow:
    """A part as it is: its kind, nodes, values; whether it is there, may be on, and is held on or off by a fault."""

    kind: str
    nodes: tuple[str, ...]
    values: Mapping[str, float]
    present: bool
    enabled: bool
    held: bool | None


def part_now(situation: Situation, name: str) -> PartNow:
    """Return what a part is in a situation."""
    part = situation.circuit.parts[name]
    values = _sound_values(situation, name, part)
    held = _apply_faults(situation, name, part.kind, values)
    return PartNow(
        part.kind, tuple(part.nodes), values, _present(situation, name, part), _enabled(situation, part), held
    )


def _sound_values(situation: Situation, name: str, part: Part) -> dict[str, float]:
    settings = situation.settings
    values: dict[str, float] = {}
    for parameter, declared in ELEMENTS[part.kind].parameters.items():
        given = part.values.get(parameter, declared.default)
        drawn = situation.drawn.get((name, parameter))
        if isinstance(given, Driven):
            said = given.scale * float(settings[given.condition]) + given.offset
            values[parameter] = said + (drawn or 0.0)
        elif given is None:
            raise ValueError(f"part '{name}' has no value for '{parameter}'")
        else:
            sound = given.value if isinstance(given, Value) else given
            values[parameter] = sound if drawn is None else drawn
    return values


def _apply_faults(situation: Situation, name: str, kind: str, values: dict[str, float]) -> bool | None:
    held: bool | None = None
    for part, mode_name, value in situation.faults:
        if part != name:
            continue
        mode = next(m for m in ELEMENTS[kind].faults if m.name == mode_name)
        if mode.forced is not None:
            held = mode.forced
        elif mode.parameter is not None and value is not None:
            values[mode.parameter] = values[mode.parameter] * value if mode.relative else value
    return held


def _present(situation: Situation, name: str, part: Part) -> bool:
    setup = situation.circuit.setups[situation.setup]
    return name not in setup.removed and not (part.connector and part.connector in setup.unplugged)


def _enabled(situation: Situation, part: Part) -> bool:
    settings = situation.settings
    return all(settings[condition] in allowed for condition, allowed in part.when.items())
