"""The next action as it is said."""

from __future__ import annotations

import pytest

from diagnosis import divider
from diagnosis.ready import model
from proveout.diagnosis import Belief, OutcomeSeen, ReadingTaken, RepairDone, Shop, advise, consequence
from proveout.diagnosis.advice import CONCLUDED
from proveout.diagnosis.faults import NO_FAULT_NOW, NONE_OF_THESE


def at_divider(*readings: tuple[str, float]) -> Belief:
    known = divider.model()
    belief = Belief.start(known).after(OutcomeSeen("behaviour", "gauge", "odd"))
    for name, value in readings:
        belief = belief.after(ReadingTaken(name, known.meter.read(known.function(name), value)))
    return belief


def test_a_cheap_telling_test_comes_before_any_repair() -> None:
    advice = advise(at_divider(), Shop())
    assert advice.best.kind == "measure"
    assert advice.stop == ""
    assert advice.best.leads is not None
    assert advice.best.expected_good is not None
    assert advice.best.information_bits > 0.1
    assert advice.best.cost_to_end == advice.cost_to_end
    assert advice.lower_bound <= advice.cost_to_end + 1e-9


def test_steps_are_in_the_order_of_their_cost_to_the_end() -> None:
    advice = advise(at_divider(), Shop())
    costs = [step.cost_to_end for step in (advice.best, *advice.others)]
    assert costs[1:] == sorted(costs[1:])
    assert costs[0] <= costs[1] * 1.02


def test_a_known_cause_is_repaired_and_the_reason_says_so() -> None:
    advice = advise(at_divider(("at_unit", 9.0), ("at_harness", 9.0), ("at_pin", 3.0)), Shop())
    assert advice.suspects[0].probability > CONCLUDED
    assert (advice.best.kind, advice.best.name) == ("repair", "terminal")
    assert "is the cause with probability" in advice.stop


def test_what_nothing_explains_ends_with_the_drawing() -> None:
    advice = advise(at_divider(("at_unit", 2.0), ("at_harness", 9.0), ("at_pin", 5.0), ("feed", 7.0)), Shop())
    assert advice.suspects[0].suspect == NONE_OF_THESE
    assert (advice.best.kind, advice.best.name) == ("repair", NONE_OF_THESE)
    assert "check the drawing" in advice.stop
    assert advice.doubt


def test_where_no_test_is_left_the_cheapest_way_on_is_a_repair() -> None:
    names = [*divider.model().circuit.measurements, "gauge", "look", "reseat"]
    advice = advise(at_divider(("at_unit", 9.0)), Shop(cannot=frozenset(names)))
    assert advice.best.kind == "repair"
    assert "no test is left" in advice.stop


def test_access_that_is_open_makes_a_step_cheaper() -> None:
    belief = Belief.start(model("crank-hall-5v")).after(OutcomeSeen("behaviour", "start", "none"))
    opened = frozenset({"ecm_cover", "intake"})
    closed, free = advise(belief, Shop(), alternatives=40), advise(belief, Shop(opened=opened), alternatives=40)
    money = {s.name: s.money for s in (closed.best, *closed.others)}
    shared = [s for s in (free.best, *free.others) if s.name in money]
    assert shared
    assert all(s.money <= money[s.name] + 1e-9 for s in shared)
    assert free.cost_to_end < closed.cost_to_end


def test_cautions_come_with_the_step_that_needs_them() -> None:
    belief = Belief.start(model("crank-hall-5v"))
    advice = advise(belief, Shop(), alternatives=40)
    for step in (advice.best, *advice.others):
        if step.setup == "cranking":
            assert "rotating-parts" in step.cautions


def test_what_a_reading_did_is_said() -> None:
    before = at_divider(("at_unit", 9.0))
    after = at_divider(("at_unit", 9.0), ("at_pin", 3.0))
    told = consequence(before, after)
    assert "Rules out" in told.text
    assert {o.suspect for o in told.raised} <= {"wire", "terminal"}
    assert consequence(before, before).text == "Changes little."


def test_after_a_repair_that_did_not_cure_it_is_not_advised_again() -> None:
    belief = at_divider(("at_unit", 9.0), ("at_harness", 9.0), ("at_pin", 3.0)).after(
        RepairDone("terminal", cured=False)
    )
    advice = advise(belief, Shop())
    assert advice.best.name != "terminal"


@pytest.mark.parametrize("rate", [0.0, 90.0])
def test_minutes_are_told_where_labour_costs_nothing_too(rate: float) -> None:
    advice = advise(at_divider(), Shop(labour_rate=rate))
    assert advice.minutes_to_end >= 0.0


def test_a_sound_vehicle_is_returned_with_advice() -> None:
    known = divider.model(False)
    belief = Belief.start(known)
    for name, value in (("feed", 12.0), ("at_unit", 6.0), ("at_harness", 6.0), ("at_pin", 6.0)):
        belief = belief.after(ReadingTaken(name, known.meter.read(known.function(name), value)))
    advice = advise(belief, Shop())
    assert advice.suspects[0].suspect == NO_FAULT_NOW
    assert advice.best.name == NO_FAULT_NOW
    assert "no fault present now" in advice.stop
