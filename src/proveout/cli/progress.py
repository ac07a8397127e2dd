"""Progress on standard error, shown only when something takes longer than a moment."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import Progress

__all__ = ["shown"]

MOMENT = 0.7  # seconds


@contextmanager
def shown(title: str) -> Iterator[Callable[[float], None]]:
    """Yield a function that takes the share done, 0 to 1; after a moment a bar appears, and goes at the end."""
    bar = _Bar(title)
    try:
        yield bar.move
    finally:
        bar.end()


class _Bar:
    def __init__(self, title: str) -> None:
        self._title = title
        self._begun = time.monotonic()
        self._progress: Progress | None = None

    def move(self, share: float) -> None:
        if self._progress is None and time.monotonic() - self._begun > MOMENT:
            self._progress = _started(self._title)
        if self._progress is not None:
            self._progress.update(self._progress.task_ids[0], completed=share)

    def end(self) -> None:
        if self._progress is not None:
            self._progress.stop()


def _started(title: str) -> Progress:
    # Most commands end before the moment is over and need no drawing of bars.
    from rich.console import Console
    from rich.progress import Progress

    progress = Progress(console=Console(stderr=True), transient=True)
    progress.add_task(title, total=1.0)
    progress.start()
    return progress
