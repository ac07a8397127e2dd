"""An invented case for the tests: a work lamp that burns dimly."""

from datetime import datetime, timedelta
from functools import cache
from pathlib import Path

from cases.stores import NOON
from proveout.cases.desk import Desk
from proveout.cases.events import CircuitChosen, Event, HarnessChecked, Opened, OutcomeNoted, ReadingNoted, fingerprint
from proveout.cases.memory_store import MemoryStore
from proveout.cases.store import CaseStore
from proveout.circuits import Circuit, read_circuit
from proveout.diagnosis import Model, compile_model
from proveout.instruments import Function, default_meter
from proveout.instruments.parsing import parse_reading

TEXT = (Path(__file__).parent / "work-lamp.yaml").read_text("utf-8")


class Clock:
    """A clock that goes on by a minute each time it is looked at."""

    def __init__(self) -> None:
        self._now = NOON

    def __call__(self) -> datetime:
        self._now += timedelta(minutes=1)
        return self._now


@cache
def lamp() -> Circuit:
    """Return the circuit."""
    return read_circuit(TEXT, "work-lamp.yaml")


@cache
def lamp_model() -> Model:
    """Return the compiled circuit."""
    return compile_model(lamp(), default_meter())


def lamp_chosen(text: str = TEXT) -> CircuitChosen:
    """Return the choice of the circuit."""
    return CircuitChosen(name="work-lamp", title="Work lamp", text=text, sha256=fingerprint(text))


def lamp_opened(**changes: object) -> Opened:
    """Return the opening of a case of a lamp that burns dimly."""
    fields = {"concern": "lamp dim", "complaint": {"light": "dim"}, "labour_rate": 60.0, "invented": True, **changes}
    return Opened.model_validate(fields)


def reading(measurement: str, text: str, minutes: float | None = None) -> ReadingNoted:
    """Return a reading as typed."""
    function = Function(lamp().measurements[measurement].function)
    return ReadingNoted.of(measurement, text, parse_reading(text, function, default_meter()), minutes)


def seen(name: str, outcome: str) -> OutcomeNoted:
    """Return an outcome seen."""
    what = "look" if name in lamp().looks else "trial" if name in lamp().trials else "behaviour"
    return OutcomeNoted.model_validate({"what": what, "name": name, "outcome": outcome})


def harness(connector: str, **cavities: str) -> HarnessChecked:
    """Return a harness check; cavities as `_1="RD/WH"`."""
    return HarnessChecked(connector=connector, seen={k[1:]: text for k, text in cavities.items()}, agrees=True)


C1 = harness("C1", _1="RD/WH", _2="BN")
C2 = harness("C2", _1="RD/WH")


def a_desk(*events: Event, store: CaseStore | None = None, opened: Opened | None = None) -> tuple[Desk, int]:
    """Return a desk with an open case to which events were added."""
    desk = Desk(store or MemoryStore(), Clock())
    case = desk.open(opened or lamp_opened(), lamp_chosen())
    for event in events:
        desk.record(case, event)
    return desk, case
