"""Conditions, and the set-ups that fix them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from proveout.circuits.consistency.settings import check_setting, check_settings
from proveout.circuits.finding import Finding, Path, unknown
from proveout.circuits.schema import Circuit, Setup, Stage

__all__ = ["check_conditions"]


def check_conditions(circuit: Circuit) -> Iterator[Finding]:
    """Check every condition's default and every set-up."""
    for name, condition in circuit.conditions.items():
        yield from check_setting(condition, name, ("conditions", name, "default"), condition.default)
    for name, setup in circuit.setups.items():
        yield from _check_setup(circuit, ("setups", name), setup)


def _check_setup(circuit: Circuit, path: Path, setup: Setup) -> Iterator[Finding]:
    yield from check_settings(circuit, (*path, "set"), setup.set)
    for place, phase in enumerate(setup.phases):
        yield from check_settings(circuit, (*path, "phases", place, "set"), phase.set)
    yield from _check_stages(circuit, (*path, "sequence"), setup.sequence)
    if setup.sequence and setup.phases:
        found, instead = "both 'phases' and a 'sequence'", "Remove one of them: a set-up repeats or runs in time"
        yield Finding((*path, "sequence"), found, "one of them", instead)
    yield from _check_shares(path, setup)
    for place, name in enumerate(setup.unplugged):
        if name not in circuit.connectors:
            yield unknown((*path, "unplugged", place), "connector", name, circuit.connectors, "connectors")
    for place, name in enumerate(setup.removed):
        if name not in circuit.parts:
            yield unknown((*path, "removed", place), "part", name, circuit.parts, "parts")


def _check_stages(circuit: Circuit, path: Path, stages: Sequence[Stage]) -> Iterator[Finding]:
    """Check the stages of a sequence: each lasts, or goes through stages of its own."""
    for place, stage in enumerate(stages):
        at = (*path, place)
        yield from check_settings(circuit, (*at, "set"), stage.set)
        if stage.stages and (stage.seconds is not None or stage.set):
            found = "'seconds' or 'set' beside 'stages'"
            yield Finding(at, found, "stages that last themselves", "Move it to one of the stages inside")
        elif not stage.stages and stage.seconds is None:
            found = "a stage without 'seconds'"
            yield Finding(at, found, "how long it lasts, in seconds", "Add 'seconds: ...', or 'stages' to repeat")
        elif not stage.stages and stage.times > 1:
            found = f"'times: {stage.times}' without stages"
            yield Finding(at, found, "'stages' to go through so often", "Put the stage into 'stages', or remove it")
        yield from _check_stages(circuit, (*at, "stages"), stage.stages)


def _check_shares(path: Path, setup: Setup) -> Iterator[Finding]:
    total = math.fsum(phase.share for phase in setup.phases)
    if setup.phases and not math.isclose(total, 1.0, abs_tol=1e-6):
        found = f"shares of the phases that sum to {total:g}"
        yield Finding((*path, "phases"), found, "a sum of 1", "Correct the shares: each is a share of the time")
