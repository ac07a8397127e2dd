"""Every example in the help and in docs/commands.md is typed as it stands."""

import shlex
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime
from importlib import resources
from pathlib import Path

import pytest

from cli.recordings import crank_csv
from cli.running import Garage
from cli.test_application import ALL
from proveout.cases.events import AdviceShown, FindingAccepted, Note
from proveout.cases.sqlite_store import SqliteStore
from proveout.circuits import ready_text
from proveout.cli.application import EXAMPLES

RECORDINGS = Path(__file__).parents[1] / "recordings"

SERVES = "proveout serve"
"""Serves until it is stopped: its examples are started and stopped in tests/web/browser."""

SLOW = ("proveout chart", "proveout demo", "proveout report")
# What the case must have come to before an example makes sense.
BEFORE = {
    "proveout reading 4.98": "advised reference_at_cs",
    "proveout reading -": "advised reference_at_cs",
    "proveout saw late": "advised start",
    "proveout correct 7 --value 4.89": "reading",
    'proveout correct 7 --withdraw --because "wrong cavity"': "reading",
    "proveout undo": "note",
    'proveout undo --because "wrong cavity"': "note",
    "proveout finding": "advised repair",
    "proveout finding w_sig": "advised repair",
    "proveout proof normal": "repaired",
    "proveout proof late --minutes 3": "repaired",
    "proveout close": "proven",
}
FILES_MADE = ("proveout circuits new",)


def _examples() -> Iterator[str]:
    yield from EXAMPLES
    for _, command in ALL:
        yield from getattr(command, "examples", ())


EVERY = sorted(set(_examples()))


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with twelve cases, the last one of a crank sensor, and the files the examples name."""
    garage = Garage(tmp_path_factory.mktemp("shop"))
    for number in range(1, 12):
        garage.lamp("--order", f"RO-{number}")
    garage.ok("open", "--circuit", "crank-hall-5v", "--complaint", "start=late", "--order", "RO-4711")
    garage.ok("harness", "CE", "12=RD/GY", "13=BK/GN", "27=YE/BU")
    garage.ok("harness", "CS", "1=RD/GY", "2=BK/GN", "3=YE/BU")
    (garage.folder / "my-crank.yaml").write_text(ready_text("crank-hall-5v"), "utf-8")
    chart = resources.files("proveout.circuits") / "charts" / "crank-hall-5v.yaml"
    (garage.folder / "my-chart.yaml").write_text(chart.read_text("utf-8"), "utf-8")
    for name, lost in (("crank.csv", 1), ("good.csv", 0)):
        (garage.folder / name).write_text(crank_csv(lost), "utf-8")
    (garage.folder / "drive.csv").write_bytes((RECORDINGS / "warmup-a.csv.gz").read_bytes())
    return garage.folder


def _prepare(garage: Garage, need: str) -> None:
    store = SqliteStore(garage.folder / "cases.db")
    kind, _, name = need.partition(" ")
    if kind == "advised":
        kinds = {"start": "watch", "repair": "repair"}
        step = {"step_kind": kinds.get(name, "measure"), "step": "w_sig" if name == "repair" else name}
        advice = AdviceShown.model_validate({**step, "title": name, "cost_to_end": 1.0, "sha256": "0" * 64})
        more = [FindingAccepted(suspect="w_sig", probability=1.0)] if name == "repair" else []
        store.append(12, [*more, advice], datetime.now(UTC))
    elif kind == "note":
        store.append(12, [Note(text="x")], datetime.now(UTC))
    elif kind == "reading":
        while len(store.events(12)) < 6:
            store.append(12, [Note(text="x")], datetime.now(UTC))
        garage.ok("reading", "reference_at_cs", "4.98")
    else:
        garage.ok("repair", "w_sig")
        if kind == "proven":
            garage.ok("proof", "normal")


@pytest.mark.parametrize(
    "example",
    [
        pytest.param(e, marks=[pytest.mark.slow] if e.startswith(SLOW) else [])
        for e in EVERY
        if not e.startswith(SERVES)
    ],
)
def test_an_example_does_what_it_says(
    example: str, shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    garage = Garage(Path(shutil.copytree(shop, tmp_path / "shop")))
    monkeypatch.chdir(garage.folder)
    words = shlex.split(example)[1:]
    if example in BEFORE:
        _prepare(garage, BEFORE[example])
    elif example.startswith("proveout repair"):
        _prepare(garage, "advised repair")
    elif example.startswith("proveout warmup attach"):
        garage.ok("open", "--circuit", "cooling-cold", "--complaint", "gauge=low", "--code", "P0128")
    if example.startswith(FILES_MADE):
        (garage.folder / "my-crank.yaml").unlink()
    garage.ok(*words, typed="\n" * 40)
