"""Help texts end with examples that can be typed as they stand."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import click

__all__ = ["WithExamples"]


class WithExamples(click.Command):
    """A command whose help shows `examples`, each on a line of its own."""

    def __init__(self, *args: Any, examples: Sequence[str] = (), **rest: Any) -> None:
        super().__init__(*args, **rest)
        self.examples = tuple(examples)

    def format_epilog(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the examples below the options."""
        if self.examples:
            with formatter.section("Examples"):
                for example in self.examples:
                    formatter.write(f"{'':>{formatter.current_indent}}{example}\n")
