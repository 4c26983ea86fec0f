"""What was worked out already: as long as its key stands for the same facts, it need not be worked out twice."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Generic, TypeVar

T = TypeVar("T")


class Remembered(Generic[T]):
    """A few results by key, safe between threads; several that ask for the same at once wait for the first.

    Args:
        most: results kept; the one not asked for longest goes first.
    """

    def __init__(self, most: int = 64) -> None:
        self._most = most
        self._kept: OrderedDict[Hashable, T] = OrderedDict()
        self._coming: dict[Hashable, Lock] = {}
        self._lock = Lock()

    def get(self, key: Hashable, work: Callable[[], T]) -> T:
        """The result of that key, worked out if it is not there."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
            mine = self._coming.setdefault(key, Lock())
        with mine:
            with self._lock:
                if key in self._kept:
                    return self._kept[key]
            try:
                found = work()
            finally:
                with self._lock:
                    self._coming.pop(key, None)
            with self._lock:
                self._kept[key] = found
                while len(self._kept) > self._most:
                    self._kept.popitem(last=False)
            return found
