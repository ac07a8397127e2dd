"""Flow charts derived beside the pages, each once for a circuit and a shop's prices, and kept in a folder."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from proveout import __version__
from proveout.circuits.library import chart_names, ready_chart
from proveout.diagnosis import Belief, Model
from proveout.diagnosis.advice_model import Shop
from proveout.diagnosis.chart import derive_chart
from proveout.diagnosis.proof import prove_chart
from proveout.diagnosis.service import service_tree
from proveout.errors import InputError
from proveout.reports import Paper, draw_chart
from proveout.reports.chart_sheet import ChartSheet, Taken, chart_sheet, read_chart_sheet
from proveout.web.background import Background, Job
from proveout.web.recent import Recent

__all__ = ["ChartOrder", "Charts"]

KEPT = 48


@dataclass(frozen=True)
class ChartOrder:
    """What a chart is derived for: a circuit's text, a meter's, and what the shop charges."""

    text: str
    meter: str
    labour_rate: float
    wrong_repair: float
    currency: str

    @property
    def fingerprint(self) -> str:
        """A name for it that no other order has."""
        told = (__version__, self.text, self.meter, self.labour_rate, self.wrong_repair, self.currency)
        return hashlib.sha256(repr(told).encode()).hexdigest()


class Charts:
    """The charts of a workbench.

    Parameters
    ----------
    background : Background
    folder : Path or None
        Where derived charts stay, so that a restart need not derive them again; None keeps none.
    """

    def __init__(self, background: Background, folder: Path | None) -> None:
        self._background, self._folder = background, folder
        self._drawn: Recent[tuple[str, Taken, str], tuple[str, ...]] = Recent(16)

    def job(self, order: ChartOrder, model: Callable[[], Model]) -> Job[ChartSheet]:
        """Return the job of a chart: done where it was derived before, else under way; `model` is asked for then."""
        return self._background.job(("chart", order.fingerprint), lambda progress: self._found(order, model, progress))

    def drawn(self, order: ChartOrder, chart: ChartSheet, taken: Taken, paper: Paper) -> tuple[str, ...]:
        """Return the pages of an order's chart as SVG texts, with the way of a case, drawn once."""
        return self._drawn.made((order.fingerprint, taken, paper), lambda: _pages(chart, taken, paper))

    def _found(self, order: ChartOrder, model: Callable[[], Model], progress: Callable[[float], None]) -> ChartSheet:
        file = self._folder / f"{order.fingerprint}.json" if self._folder else None
        if file is not None and file.is_file():
            with suppress(InputError, OSError):
                return read_chart_sheet(file.read_text(encoding="utf-8"))
        made = _derived(order, model(), progress)
        if file is not None:
            with suppress(OSError):
                _keep(file, made.text())
        return made


def _pages(chart: ChartSheet, taken: Taken, paper: Paper) -> tuple[str, ...]:
    """Draw a chart; each box on the way of the case carries the label of the result taken there."""
    labels = [chart.nodes[box].branches[result].label for box, result in zip(taken.boxes, taken.results, strict=False)]
    labels += [""] * (len(taken.boxes) - len(labels))
    path = [(str(box), label) for box, label in zip(taken.boxes, labels, strict=True)]
    return draw_chart(chart.tree(), title=chart.title, standing=chart.standing, paper=paper, path=path)


def _derived(order: ChartOrder, model: Model, progress: Callable[[float], None]) -> ChartSheet:
    start = Belief.start(model)
    shop = Shop(labour_rate=order.labour_rate, wrong_repair=order.wrong_repair, currency=order.currency)
    chart = derive_chart(start, shop, progress=progress)
    name = model.circuit.based_on or model.circuit.name
    service = None
    if name in chart_names():
        with suppress(InputError):
            # A sheet may have left out what the chart of its ready circuit asks for.
            listed = ready_chart(name)
            service = (listed.title, prove_chart(service_tree(start, listed, shop)))
    return chart_sheet(chart, prove_chart(chart), service)


def _keep(file: Path, text: str) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    aside = file.with_suffix(".new")
    aside.write_text(text, encoding="utf-8")
    aside.replace(file)
    kept = sorted(file.parent.glob("*.json"), key=lambda each: each.stat().st_mtime, reverse=True)
    for old in kept[KEPT:]:
        old.unlink()
