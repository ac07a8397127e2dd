"""A derived chart with its proof as plain data that can be kept in a file, drawn, and followed by a case's readings."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Literal

from proveout.cases.plain_data import plain_data
from proveout.cases.twins.chart_twin import proof_twin
from proveout.diagnosis.chart import Chart, ChartEnd, ChartStep, walk
from proveout.diagnosis.evidence import BandSeen, Evidence, OutcomeSeen, ReadingTaken
from proveout.diagnosis.proof import ChartProof
from proveout.diagnosis.steps import SEEN_AS
from proveout.errors import InputError
from proveout.reports.chart_nodes import chart_nodes
from proveout.reports.chart_tree import ChartNode
from proveout.reports.chart_tree import walk as walk_nodes

__all__ = ["ChartSheet", "SheetBranch", "SheetNode", "Taken", "chart_sheet", "read_chart_sheet"]

FORM = 1
STEP_OF = {seen: kind for kind, seen in SEEN_AS.items()}


@dataclass(frozen=True)
class SheetBranch:
    """One result of a step and the number of the box it leads to.

    A reading's band runs from `low` to `high` (None is unbounded) or is `over_limit`; what is seen has an `outcome`.
    """

    label: str
    to: int
    low: float | None = None
    high: float | None = None
    over_limit: bool = False
    outcome: str = ""


@dataclass(frozen=True)
class SheetNode:
    """One box: its number, its lines as they are drawn, and for a step its kind, name and results."""

    number: int
    drawn: Literal["action", "finding", "stop"]
    lines: tuple[str, ...]
    kind: str = ""
    name: str = ""
    branches: tuple[SheetBranch, ...] = ()


@dataclass(frozen=True)
class Taken:
    """The way of a case through a chart.

    `boxes` are the numbers passed, the one where it stands last; `results` the place of the branch taken at each but
    the last. `outside` says that the reading at the last box lies in none of its bands.
    """

    boxes: tuple[int, ...]
    results: tuple[int, ...]
    outside: bool = False


@dataclass(frozen=True)
class ChartSheet:
    """A chart: its title, the sentence that holds at every box, its boxes by number, and what was proven of it.

    `proof` is that of this chart, `service` that of the service chart in fixed order, None where there is none.
    """

    title: str
    standing: str
    root: int
    nodes: Mapping[int, SheetNode]
    proof: Mapping[str, Any]
    service: Mapping[str, Any] | None = None

    def tree(self) -> ChartNode:
        """Return the chart as the tree of boxes that is drawn."""
        return self._tree(self.root, {})

    def _tree(self, number: int, made: dict[int, ChartNode]) -> ChartNode:
        if number not in made:
            node = self.nodes[number]
            children = tuple((branch.label, self._tree(branch.to, made)) for branch in node.branches)
            made[number] = ChartNode(str(number), node.lines, node.drawn, children)
        return made[number]

    def taken(self, evidence: Iterable[Evidence]) -> Taken:
        """Return how far what a case has learnt leads through the chart; of a step taken twice the last result counts.

        What was so before the vehicle came in is no step that was taken.
        """
        known = _latest(evidence)
        boxes, results, here = [self.root], list[int](), self.nodes[self.root]
        while here.branches and (here.kind, here.name) in known:
            result = _result(here.branches, known[here.kind, here.name])
            if result is None:
                return Taken(tuple(boxes), tuple(results), outside=True)
            results.append(result)
            here = self.nodes[here.branches[result].to]
            boxes.append(here.number)
        return Taken(tuple(boxes), tuple(results))

    def text(self) -> str:
        """Return it as the text of a file that `read_chart_sheet` reads."""
        nodes = [asdict(node) for node in self.nodes.values()]
        return json.dumps(plain_data({**asdict(self), "nodes": nodes, "form": FORM}), ensure_ascii=False)


def chart_sheet(chart: Chart, proof: ChartProof, service: tuple[str, ChartProof] | None = None) -> ChartSheet:
    """Return a chart with its proof, and with title and proof of a service chart, as plain data."""
    drawn = {int(node.id): node for node in walk_nodes(chart_nodes(chart))}
    nodes = {node.number: _node(node, drawn[node.number]) for node in walk(chart.root)}
    titles = {suspect.name: suspect.title for suspect in chart.start.model.suspects}
    beside = {"title": service[0], **proof_twin(service[1], titles, proof)} if service else None
    return ChartSheet(
        chart.title, chart.standing, chart.root.number, nodes, plain_data(proof_twin(proof, titles)), plain_data(beside)
    )


def read_chart_sheet(text: str) -> ChartSheet:
    """Return the chart of a file's text.

    Raises
    ------
    InputError
        The text is none, or of another version: derive the chart again.
    """
    try:
        data = json.loads(text)
        if data.pop("form") != FORM:
            raise ValueError("another version")
        nodes = {node["number"]: _read_node(node) for node in data.pop("nodes")}
        return ChartSheet(nodes=nodes, **data)
    except (ValueError, TypeError, KeyError, AttributeError) as error:
        raise InputError(f"a kept chart cannot be read ({error}); delete it, it is derived anew") from error


def _node(node: ChartStep | ChartEnd, drawn: ChartNode) -> SheetNode:
    if isinstance(node, ChartEnd):
        return SheetNode(node.number, drawn.kind, drawn.lines)
    branches = tuple(_branch(branch.label, branch.target.number, branch.evidence) for branch in node.branches)
    return SheetNode(node.number, drawn.kind, drawn.lines, node.step.kind, node.step.name, branches)


def _branch(label: str, to: int, evidence: Evidence) -> SheetBranch:
    if isinstance(evidence, OutcomeSeen):
        return SheetBranch(label, to, outcome=evidence.outcome)
    if not isinstance(evidence, BandSeen):
        raise InputError(f"the result '{label}' of a chart is neither a band nor an outcome")
    bounds = [None if abs(value) == float("inf") else value for value in (evidence.low, evidence.high)]
    return SheetBranch(label, to, bounds[0], bounds[1], evidence.over_limit)


def _read_node(node: dict[str, Any]) -> SheetNode:
    branches = tuple(SheetBranch(**branch) for branch in node["branches"])
    return SheetNode(**{**node, "lines": tuple(node["lines"]), "branches": branches})


def _latest(evidence: Iterable[Evidence]) -> dict[tuple[str, str], Evidence]:
    found: dict[tuple[str, str], Evidence] = {}
    for piece in evidence:
        if isinstance(piece, ReadingTaken) and piece.reading.taken:
            found["measure", piece.measurement] = piece
        if isinstance(piece, OutcomeSeen) and not piece.past:
            found[STEP_OF[piece.kind], piece.name] = piece
    return found


def _result(branches: Sequence[SheetBranch], piece: Evidence) -> int | None:
    """Return the place of the branch that a result belongs to, None where it belongs to none."""
    return next((k for k, branch in enumerate(branches) if _belongs(branch, piece)), None)


def _belongs(branch: SheetBranch, piece: Evidence) -> bool:
    if isinstance(piece, OutcomeSeen):
        return branch.outcome == piece.outcome
    if not isinstance(piece, ReadingTaken) or branch.outcome:
        return False
    value = piece.reading.value
    if piece.reading.over_limit or value is None:
        return branch.over_limit
    enough = branch.low is None or value >= branch.low
    return not branch.over_limit and enough and (branch.high is None or value <= branch.high)
