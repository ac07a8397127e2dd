"""`proveout chart`."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

import click

from proveout.cases.history import believe
from proveout.cases.twins.chart_twin import chart_twin, proof_twin
from proveout.circuits.library import chart_names, ready_chart
from proveout.circuits.loading import load_chart
from proveout.circuits.schema import Circuit
from proveout.circuits.service_chart import ServiceChart
from proveout.cli.circuit_source import read_source
from proveout.cli.files import write_text
from proveout.cli.lines import bold, labelled, minutes, paragraph
from proveout.cli.options import JobCommand, say
from proveout.cli.progress import shown
from proveout.cli.workplace import Workplace, with_workplace
from proveout.diagnosis import Belief
from proveout.diagnosis.advice_model import Shop
from proveout.diagnosis.chances import chance_text
from proveout.diagnosis.chart import Chart, derive_chart
from proveout.diagnosis.money import money_text
from proveout.diagnosis.proof import ChartProof, prove_chart
from proveout.diagnosis.service import service_tree
from proveout.reports.chart_drawing import draw_chart
from proveout.reports.chart_nodes import chart_nodes
from proveout.reports.chart_tree import chart_text

_WIDTH = 100
_MOST_SHOWN = 12


@dataclass(frozen=True)
class _Subject:
    """What the chart is of: a belief and a shop to start from."""

    belief: Belief
    shop: Shop
    currency: str

    @property
    def circuit(self) -> Circuit:
        return self.belief.model.circuit


@click.command(
    "chart",
    cls=JobCommand,
    examples=(
        "proveout chart",
        "proveout chart crank-hall-5v --svg -o charts",
        "proveout chart crank-hall-5v --proof --service crank-hall-5v",
    ),
)
@click.argument("what", required=False, metavar="[CIRCUIT|CASE]")
@click.option("--svg", is_flag=True, help="Draw it, one file for each page.")
@click.option(
    "-o", "--output", type=click.Path(file_okay=False, path_type=Path), default=Path(), help="Folder for --svg."
)
@click.option("--paper", type=click.Choice(["a4", "letter"]), default="a4", help="Paper of the drawing.")
@click.option("--proof", is_flag=True, help="Prove it: what it finds, what it cannot, what it costs.")
@click.option("--service", metavar="NAME|FILE", help="Prove a service chart of the same circuit beside it.")
@with_workplace
def chart(
    place: Workplace,
    what: str | None,
    svg: bool,
    output: Path,
    paper: Literal["a4", "letter"],
    proof: bool,
    service: str | None,
) -> None:
    """Derive the flow chart of a circuit or a case, and prove it.

    Without an argument it is that of the current case: from what is known and open now. Text goes to the terminal.
    """
    subject = _subject(place, what)
    listed = _service(service, subject.circuit) if service else None
    with shown("Deriving the chart") as progress:
        derived = derive_chart(subject.belief, subject.shop, progress=progress)
    proofs = _proofs(derived, subject, listed) if proof or listed else ()
    pages = _drawn(derived, output, paper) if svg else ()
    titles = {suspect.name: suspect.title for suspect in subject.belief.model.suspects}
    twin = {
        **chart_twin(derived),
        "currency": subject.currency,
        "files": [str(page) for page in pages],
        "proof": proof_twin(proofs[0], titles, *proofs[1:]) if proofs else None,
        "service": {"title": listed.title, **proof_twin(proofs[1], titles, proofs[0])} if listed else None,
    }
    say(twin, lambda data: _lines(data, derived), as_json=place.as_json)


def _subject(place: Workplace, what: str | None) -> _Subject:
    if what is not None and not what.isdecimal():
        circuit = read_source(what).circuit
        return _Subject(Belief.start(place.compiled(circuit)), Shop(), "")
    place.about(what)
    state = place.state()
    return _Subject(believe(place.model(state), state), state.shop, state.opened.currency)


def _service(name: str, circuit: Circuit) -> ServiceChart:
    return ready_chart(name) if name in chart_names() else load_chart(Path(name), circuit)


def _proofs(derived: Chart, subject: _Subject, listed: ServiceChart | None) -> tuple[ChartProof, ...]:
    with shown("Proving"):
        charts = [derived, *([service_tree(subject.belief, listed, subject.shop)] if listed else [])]
        return tuple(prove_chart(each) for each in charts)


def _drawn(derived: Chart, folder: Path, paper: Literal["a4", "letter"]) -> tuple[Path, ...]:
    pages = draw_chart(chart_nodes(derived), title=derived.title, standing=derived.standing, paper=paper)
    name = derived.start.model.circuit.name
    return tuple(write_text(folder / f"{name}-chart-{k}.svg", page) for k, page in enumerate(pages, 1))


def _lines(twin: dict[str, Any], derived: Chart) -> Iterator[str]:
    if twin["files"]:
        yield from (f"{file} is written." for file in twin["files"])
    else:
        yield bold(twin["title"])
        yield chart_text(chart_nodes(derived), width=_WIDTH).rstrip()
        yield from paragraph(twin["standing"], "")
    if twin["proof"]:
        yield from _proof_lines("This chart", twin["proof"], twin["currency"])
    if twin["service"]:
        yield from _proof_lines(twin["service"]["title"], twin["service"], twin["currency"])


def _proof_lines(title: str, proof: dict[str, Any], currency: str) -> Iterator[str]:
    yield bold(title)
    yield from labelled("Finds", f"the right repair in {chance_text(proof['coverage'])} of the faults, by frequency")
    yield from labelled("Takes", f"{minutes(proof['expected_minutes'])} to its end on average")
    cure = (
        f"{minutes(proof['minutes_to_cure'])}, {money_text(proof['money_to_cure'], currency)} to the repair that cures"
    )
    yield from labelled("To cure", cure)
    yield from labelled("Size", f"{proof['steps']} steps, {proof['ends']} ends")
    yield from _confused(proof["confusable"])
    yield from _not_found(proof["missed"])


def _confused(pairs: list[dict[str, Any]]) -> Iterator[str]:
    """Yield which suspect is taken for which other, and how probably."""
    if pairs:
        yield "  Cannot tell apart"
    for pair in pairs[:_MOST_SHOWN]:
        chance = f"{chance_text(pair['probability']):>7}"
        yield from labelled(chance, f"{pair['title']}, taken for: {pair['taken_for_title']}")
    yield from _more(pairs)


def _not_found(missed: list[dict[str, Any]]) -> Iterator[str]:
    """Yield which faults are missed, over which severities, and what is found instead."""
    if missed:
        yield "  Does not find"
    for fault in missed[:_MOST_SHOWN]:
        found = f"found as: {fault['finding_title']}" if fault["finding"] else "stops without a finding"
        yield from paragraph(fault["title"] + (f", {fault['span']}" if fault["span"] else ""), "    ")
        yield from paragraph(found, "      ")
    yield from _more(missed)


def _more(rows: list[dict[str, Any]]) -> Iterator[str]:
    if len(rows) > _MOST_SHOWN:
        yield f"    and {len(rows) - _MOST_SHOWN} more: --json lists them"
