"""A large synthetic harness: many loads on fused supplies and common grounds, to see how the diagnosis grows.

Everything in it is invented. Each branch is a feed wire, two terminals at the load, the load, a return wire and a
terminal at the ground splice.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from proveout.circuits import Circuit

__all__ = ["large_harness"]

Entry = Mapping[str, Any]
BRANCHES = 37
PER_FUSE = 5
PER_SPLICE = 10
TOLERANT_LOADS = 9
SOURCE = "invented"


def large_harness() -> Circuit:
    """Return a circuit of 200 nodes and some 500 fault modes, two points in each of 37 branches, three set-ups."""
    branches = range(BRANCHES)
    fuses, splices = range(-(-BRANCHES // PER_FUSE)), range(-(-BRANCHES // PER_SPLICE))
    setups = {
        "on": {"title": "Key on, all loads on", "set": {"key": "on"}},
        "off": {"title": "Key off", "set": {"key": "off"}},
        "open": {"title": "Key on, all loads unplugged", "set": {"key": "on"}, "unplugged": [f"C{f}" for f in fuses]},
    }
    return Circuit.model_validate(
        {
            "schema": 1,
            "name": "large-harness",
            "title": "Large harness, invented",
            "ground": "gnd",
            "conditions": {"key": {"title": "Key", "default": "off", "values": ["off", "on"]}},
            "units": {f"load{k}": _unit(k) for k in branches},
            "connectors": {f"C{f}": {"title": f"Connector {f}", "access": [f"cover{f}"]} for f in fuses},
            "parts": _supply(fuses, splices) | {name: part for k in branches for name, part in _branch(k).items()},
            "bridges": {f"chafe{f}": _chafe(f) for f in fuses},
            "wire_repair": {"title": "Repair the wire", "minutes": 30, "source": SOURCE},
            "terminal_repair": {"title": "Renew the terminal", "minutes": 15, "source": SOURCE},
            "access": {f"cover{f}": {"title": f"Take cover {f} off", "minutes": 5 + 3 * f} for f in fuses},
            "points": _points(branches),
            "setups": setups,
            "measurements": {name: m for k in branches for name, m in _measurements(k).items()},
            "signals": {f"flows{k}": _signal(k) for k in branches},
            "behaviours": {f"works{k}": _behaviour(k) for k in branches},
            "proof": "works0",
            "unknown_weight": 0.02,
        }
    )


def _unit(k: int) -> Entry:
    repair = {"title": f"Replace load {k}", "minutes": 10, "parts": 20 + k, "access": [_cover(k)], "source": SOURCE}
    return {"title": f"Load {k}", "repair": repair}


def _cover(k: int) -> str:
    return f"cover{k // PER_FUSE}"


def _supply(fuses: range, splices: range) -> dict[str, Entry]:
    emf = {"value": 12.6, "tol": 0.02, "source": SOURCE}
    parts: dict[str, Entry] = {
        "battery": {"kind": "battery", "nodes": ["bat", "gnd"], "healthy": True, "values": {"emf": emf}},
        "key": {"kind": "switch", "nodes": ["bat", "bus"], "healthy": True, "when": {"key": ["on"]}},
    }
    for f in fuses:
        parts[f"fuse{f}"] = {
            "kind": "fuse",
            "nodes": ["bus", f"f{f}"],
            "title": f"Fuse {f}",
            "repair": f"wf{f * PER_FUSE}",
        }
    for s in splices:
        parts[f"ground{s}"] = _wire(f"e{s}", "gnd", f"Ground wire {s}")
    return parts


def _wire(first: str, second: str, title: str) -> Entry:
    return {"kind": "wire", "nodes": [first, second], "title": title, "values": {"length": 2.0, "area": 0.75}}


def _terminal(first: str, second: str, k: int, cavity: int) -> Entry:
    place = {"connector": f"C{k // PER_FUSE}", "cavity": str(10 * (k % PER_FUSE) + cavity)}
    return {"kind": "terminal", "nodes": [first, second], "title": f"Terminal {cavity} of load {k}", **place}


def _branch(k: int) -> dict[str, Entry]:
    resistance = {"value": 8.0 + 3.0 * k, "tol": 0.1 if k < TOLERANT_LOADS else 0.0, "source": SOURCE}
    splice = f"e{k // PER_SPLICE}"
    return {
        f"wf{k}": _wire(f"f{k // PER_FUSE}", f"s{k}", f"Feed wire {k}"),
        f"tf{k}": _terminal(f"s{k}", f"l{k}", k, 1),
        f"load{k}": {
            "kind": "resistor",
            "nodes": [f"l{k}", f"x{k}"],
            "unit": f"load{k}",
            "values": {"resistance": resistance},
        },
        f"tr{k}": _terminal(f"x{k}", f"r{k}", k, 2),
        f"wr{k}": _wire(f"r{k}", f"g{k}", f"Return wire {k}"),
        f"tg{k}": {"kind": "terminal", "nodes": [f"g{k}", splice], "title": f"Ground terminal of load {k}"},
    }


def _chafe(f: int) -> Entry:
    k = f * PER_FUSE
    return {"nodes": [f"s{k}", "gnd"], "title": f"Feed wire {k} to ground", "repair": f"wf{k}"}


def _points(branches: range) -> dict[str, Entry]:
    points: dict[str, Entry] = {"earth": {"node": "gnd", "title": "battery negative post"}}
    for k in branches:
        place = {"connector": f"C{k // PER_FUSE}", "side": "harness"}
        first = 10 * (k % PER_FUSE)
        points[f"feed{k}"] = {"node": f"s{k}", "title": f"feed of load {k}", "cavity": str(first + 1), **place}
        points[f"back{k}"] = {"node": f"r{k}", "title": f"return of load {k}", "cavity": str(first + 2), **place}
    return points


def _measurements(k: int) -> dict[str, Entry]:
    def reading(setup: str, function: str, red: str, black: str) -> Entry:
        return {"setup": setup, "function": function, "red": red, "black": black}

    return {
        f"feed_on{k}": reading("on", "volts_dc", f"feed{k}", "earth"),
        f"back_on{k}": reading("on", "volts_dc", f"back{k}", "earth"),
        f"back_ohms{k}": reading("off", "ohms", f"back{k}", "earth"),
        f"load_ohms{k}": reading("off", "ohms", f"feed{k}", f"back{k}"),
        f"feed_open{k}": reading("open", "volts_dc", f"feed{k}", "earth"),
    }


def _signal(k: int) -> Entry:
    normal = 12.6 / (8.0 + 3.0 * k)
    return {
        "title": f"Load {k} has its current",
        "setup": "on",
        "checks": [{"current": f"load{k}", "at_least": 0.8 * normal}],
    }


def _behaviour(k: int) -> Entry:
    outcomes = {
        "works": {"title": "it works", "when": {f"flows{k}": True}, "good": True},
        "fails": {"title": "it does not work"},
    }
    return {"title": f"Load {k}", "kind": "complaint", "setup": "on", "outcomes": outcomes}
