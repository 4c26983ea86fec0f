"""How far the records have come: a mark that moves with every change, so that what was worked out can be kept."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable

from sqlalchemy import func, select

from dwellwright.records.engine import reading
from dwellwright.records.shop import RECORDS, Shop
from dwellwright.records.tables import audit
from dwellwright.service.shop_profile import PROFILE

Mark = tuple[int, int]


class Revision:
    """The mark of one shop: of its records, and of the file in which it speaks of itself. Close it when done.

    SQLite tells a connection of its own whether any other has written; a database server is asked for the last entry of
    the audit trail, which every change makes longer.
    """

    def __init__(self, shop: Shop) -> None:
        self._profile = shop.folder / PROFILE
        self._own: sqlite3.Connection | None = None
        self._records: Callable[[], int] = lambda: _last_change(shop)
        if shop.engine.dialect.name == "sqlite":
            own = sqlite3.connect(shop.engine.url.database or shop.folder / RECORDS, check_same_thread=False)
            self._own, self._records = own, lambda: int(own.execute("PRAGMA data_version").fetchone()[0])

    def __call__(self) -> Mark:
        """The mark as it stands.

        Raises:
            InputFault: the records cannot be read.
        """
        try:
            written = self._profile.stat().st_mtime_ns
        except OSError:
            written = 0
        return self._records(), written

    def close(self) -> None:
        """Let go of the records."""
        if self._own is not None:
            self._own.close()


def _last_change(shop: Shop) -> int:
    with reading(shop.engine) as connection:
        return int(connection.execute(select(func.max(audit.c.id))).scalar() or 0)
