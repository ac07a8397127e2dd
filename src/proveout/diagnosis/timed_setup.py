"""All observables of a set-up that runs in time, over all rows: the stages stepped, with slopes carried along."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property, partial

import numpy as np

from proveout.circuits.assemble import PhaseState, StageState, stages_of
from proveout.diagnosis.latents import Latents
from proveout.diagnosis.observables import Observable
from proveout.diagnosis.solved_setup import CHUNK_CELLS, Seen, SolvedSetup, sound_start
from proveout.diagnosis.variants import fill
from proveout.network import Batch, Leg, Moment, Netlist, PartState, run_timeline
from proveout.network.laws import Array

__all__ = ["TimedSetup"]


class TimedSetup(SolvedSetup):
    """A set-up with a sequence: readings are taken at the end of the last stage, counts over the repetitions."""

    @cached_property
    def stages(self) -> tuple[StageState, ...]:
        """The stages, repetitions written out."""
        return stages_of(self.assembly, self.setup)

    def levels(self, observables: Sequence[Observable]) -> Iterator[tuple[slice, Seen]]:
        """Yield what is at the end of the stages, and the counts along the way, for some rows at a time."""
        at_end = [k for k, o in enumerate(observables) if o.quantity != "count"]
        counts = [k for k, o in enumerate(observables) if o.quantity == "count"]
        last = [observables[k] for k in at_end]
        pairs = list(dict.fromkeys(pair for o in last for pair in self._pairs(o)))
        latents = [Latents(self.assembly, phase, self.variants, batch) for phase, batch in self._legs]
        start = sound_start(self.netlist, self.phases[0])
        step = max(64, CHUNK_CELLS // (len(self.netlist.nodes) * max(len(latents[0]), 1)))
        for begin in range(0, self.rows, step):
            rows = slice(begin, min(begin + step, self.rows))
            moments = self._moments(rows, latents, start)
            at = self._linearised(self.netlist, moments[-1].solution, pairs, moments[-1].moved)
            found = Seen.empty(rows.stop - rows.start, len(observables), len(latents[0].known))
            if last:
                found.put(at_end, self._seen([at], [self._readout(last, at)], last, rows, [latents[-1]]))
            repeated = [m for m, stage in zip(moments[1:], self.stages, strict=True) if stage.ends_repetition]
            for k in counts:
                found.put([k], _counted(self.netlist, observables[k], repeated, len(latents[0].known)))
            yield rows, found

    @cached_property
    def _legs(self) -> list[tuple[PhaseState, Batch]]:
        """The start and every stage, each with the batch of all rows; stages of one state share theirs."""
        found: dict[tuple[PartState, ...], tuple[PhaseState, Batch]] = {}
        legs = []
        for states in (self.phases[0].states, *(stage.states for stage in self.stages)):
            known = next((leg for other, leg in found.items() if other is states or other == states), None)
            phase = PhaseState(1.0, states)
            legs.append(known or (phase, fill(self.netlist, phase, self.variants, self.rows)))
        return legs

    def _moments(self, rows: slice, latents: Sequence[Latents], start: Array) -> list[Moment]:
        seconds = [0.0, *(stage.seconds for stage in self.stages)]
        legs = [
            Leg(batch.take(rows), length, partial(self._changes, own, rows=rows))
            for (_, batch), own, length in zip(self._legs, latents, seconds, strict=True)
        ]
        return list(run_timeline(self.netlist, legs[0], legs[1:], np.repeat(start, rows.stop - rows.start, axis=1)))


def _counted(netlist: Netlist, o: Observable, moments: Sequence[Moment], known: int) -> Seen:
    """Return how many repetitions end with at least the effort asked for, as a number that moves steadily.

    Between the last that does and the first that does not, the place where the effort crosses the bound counts in
    proportion, half a repetition added, so that what is counted in whole numbers lies evenly about it.
    """
    a, b = netlist.node[o.red], netlist.node[o.black]
    over = np.stack([m.solution.effort[a] - m.solution.effort[b] for m in moments]) - o.at_least
    moved = np.stack([m.moved[a] - m.moved[b] for m in moments])
    good = np.logical_and.accumulate(over >= 0.0, axis=0)
    last = good.sum(axis=0)
    every = np.arange(over.shape[1])
    here, ahead = np.clip(last - 1, 0, len(moments) - 1), np.clip(last, 0, len(moments) - 1)
    inside = (last > 0) & (last < len(moments))
    span = np.where(inside, over[here, every] - over[ahead, every], 1.0)
    share = np.where(inside, over[here, every] / span, 0.0)
    by = ((1.0 - share) * moved[here, :, every].T + share * moved[ahead, :, every].T) / span
    slope = np.where(inside, by, 0.0)
    value = np.where(inside, last - 0.5 + share, last.astype(float))
    return Seen(value[:, None], slope[:known].T[:, None, :], np.sum(slope[known:] ** 2, axis=0)[:, None])
