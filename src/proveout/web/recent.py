"""A few things kept in memory, the ones unused for longest forgotten first; safe between threads."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import RLock
from typing import Generic, TypeVar

__all__ = ["Recent"]

Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value")


class Recent(Generic[Key, Value]):
    """At most `most` values by key."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._kept: OrderedDict[Key, Value] = OrderedDict()
        self._lock = RLock()

    def get(self, key: Key) -> Value | None:
        """Return what is kept under a key."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
            return self._kept.get(key)

    def put(self, key: Key, value: Value) -> Value:
        """Keep a value and return it."""
        with self._lock:
            self._kept[key] = value
            self._kept.move_to_end(key)
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return value

    def made(self, key: Key, make: Callable[[], Value]) -> Value:
        """Return what is kept under a key, made first where there is nothing; nothing is made twice at once."""
        with self._lock:
            found = self.get(key)
            return self.put(key, make()) if found is None else found
