"""Fault modes, their weights and severities, and the suspects they are grouped into."""

from __future__ import annotations

import numpy as np
import pytest

from diagnosis import divider
from diagnosis.ready import model
from proveout.circuits import ready_circuit, ready_names
from proveout.circuits.assemble import assemble
from proveout.diagnosis.faults import NO_FAULT_NOW, NONE_OF_THESE, enumerate_faults, list_suspects, severity_grid
from proveout.network import FaultMode


@pytest.mark.parametrize("name", ready_names())
def test_weights_of_a_circuits_faults_add_up_and_every_fault_has_one_suspect(name: str) -> None:
    circuit = ready_circuit(name)
    faults = enumerate_faults(assemble(circuit))
    assert sum(f.weight for f in faults) == pytest.approx(1.0)
    assert min(f.weight for f in faults) > 0.0
    suspects = [s.name for s in list_suspects(circuit, faults)]
    assert len(suspects) == len(set(suspects))
    assert suspects[-2:] == [NO_FAULT_NOW, NONE_OF_THESE]
    assert {f.suspect for f in faults} == set(suspects[:-2])


def test_weights_are_the_parts_times_the_modes_share() -> None:
    found = {f.reference: f.weight for f in divider.model().faults}
    whole = sum(weight for _, _, weight in divider.MODES.values())
    assert found == pytest.approx({name: weight / whole for name, (_, _, weight) in divider.MODES.items()})


def test_parts_that_one_repair_cures_are_one_suspect() -> None:
    known = model("crank-hall-5v")
    mine = {f.part for f in known.faults if f.suspect == "ecm"}
    assert mine == {"reference", "crank_input", "low_track"}
    assert {f.suspect for f in known.faults if f.part.startswith("t_cs_")} == {"cs_terminal"}


def test_severities_are_even_in_logarithm_and_stay_inside_their_range() -> None:
    grid = severity_grid(FaultMode("resistive", "", 1.0, "extra", 0.3, 3.0e4), 10)
    assert np.diff(np.log(grid)) == pytest.approx(np.log(1.0e5) / 10)
    assert grid[0] == pytest.approx(0.3 * 10.0**0.25)
    assert grid[-1] == pytest.approx(3.0e4 / 10.0**0.25)


def test_a_break_has_one_severity_and_so_has_a_held_state() -> None:
    assert severity_grid(FaultMode("open", "", 1.0, "extra", float("inf"), float("inf")), 32).tolist() == [float("inf")]
    assert len(severity_grid(FaultMode("stuck", "", 1.0, forced=True), 32)) == 1


def test_a_sound_part_has_no_faults() -> None:
    assert not [f for f in divider.model().faults if f.part in ("battery", "key")]


def test_prior_of_the_hypotheses_is_the_faults_weight_with_the_standing_suspects() -> None:
    known = model("crank-hall-5v")
    h = known.hypotheses
    by_variant = np.bincount(h.variant[h.variant >= 0], h.prior[h.variant >= 0])
    whole = 1.0 + known.circuit.no_fault_weight + known.circuit.unknown_weight
    assert by_variant * whole == pytest.approx([f.weight for f in known.faults])
    assert h.prior.sum() == pytest.approx(1.0)
    assert h.known.sum() == len(h) - 1
