"""Progress on standard error, shown only when something takes longer than a moment."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from threading import Lock, Timer
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.progress import Progress

__all__ = ["shown"]

MOMENT = 0.7  # seconds


@contextmanager
def shown(title: str) -> Iterator[Callable[[float], None]]:
    """Yield a function that takes the share done, 0 to 1; after a moment a bar appears, and goes at the end.

    Where the share is never told, the bar only moves.
    """
    bar = _Bar(title)
    try:
        yield bar.move
    finally:
        bar.end()


class _Bar:
    def __init__(self, title: str) -> None:
        self._title = title
        self._lock = Lock()
        self._share: float | None = None
        self._progress: Progress | None = None
        self._ended = False
        self._timer = Timer(MOMENT, self._start)
        self._timer.daemon = True
        self._timer.start()

    def move(self, share: float) -> None:
        with self._lock:
            self._share = share
            self._draw()

    def end(self) -> None:
        self._timer.cancel()
        with self._lock:
            self._ended = True
            if self._progress is not None:
                self._progress.stop()

    def _start(self) -> None:
        # Most commands end before the moment is over and need no drawing of bars.
        from rich.console import Console
        from rich.progress import Progress

        with self._lock:
            if not self._ended:
                self._progress = Progress(console=Console(stderr=True), transient=True)
                self._progress.add_task(self._title, total=None)
                self._progress.start()
                self._draw()

    def _draw(self) -> None:
        if self._progress is not None and self._share is not None:
            self._progress.update(self._progress.task_ids[0], total=1.0, completed=self._share)
