"""The belief over all hypotheses, changed by evidence.

Each prediction row carries a Gaussian over the circuit's tolerances, the meter's leads and the place within its
severity cell (`latent_filter`). A reading that a row can only explain as a slip changes the row's weight, not its
Gaussian.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.special import bdtrc, chdtrc, logsumexp

from proveout.diagnosis.advice_model import Opinion
from proveout.diagnosis.bins import bin_chances
from proveout.diagnosis.chances import chance_text
from proveout.diagnosis.evidence import BandSeen, Evidence, OutcomeSeen, ReadingTaken, RepairDone, SignalWatched
from proveout.diagnosis.hypotheses import presence_disturbed
from proveout.diagnosis.latent_filter import LatentFilter
from proveout.diagnosis.likelihood import FLOOR, Likelihood, reading_likelihood, shown_spread, taken_variance
from proveout.diagnosis.losing import losing_chances, lost_at_likelihood
from proveout.diagnosis.model import Model
from proveout.errors import InputError
from proveout.instruments import Function, Reading
from proveout.network.laws import Array

__all__ = ["SLIP", "Belief"]

SLIP = 0.01  # probability that a reading is of the wrong cavity or of a poor contact: common practice
NEW_PART_BAD = 0.01  # a repair that does not hold although it was the right one: common practice
SETTLED = 0.8  # share of its suspect from which one fault mode is named by itself
LIKELY = 0.1  # share above which a fault mode is listed while none is settled
DOUBTFUL = 0.3  # chance of a slip from which a reading asks to be taken again

Index = npt.NDArray[np.intp]
Rows = slice | Index


@dataclass(frozen=True)
class Belief:
    """What is believed after some evidence; made by `start` and `after`, never changed.

    Attributes
    ----------
    log_weight : (H,) float
        Normalised log probabilities of the hypotheses.
    latents : LatentFilter
        What is known of the latents of each row.
    presence : (H,) float
        Probability that the hypothesis' fault shows itself now; 0 once a trial has cured it.
    misfit : (2, G) float
        Sum of squared normalised innovations of the readings that are no slips: of each row, and of a fault that comes
        and goes and shows, at each reading, what fits better of its row and the sound one.
    fitted, slips : (2, G) int
        How many readings those are, and how many, of `count` in all, can only be slips.
    evidence : tuple
    doubtful : frozenset of str
        Measurements whose reading was more likely a slip than usual.
    """

    model: Model
    log_weight: Array
    latents: LatentFilter
    presence: Array
    misfit: Array
    fitted: Index
    slips: Index
    count: int
    evidence: tuple[Evidence, ...]
    doubtful: frozenset[str] = frozenset()

    @classmethod
    def start(cls, model: Model) -> Belief:
        """Return the belief before any evidence."""
        p, h = model.predictions, model.hypotheses
        with np.errstate(divide="ignore"):
            prior = np.log(h.prior)
        latents = LatentFilter.start(len(p.mean), p.slopes.shape[2])
        none = np.zeros((2, len(p.mean)), dtype=np.intp)
        return cls(model, prior, latents, h.presence, none.astype(float), none, none, 0, ())

    @property
    def weight(self) -> Array:
        """Probabilities of the hypotheses, (H,)."""
        return np.exp(self.log_weight)

    def after(self, evidence: Evidence) -> Belief:
        """Return the belief with one more piece of evidence.

        Raises
        ------
        InputError
            If the evidence names a measurement, outcome or suspect that the circuit does not have.
        """
        if isinstance(evidence, ReadingTaken):
            return self._after_reading(evidence)
        if isinstance(evidence, BandSeen):
            return self._after_band(evidence)
        if isinstance(evidence, OutcomeSeen):
            return self._after_outcome(evidence)
        if isinstance(evidence, SignalWatched):
            return self._after_watching(evidence)
        return self._after_repair(evidence)

    def by_suspect(self) -> Array:
        """Return the probability of each suspect, in the model's order."""
        return np.bincount(self.model.hypotheses.suspect, self.weight, len(self.model.suspects)).astype(float)

    def suspects(self) -> tuple[Opinion, ...]:
        """Return all suspects, the most probable first."""
        chances = self.by_suspect()
        order = np.argsort(-chances, kind="stable")
        return tuple(
            Opinion(self.model.suspects[k].name, self.model.suspects[k].title, float(chances[k])) for k in order
        )

    def probability(self, suspect: str) -> float:
        """Return the probability of one suspect."""
        return float(self.by_suspect()[_place(self.model.suspect_index, suspect, "suspect")])

    def by_variant(self) -> Array:
        """Return the probability of each fault mode (variant)."""
        h = self.model.hypotheses
        chosen = h.variant >= 0
        return np.bincount(h.variant[chosen], self.weight[chosen], len(self.model.predictions.variants)).astype(float)

    def fault_probabilities(self) -> tuple[tuple[str, str, float], ...]:
        """Return (reference, title, probability) of each fault mode, the most probable first."""
        chances = self.by_variant()
        variants = self.model.predictions.variants
        return tuple(
            (self.model.references[k], " and ".join(f.title for f in variants[k].faults), float(chances[k]))
            for k in np.argsort(-chances, kind="stable")
        )

    def faults_within(self, suspect: str) -> tuple[tuple[str, str, float], ...]:
        """Return (reference, title, share) of each fault mode that a suspect's repair cures, the likeliest first.

        Shares are of the suspect's own probability; a suspect without fault modes has none.
        """
        h = self.model.hypotheses
        mine = (h.suspect == _place(self.model.suspect_index, suspect, "suspect")) & (h.variant >= 0)
        chances = np.bincount(h.variant[mine], self.weight[mine], len(self.model.predictions.variants))
        whole = float(chances.sum())
        if whole <= 0.0:
            return ()
        order = [int(k) for k in np.argsort(-chances, kind="stable") if chances[k] > 0]
        return tuple((self.model.references[k], self._title(k), float(chances[k]) / whole) for k in order)

    def settled_fault(self, suspect: str) -> str:
        """Return the reference of the one fault mode that may be named for a suspect, empty while it is open."""
        found = self.faults_within(suspect)
        return found[0][0] if found and found[0][2] >= SETTLED else ""

    def likely_faults(self, suspect: str) -> str:
        """Return the one fault mode that may be named for a suspect, or the likely ones with their shares."""
        found = self.faults_within(suspect)
        if self.settled_fault(suspect):
            return found[0][1]
        return " or ".join(f"{title} ({chance_text(share)})" for _, title, share in found if share > LIKELY)

    def _title(self, variant: int) -> str:
        return " and ".join(fault.title for fault in self.model.predictions.variants[variant].faults)

    @property
    def explained(self) -> float:
        """Predictive p-value of the best explanation: the chance that readings fit it no better than these do.

        The squared normalised innovations of the right explanation add up to a chi-square variable (Kailath 1968); of
        slips there are as many as a binomial variable has it, apart from that.
        """
        h = self.model.hypotheses
        comes = (self.presence < 1.0) & (h.variant >= 0)
        form = h.row + np.where(comes, self.misfit.shape[1], 0)
        per_form = np.bincount(form[h.known], self.weight[h.known], self.misfit.size)
        misfit, fitted, slips = (a.ravel()[per_form.argmax()] for a in (self.misfit, self.fitted, self.slips))
        as_many = float(bdtrc(slips - 1, self.count, SLIP)) if slips else 1.0
        return as_many * float(chdtrc(fitted, misfit)) if fitted else as_many

    def predictive(self, column: int) -> tuple[Array, Array]:
        """Return the predicted value and its variance without the instrument's error, (G,) each."""
        return self.predictive_rows(column, slice(None))

    def predictive_rows(self, column: int, rows: Rows) -> tuple[Array, Array]:
        """Return the same for some rows."""
        centre, variance = self.predictive_columns(np.array([column]), rows)
        return centre[:, 0], variance[:, 0]

    def predictive_columns(self, columns: Index, rows: Rows) -> tuple[Array, Array]:
        """Return the same for some rows and columns, (row, column) each."""
        p = self.model.predictions
        mean, slopes, rough = (_part(a, rows, columns) for a in (p.mean, p.slopes, p.rough))
        centre, variance = self.latents.predicted(mean, slopes, rows)
        return centre, variance + rough

    def _with_likelihood(self, log_likelihood: Array, evidence: Evidence) -> Belief:
        weight = self.log_weight + np.maximum(log_likelihood, FLOOR)
        return replace(self, log_weight=weight - logsumexp(weight), evidence=(*self.evidence, evidence))

    def _after_reading(self, taken: ReadingTaken) -> Belief:
        if not taken.reading.taken:
            return replace(self, evidence=(*self.evidence, taken))
        model = self.model
        column = _place(model.column, taken.measurement, "measurement")
        function, reading = model.function(taken.measurement), taken.reading
        found = reading_likelihood(model.meter, function, reading, *self.predictive(column))
        broad = model.meter.broad_log_density(function, reading)
        fresh = self._fresh(column, function, reading)
        log = self._mixed(found.log, fresh.log, taken.disturbed)
        explained = np.logaddexp(np.log1p(-SLIP) + log, np.log(SLIP) + broad)
        explained = np.where(model.hypotheses.known, explained, broad)
        slip = np.log(SLIP) - np.log1p(-SLIP) + broad
        explains = np.stack([found.log >= slip, np.maximum(fresh.log, found.log[0]) >= slip])
        belief = replace(
            self._with_likelihood(explained, taken),
            doubtful=self._doubtful(taken, explained, broad),
            slips=self.slips + ~explains,
            count=self.count + 1,
        )
        if reading.over_limit:
            return belief
        noise = taken_variance(model.meter, function, reading)
        return belief._filtered(column, found, fresh, explains, noise)

    def _doubtful(self, taken: ReadingTaken, log_likelihood: Array, broad: float) -> frozenset[str]:
        """Return the doubtful measurements after a reading: taking a doubtful one again lifts the doubt."""
        slip = np.exp(np.log(SLIP) + broad - logsumexp(self.log_weight + log_likelihood))
        rest = self.doubtful - {taken.measurement}
        again = taken.measurement in self.doubtful
        return rest | {taken.measurement} if slip > DOUBTFUL and not again else rest

    def _fresh(self, column: int, function: Function, reading: Reading) -> Likelihood:
        """Return the rows' likelihood before any reading, for faults that need not have been there at earlier ones."""
        p = self.model.predictions
        variance = np.einsum("gk,gk->g", p.slopes[:, column], p.slopes[:, column]) + p.rough[:, column]
        return reading_likelihood(self.model.meter, function, reading, p.mean[:, column], variance)

    def _presence(self, disturbed: bool) -> Array:
        return presence_disturbed(self.presence) if disturbed else self.presence

    def _mixed(self, steady: Array, fresh: Array, disturbed: bool) -> Array:
        """Return each hypothesis' log likelihood: of its row while present, of the sound row while absent."""
        h, presence = self.model.hypotheses, self._presence(disturbed)
        there = np.where(self.presence < 1.0, fresh[h.row], steady[h.row])
        with np.errstate(divide="ignore"):
            return np.logaddexp(np.log(presence) + there, np.log1p(-presence) + steady[0])

    def _filtered(
        self, column: int, found: Likelihood, fresh: Likelihood, use: npt.NDArray[np.bool_], noise: float
    ) -> Belief:
        p = self.model.predictions
        away = found.innovation**2 / found.variance
        either = np.minimum(fresh.innovation**2 / fresh.variance, away[0])
        return replace(
            self,
            latents=self.latents.updated(p.slopes[:, column], found.innovation, noise + p.rough[:, column], use[0]),
            misfit=self.misfit + use * np.stack([away, either]),
            fitted=self.fitted + use,
        )

    def _after_band(self, seen: BandSeen) -> Belief:
        """Weigh the hypotheses by the chance of the band; the Gaussians stay as they are."""
        column = _place(self.model.column, seen.measurement, "measurement")
        chances = self.band_chances(column, self.model.function(seen.measurement), np.array([seen.low, seen.high]))
        with np.errstate(divide="ignore"):
            return self._with_likelihood(np.log(chances[:, -1 if seen.over_limit else 1]), seen)

    def band_chances(
        self, column: int, function: Function, edges: Array, kept: Rows = slice(None), *, slip: float = SLIP
    ) -> Array:
        """Return P(band | hypothesis) of a reading, (H, edges + 2): the bands between ascending edges, then over-limit.

        With `kept` only for those hypotheses. Slips, of probability `slip`, are spread evenly over the bands.
        """
        h = self.model.hypotheses
        rows, back = np.unique(np.append(h.row[kept], 0), return_inverse=True)
        centre, variance = self.predictive_rows(column, rows)
        over, spread = shown_spread(self.model.meter, function, centre, variance)
        table = np.column_stack([bin_chances(centre, spread, edges) * (1.0 - over[:, None]), over])
        presence, known = self.presence[kept][:, None], h.known[kept]
        chances = presence * table[back[:-1]] + (1.0 - presence) * table[back[-1]]
        even = 1.0 / chances.shape[1]
        chances = (1.0 - slip) * chances + slip * even
        chances[~known] = even
        return chances

    def _after_outcome(self, seen: OutcomeSeen) -> Belief:
        model = self.model
        if seen.kind == "behaviour":
            chance = self.behaviour_chances(seen.name, past=seen.past, disturbed=seen.disturbed)
            outcomes = list(model.circuit.behaviours[seen.name].outcomes)
        elif seen.kind == "look":
            chance = model.looks[_known(model.looks, seen.name, "look")]
            outcomes = list(model.circuit.looks[seen.name].outcomes)
        else:
            chance = self.trial_chances(seen.name)
            outcomes = ["cured", "same"]
        if seen.outcome not in outcomes:
            raise InputError(f"'{seen.outcome}' is no outcome of '{seen.name}'; choose one of {', '.join(outcomes)}")
        with np.errstate(divide="ignore"):
            belief = self._with_likelihood(np.log(chance[:, outcomes.index(seen.outcome)]), seen)
        if seen.kind == "trial" and seen.outcome == "cured" and not model.circuit.trials[seen.name].undone:
            return replace(belief, presence=self._presence_after_cure(model.cures[seen.name]))
        return belief

    def _presence_after_cure(self, cures: Array) -> Array:
        """Return the presence after a trial that looked like a cure: what comes and goes may only have been away."""
        only_away = (1.0 - cures) * (1.0 - self.presence)
        left = self.presence * only_away / np.maximum(cures + only_away, 1e-12)
        return np.where(cures > 0, left, self.presence)

    def behaviour_chances(
        self, name: str, kept: Rows = slice(None), *, past: bool = False, disturbed: bool = False
    ) -> Array:
        """Return P(outcome | hypothesis), (H, outcome), of a behaviour: now, disturbed now, or before it came in."""
        model, h = self.model, self.model.hypotheses
        table = model.behaviours[_known(model.behaviours, name, "behaviour")]
        there = table[h.row[kept]]
        if past:
            # A fault that comes and goes was there then; one that is no more may have been any.
            steady = (h.variant >= 0) & h.known
            standing = ((h.variant < 0) & h.known)[kept]
            there[standing] = np.average(table[h.row[steady]], axis=0, weights=h.prior[steady])
            chance = there
        else:
            presence = self._presence(disturbed)[kept][:, None]
            chance = presence * there + (1.0 - presence) * table[0]
        return np.where(h.known[kept][:, None], chance, 1.0 / table.shape[1])

    def trial_chances(self, name: str) -> Array:
        """Return P(cured, same | hypothesis), (H, 2), of a trial; a fault that is absent just then looks cured."""
        cures = self.model.cures[_known(self.model.cures, name, "trial")]
        gone = np.clip(cures + (1.0 - cures) * (1.0 - self.presence), 0.002, 0.998)
        gone = np.where(self.model.hypotheses.known, gone, 0.02)
        return np.column_stack([gone, 1.0 - gone])

    def _after_watching(self, watched: SignalWatched) -> Belief:
        """Weigh the hypotheses by the chance that the signal is lost now and then, or never, while it is recorded."""
        column = _place(self.model.column, watched.measurement, "measurement")
        presence = self._presence(watched.disturbed)
        if watched.lost and watched.level is not None:
            return self._with_likelihood(lost_at_likelihood(self.model, presence, column, watched.level), watched)
        lost = losing_chances(self.model, presence, column)
        return self._with_likelihood(np.log(lost if watched.lost else 1.0 - lost), watched)

    def _after_repair(self, done: RepairDone) -> Belief:
        h = self.model.hypotheses
        mended = np.isin(h.suspect, _mended(self.model.suspect_index, done.suspect))
        cured = np.where(mended, 1.0 - NEW_PART_BAD, np.clip(1.0 - self.presence, NEW_PART_BAD, 1.0 - NEW_PART_BAD))
        belief = self._with_likelihood(np.log(cured if done.cured else 1.0 - cured), done)
        return replace(belief, presence=np.where(mended, 0.0, belief.presence)) if done.cured else belief


def _part(table: Array, rows: Rows, columns: Index) -> Array:
    """Return some rows and columns of a table (G, X, ...), the smaller cut first."""
    if isinstance(rows, slice):
        return np.take(table[rows], columns, axis=1)
    if 4 * len(columns) < table.shape[1]:
        return np.take(np.take(table, columns, axis=1), rows, axis=0)
    return np.take(np.take(table, rows, axis=0), columns, axis=1)


def _mended(index: Mapping[str, int], suspect: str) -> list[int]:
    """Return the suspects that a repair cures: of a pair `a+b` each alone too, though no hypothesis names the pair."""
    single = [_place(index, name, "suspect") for name in suspect.split("+")]
    return [*single, index[suspect]] if suspect in index else single


def _place(index: Mapping[str, int], name: str, what: str) -> int:
    return index[_known(index, name, what)]


def _known(index: Mapping[str, object], name: str, what: str) -> str:
    if name not in index:
        raise InputError(f"'{name}' is no {what} of this circuit; choose one of {', '.join(index)}")
    return name
