"""The advice, followed on the demo vehicle, leads to its fault and saves the customer a good sensor."""

from __future__ import annotations

from demo.story import readings, scenario, sheet
from proveout.cases.events import Opened
from proveout.cases.folding import complaint_evidence
from proveout.diagnosis import Belief, Evidence, OutcomeSeen, ReadingTaken, Shop, StepAdvice, advise, compile_model
from proveout.diagnosis.advice import CONCLUDED
from proveout.diagnosis.steps import SEEN_AS, steps_of
from proveout.instruments import Function, default_meter
from proveout.instruments.parsing import parse_reading

MOST_STEPS = 12


def answer(step: StepAdvice) -> Evidence:
    """Return what the kept data answer to a step."""
    if step.kind == "measure":
        function = Function(sheet().measurements[step.name].function)
        shown = readings()["measurements"][step.name]["before"]["shown"]
        return ReadingTaken(step.name, parse_reading(shown, function, default_meter()))
    group = {"watch": "behaviours", "look": "looks", "try": "trials"}[step.kind]
    return OutcomeSeen(SEEN_AS[step.kind], step.name, readings()[group][step.name]["before"])


def test_the_advice_finds_the_terminal_and_leaves_the_intake_on_the_engine() -> None:
    opening = Opened.model_validate(scenario()["opening"])
    belief = Belief.start(compile_model(sheet(), default_meter()))
    for told in complaint_evidence(sheet(), opening.complaint, opening.codes):
        belief = belief.after(told)
    assert belief.suspects()[0].suspect == "crank_sensor"  # the sensor is the natural first thought
    steps, opened, setup, taken = {(s.kind, s.name): s for s in steps_of(sheet())}, frozenset[str](), None, 0
    minutes = 0.0
    while taken < MOST_STEPS:
        shop = Shop(labour_rate=opening.labour_rate, opened=opened, setup=setup)
        best = advise(belief, shop, alternatives=0).best
        if best.kind == "repair":
            break
        step = steps[best.kind, best.name]
        opened, setup, minutes, taken = opened | {*step.access}, step.setup or setup, minutes + best.minutes, taken + 1
        belief = belief.after(answer(best))
    assert (best.kind, best.name) == ("repair", scenario()["truth"]["suspect"])
    assert belief.probability(best.name) >= CONCLUDED
    assert taken >= 3  # not settled at the first step
    assert "intake" not in opened
    assert minutes + best.minutes < opening.authorised_minutes  # type: ignore[operator]
