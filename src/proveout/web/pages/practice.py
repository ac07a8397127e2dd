"""Practice: a vehicle with a hidden fault, worked on as on a real one; at the end both paths beside one another."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import asdict
from typing import Any

from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.responses import Response

from proveout.circuits.library import ready_titles
from proveout.errors import InputError, ProveoutError
from proveout.practice import (
    DIFFICULTIES,
    SEEDS,
    Choice,
    Ending,
    Prices,
    Task,
    Work,
    choices_of,
    ending_twin,
    practice_listing,
    practice_twin,
    read_code,
)
from proveout.practice.figure import draw_paths
from proveout.web.asked import Asked, page, posted
from proveout.web.background import Job
from proveout.web.languages import mark

PATIENCE = 0.4  # seconds that a page waits for the end before it says that it is being worked out
KINDS = {
    "compare": mark("Compare the colours"),
    "measure": mark("Measure"),
    "look": mark("Look"),
    "watch": mark("Watch what the vehicle does"),
    "try": mark("Try"),
    "access": mark("Dismantle"),
    "setup": mark("Bring the vehicle into a set-up"),
    "repair": mark("Repair or replace"),
}
WIGGLED = ("measure", "watch")
LEVELS = {
    "easy": (mark("Easy"), mark("Few suspects look like it before anything is dismantled.")),
    "medium": (mark("Medium"), mark("More suspects look alike, or the fault is milder.")),
    "hard": (mark("Hard"), mark("Most look alike, the fault is mild, or it comes and goes.")),
}


def listing(asked: Asked, message: str = "") -> Response:
    """Show the practices and what is needed to start one."""
    book = asked.bench.practices
    rows = [practice_listing(n, book.task(n), book.state(n)) for n in reversed(book.numbers())]
    typed = {name: asked.text(name) for name in ("code", "circuit", "difficulty", "seed")}
    twin = {"practices": rows, "circuits": dict(ready_titles()), "difficulties": list(DIFFICULTIES), "seeds": SEEDS}
    more = {"message": message, "typed": typed, "levels": LEVELS}
    return asked.show("practice.html", twin, status=422 if message else 200, more=more)


def start(asked: Asked) -> Response:
    """Let a vehicle come in."""
    prices = asked.settings
    try:
        task = _task(asked)
    except InputError as error:
        return listing(asked, str(error))
    token, terms = secrets.token_hex(16), Prices(prices.labour_rate, prices.wrong_repair, prices.currency)
    job = asked.bench.practising.job(("coming", token), lambda progress: asked.bench.practices.start(task, terms))
    return _come(asked, token, job)


def coming(asked: Asked) -> Response:
    """Say that a vehicle is being drawn, and lead to it when it is."""
    token = asked.request.path_params["token"]
    job = asked.bench.practising.known(("coming", token))
    return asked.go("/practice") if job is None else _come(asked, token, job)


def _come(asked: Asked, token: str, job: Job[Any]) -> Response:
    address = f"/practice/coming/{token}"
    if not job.wait(PATIENCE):
        waits = asked._("The vehicle is being made ready. For some circuits this takes half a minute.")
        if asked.request.method == "POST":
            return asked.go(address)
        return asked.show("practice_wait.html", {"done": False, "address": address, "message": waits}, status=202)
    try:
        return asked.leave(f"/practice/{job.result}")
    except InputError as error:
        return listing(asked, str(error))


def _task(asked: Asked) -> Task:
    """Return the task of a code, or of a circuit, a difficulty and a seed; without a seed one by chance."""
    if asked.text("code"):
        return read_code(asked.text("code"))
    typed = asked.text("seed")
    if typed and not typed.isdecimal():
        raise InputError(f"seed '{typed}' is no whole number from 0 to {SEEDS - 1}")
    seed = int(typed) if typed else secrets.randbelow(SEEDS)
    return Task(asked.text("circuit"), asked.text("difficulty"), seed)  # type: ignore[arg-type]  # Task checks it


def run(asked: Asked) -> Response:
    """Show a practice: what was done, and everything that can be done."""
    waits = _waits(asked)
    if waits is not None:
        return waits
    if asked.exchanged:
        return _waited(asked)
    number, work = _work(asked)
    return asked.show(
        "practice_run.html",
        _twin(asked, number, work),
        more={"kinds": KINDS, "levels": LEVELS, "drawing": _drawing(asked, work)},
    )


def choice(asked: Asked, message: str = "", status: int = 422) -> Response:
    """Show one thing to do: where the leads go, what it takes, what to beware of."""
    waits = _waits(asked)
    if waits is not None:
        return waits
    if asked.exchanged:
        return _waited(asked)
    number, work = _work(asked)
    chosen = _chosen(asked, work)
    twin = {**practice_listing(number, asked.bench.practices.task(number), work.state), "choice": asdict(chosen)}
    more = {
        "kinds": KINDS,
        "levels": LEVELS,
        "message": message,
        "last": work.state.entries[-1].number,
        "can_wiggle": chosen.kind in WIGGLED,
        "drawing": _drawing(asked, work, chosen),
    }
    return asked.show("practice_choice.html", twin, status=status if message else 200, more=more)


def act(asked: Asked) -> Response:
    """Do it, and go back to the practice, where what it showed stands first."""
    number, work = _work(asked)
    with asked.bench.writing:
        chosen = _chosen(asked, work)
        if asked.text("last") not in ("", str(work.state.entries[-1].number)):
            moved = asked._("Something else was done with this vehicle meanwhile, in another window. Look again.")
            return choice(asked, moved, 409)
        try:
            _acts(work, chosen, wiggled=bool(asked.text("wiggled")))
        except ProveoutError as error:
            return choice(asked, str(error))
    return asked.go(f"/practice/{number}#latest")


def _acts(work: Work, chosen: Choice, *, wiggled: bool) -> None:
    plain: dict[str, Callable[[str], object]] = {
        "compare": work.compare,
        "access": work.dismantle,
        "setup": work.bring,
        "repair": work.repair,
    }
    if chosen.kind in plain:
        plain[chosen.kind](chosen.name)
    else:
        work.do(chosen.name, (chosen.kind,), disturbed=wiggled)  # type: ignore[arg-type]  # the four kinds left


def prove(asked: Asked) -> Response:
    """Watch the proof behaviour after a repair."""
    number, work = _work(asked)
    with asked.bench.writing:
        work.prove()
    return asked.go(f"/practice/{number}#latest")


def hand_over(asked: Asked) -> Response:
    """Give the vehicle back and show the end."""
    number, work = _work(asked)
    with asked.bench.writing:
        if work.state.phase != "closed":
            work.hand_over(asked.text("because") or asked._("Handed over without a proven repair"))
    return asked.go(f"/practice/{number}/end")


def end(asked: Asked) -> Response:
    """Show what the fault was, and both paths on one clock; the planner's is worked out beside the pages."""
    waits = _waits(asked)
    if waits is not None:
        return waits
    number, work = _work(asked)
    if work.state.closed is None:
        return asked.go(f"/practice/{number}")
    told = practice_listing(number, asked.bench.practices.task(number), work.state)
    job = asked.bench.practising.job(("practice", number), lambda progress: asked.bench.practices.ending(number))
    if not job.wait(PATIENCE):
        message = asked._("The planner is working on the same vehicle. This takes some seconds.")
        twin = {"done": False, "address": f"/practice/{number}/end", "message": message}
        return asked.show("practice_wait.html", twin, status=202)
    if asked.exchanged:
        return _waited(asked)
    return asked.show("practice_end.html", {**told, "done": True, **ending_twin(job.result)}, more={"levels": LEVELS})


def paths(asked: Asked) -> Response:
    """Draw both paths."""
    words = {
        "title": asked._("Both paths on one clock"),
        "chance": asked._("Probability of the true cause"),
        "minutes": asked._("minutes"),
        "own": asked._("you"),
        "planner": asked._("planner"),
    }
    ending: Ending = asked.bench.practices.ending(_work(asked)[0])
    return Response(draw_paths(ending, words), media_type="image/svg+xml")


def _waits(asked: Asked) -> Response | None:
    """Return the page that says that a vehicle is being made ready again after a restart; None where it is."""
    book, number = asked.bench.practices, int(asked.request.path_params["number"])
    if number not in book.numbers() or book.ready(number):
        return None
    if asked.bench.practising.job(("ready", number), lambda progress: book.work(number)).wait(PATIENCE):
        return None
    message = asked._("The vehicle is being made ready. For some circuits this takes half a minute.")
    twin = {"done": False, "address": asked.request.url.path, "message": message}
    return asked.show("practice_wait.html", twin, status=202)


def _waited(asked: Asked) -> Response:
    """Answer a page that waited and asked by script: it is left for the one that it waited for."""
    return asked.leave(asked.request.url.path)


def _work(asked: Asked) -> tuple[int, Work]:
    number = int(asked.request.path_params["number"])
    if number not in asked.bench.practices.numbers():
        raise HTTPException(404)
    return number, asked.bench.practices.work(number)


def _chosen(asked: Asked, work: Work) -> Choice:
    wanted = asked.request.path_params["kind"], asked.request.path_params["name"]
    found = next((c for c in choices_of(work.state) if (c.kind, c.name) == wanted), None)
    if found is None:
        raise HTTPException(404)
    return found


def _twin(asked: Asked, number: int, work: Work) -> dict[str, Any]:
    return practice_twin(number, asked.bench.practices.task(number), work.state, work.vehicle.model)


def _drawing(asked: Asked, work: Work, chosen: Choice | None = None) -> Markup:
    """Draw the circuit as the vehicle stands, or with the leads of a measurement or as in a set-up that is chosen."""
    state = work.state
    measurement = chosen.name if chosen is not None and chosen.kind == "measure" else None
    setup = chosen.name if chosen is not None and chosen.kind == "setup" else None
    return asked.bench.schematics.draw(state.circuit, state.text, measurement, setup)


ROUTES = (
    *page("/practice", listing),
    *posted("/practice", start),
    *page("/practice/coming/{token}", coming),
    *page("/practice/{number:int}", run),
    *page("/practice/{number:int}/end", end),
    *page("/practice/{number:int}/paths.svg", paths, twin=False),
    *posted("/practice/{number:int}/prove", prove),
    *posted("/practice/{number:int}/hand-over", hand_over),
    *page("/practice/{number:int}/{kind}/{name}", choice),
    *posted("/practice/{number:int}/{kind}/{name}", act),
)
