"""Opening the shop, and who is at work in it."""

from __future__ import annotations

import getpass
import os
from pathlib import Path

from dwellwright.records.shop import RECORDS, Shop, opened_shop, usual_folder

SHOP_VARIABLE = "DWELLWRIGHT_SHOP"
DATABASE_VARIABLE = "DWELLWRIGHT_DATABASE"
WHO_VARIABLE = "DWELLWRIGHT_WHO"


def open_shop(folder: Path | None = None, database: str | None = None) -> Shop:
    """The shop that was asked for: by argument, by environment, else in the user's data folder.

    Args:
        folder: the shop folder; `DWELLWRIGHT_SHOP` where None.
        database: address of a PostgreSQL database; `DWELLWRIGHT_DATABASE` where None. Else SQLite.

    Raises:
        InputFault: the folder or the database cannot be used, or was made by a newer program.
    """
    named = os.environ.get(SHOP_VARIABLE)
    place = folder or (Path(named) if named else None)
    return opened_shop(place, database or os.environ.get(DATABASE_VARIABLE) or None)


def open_known_shop(folder: Path | None = None, database: str | None = None) -> Shop | None:
    """The shop that was asked for, where there is one already; None where opening it would make it.

    Raises:
        InputFault: the folder or the database cannot be used, or was made by a newer program.
    """
    named = os.environ.get(SHOP_VARIABLE)
    place = folder or (Path(named) if named else usual_folder())
    known = database or os.environ.get(DATABASE_VARIABLE) or (place.expanduser() / RECORDS).exists()
    return open_shop(folder, database) if known else None


def person_at_work(named: str | None = None) -> str:
    """Who the audit trail names: by argument, by `DWELLWRIGHT_WHO`, else the user of this computer."""
    if named or (named := os.environ.get(WHO_VARIABLE)):
        return named
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "unknown"
