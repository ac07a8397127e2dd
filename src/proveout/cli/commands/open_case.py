"""`proveout open`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from proveout.cases.events import Opened, VehicleRecord, made
from proveout.cases.twins import state_twin
from proveout.circuits.altitude import at_altitude
from proveout.cli.circuit_source import Source, chosen_event, read_source
from proveout.cli.files import read_text
from proveout.cli.lines import bold, labelled
from proveout.cli.options import AMOUNT, JobCommand, pairs, say
from proveout.cli.workplace import Workplace, with_store
from proveout.instruments import read_meter
from proveout.instruments.parsing import parse_quantity


@click.command(
    "open",
    cls=JobCommand,
    examples=(
        "proveout open --circuit crank-hall-5v --complaint start=late --code P0335",
        "proveout open --circuit my-crank.yaml --vin 1M8GDM9AXKP042788 --authorised-minutes 120",
    ),
)
@click.option(
    "--circuit", required=True, metavar="NAME|FILE", help="Ready circuit, or the file of a vehicle's own sheet."
)
@click.option("--complaint", multiple=True, metavar="BEHAVIOUR=OUTCOME", help="What the customer reports; repeatable.")
@click.option("--code", "codes", multiple=True, metavar="CODE", help="Trouble code as read (P0335); repeatable.")
@click.option("--concern", default="", help="The concern in the customer's own words.")
@click.option("--make", default="", help="Make of the vehicle.")
@click.option("--model", default="", help="Model of the vehicle.")
@click.option("--year", type=int, help="Model year.")
@click.option("--engine", default="", help="Engine.")
@click.option("--vin", default="", help="Identification number; its check digit is checked where it applies.")
@click.option("--distance", default="", help="As the instrument panel shows it, with its unit.")
@click.option("--plate", default="", help="Registration plate.")
@click.option("--order", default="", help="The workshop's own number of the job.")
@click.option("--customer", default="", help="The customer.")
@click.option("--authorised-minutes", type=AMOUNT, help="Working minutes that the customer authorised.")
@click.option("--authorised-money", type=AMOUNT, help="Money that the customer authorised.")
@click.option(
    "--rate", type=AMOUNT, default=90.0, envvar="PROVEOUT_RATE", show_envvar=True, help="Labour rate per hour."
)
@click.option(
    "--wrong-repair",
    type=AMOUNT,
    default=150.0,
    envvar="PROVEOUT_WRONG_REPAIR",
    show_envvar=True,
    help="Money that a repair which does not help costs on top of itself: the comeback.",
)
@click.option("--currency", default="", envvar="PROVEOUT_CURRENCY", show_envvar=True, help="Shown behind money.")
@click.option("--shop", default="", envvar="PROVEOUT_SHOP", show_envvar=True, help="The workshop.")
@click.option("--technician", default="", envvar="PROVEOUT_TECHNICIAN", show_envvar=True, help="Who works.")
@click.option(
    "--meter",
    type=click.Path(path_type=Path),
    envvar="PROVEOUT_METER",
    show_envvar=True,
    help="File that describes your meter.",
)
@click.option(
    "--altitude",
    default="",
    envvar="PROVEOUT_ALTITUDE",
    show_envvar=True,
    metavar="ALTITUDE",
    help="Altitude of the shop with its unit, 1500 m or 5000 ft: says what vacuum and pressure to want.",
)
@click.option("--invented", is_flag=True, help="A made-up case, for showing and teaching.")
@with_store
def open_case(place: Workplace, circuit: str, complaint: tuple[str, ...], meter: Path | None, **given: Any) -> None:
    """Open a case: circuit, vehicle, complaint, codes, authorised sum.

    A vehicle that its own sheet names need not be typed again. The behaviours of a circuit and their
    outcomes: proveout circuits show NAME.
    """
    source = read_source(circuit)
    altitude = given.pop("altitude")
    metres = parse_quantity(altitude, "length") if altitude else None
    at_altitude(source.circuit, metres)
    opened = made(
        Opened,
        vehicle=_vehicle(given, source),
        complaint=pairs(complaint, "BEHAVIOUR=OUTCOME, such as start=late"),
        labour_rate=given.pop("rate"),
        meter=_meter_text(meter),
        altitude=metres,
        **given,
    )
    case = place.desk.open(opened, chosen_event(source))
    say(state_twin(case, place.desk.state(case)), _lines, as_json=place.as_json)


def _vehicle(given: dict[str, Any], source: Source) -> VehicleRecord:
    """Return the vehicle as it was typed, else as its own sheet names it; a ready circuit is of no vehicle."""
    fields = {name: given.pop(name) for name in ("make", "model", "year", "engine", "distance", "plate")}
    if source.own and source.circuit.vehicle is not None:
        named = source.circuit.vehicle.model_dump(exclude={"note"})
        fields.update({name: value for name, value in named.items() if not fields[name]})
    return made(VehicleRecord, identification=given.pop("vin"), **fields)


def _meter_text(meter: Path | None) -> str:
    if meter is None:
        return ""
    text = read_text(meter)
    read_meter(text, str(meter))
    return text


def _lines(twin: dict[str, Any]) -> Iterator[str]:
    yield bold(f"Case {twin['case']} is open: {twin['circuit']['title']}")
    yield from labelled("Concern", twin["concern"])
    yield from labelled("Complaint", "; ".join(twin["complaint_told"]))
    yield from labelled("Codes", ", ".join(twin["codes"]))
    if not twin["complaint"]:
        yield from labelled("Note", "no complaint was given; 'proveout saw NAME OUTCOME --past' adds one")
    yield from labelled("Then", "proveout next")
