"""How far the records have come: a number that moves with every change, so that what was worked out can be kept."""

from __future__ import annotations

from sqlalchemy import func, select

from dwellwright.records.engine import reading
from dwellwright.records.shop import Shop
from dwellwright.records.tables import audit
from dwellwright.service.shop_profile import PROFILE


def revision(shop: Shop) -> tuple[int, int]:
    """The last entry of the audit trail, which every change makes longer, and when the shop's own file was written.

    Raises:
        InputFault: the records cannot be read.
    """
    with reading(shop.engine) as connection:
        last = connection.execute(select(func.max(audit.c.id))).scalar()
    try:
        written = (shop.folder / PROFILE).stat().st_mtime_ns
    except OSError:
        written = 0
    return int(last or 0), written
