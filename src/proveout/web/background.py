"""Work that takes seconds, done beside the pages and one at a time: a page asks for it, and asks again.

A result stays as long as it is among the last ones asked for; asking again for one that has gone does the work again.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Lock
from typing import Generic, TypeVar

__all__ = ["Background", "Job"]

KEPT = 12
Result = TypeVar("Result")
Progress = Callable[[float], None]


@dataclass
class Job(Generic[Result]):
    """One piece of work: how far it is, and its result once it is done."""

    future: Future[Result] = field(default_factory=Future)
    share: float = 0.0

    @property
    def done(self) -> bool:
        """Whether it has ended, with a result or an error."""
        return self.future.done()

    def wait(self, seconds: float) -> bool:
        """Wait for the end, at most so long; tell whether it has come."""
        try:
            self.future.exception(timeout=seconds)
        except TimeoutError:
            return False
        return True

    @property
    def result(self) -> Result:
        """The result; raises what the work raised."""
        return self.future.result()


class Background:
    """A single worker, so that pages always keep most of the machine."""

    def __init__(self) -> None:
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="background")
        self._jobs: OrderedDict[Hashable, Job[object]] = OrderedDict()
        self._lock = Lock()

    def job(self, key: Hashable, work: Callable[[Progress], Result]) -> Job[Result]:
        """Return the job of a key, started when it is new; one that failed is tried again."""
        with self._lock:
            known = self._jobs.get(key)
            if known is not None and not (known.done and known.future.exception() is not None):
                self._jobs.move_to_end(key)
                return known  # type: ignore[return-value]  # one key is one kind of work
            job: Job[Result] = Job()
            self._jobs[key] = job  # type: ignore[assignment]
            while len(self._jobs) > KEPT:
                self._jobs.popitem(last=False)
        self._worker.submit(_carry_out, job, work)
        return job

    def known(self, key: Hashable) -> Job[object] | None:
        """Return the job of a key, None where there is none (any more)."""
        with self._lock:
            return self._jobs.get(key)


def _carry_out(job: Job[Result], work: Callable[[Progress], Result]) -> None:
    def progress(share: float) -> None:
        job.share = share

    try:
        job.future.set_result(work(progress))
    except Exception as error:  # it is raised again where the result is asked for
        job.future.set_exception(error)
