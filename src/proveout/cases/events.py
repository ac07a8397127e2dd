"""What happens in a case, as events that never change.

Each event is a small frozen record with a kind and a version; its payload is JSON. A correction is an event of its own
that names the event it replaces or withdraws.
"""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from typing import Annotated, Any, ClassVar, Literal, Self, TypeVar

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError, model_validator
from pydantic_core import ErrorDetails, PydanticCustomError

from proveout.captures.findings import CaptureFindings
from proveout.cases.identification import read_identification
from proveout.errors import InputError, StoreError
from proveout.instruments.reading import Reading

__all__ = [
    "EVENTS",
    "AccessDone",
    "AdviceShown",
    "CannotDo",
    "CaptureAttached",
    "CaptureOutline",
    "CircuitChosen",
    "Closed",
    "Correction",
    "Event",
    "FindingAccepted",
    "HarnessChecked",
    "Note",
    "Opened",
    "OutcomeNoted",
    "ReadingNoted",
    "RepairNoted",
    "RepairProven",
    "SetupDone",
    "VehicleNoted",
    "VehicleRecord",
    "decode",
    "encode",
    "fingerprint",
    "made",
]

_CODE = re.compile(r"[PBCU][0-3][0-9A-F]{3}(-[0-9A-F]{2})?")
NotNegative = Annotated[float, Field(ge=0)]
Share = Annotated[float, Field(ge=0, le=1)]
Name = Annotated[str, Field(min_length=1, max_length=200)]
Text = Annotated[str, Field(min_length=1)]


class _Record(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False, defer_build=True)


Record = TypeVar("Record", bound=_Record)


class Event(_Record):
    """One thing that happened in a case."""

    kind: ClassVar[str]
    version: ClassVar[int] = 1


def _read_code(text: str) -> str:
    """Return a trouble code (SAE J2012: a letter, a digit up to 3, three hexadecimal digits) with its failure type."""
    if _CODE.fullmatch(text) is None:
        raise PydanticCustomError("trouble_code", "{code} is no trouble code; write it like P0335", {"code": text})
    return text


class VehicleRecord(_Record):
    """The vehicle that came in.

    `identification` is checked as ISO 3779 and 49 CFR 565 ask, and stored in capitals; `distance` is what the
    instrument panel shows, with its unit.
    """

    make: str = ""
    model: str = ""
    year: Annotated[int, Field(ge=1885, le=2200)] | None = None
    engine: str = ""
    identification: str = ""
    distance: str = ""
    plate: str = ""

    @model_validator(mode="before")
    @classmethod
    def _read_identification(cls, data: Any) -> Any:
        if isinstance(data, Mapping) and data.get("identification"):
            return {**data, "identification": read_identification(data["identification"], data.get("year"))}
        return data


class Opened(Event):
    """The case was opened: what came in, what the customer says, what was authorised, at whose rate.

    `complaint` names behaviours of the circuit with the outcome that the customer reports; `codes` are trouble codes
    as read. `wrong_repair` is what a repair that does not cure costs on top of itself. `order` is the workshop's own
    number of the job, `meter` the text of the meter's description file, empty for the ordinary meter. `altitude` is
    that of the shop [m], which says what a vacuum can be. `invented` marks a made-up case for showing and teaching.
    """

    kind: ClassVar[str] = "opened"
    vehicle: VehicleRecord = VehicleRecord()
    concern: str = ""
    complaint: dict[Name, Name] = Field(default_factory=dict)
    codes: tuple[Annotated[str, AfterValidator(_read_code)], ...] = ()
    authorised_minutes: NotNegative | None = None
    authorised_money: NotNegative | None = None
    labour_rate: NotNegative = 90.0
    wrong_repair: NotNegative = 150.0
    currency: str = ""
    shop: str = ""
    technician: str = ""
    customer: str = ""
    order: str = ""
    meter: str = ""
    altitude: float | None = None
    invented: bool = False


class CircuitChosen(Event):
    """A circuit, with the whole text of its file, so that the case reads the same years later."""

    kind: ClassVar[str] = "circuit-chosen"
    name: Name
    title: str
    text: str
    sha256: str

    @model_validator(mode="after")
    def _check_text(self) -> Self:
        if self.sha256 != fingerprint(self.text):
            raise ValueError(f"sha256 of circuit '{self.name}' does not belong to its text")
        return self


class HarnessChecked(Event):
    """A connector was compared with the sheet: the colours seen by cavity, and whether all agreed."""

    kind: ClassVar[str] = "harness-checked"
    connector: Name
    seen: dict[Name, str]
    agrees: bool
    differences: tuple[str, ...] = ()
    minutes: NotNegative | None = None


class AccessDone(Event):
    """Something was dismantled; `minutes` only when the real time was noted."""

    kind: ClassVar[str] = "access-done"
    name: Name
    minutes: NotNegative | None = None


class SetupDone(Event):
    """The vehicle was brought into a set-up."""

    kind: ClassVar[str] = "setup-done"
    name: Name
    minutes: NotNegative | None = None


class ReadingNoted(Event):
    """A reading: the text as it was typed and what it was read as, in the SI unit.

    `disturbed`, since version 2: the place was wiggled, warmed or shaken meanwhile.
    """

    kind: ClassVar[str] = "reading-taken"
    version: ClassVar[int] = 2
    measurement: Name
    typed: str
    value: float | None
    over_limit: bool
    shown: str
    unit: str
    resolution: NotNegative = 0.0
    minutes: NotNegative | None = None
    disturbed: bool = False

    @classmethod
    def of(
        cls, measurement: str, typed: str, reading: Reading, minutes: float | None = None, *, disturbed: bool = False
    ) -> ReadingNoted:
        """Return the event of one reading."""
        return cls(
            measurement=measurement,
            typed=typed,
            value=reading.value,
            over_limit=reading.over_limit,
            shown=reading.shown,
            unit=reading.unit,
            resolution=reading.resolution,
            minutes=minutes,
            disturbed=disturbed,
        )

    @property
    def reading(self) -> Reading:
        """The reading as instruments give it."""
        return Reading(self.value, self.over_limit, self.shown, self.unit, self.resolution)


class CaptureOutline(_Record):
    """A telling stretch of a recorded channel as a picture needs it: least and most of each column of equal time."""

    begin: float
    end: float
    unit: str = ""
    extremes: tuple[tuple[float | None, float | None], ...]


class CaptureAttached(Event):
    """A recorded signal, put at a measurement: the file by its fingerprint, and what was found in it.

    `channel` is the one that was at the measurement's leads; `findings` are those of the whole file, as they were
    found then, so that the case reads the same with a newer analysis. `overrules` are what was said about how to read
    the file, `outline` a stretch of the channel for the report. `disturbed`: the place was wiggled, warmed or shaken
    meanwhile.
    """

    kind: ClassVar[str] = "capture-attached"
    measurement: Name
    channel: Name
    name: Name
    sha256: Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
    findings: dict[str, Any]
    overrules: dict[str, Any] = Field(default_factory=dict)
    outline: CaptureOutline | None = None
    note: str = ""
    minutes: NotNegative | None = None
    disturbed: bool = False

    @model_validator(mode="after")
    def _check_findings(self) -> Self:
        try:
            found = self.found
        except (KeyError, TypeError, AttributeError) as error:
            raise ValueError(f"what was found in capture '{self.name}' cannot be read ({error})") from error
        if found.sha256 != self.sha256:
            raise ValueError(f"what was found in capture '{self.name}' belongs to another file")
        return self

    @property
    def found(self) -> CaptureFindings:
        """What was found, as data."""
        return CaptureFindings.from_dict(self.findings)


class OutcomeNoted(Event):
    """What was seen of a behaviour, a look or a trial; `past` for what was so before the vehicle came in.

    `disturbed`, since version 2 and of behaviours only: the harness was wiggled, warmed or shaken meanwhile.
    """

    kind: ClassVar[str] = "outcome-seen"
    version: ClassVar[int] = 2
    what: Literal["behaviour", "look", "trial"]
    name: Name
    outcome: Name
    past: bool = False
    minutes: NotNegative | None = None
    disturbed: bool = False

    @model_validator(mode="after")
    def _check_disturbed(self) -> Self:
        if self.disturbed and (self.past or self.what != "behaviour"):
            raise ValueError(
                "wiggled goes with a behaviour watched now: not with the past, nor with a look or a trial, which have "
                "outcomes of their own"
            )
        return self


class CannotDo(Event):
    """A step that cannot be done on this vehicle, and why."""

    kind: ClassVar[str] = "cannot-do"
    name: Name
    because: Text


class AdviceShown(Event):
    """What was advised: the step, the leading suspects, and a hash over all that was shown."""

    kind: ClassVar[str] = "advice-shown"
    step_kind: Literal["measure", "look", "watch", "try", "repair"]
    step: Name
    title: str
    cost_to_end: float
    stop: str = ""
    leading: dict[str, Share] = Field(default_factory=dict)
    sha256: str


class FindingAccepted(Event):
    """The technician takes a suspect as the cause, with the probability it had then."""

    kind: ClassVar[str] = "finding-accepted"
    suspect: Name
    probability: Share
    because: str = ""


class RepairNoted(Event):
    """A suspect was repaired or replaced."""

    kind: ClassVar[str] = "repair-done"
    suspect: Name
    minutes: NotNegative | None = None
    parts: NotNegative | None = None
    note: str = ""


class RepairProven(Event):
    """The proof after a repair: the outcome of the circuit's proof behaviour, before and after."""

    kind: ClassVar[str] = "repair-proven"
    suspect: Name
    behaviour: Name
    before: str = ""
    after: Name
    cured: bool
    minutes: NotNegative | None = None


class Note(Event):
    """A remark."""

    kind: ClassVar[str] = "note"
    text: Text


class VehicleNoted(Event):
    """The vehicle is here, or is waited for, and why: it has not come in yet, or it went home to fail again."""

    kind: ClassVar[str] = "vehicle-noted"
    here: bool
    because: str = ""


class Correction(Event):
    """An earlier event was wrong: it is replaced by another of its kind, or withdrawn when there is none."""

    kind: ClassVar[str] = "correction"
    corrects: Annotated[int, Field(ge=1)]
    payload: dict[str, Any] | None = None
    because: str = ""


class Closed(Event):
    """The case was closed."""

    kind: ClassVar[str] = "closed"
    proven: bool
    because: str = ""


EVENTS: dict[str, type[Event]] = {
    event.kind: event
    for event in (
        Opened,
        CircuitChosen,
        HarnessChecked,
        AccessDone,
        SetupDone,
        ReadingNoted,
        CaptureAttached,
        OutcomeNoted,
        CannotDo,
        AdviceShown,
        FindingAccepted,
        RepairNoted,
        RepairProven,
        Note,
        VehicleNoted,
        Correction,
        Closed,
    )
}


def made(record: type[Record], /, **fields: Any) -> Record:
    """Return a record of typed fields.

    Raises
    ------
    InputError
        A field cannot be what was given; the message names all such fields.
    """
    try:
        return record.model_validate(fields)
    except ValidationError as error:
        raise InputError("; ".join(_fault_text(fault) for fault in error.errors())) from error


def _fault_text(fault: ErrorDetails) -> str:
    if fault["type"] == "trouble_code":
        return fault["msg"]
    place = ".".join(map(str, fault["loc"]))
    return f"{place} '{fault['input']}': {fault['msg']}. Give another value"


def fingerprint(text: str) -> str:
    """Return the SHA-256 of a text in UTF-8, in hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


def encode(event: Event) -> str:
    """Return the payload as JSON in one form only (sorted keys, no spaces), so that its hash means something."""
    return json.dumps(
        event.model_dump(mode="json"), sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False
    )


def decode(kind: str, version: int, payload: str) -> Event:
    """Return the event of a stored payload.

    Raises
    ------
    StoreError
        The kind or version is not known here, or the payload is damaged.
    """
    event = EVENTS.get(kind)
    if event is None or version > event.version:
        raise StoreError(
            f"the store holds an event '{kind}' of version {version}, which this Proveout does not know: it was "
            "written by a newer one. Update Proveout; nothing was changed"
        )
    try:
        return event.model_validate_json(payload)
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(step) for step in first["loc"]) or "the payload"
        raise StoreError(
            f"an event '{kind}' in the store cannot be read ({place}: {first['msg']}). "
            "Restore the store from a copy; nothing was changed"
        ) from error
