"""The next action and everything that is said about it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from proveout.circuits.repairs import access_closure
from proveout.diagnosis.advice_model import Advice, Leads, Opinion, Possible, Shop, StepAdvice
from proveout.diagnosis.authorised import chance_authorised
from proveout.diagnosis.belief import Belief
from proveout.diagnosis.chances import chance_text
from proveout.diagnosis.decision import Decision, build_decision, disturbance
from proveout.diagnosis.doubt import doubt_text
from proveout.diagnosis.faults import NO_FAULT_NOW, NONE_OF_THESE, Suspect
from proveout.diagnosis.limits import limit_band, limit_note, sound_band
from proveout.diagnosis.model import Model
from proveout.diagnosis.money import money_text
from proveout.diagnosis.pairs import with_pairs
from proveout.diagnosis.planner import Alternative, Plan, marginal_cost, plan
from proveout.diagnosis.results import possible_results, ruled_out
from proveout.diagnosis.steps import TRIAL_OUTCOMES, Step
from proveout.instruments import Function

__all__ = ["CONCLUDED", "Consequence", "advise", "consequence", "describe_repair", "describe_step"]

CONCLUDED = 0.97
"""Probability from which a suspect is a conclusion: of those, at most 3 % may be wrong."""
BITS = 1.0 / np.log(2.0)
TIE = 0.005  # share of the cost to the end within which two steps are as good as each other
LEAD = 0.02  # share of it from which the next best step is worth a sentence


@dataclass(frozen=True)
class Consequence:
    """What one piece of evidence did: suspects ruled out, suspects that rose, and a sentence."""

    ruled_out: tuple[str, ...]
    raised: tuple[Opinion, ...]
    text: str


def advise(belief: Belief, shop: Shop, *, alternatives: int = 5) -> Advice:
    """Return what to do next.

    Parameters
    ----------
    belief : Belief
        Pairs of faults are added to it here where single faults explain the evidence poorly (`with_pairs`).
    shop : Shop
    alternatives : int
        How many other steps are described.

    Returns
    -------
    Advice
        A step to take, or a repair with the reason why testing stops.
    """
    belief = with_pairs(belief)
    model = belief.model
    decision = build_decision(belief, shop)
    found = plan(decision.problem)
    ranked = _settle_ties(decision, found)
    per_minute = shop.labour_rate / 60.0
    parts = float(belief.by_suspect() @ np.array([s.repair.parts for s in model.suspects]))
    steps = [_describe(belief, shop, decision, a) for a in ranked[: alternatives + 1]]
    reasons = _reasons(steps, found, belief, shop.currency)
    named = [replace(step, why=why) for step, why in zip(steps, reasons, strict=True)]
    return Advice(
        best=named[0],
        others=tuple(named[1:]),
        suspects=belief.suspects(),
        cost_to_end=steps[0].cost_to_end,
        minutes_to_end=max(steps[0].cost_to_end - parts, 0.0) / per_minute if per_minute else 0.0,
        lower_bound=max(found.lower - decision.excess, 0.0),
        stop=_stop_reason(belief, ranked),
        chance_within=chance_authorised(belief, decision, shop),
        doubt=doubt_text(belief),
        explained=belief.explained,
    )


def _settle_ties(decision: Decision, found: Plan) -> list[Alternative]:
    """Return the alternatives, the best first; of those that cost the same to the end the cheapest to do now leads."""
    best = found.alternatives[0].expected_cost
    tied = [a for a in found.alternatives if a.expected_cost - best <= TIE * best]
    first = min(tied, key=lambda a: marginal_cost(decision.problem, a.action))
    return [first, *(a for a in found.alternatives if a is not first)]


def describe_step(belief: Belief, shop: Shop, step: Step) -> StepAdvice:
    """Return a step that somebody chose, whether it is advised or not, as it would be advised.

    What it would cost to the end is not planned for it: `cost_to_end` is infinite, as nothing is promised.
    """
    model = belief.model
    decision = build_decision(belief, shop)
    still = sum(model.circuit.access[a].minutes for a in step.access if a not in shop.opened)
    setup = model.circuit.setups[step.setup].minutes if step.setup and step.setup != shop.setup else 0.0
    money = (step.minutes + still + setup) * shop.labour_rate / 60.0 + step.parts
    described = _test_advice(belief, shop, decision, step, money)
    return replace(described, minutes=step.minutes + still + setup)


def describe_repair(belief: Belief, shop: Shop, suspect: str) -> StepAdvice:
    """Return the repair of a suspect that somebody chose, as it would be advised; otherwise as `describe_step`.

    Raises
    ------
    KeyError
        The belief knows no such suspect.
    """
    model = belief.model
    chosen = model.suspects[model.suspect_index[suspect]]
    access = access_closure(model.circuit, chosen.repair.access)
    minutes = chosen.repair.minutes + sum(model.circuit.access[a].minutes for a in access if a not in shop.opened)
    described = _repair_advice(belief, shop, chosen, minutes * shop.labour_rate / 60.0 + chosen.repair.parts)
    return replace(described, minutes=minutes, why=_repair_reason(belief, described, shop.currency))


def _describe(belief: Belief, shop: Shop, decision: Decision, choice: Alternative) -> StepAdvice:
    money = marginal_cost(decision.problem, choice.action)
    choice = replace(choice, expected_cost=max(choice.expected_cost - decision.excess, 0.0))
    if choice.action.kind == "repair":
        suspect = belief.model.suspects[choice.action.index]
        repair = _repair_advice(belief, shop, suspect, money - decision.excess)
        return replace(repair, cost_to_end=choice.expected_cost, information_bits=choice.information * BITS)
    step = decision.steps[choice.action.index]
    money -= disturbance(belief, shop, step)
    described = _test_advice(belief, shop, decision, step, money)
    return replace(described, cost_to_end=choice.expected_cost, information_bits=choice.information * BITS)


def _repair_advice(belief: Belief, shop: Shop, suspect: Suspect, money: float) -> StepAdvice:
    model = belief.model
    access = access_closure(model.circuit, suspect.repair.access)
    chance = belief.probability(suspect.name)
    return StepAdvice(
        kind="repair",
        name=suspect.name,
        title=suspect.repair.title,
        setup="",
        setup_steps=(),
        access_steps=_access_steps(model, shop, access),
        leads=None,
        expected_good=None,
        limit=None,
        limit_note="",
        minutes=_minutes(money - suspect.repair.parts, shop),
        money=money,
        cost_to_end=float("inf"),
        information_bits=0.0,
        cautions=_cautions(model, shop, access, suspect.repair.cautions),
        results=_repair_results(belief, suspect.name, chance),
        why="",
    )


def _repair_results(belief: Belief, suspect: str, chance: float) -> tuple[Possible, ...]:
    left = tuple(o for o in belief.suspects() if o.suspect != suspect)[:4]
    rest = max(1.0 - chance, 1e-12)
    others = tuple(Opinion(o.suspect, o.title, o.probability / rest) for o in left if o.probability / rest > 0.01)
    return (
        Possible(TRIAL_OUTCOMES["cured"], chance, (), ()),
        Possible("The fault is still there", 1.0 - chance, others, ()),
    )


def _test_advice(belief: Belief, shop: Shop, decision: Decision, step: Step, money: float) -> StepAdvice:
    model = belief.model
    measured = step.kind == "measure"
    return StepAdvice(
        kind=step.kind,
        name=step.name,
        title=step.title,
        setup=step.setup,
        setup_steps=_setup_steps(model, step.setup),
        access_steps=_access_steps(model, shop, step.access),
        leads=_leads(model, step.name) if measured else None,
        expected_good=sound_band(model, step.name) if measured else None,
        limit=limit_band(model, step.name) if measured else None,
        limit_note=limit_note(model, step.name) if measured else "",
        minutes=_minutes(money - step.parts, shop),
        money=money,
        cost_to_end=float("inf"),
        information_bits=0.0,
        cautions=_cautions(model, shop, step.access, step.cautions),
        results=possible_results(belief, step, decision.particles),
        why="",
    )


def _minutes(labour: float, shop: Shop) -> float:
    return labour / (shop.labour_rate / 60.0) if shop.labour_rate else 0.0


def _access_steps(model: Model, shop: Shop, access: Sequence[str]) -> tuple[str, ...]:
    return tuple(model.circuit.access[a].title for a in access if a not in shop.opened)


def _cautions(model: Model, shop: Shop, access: Sequence[str], own: Sequence[str]) -> tuple[str, ...]:
    """Return the cautions of a step, those of what is still to be dismantled first."""
    still = (c for a in access if a not in shop.opened for c in model.circuit.access[a].cautions)
    return tuple(dict.fromkeys([*still, *own]))


def _setup_steps(model: Model, setup: str) -> tuple[str, ...]:
    """Return in words how the vehicle is brought into a set-up."""
    if not setup:
        return ()
    circuit, chosen = model.circuit, model.circuit.setups[setup]
    steps = [f"Unplug {circuit.connectors[c].title}" for c in chosen.unplugged]
    steps += [f"Take out {circuit.parts[p].title or p}" for p in chosen.removed]
    return (chosen.title, *steps)


def _leads(model: Model, measurement: str) -> Leads:
    circuit, m = model.circuit, model.circuit.measurements[measurement]
    if Function(m.function).kind == "count":
        return Leads("", "", "", "", m.function)
    titles = {point: circuit.points[point].title for point in (m.red, m.black) if point}
    if Function(m.function).single:
        return Leads(m.red, "", "", "", m.function, place=titles[m.red])
    return Leads(m.red, m.black, titles.get(m.red, ""), titles.get(m.black, ""), m.function, m.through)


def _reasons(steps: Sequence[StepAdvice], found: Plan, belief: Belief, currency: str) -> list[str]:
    best = steps[0]
    other = min((s.cost_to_end for s in steps[1:]), default=best.cost_to_end)
    chances = belief.by_suspect()
    open_bits = float(-np.sum(chances * np.log2(np.maximum(chances, 1e-300))))
    reasons = []
    for step in steps:
        repair = step.kind == "repair"
        text = _repair_reason(belief, step, currency) if repair else _test_reason(step, open_bits, currency)
        if step is best and other - step.cost_to_end > LEAD * max(step.cost_to_end, 1.0):
            text += f" The next best step would cost {money_text(other - step.cost_to_end, currency)} more."
        reasons.append(text)
    if found.exact:
        reasons[0] += " No plan can do better."
    return reasons


def _test_reason(step: StepAdvice, open_bits: float, currency: str) -> str:
    share = step.information_bits / open_bits if open_bits > 0 else 0.0
    return (
        f"For {money_text(step.money, currency)} it is expected to settle {chance_text(share)} of what is open; "
        f"the case is then expected to cost {money_text(step.cost_to_end, currency)} to its end."
    )


def _repair_reason(belief: Belief, step: StepAdvice, currency: str) -> str:
    likeliest = belief.likely_faults(step.name)
    likeliest = f" Most likely: {likeliest}." if likeliest else ""
    cost = ""
    if np.isfinite(step.cost_to_end):
        cost = f" Repaired first, the case is expected to cost {money_text(step.cost_to_end, currency)} to its end."
    return f"It is the cause with probability {chance_text(belief.probability(step.name))}.{likeliest}{cost}"


def _stop_reason(belief: Belief, ranked: Sequence[Alternative]) -> str:
    """Return why testing stops, or an empty string while a test is worth its price."""
    if ranked[0].action.kind != "repair":
        return ""
    suspect = belief.model.suspects[ranked[0].action.index]
    chance = belief.probability(suspect.name)
    if suspect.name == NONE_OF_THESE:
        return "Nothing on the sheet explains what was seen. Stop, and check the drawing against the vehicle."
    if suspect.name == NO_FAULT_NOW:
        return "There is no fault present now. More testing at rest finds nothing: return it with advice, or road test."
    if chance >= CONCLUDED:
        return f"{suspect.title} is the cause with probability {chance_text(chance)}. Repair it and prove it."
    tests = any(a.action.kind == "test" for a in ranked)
    rest = "no test left is worth its price" if tests else "no test is left"
    return f"{suspect.title} has only {chance_text(chance)}, but {rest}: repairing it first is the cheapest way on."


def consequence(before: Belief, after: Belief) -> Consequence:
    """Return what the evidence between two beliefs of one model did."""
    model = after.model
    old, new = before.by_suspect(), after.by_suspect()
    out = ruled_out(model, old, new)
    up = [k for k in np.argsort(-new) if new[k] > 0.02 and new[k] > 1.15 * old[k]][:3]
    raised = tuple(Opinion(model.suspects[k].name, model.suspects[k].title, float(new[k])) for k in up)
    return Consequence(out, raised, _sentence(out, raised))


def _sentence(out: Sequence[str], raised: Sequence[Opinion]) -> str:
    parts = []
    if out:
        parts.append("Rules out: " + ", ".join(out) + ".")
    if raised:
        parts.append("Now more likely: " + ", ".join(f"{o.title} ({chance_text(o.probability)})" for o in raised) + ".")
    return " ".join(parts) or "Changes little."
