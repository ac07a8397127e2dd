"""The schema of a circuit file: what may stand in it, with units and meaning.

Every quantity is in SI units except where a field says otherwise (minutes, degree Celsius, mm2, the shop's money).
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

__all__ = [
    "Access",
    "Behaviour",
    "Bridge",
    "Check",
    "Circuit",
    "Condition",
    "Connector",
    "Driven",
    "FaultOverride",
    "Limit",
    "Look",
    "Measurement",
    "Outcome",
    "Part",
    "Phase",
    "Point",
    "Repair",
    "Setup",
    "Signal",
    "Stage",
    "Trial",
    "Unit",
    "Value",
    "Vehicle",
]

Share = Annotated[float, Field(ge=0, le=1)]
Positive = Annotated[float, Field(gt=0)]
NotNegative = Annotated[float, Field(ge=0)]
Setting = str | float | bool
Colour = Literal["BK", "BN", "RD", "OG", "YE", "GN", "BU", "VT", "GY", "WH", "PK", "TQ", "SR", "GD"]


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Value(_Model):
    """A quantity with its tolerance and the source it was taken from."""

    value: float = Field(description="the quantity, in the unit that the element kind declares")
    tol: NotNegative = Field(0.0, description="tolerance as a share of the value, two standard deviations")
    source: str = Field("", description="published source, 'common practice' or 'from memory'")


class Driven(_Model):
    """A quantity that a numeric condition of the set-up fixes: value = scale x condition + offset."""

    condition: str = Field(description="name of a numeric condition")
    scale: float = 1.0
    offset: float = 0.0
    spread: NotNegative = Field(
        0.0, description="standard deviation of the result about what the set-up says, absolute"
    )
    source: str = ""


class FaultOverride(_Model):
    """Another relative frequency or severity range for one fault mode of a part; weight 0 removes the mode."""

    weight: NotNegative | None = None
    low: NotNegative | None = None
    high: NotNegative | None = None
    title: str | None = None
    intermittent: bool | None = None
    source: str = ""


class Part(_Model):
    """One element of the network: its kind, the nodes at its terminals in the kind's order, and its values."""

    kind: str = Field(description="element kind")
    nodes: list[str] = Field(description="one node for each terminal of the kind, in its order")
    title: str = Field("", description="what a technician calls it")
    values: dict[str, float | Value | Driven] = Field(default_factory=dict)
    when: dict[str, list[Setting]] = Field(
        default_factory=dict, description="the conditions, all of them, under which a switched element is on"
    )
    unit: str = Field("", description="the replaceable unit it belongs to")
    connector: str = Field("", description="for a terminal: the connector it sits in")
    cavity: str = Field("", description="for a terminal: its cavity")
    colour: list[Colour] = Field(
        default_factory=list, max_length=3, description="for a wire: base colour, then stripes"
    )
    repair: str = Field("", description="the repair that cures its faults, where it is not its unit's or its own")
    weight: NotNegative | None = Field(None, description="relative frequency of its failing; default by kind")
    healthy: bool = Field(False, description="true: assumed sound, it has no faults")
    faults: dict[str, FaultOverride] = Field(default_factory=dict)


class Bridge(_Model):
    """Two nodes whose conductors share a harness run and can short to one another."""

    nodes: tuple[str, str]
    title: str
    repair: str = Field(description="the repair, or the part (wire) whose repair cures the short")
    weight: NotNegative = 0.2
    insulation: Positive = Field(1.0e9, description="insulation resistance when good [ohm]")
    low: Positive = Field(0.02, description="least resistance of the short [ohm]")
    high: Positive = Field(3.0e3, description="greatest resistance of the short [ohm]")
    source: str = ""


class Condition(_Model):
    """One thing that a set-up fixes: either a choice among `values`, or a number with a unit."""

    title: str
    default: Setting
    values: list[Setting] = Field(default_factory=list)
    unit: str = ""


class Repair(_Model):
    """What is done to cure a suspect: working minutes without access, parts in the shop's money."""

    title: str
    suspect: str = Field("", description="what is at fault, as a noun; empty: the title says it")
    minutes: NotNegative
    parts: NotNegative = 0.0
    access: list[str] = Field(default_factory=list)
    cautions: list[str] = Field(default_factory=list)
    source: str = ""


class Unit(_Model):
    """A thing that is replaced as a whole."""

    title: str
    repair: Repair


class Connector(_Model):
    """A connector; its cavities and colours follow from the terminals and wires."""

    title: str
    access: list[str] = Field(default_factory=list)
    minutes: NotNegative = Field(0.5, description="minutes to unplug or plug it, once in reach")
    cautions: list[str] = Field(default_factory=list)


class Point(_Model):
    """A place where a lead can be put."""

    node: str
    title: str
    access: list[str] = Field(default_factory=list)
    connector: str = Field("", description="the connector through which it is reached")
    cavity: str = ""
    side: Literal["harness", "component", ""] = Field("", description="which half of the unplugged connector")


class Phase(_Model):
    """One state that a set-up passes through, with its share of the time (a tooth, a gap)."""

    set: dict[str, Setting]
    share: Share


class Stage(_Model):
    """One stage of a set-up that runs in time: conditions that change, and how long it then stays so.

    A stage with `stages` goes through them `times` over: pressing and releasing a pedal.
    """

    title: str = ""
    set: dict[str, Setting] = Field(default_factory=dict, description="conditions that change and stay changed")
    seconds: Positive | None = Field(None, description="how long it lasts [s]; not with stages")
    times: int = Field(1, ge=1, description="how often the stages are gone through")
    stages: list[Stage] = Field(default_factory=list)


class Setup(_Model):
    """A state of the vehicle in which readings are taken.

    With a `sequence` the vehicle is first left in the state that `set` says until nothing moves any more, then taken
    through the stages; readings are taken at the end of the last.
    """

    title: str
    set: dict[str, Setting] = Field(default_factory=dict)
    phases: list[Phase] = Field(default_factory=list, description="empty: one steady state")
    tooth_rate: Annotated[float, Field(gt=0)] | None = Field(
        None, description="teeth a second that pass the sensor when the phases have these values; for a coil"
    )
    sequence: list[Stage] = Field(default_factory=list, description="stages in time; empty: settled")
    unplugged: list[str] = Field(default_factory=list, description="connectors that are unplugged")
    removed: list[str] = Field(default_factory=list, description="parts that are taken out (a fuse, a relay)")
    minutes: NotNegative = Field(0.5, description="minutes to bring the vehicle into it, without access")
    access: list[str] = Field(default_factory=list)
    cautions: list[str] = Field(default_factory=list)


class Limit(_Model):
    """What the manual calls good."""

    low: float | None = None
    high: float | None = None
    open: bool = Field(False, description="true: over-limit (no continuity) is the good reading")
    source: str = ""


class Measurement(_Model):
    """One reading of a meter, scope or gauge: in which set-up, which function, where it is put."""

    setup: str
    function: Literal[
        "volts_dc",
        "volts_ac",
        "ohms",
        "amps",
        "amps_clamp",
        "scope_low",
        "scope_high",
        "scope_swing",
        "vacuum_gauge",
        "pressure_gauge",
        "thermometer",
        "infrared",
        "count",
        "fitted_temperature",
        "fitted_share",
    ]
    red: str = Field("", description="point of the red lead, or where a gauge or thermometer is put")
    black: str = Field("", description="point of the black lead; empty on a gauge or thermometer")
    through: str = Field(
        "", description="for amps: the part whose current is read, from its first to its second terminal"
    )
    title: str = ""
    at_least: float | None = Field(
        None, description="for a count: effort from red to black at the end of each repetition that still counts"
    )
    minutes: NotNegative = 1.0
    access: list[str] = Field(default_factory=list)
    limit: Limit | None = None
    cautions: list[str] = Field(default_factory=list)


class Check(_Model):
    """One condition on what the network does in a set-up: the effort between two nodes, or a part's flow."""

    between: tuple[str, str] | None = None
    current: str = Field("", description="part whose current is meant, from its first to its second terminal")
    quantity: Literal["mean", "low", "high", "swing"] = "mean"
    at_least: float | None = None
    at_most: float | None = None


class Signal(_Model):
    """Something that is so or not so, computed from the network: all checks hold."""

    title: str
    setup: str
    checks: list[Check]
    source: str = ""


class Outcome(_Model):
    """One thing that may be seen; the first outcome whose signals all agree is the one."""

    title: str
    when: dict[str, bool] = Field(default_factory=dict)
    good: bool = Field(False, description="true: this is what a sound vehicle does")


class Behaviour(_Model):
    """What the vehicle or its control unit does: a complaint, a code, a display; computed from signals."""

    title: str
    kind: Literal["complaint", "code", "display"]
    setup: str
    outcomes: dict[str, Outcome]
    minutes: NotNegative = 1.0
    access: list[str] = Field(default_factory=list)
    slip: Share = Field(0.02, description="probability that what is noted is not what the network says")
    cautions: list[str] = Field(default_factory=list)
    source: str = ""


class Look(_Model):
    """An inspection with tabulated likelihoods.

    Patterns are `part.mode` with * as a wildcard; the first match counts. A pattern that ends in `~` is for the form of
    the fault that comes and goes, and goes before all patterns without it; these hold for both forms. A wiggle test is
    a look: `"t_ce_*~": {steady: 0.4, changes: 0.6}` beside `"t_ce_*": {steady: 0.85, changes: 0.15}`.
    """

    title: str
    setup: str = Field("", description="set-up in which it is done; empty: any")
    minutes: NotNegative = 1.0
    access: list[str] = Field(default_factory=list)
    connector: str = Field("", description="connector that must be unplugged for it")
    outcomes: dict[str, str] = Field(description="name and text of what may be seen")
    given: dict[str, dict[str, Share]] = Field(
        description="fault pattern, with ~ at its end for one that comes and goes: probability of each outcome"
    )
    otherwise: dict[str, Share] = Field(description="probability of each outcome under every other fault")
    cautions: list[str] = Field(default_factory=list)
    source: str = ""


class Trial(_Model):
    """An action that may cure at once: reseating a connector, swapping a relay with a known-good one."""

    title: str
    minutes: NotNegative = 2.0
    parts: NotNegative = 0.0
    access: list[str] = Field(default_factory=list)
    cures: dict[str, Share] = Field(description="fault pattern: probability that it is cured")
    behaviour: str = Field(description="the behaviour that is watched for the cure")
    lasting: bool = Field(
        True, description="false: the cure does not last (reseating); the part is still to be repaired"
    )
    undone: bool = Field(False, description="true: undone afterwards (a known-good part taken out again)")
    cautions: list[str] = Field(default_factory=list)
    source: str = ""


class Access(_Model):
    """Dismantling that brings something into reach; done once, shared by all later steps."""

    title: str
    minutes: NotNegative
    requires: list[str] = Field(default_factory=list)
    cautions: list[str] = Field(default_factory=list)
    source: str = ""


class Vehicle(_Model):
    """The vehicle a sheet was made for."""

    make: str = ""
    model: str = ""
    year: int | None = None
    engine: str = ""
    note: str = ""


class Circuit(_Model):
    """A circuit: the network, what can be done at it, and what it costs."""

    schema_: Literal[1] = Field(alias="schema")
    name: str = Field(pattern=r"^[a-z0-9][a-z0-9-]*$")
    title: str
    about: str = ""
    based_on: str = Field("", description="the ready circuit that a vehicle's own sheet was made from")
    vehicle: Vehicle | None = None
    ground: str = Field(
        description="reference node: the battery's negative post, the surrounding air, 0 degree Celsius"
    )
    leakage: Positive = Field(1.0e9, description="leakage from every electrical node to ground [ohm]")
    leakages: dict[Literal["pneumatic", "hydraulic", "thermal"], Positive] = Field(
        default_factory=dict, description="the same for nodes of other domains, effort over flow; default by domain"
    )
    conditions: dict[str, Condition]
    units: dict[str, Unit] = Field(default_factory=dict)
    connectors: dict[str, Connector] = Field(default_factory=dict)
    parts: dict[str, Part]
    bridges: dict[str, Bridge] = Field(default_factory=dict)
    repairs: dict[str, Repair] = Field(default_factory=dict, description="repairs shared by several parts")
    wire_repair: Repair | None = Field(
        None, description="what repairing one wire takes, where the part names no repair"
    )
    terminal_repair: Repair | None = Field(
        None, description="what repairing one terminal takes, where the part names no repair"
    )
    access: dict[str, Access] = Field(default_factory=dict)
    points: dict[str, Point]
    setups: dict[str, Setup]
    measurements: dict[str, Measurement] = Field(default_factory=dict)
    signals: dict[str, Signal] = Field(default_factory=dict)
    behaviours: dict[str, Behaviour] = Field(default_factory=dict)
    looks: dict[str, Look] = Field(default_factory=dict)
    trials: dict[str, Trial] = Field(default_factory=dict)
    proof: str = Field(description="the behaviour that shows a repair worked")
    no_fault_weight: NotNegative = Field(0.3, description="relative frequency of 'no fault present now'")
    unknown_weight: NotNegative = Field(0.1, description="relative frequency of 'none of these'")
