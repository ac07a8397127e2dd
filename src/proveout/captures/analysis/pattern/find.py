"""Which wheel gave a train of edges: periods proposed, turns folded, patterns weighed, every edge put on its tooth."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from proveout.captures.analysis.edges import Edges
from proveout.captures.analysis.pattern.as_cut import likelihood_as_cut, screened, wheel_steps
from proveout.captures.analysis.pattern.both_edges import MOST_TEETH, explanations_of_both, fold_both
from proveout.captures.analysis.pattern.damaged import with_teeth_gone
from proveout.captures.analysis.pattern.describe import grid_wheels
from proveout.captures.analysis.pattern.explanation import Explanation, Kind, explanations, prior
from proveout.captures.analysis.pattern.follow import Noise, Path, Prices
from proveout.captures.analysis.pattern.period import proposed_periods, symmetric_ratio
from proveout.captures.analysis.pattern.template import Template, fold, pitches
from proveout.captures.analysis.pattern.track import track
from proveout.captures.analysis.pattern.turns import laid_out
from proveout.captures.analysis.pattern.usual_wheels import usual_wheels
from proveout.captures.analysis.pattern.width_code import duties, find_code
from proveout.captures.analysis.wheel import Candidate, Wheel, WheelFit
from proveout.errors import InputError

__all__ = ["EVEN", "SURE", "Verdict", "find_wheel", "weigh"]

Array = NDArray[np.float64]
Weighed = tuple[float, Explanation, Template]

SURE = 0.95
EVEN = "even teeth"
_STRETCH = 600  # edges that decide the wheel
_LEAST = 8
_TURNS = 2.0
_MOST_EDITS = 0.5  # edges a turn that may be left out, on a wheel that is called certain
_RIVAL = 0.005
_FAR_BEHIND = 60.0  # a number of teeth so much less likely than the best is not weighed by both edges [nat]
_STANDS_OUT = 0.25  # log of an interval over its neighbours: a missing tooth gives log(2) = 0.69
_MOST_STRAY = 0.6
_TEETH_OF_EVEN = 60  # stand for a turn where turns cannot be counted
_FINE = 14  # edges a turn from which neighbours turn at about the same speed
_MANY_TURNS = 4.0  # a wheel of the list that fits so many turns after folding needs no second opinion
_MOST_AS_CUT = 3


@dataclass(frozen=True)
class Verdict:
    """What one kind of edge says: the leading explanation with its folded turn, and all wheels with probabilities.

    `placed` is the probability of the leading rotation among those of the leading wheel; `stray` counts intervals a
    turn that stand out from their neighbours on it.
    """

    best: Explanation
    template: Template
    candidates: tuple[Candidate, ...]
    placed: float
    stray: float

    @property
    def probability(self) -> float:
        """Posterior probability of the leading wheel."""
        return self.candidates[0].probability

    @property
    def likelihood(self) -> float:
        """Log likelihood of one edge on the leading wheel; edges over the middle of teeth scatter least."""
        path = self.template.path
        return (path.score + self.best.evidence) / path.place.size

    @property
    def edits(self) -> float:
        """Edges left out and new starts per turn of the leading wheel."""
        path = self.template.path
        return float(np.sum(path.place < 0) + np.sum(path.fresh)) / max(self.turns, 1.0)

    @property
    def turns(self) -> float:
        """Turns of the leading wheel that were seen."""
        return self.template.turns * self.best.turns


def find_wheel(
    edges: Edges, usual: Sequence[Wheel] | None = None, *, resolution: float = 0.0, coil: bool | None = None
) -> WheelFit:
    """Return the wheel that explains the edges, or why none is certain, and the place of every edge on it.

    Rising and falling edges are weighed apart; those that stand better on a wheel are taken.

    Parameters
    ----------
    edges : Edges
        At least eight of one kind for any answer but `unsure`.
    usual : sequence of Wheel, optional
        Wheels to be known by name; those of `usual_wheels.yaml` unless given. Others are described.
    resolution : float
        Time between samples [s]: widths that differ by less than a few are not a code. 0 when unknown.
    coil : bool, optional
        Whether the edges are zero crossings of a coil, which knows no widths, or those of a switching sensor.
    """
    known = [entry.wheel for entry in usual_wheels()] if usual is None else list(usual)
    trains = {True: edges.up(), False: edges.down()}
    verdicts = {up: weigh(times, known) for up, times in trains.items()}
    if not any(verdict and (_settled(verdict) or _few_teeth(verdict)) for verdict in verdicts.values()):
        verdicts = {up: weigh(times, known, as_cut=True) for up, times in trains.items()}
    coded = None if coil else _by_width(trains, verdicts, known, resolution)
    if coded:
        return coded
    rising, why = _better_edge(verdicts)
    verdict = verdicts[rising]
    if verdict is None:
        few = f"{trains[rising].size} edges are too few to tell a wheel; at least {_LEAST} are needed"
        return _without(trains[rising], rising, few)
    doubt = _doubt(verdict) or _contradiction(verdicts, rising)
    if verdict.best.teeth <= MOST_TEETH and (doubt or _alone(verdicts, rising)):
        together = _together(trains, known, coil)
        if together and not doubt and _name(together.best) != _name(verdict.best):
            doubt = f"{_name(verdict.best)} by one kind of edge, by both together rather {_name(together.best)}"
        if together and not _doubt(together):
            rising, verdict, doubt = not together.best.on_falling, together, ""
            why = f"both edges were weighed together; the {'rising' if rising else 'falling'} ones carry the angles"
    if doubt or verdict.best.wheel is None:
        return _without(trains[rising], rising, doubt or _EVENLY, verdict, why)
    whole = with_teeth_gone(verdict.best.wheel, known) if verdict.best.kind == "grid" else None
    wheel, tooth = whole or (verdict.best.wheel, np.arange(verdict.best.teeth))
    place, turn, lost = _on_teeth(trains[rising], verdict, wheel, tooth)
    return WheelFit(
        wheel, verdict.probability, trains[rising], place, turn, lost, _GONE.format(wheel.name) if whole else "",
        rising, why, candidates=verdict.candidates,
    )  # fmt: skip


_GONE = "{} whose lost teeth give no edge in any turn; a wheel made with as many gaps would look the same"


def _alone(verdicts: Mapping[bool, Verdict | None], rising: bool) -> bool:
    """Whether the other kind of edge does not say the same for certain."""
    verdict, other = verdicts[rising], verdicts[not rising]
    return bool(verdict and other and (_name(other.best) != _name(verdict.best) or _doubt(other)))


_EVENLY = "the edges are evenly spaced: nothing marks a turn, so teeth a turn cannot be counted from this signal"


def _by_width(
    trains: Mapping[bool, Array], verdicts: Mapping[bool, Verdict | None], known: Sequence[Wheel], resolution: float
) -> WheelFit | None:
    """Return the wheel whose widths carry a code, where one kind of edge is even."""
    for up, verdict in verdicts.items():
        other = verdicts[not up]
        if verdict is None or verdict.best.wheel is not None or _doubt(verdict):
            continue
        if other and other.best.kind == "usual" and not _doubt(other):
            continue
        code = find_code(*duties(trains[True], trains[False], ends=not up), resolution)
        if code and 1 - code.chance >= SURE and not _rivalled(verdict, code.wheel.teeth, known):
            angles = np.asarray(code.wheel.angles)
            place, turn, lost = laid_out(trains[up], code.place, np.zeros(code.place.size, np.bool_), angles)
            why = f"the {'rising' if up else 'falling'} edges are even and the widths carry the code"
            sure = min(verdict.probability, 1 - code.chance)
            return WheelFit(
                code.wheel, sure, trains[up], place, turn, lost,
                rising=up, edge=why, candidates=(Candidate(code.wheel.name, sure),),
            )  # fmt: skip
    return None


def _rivalled(verdict: Verdict, teeth: int, usual: Sequence[Wheel]) -> bool:
    """Whether the even edges may stand on a wheel of so many teeth, whose gap would pass for a narrow tooth."""
    names = {wheel.name for wheel in usual if wheel.teeth == teeth}
    return sum(c.probability for c in verdict.candidates if c.name in names) > _RIVAL


def _together(trains: Mapping[bool, Array], usual: Sequence[Wheel], coil: bool | None = None) -> Verdict | None:
    """Return what both edges say of a wheel of few teeth; its places are those of the edges that carry the angles."""
    up, down = (representative(trains[kind]) for kind in (True, False))
    periods = [period for period in proposed_periods(np.log(np.diff(up))) if period <= MOST_TEETH]
    folded = [fold(up, period, Prices()) for period in periods]
    least = max((template.path.score for template in folded), default=0.0) - _FAR_BEHIND
    near = [template for template in folded if template.path.score > least]
    pairs = [(template, both) for template in near if (both := fold_both(up, down, template))]
    weighed = [
        (template.path.score + found.evidence, found, template)
        for template, both in pairs
        for found in explanations_of_both(both, usual, coil)
    ]
    if not weighed:
        return None
    verdict = _verdict(up, weighed)
    template = _on_falling(up, down, verdict) if verdict.best.on_falling else verdict.template
    return replace(verdict, stray=0.0, template=template)


def _on_falling(up: Array, down: Array, verdict: Verdict) -> Template:
    """Return the folded turn with its path on the falling edges: each has the place of the rising one before it."""
    path, period = verdict.template.path, verdict.template.logs.size
    before = np.searchsorted(up, down) - 1
    shift = 0 if verdict.best.kind == "coded" else 1
    place = np.where(before < 0, -1, path.place[np.maximum(before, 0)])
    place = np.where(place < 0, -1, (place + shift) % period)
    fresh = np.where(before < 0, False, path.fresh[np.maximum(before, 0)])
    return replace(verdict.template, path=Path(place, fresh, path.score))


def _few_teeth(verdict: Verdict) -> bool:
    """Whether the leading wheel has so few teeth, and enough turns, that both edges together say more."""
    return verdict.best.wheel is not None and verdict.best.teeth <= MOST_TEETH and verdict.turns >= _MANY_TURNS


def _settled(verdict: Verdict) -> bool:
    return verdict.best.kind == "usual" and not _doubt(verdict) and verdict.turns >= _MANY_TURNS


def weigh(times: Array, usual: Sequence[Wheel], *, as_cut: bool = False) -> Verdict | None:
    """Return what a train of edges of one kind says of its wheel; None where there are too few.

    With `as_cut` wheels are tried without learning as well, which takes longer and decides where turns are few.
    """
    if times.size < _LEAST or np.any(np.diff(times) <= 0):
        return None
    stretch = representative(times)
    folded: list[Template] = []
    for period in proposed_periods(np.log(np.diff(stretch))):
        folded.append(fold(stretch, period, Prices()))
        if not as_cut and period > MOST_TEETH:
            verdict = _verdict(stretch, _weighed(folded[-1:], usual, _own(folded, usual)))
            if _beyond_doubt(verdict):
                return verdict
    own = _own(folded, usual)
    weighed = _weighed(folded, usual, own)
    return _verdict(stretch, weighed + _as_cut(stretch, usual, own) if as_cut else weighed)


def _beyond_doubt(verdict: Verdict) -> bool:
    """Whether no other number of edges a turn needs a look."""
    return _settled(verdict) and verdict.probability > 0.999 and verdict.edits == verdict.stray == 0.0


def even_teeth(count: int) -> Wheel:
    """Return a wheel without marks."""
    return Wheel(EVEN, tuple(k / count for k in range(count)), count)


def _own(folded: Sequence[Template], usual: Sequence[Wheel]) -> list[Wheel]:
    """Return wheels on an even grid that the folded turns propose and the list does not have."""
    listed = {wheel.name for wheel in usual}
    proposed = {wheel.name: wheel for template in folded for wheel in grid_wheels(template.logs)}
    return [wheel for name, wheel in proposed.items() if name not in listed]


def _weighed(folded: Sequence[Template], usual: Sequence[Wheel], own: Sequence[Wheel]) -> list[Weighed]:
    return [
        (template.path.score + found.evidence, found, template)
        for template in folded
        for found in explanations(template, usual, own)
    ]


def _as_cut(times: Array, usual: Sequence[Wheel], own: Sequence[Wheel]) -> list[Weighed]:
    """Return wheels with nothing learnt of them, and what their folded turns say.

    A wheel with gaps has its rival in the even one with as many places, on which every gap is an edge left out.
    """
    kinds: list[tuple[Kind, Wheel]] = [("usual", wheel) for wheel in screened(times, usual, _MOST_AS_CUT)]
    kinds += [("grid", wheel) for wheel in screened(times, own, 1)]
    kinds += [
        ("even", even_teeth(slots)) for slots in dict.fromkeys([1, *(wheel.slots for _, wheel in kinds)]) if slots
    ]
    weighed: list[Weighed] = []
    for kind, wheel in kinds:
        template = fold(times, wheel.teeth, Prices(), np.log(wheel_steps(wheel)))
        plain = Explanation(kind, None if kind == "even" else wheel, 0, 1, prior(kind, wheel))
        weighed.append((likelihood_as_cut(times, wheel) + plain.evidence, plain, template))
        weighed += _weighed([template], usual, own)
    return weighed


def representative(times: Array) -> Array:
    """Return the stretch of edges that decides the wheel: the most evenly spaced one of a long record."""
    if times.size <= _STRETCH:
        return times
    begins = np.linspace(0, times.size - _STRETCH, 12).astype(int)
    return min((times[b : b + _STRETCH] for b in begins), key=_unevenness)


def _unevenness(times: Array) -> float:
    ratios = np.abs(symmetric_ratio(np.log(np.diff(times))))
    return float(np.mean(np.minimum(ratios, 1.5)))


def _verdict(times: Array, weighed: list[Weighed]) -> Verdict:
    score = np.array([entry[0] for entry in weighed])
    share = np.exp(score - np.max(score))
    share /= np.sum(share)
    names = [_name(entry[1]) for entry in weighed]
    total: dict[str, float] = {}
    for name, part in zip(names, share, strict=True):
        total[name] = total.get(name, 0.0) + float(part)
    ranked = sorted(total, key=lambda name: -total[name])
    mine = [i for i, name in enumerate(names) if name == ranked[0]]
    lead = max(mine, key=lambda i: (score[i], -weighed[i][1].turns))
    same = [i for i in mine if weighed[i][2] is weighed[lead][2]]
    there = [i for i in same if _stands_there(weighed[i][1], weighed[lead][1])]
    candidates = tuple(Candidate(name, total[name]) for name in ranked[:5])
    _, best, template = weighed[lead]
    placed = float(np.sum(share[there]) / np.sum(share[same]))
    return Verdict(best, template, candidates, placed, _stray(times, best, template))


def _stands_there(other: Explanation, lead: Explanation) -> bool:
    """Whether two explanations by one wheel put it at one place, or half a pitch apart by the polarity of a coil."""
    apart = (other.first - lead.first) % lead.teeth
    if other.on_falling == lead.on_falling:
        return apart == 0
    return apart in ((0, lead.teeth - 1) if lead.on_falling else (0, 1))


def _stray(times: Array, best: Explanation, template: Template) -> float:
    if best.wheel is None:
        return misfits(times, template.path, np.ones(template.logs.size)) * _TEETH_OF_EVEN / template.logs.size
    steps = np.tile(np.diff([*best.wheel.angles, 1.0]), best.turns)
    return misfits(times, template.path, np.roll(steps, best.first)) / best.turns


def _name(explanation: Explanation) -> str:
    if explanation.wheel is None:
        return EVEN if explanation.kind == "even" else "uneven teeth"
    return explanation.wheel.name


_RANK = {"usual": 3, "coded": 3, "grid": 2, "uneven": 1, "even": 0}


def _better_edge(verdicts: dict[bool, Verdict | None]) -> tuple[bool, str]:
    """Return whether to take the rising edges, and why."""
    rise, fall = verdicts[True], verdicts[False]
    if rise is None or fall is None:
        return rise is not None or fall is None, "the other edges are too few" if rise or fall else ""
    merits = {up: _merit(verdict) for up, verdict in ((True, rise), (False, fall))}
    up = merits[True] >= merits[False]
    word = "rising" if up else "falling"
    if merits[True][:2] != merits[False][:2]:
        return up, f"only the {word} edges stand on a wheel that is certain"
    return up, f"the {word} edges stand closer to the wheel"


def _merit(verdict: Verdict) -> tuple[bool, int, float]:
    sure = not _doubt(verdict)
    return sure and verdict.best.wheel is not None, _RANK[verdict.best.kind] if sure else 0, verdict.likelihood


def _doubt(verdict: Verdict) -> str:
    """Return why the leading wheel is not certain; empty when it is."""
    leading = " or ".join(f"{c.name} ({c.probability:.0%})" for c in verdict.candidates[:2])
    if verdict.probability < SURE:
        return f"the edges do not decide between {leading}"
    if verdict.stray > _MOST_STRAY and (verdict.best.wheel is None or verdict.best.wheel.teeth >= _FINE):
        return f"{verdict.stray:.1f} intervals a turn stand out that {leading} does not explain"
    if verdict.best.wheel is None:
        return ""
    if verdict.placed < SURE:
        return f"the edges fit {verdict.best.wheel.name}, but not where its gap is: speed swings as much as the gap"
    if verdict.edits > _MOST_EDITS:
        return (
            f"{verdict.edits:.1f} edges a turn do not fit {verdict.best.wheel.name}, which is otherwise the likeliest"
        )
    if verdict.turns < _TURNS:
        return f"only {verdict.turns:.1f} turns of what may be {verdict.best.wheel.name}; two whole turns are needed"
    return ""


def _contradiction(verdicts: dict[bool, Verdict | None], rising: bool) -> str:
    """Return what the other edges say against the wheel; empty when they agree or are unsure themselves."""
    verdict, other = verdicts[rising], verdicts[not rising]
    if verdict is None or other is None or verdict.best.wheel is None or _doubt(other):
        return ""
    if other.best.wheel is None and verdict.best.kind != "usual":
        return f"one edge of each tooth is even, the other stands on {verdict.best.wheel.name}: a code of widths"
    if other.best.kind == verdict.best.kind == "usual" and _name(other.best) != _name(verdict.best):
        return f"rising and falling edges disagree: {_name(verdict.best)} or {_name(other.best)}"
    return ""


def _without(times: Array, rising: bool, reason: str, verdict: Verdict | None = None, edge: str = "") -> WheelFit:
    none = np.full(times.size, -1, np.int64)
    even = verdict is not None and verdict.best.wheel is None and verdict.probability >= SURE
    return WheelFit(
        None, verdict.probability if verdict else 0.0, times, none, none, np.empty((0, 2), np.int64), reason,
        rising, edge, even, verdict.candidates if verdict else (),
    )  # fmt: skip


def _on_teeth(
    times: Array, verdict: Verdict, wheel: Wheel, tooth: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Return place and turn of each edge of the whole record, and what was lost.

    `tooth` is the tooth of `wheel` for each place of the leading wheel.
    """
    template, best = verdict.template, verdict.best
    if best.wheel is None:
        raise InputError("there is no wheel to put edges on; the edges are evenly spaced")
    angles = np.asarray(best.wheel.angles)
    path = template.path
    if best.turns > 1 and not best.on_falling and times.size == path.place.size:
        path = _over_one_turn(times, template, best.wheel.teeth)
    if times.size > path.place.size:
        path = _tracked(times, template, np.roll(np.tile(np.diff([*angles, 1.0]), best.turns), best.first))
    place = np.where(path.place < 0, -1, tooth[(path.place - best.first) % angles.size])
    return laid_out(times, place, path.fresh, np.asarray(wheel.angles))


def _over_one_turn(times: Array, template: Template, teeth: int) -> Path:
    """Return the path over several turns folded into one, or that over the one turn where it loses fewer edges."""
    mean = np.mean(template.logs.reshape(-1, teeth), axis=0)
    single = fold(times, teeth, Prices(), mean).path
    return min(template.path, single, key=lambda path: _changes(path, teeth))


def _changes(path: Path, teeth: int) -> int:
    """Return the edges left out, lost and begun anew."""
    placed = path.place[path.place >= 0]
    lost = np.sum((np.diff(placed) - 1) % teeth)
    return int(np.sum(path.place < 0) + lost + np.sum(path.fresh))


def _tracked(times: Array, template: Template, nominal: Array) -> Path:
    """Return the places of a record longer than the stretch that was folded, where speed may do other things."""
    apart = float(np.std(template.logs - np.log(nominal))) / 2
    noise = Noise(float(np.hypot(template.noise.sigma, apart)), float(np.hypot(template.noise.accel, apart)))
    return track(times, pitches(np.log(nominal)), noise, Prices())


def misfits(times: Array, path: Path, steps: Array) -> float:
    """Return the intervals a turn that stand out from their neighbours by more than a fine wheel in motion lets them.

    Parameters
    ----------
    times : (edge,) float64 [s]
    path : Path
        The edges on places.
    steps : (place,) float64
        Angle from each place to the next as the wheel has it.
    """
    kept = np.flatnonzero(path.place >= 0)
    at = path.place[kept]
    whole = (at[1:] - at[:-1] - 1) % steps.size == 0
    level = (np.log(np.diff(times[kept])) - np.log(steps)[at[:-1]])[whole]
    if level.size < 3:
        return 0.0
    apart = np.abs(symmetric_ratio(level))
    outer = max(_STANDS_OUT, 6 * float(np.median(apart)))
    return float(np.sum(apart > outer)) / (level.size / steps.size)
