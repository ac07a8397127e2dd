"""Prints the measurements of one group, or of all: `python -m bench [solver | planner | loop]`."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

from bench.figure import Figure

GROUPS = ("solver", "planner", "loop")
TESTS = Path(__file__).resolve().parent.parent / "tests"


def figures(group: str) -> Iterator[Figure]:
    """Yield the figures of a group as they are measured."""
    yield from import_module(f"bench.{group}").run()


def main(arguments: list[str]) -> int:
    """Measure the groups named, all of them if none is named."""
    unknown = [name for name in arguments if name not in GROUPS]
    if unknown:
        print(f"no group '{unknown[0]}'; there are: {', '.join(GROUPS)}", file=sys.stderr)
        return 2
    # The reference simulator lives beside the tests that it serves.
    sys.path.insert(0, str(TESTS))
    for group in arguments or GROUPS:
        for figure in figures(group):
            print(figure, flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
