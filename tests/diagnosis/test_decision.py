"""The planner's problem from a belief: likelihoods, costs, what is open, how hypotheses are merged."""

from __future__ import annotations

import numpy as np
import pytest

from diagnosis import divider
from diagnosis.ready import model
from proveout.diagnosis import Belief, OutcomeSeen, ReadingTaken, Shop
from proveout.diagnosis.decision import build_decision, open_steps
from proveout.diagnosis.outcomes import step_outcomes, steps_likelihood
from proveout.diagnosis.particles import MOST_PARTICLES, NEGLIGIBLE, particles_of
from proveout.diagnosis.planner import Action, marginal_cost
from proveout.instruments import default_meter


def after_readings(circuit: str, count: int) -> Belief:
    known = model(circuit)
    belief, row = Belief.start(known), known.predictions.variants[3].first
    for name in list(known.column)[:count]:
        value = float(known.predictions.mean[row, known.column[name]])
        belief = belief.after(ReadingTaken(name, known.meter.read(known.function(name), value)))
    return belief


@pytest.mark.parametrize("circuit", ["crank-hall-5v", "wheel-current"])
@pytest.mark.parametrize("count", [0, 2])
def test_all_steps_at_once_are_what_each_step_is_alone(circuit: str, count: int) -> None:
    belief = after_readings(circuit, count)
    particles, steps = particles_of(belief), open_steps(belief, Shop())
    together = steps_likelihood(belief, steps, particles)
    for table, step in zip(together, steps, strict=True):
        found = step_outcomes(belief, step, particles.kept)
        alone = particles.merged(found.chances)
        width = alone.shape[1]
        if found.edges is not None:
            table = np.concatenate([table[:, : width - 1], table[:, -1:]], axis=1)
        assert table[:, :width] == pytest.approx(alone, abs=1e-12), step.name


def test_particles_hold_nearly_all_probability_each_of_one_suspect() -> None:
    belief = after_readings("starter", 1)
    particles, h = particles_of(belief), belief.model.hypotheses
    assert particles.mass.sum() > 1.0 - NEGLIGIBLE
    assert len(particles.first) <= MOST_PARTICLES
    for suspects in np.split(h.suspect[particles.kept], particles.first[1:]):
        assert len(set(suspects.tolist())) == 1


def test_a_large_belief_is_thinned_without_loss_of_probability(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("proveout.diagnosis.particles.MOST_HYPOTHESES", 300)
    monkeypatch.setattr("proveout.diagnosis.particles.MOST_PARTICLES", 40)
    belief = after_readings("starter", 0)
    particles, h = particles_of(belief), belief.model.hypotheses
    assert len(h) > 600
    assert len(particles.kept) <= 300
    assert len(particles.first) <= 40 + len(belief.model.suspects)
    assert particles.mass.sum() > 1.0 - NEGLIGIBLE
    truth = belief.by_suspect()
    merged = np.bincount(h.suspect[particles.kept], particles.weight, len(truth))
    assert np.abs(merged - truth).sum() < 2.0 * NEGLIGIBLE


def test_access_is_paid_once_and_not_at_all_where_it_is_open() -> None:
    belief, shop = Belief.start(model("crank-hall-5v")), Shop(labour_rate=60.0)
    closed, opened = (
        build_decision(belief, Shop(labour_rate=60.0, opened=frozenset(o), setup="key_on"))
        for o in ((), ("ecm_cover",))
    )
    place = next(k for k, step in enumerate(closed.steps) if step.name == "reference_at_ce")
    cover = belief.model.circuit.access["ecm_cover"].minutes
    dear, cheap = (marginal_cost(d.problem, Action("test", place)) for d in (closed, opened))
    assert dear - cheap == pytest.approx(cover * shop.labour_rate / 60.0)


def test_a_wrong_repair_is_in_every_repair_and_the_excess_says_so() -> None:
    belief = Belief.start(model("crank-hall-5v"))
    dear, cheap = (build_decision(belief, Shop(wrong_repair=w)) for w in (150.0, 0.0))
    assert dear.problem.repair_cost - cheap.problem.repair_cost == pytest.approx(150.0)
    assert (dear.excess, cheap.excess) == (150.0, 0.0)


def test_steps_taken_blocked_or_impossible_are_not_open() -> None:
    known = divider.model()
    belief = Belief.start(known).after(ReadingTaken("feed", known.meter.read(known.function("feed"), 12.0)))
    belief = belief.after(OutcomeSeen("look", "look", "clean"))
    names = {step.name for step in open_steps(belief, Shop(cannot=frozenset({"current"})))}
    assert not names & {"feed", "look", "current"}
    blocked = {step.name for step in open_steps(belief, Shop(blocked=frozenset({"CS"})))}
    assert not blocked & {"at_harness", "at_pin", "sensor_ohms"}
    assert "at_unit" in blocked


def test_a_doubtful_reading_is_open_again() -> None:
    known, belief = divider.model(), Belief.start(divider.model())
    for name, value in (("at_unit", 6.0), ("at_pin", 6.0), ("at_harness", 0.0)):
        belief = belief.after(ReadingTaken(name, known.meter.read(known.function(name), value)))
    names = {step.name for step in open_steps(belief, Shop())}
    assert "at_harness" in names
    assert "at_pin" not in names


def test_a_trial_cures_as_the_file_says_and_a_cure_that_does_not_last_still_costs_the_repair() -> None:
    belief = Belief.start(divider.model())
    decision = build_decision(belief, Shop())
    trial = next(k for k, step in enumerate(decision.steps) if step.kind == "try")
    terminal = [belief.model.suspects[r].name == "terminal" for r in decision.problem.repair_of]
    assert decision.problem.cures is not None
    assert decision.problem.cures[trial] == pytest.approx(np.where(terminal, 0.5, 0.0))
    assert decision.problem.cure_cost is not None
    place = belief.model.suspect_index["terminal"]
    assert decision.problem.cure_cost[trial] == pytest.approx(decision.problem.repair_cost[place])


def test_the_meter_is_the_products_own() -> None:
    assert divider.model().meter == default_meter()
