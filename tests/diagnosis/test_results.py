"""What is said of the possible results of a step."""

from __future__ import annotations

from itertools import pairwise

import pytest

from diagnosis import divider
from diagnosis.ready import model
from proveout.diagnosis import Belief
from proveout.diagnosis.limits import sound_band
from proveout.diagnosis.particles import particles_of
from proveout.diagnosis.results import ResultGroup, possible_results, result_groups
from proveout.diagnosis.steps import steps_of


def groups(circuit: str, name: str) -> tuple[ResultGroup, ...]:
    known = divider.model() if circuit == "divider" else model(circuit)
    belief = Belief.start(known)
    step = next(s for s in steps_of(known.circuit) if s.name == name)
    return result_groups(belief, step, particles_of(belief))


@pytest.mark.parametrize("name", ["at_unit", "at_pin", "sensor_ohms", "gauge", "look", "reseat"])
def test_probabilities_of_the_results_add_up_but_for_the_rarest(name: str) -> None:
    found = groups("divider", name)
    assert 0.97 < sum(g.chance for g in found) <= 1.0 + 1e-9
    for group in found:
        assert group.per_suspect.sum() == pytest.approx(group.chance)


def test_bands_ascend_without_gaps_and_part_where_good_ends() -> None:
    found = [g for g in groups("divider", "at_pin") if not g.over_limit]
    for one, other in pairwise(found):
        assert one.high == other.low
    good = sound_band(divider.model(), "at_pin")
    ends = {round(g.high, 9) for g in found}
    assert good.low is not None
    assert good.high is not None
    assert {round(good.low, 9), round(good.high, 9)} <= ends


def test_a_high_reading_at_the_pin_points_at_the_sensor_and_a_low_one_rules_out_nothing_before_it() -> None:
    belief = Belief.start(divider.model())
    step = next(s for s in steps_of(belief.model.circuit) if s.name == "at_pin")
    found = possible_results(belief, step, particles_of(belief))
    high = next(r for r in found if r.label.startswith("above"))
    assert high.leaves[0].suspect in ("sensor", "unit")
    assert not {"Wire", "terminal"} & set(found[0].rules_out)


def test_outcomes_are_named_as_the_file_words_them() -> None:
    found = {g.label for g in groups("crank-hall-5v", "engine_speed")}
    assert {"some 200 rpm", "0 rpm"} <= found
