"""Pictures that were drawn already: evidence never changes once it is kept, so its plot need not be drawn twice."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock

from markupsafe import Markup

MOST = 64
"""Pictures kept; the one not asked for longest goes first."""


class Pictures:
    """A few pictures by key, safe between threads."""

    def __init__(self) -> None:
        self._kept: OrderedDict[Hashable, Markup | None] = OrderedDict()
        self._lock = Lock()

    def get(self, key: Hashable, draw: Callable[[], Markup | None]) -> Markup | None:
        """The picture of that key, drawn if it is not there."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        drawn = draw()
        with self._lock:
            self._kept[key] = drawn
            while len(self._kept) > MOST:
                self._kept.popitem(last=False)
        return drawn
