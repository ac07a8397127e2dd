"""From a circuit to a network: placed elements, and each element's state in each phase of each set-up."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from proveout.circuits.schema import Circuit, Driven, Part, Setting, Stage, Value
from proveout.network import ELEMENTS, Netlist, PartState, Placed
from proveout.network.atmosphere import pressure_at

__all__ = [
    "Assembly",
    "PhaseState",
    "StageState",
    "assemble",
    "part_value",
    "phases_of",
    "settings_of",
    "stages_of",
    "surroundings",
    "tolerances",
]


@dataclass(frozen=True)
class Assembly:
    """A circuit with its netlist; bridges are parts of kind `bridge` after the circuit's own parts."""

    circuit: Circuit
    netlist: Netlist
    parts: Mapping[str, Part]


@dataclass(frozen=True)
class PhaseState:
    """One phase of a set-up: its share of the time and the state of every part, in the netlist's order."""

    share: float
    states: tuple[PartState, ...]


def assemble(circuit: Circuit) -> Assembly:
    """Return the circuit's network.

    Raises
    ------
    NetworkError
        If a part has the wrong number of nodes or nothing touches ground (the loader reports both with their lines).
    """
    parts = dict(circuit.parts)
    for name, bridge in circuit.bridges.items():
        parts[name] = Part(
            kind="bridge", nodes=list(bridge.nodes), title=bridge.title, values={"resistance": bridge.insulation}
        )
    placed = [Placed(name, ELEMENTS[part.kind], tuple(part.nodes)) for name, part in parts.items()]
    return Assembly(
        circuit,
        Netlist(
            placed, circuit.ground, circuit.leakage, {str(name): value for name, value in circuit.leakages.items()}
        ),
        parts,
    )


def settings_of(circuit: Circuit, setup: str, phase: int = 0) -> dict[str, Setting]:
    """Return the value of every condition in one phase of a set-up."""
    chosen = circuit.setups[setup]
    settings: dict[str, Setting] = {name: condition.default for name, condition in circuit.conditions.items()}
    settings.update(chosen.set)
    if chosen.phases:
        settings.update(chosen.phases[phase].set)
    return settings


def part_value(value: float | Value | Driven, settings: Mapping[str, Setting]) -> float:
    """Return the number a part's value stands for under the given conditions."""
    if isinstance(value, Value):
        return value.value
    if isinstance(value, Driven):
        return value.scale * float(settings[value.condition]) + value.offset
    return value


@dataclass(frozen=True)
class StageState:
    """One stage of a sequence: how long it lasts [s], the state of every part, whether it ends a repetition."""

    seconds: float
    states: tuple[PartState, ...]
    ends_repetition: bool


def stages_of(assembly: Assembly, setup: str) -> tuple[StageState, ...]:
    """Return the stages of a set-up's sequence, one after another, repetitions written out; none where it settles."""
    settings = settings_of(assembly.circuit, setup)
    found = []
    for stage, ends in _in_turn(assembly.circuit.setups[setup].sequence, repeated=False):
        settings = {**settings, **stage.set}
        states = tuple(_state_under(assembly, setup, name, settings) for name in assembly.parts)
        found.append(StageState(stage.seconds or 0.0, states, ends))
    return tuple(found)


def _in_turn(stages: Sequence[Stage], *, repeated: bool) -> Iterator[tuple[Stage, bool]]:
    for k, stage in enumerate(stages):
        last = repeated and k == len(stages) - 1
        if not stage.stages:
            yield stage, last
        for _ in range(stage.times if stage.stages else 0):
            yield from _in_turn(stage.stages, repeated=True)


def phases_of(assembly: Assembly, setup: str) -> tuple[PhaseState, ...]:
    """Return the phases of a set-up with the state of every part in each."""
    chosen = assembly.circuit.setups[setup]
    shares = [phase.share for phase in chosen.phases] or [1.0]
    return tuple(
        PhaseState(share, tuple(_state(assembly, setup, name, k) for name in assembly.parts))
        for k, share in enumerate(shares)
    )


def _state(assembly: Assembly, setup: str, name: str, phase: int) -> PartState:
    return _state_under(assembly, setup, name, settings_of(assembly.circuit, setup, phase))


def _state_under(assembly: Assembly, setup: str, name: str, settings: Mapping[str, Setting]) -> PartState:
    part, chosen = assembly.parts[name], assembly.circuit.setups[setup]
    parameters = ELEMENTS[part.kind].parameters
    values = {key: parameter.default for key, parameter in parameters.items() if parameter.default is not None}
    values.update({key: surroundings(p.surroundings, settings) for key, p in parameters.items() if p.surroundings})
    values.update({key: part_value(value, settings) for key, value in part.values.items()})
    on = all(settings[condition] in allowed for condition, allowed in part.when.items())
    present = name not in chosen.removed and part.connector not in chosen.unplugged
    return PartState(values, on, present)


def surroundings(what: str, settings: Mapping[str, Setting]) -> float:
    """Return what the surroundings give: the air's pressure [Pa] at the numeric condition `altitude` [m], if any.

    Raises
    ------
    LookupError
        If nothing of the surroundings is called `what`.
    """
    if what != "air_pressure":
        raise LookupError(f"the surroundings have no '{what}'; they have 'air_pressure'")
    return float(pressure_at(float(settings.get("altitude", 0.0))))


def tolerances(assembly: Assembly) -> tuple[tuple[str, str, float, bool], ...]:
    """Return (part, parameter, standard deviation, relative) of every value that may differ from what the file says."""
    found: list[tuple[str, str, float, bool]] = []
    for name, part in assembly.parts.items():
        for parameter, value in part.values.items():
            if isinstance(value, Value) and value.tol > 0:
                found.append((name, parameter, 0.5 * value.tol, True))
            elif isinstance(value, Driven) and value.spread > 0:
                found.append((name, parameter, value.spread, False))
    return tuple(found)
