"""Practices kept in a store of their own, as append-only as the cases: a restart loses nothing.

What is stored is the code of the vehicle and what was done with it. The fault is drawn anew from the code whenever it
is needed; it is written nowhere, and told only after the vehicle was handed over.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock
from typing import TypeVar

from proveout.cases.case_state import CaseState
from proveout.cases.corrections import standing
from proveout.cases.desk import Desk
from proveout.cases.events import CircuitChosen, Opened, fingerprint, made
from proveout.circuits import Circuit, ready_circuit, ready_text
from proveout.diagnosis import Model
from proveout.errors import BlockedError
from proveout.instruments import Meter, default_meter
from proveout.practice.code import Task, read_code
from proveout.practice.draw import draw_vehicle
from proveout.practice.ending import Ending, path_of, truth_of
from proveout.practice.hidden import HiddenVehicle
from proveout.practice.planner_path import follow_planner
from proveout.practice.work import Work

__all__ = ["PracticeBook", "Prices"]

KEPT = 16
Key = TypeVar("Key")
Item = TypeVar("Item")


@dataclass(frozen=True)
class Prices:
    """What the practice workshop charges.

    Attributes
    ----------
    labour_rate : float
        Money per hour.
    wrong_repair : float
        What a repair that does not cure costs on top of itself, and a vehicle that comes back.
    currency : str
        Written behind money.
    """

    labour_rate: float = 90.0
    wrong_repair: float = 150.0
    currency: str = ""


class PracticeBook:
    """All practices of one store.

    Parameters
    ----------
    desk : Desk
        Over a store that holds practices only.
    models : callable
        Gives the compiled circuit for a circuit and a meter.
    """

    def __init__(self, desk: Desk, models: Callable[[Circuit, Meter], Model]) -> None:
        self._desk, self._models, self._lock = desk, models, Lock()
        self._vehicles: OrderedDict[str, HiddenVehicle] = OrderedDict()
        self._endings: OrderedDict[tuple[int, int], Ending] = OrderedDict()

    def start(self, task: Task, prices: Prices | None = None) -> int:
        """Let the vehicle of a task come in and return the practice's number; raises as `draw_vehicle`."""
        prices, vehicle = prices or Prices(), self._vehicle(task)
        told = {name.upper(): name for name in vehicle.codes()}
        codes = [name for name in told if _is_code(name)]
        complaint = {**vehicle.complaints(), **{told[name]: "set" for name in told if name not in codes}}
        opened = made(
            Opened,
            complaint=complaint,
            codes=codes,
            labour_rate=prices.labour_rate,
            wrong_repair=prices.wrong_repair,
            currency=prices.currency,
            order=task.code,
            invented=True,
        )
        return self._desk.open(opened, _chosen(task.circuit))

    def numbers(self) -> tuple[int, ...]:
        """Return the numbers of all practices, oldest first."""
        return self._desk.store.cases()

    def task(self, number: int) -> Task:
        """Return what is practised; InputError where there is no such practice or its circuit is no longer known."""
        return read_code(self._desk.opening(number).order)

    def state(self, number: int) -> CaseState:
        """Return a practice as it stands."""
        return self._desk.state(number)

    def work(self, number: int) -> Work:
        """Return the vehicle of a practice with its record, to work on."""
        return Work(self._desk, number, self._vehicle(self.task(number)))

    def ready(self, number: int) -> bool:
        """Whether the vehicle of a practice is at hand; else it takes seconds to draw it anew."""
        with self._lock:
            return self.task(number).code in self._vehicles

    def ending(self, number: int) -> Ending:
        """Return the truth and both paths.

        Raises
        ------
        BlockedError
            The vehicle was not handed over yet.
        """
        work = self.work(number)
        state = work.state
        if state.closed is None:
            raise BlockedError("the fault is told when the vehicle has been handed over: finish the practice first")
        key = (number, len(state.entries))
        return self._remembered(self._endings, key, lambda: self._compared(number, state, work.vehicle))

    def _compared(self, number: int, state: CaseState, vehicle: HiddenVehicle) -> Ending:
        events = [stored.event for stored in standing(self._desk.events(number))]
        opened = next(e for e in events if isinstance(e, Opened))
        circuit = next(e for e in events if isinstance(e, CircuitChosen))
        planned = follow_planner(opened, circuit, vehicle)
        return Ending(truth_of(vehicle), path_of(state, vehicle), path_of(planned, vehicle))

    def _vehicle(self, task: Task) -> HiddenVehicle:
        def drawn() -> HiddenVehicle:
            return draw_vehicle(self._models(ready_circuit(task.circuit), default_meter()), task)

        return self._remembered(self._vehicles, task.code, drawn)

    def _remembered(self, kept: OrderedDict[Key, Item], key: Key, make: Callable[[], Item]) -> Item:
        with self._lock:
            if key in kept:
                kept.move_to_end(key)
                return kept[key]
        item = make()
        with self._lock:
            kept[key] = item
            while len(kept) > KEPT:
                kept.popitem(last=False)
        return item


def _chosen(name: str) -> CircuitChosen:
    text = ready_text(name)
    return CircuitChosen(name=name, title=ready_circuit(name).title, text=text, sha256=fingerprint(text))


def _is_code(name: str) -> bool:
    return len(name) == 5 and name[0] in "PBCU" and name[1:].isalnum() and name[1].isdigit()
