"""Prints the measurements of one group, or of all: `python -m bench [GROUP]`, one of those named below."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from importlib import import_module

GROUPS = (
    "solver",
    "planner",
    "diagnosis",
    "commands",
    "charts",
    "loop",
    "intermittents",
    "captures",
    "page",
    "domains",
)


def figures(group: str) -> Iterator[tuple[str, float, str]]:
    """Yield name, value and unit of the figures of a group as they are measured."""
    yield from import_module(f"bench.{group}").run()


def main(arguments: list[str]) -> int:
    """Measure the groups named, all of them if none is named."""
    unknown = [name for name in arguments if name not in GROUPS]
    if unknown:
        print(f"no group '{unknown[0]}'; there are: {', '.join(GROUPS)}", file=sys.stderr)
        return 2
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the program itself does
    for group in arguments or GROUPS:
        for name, value, unit in figures(group):
            print(f"{name} {value:.5g} {unit}", flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
