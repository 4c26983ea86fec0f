"""What every command shares: the shop that was asked for, and who is at work."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from dwellwright.records.shop import Shop


@dataclass(frozen=True)
class Asked:
    """The options before the command."""

    shop: Path | None = None
    database: str | None = None
    who: str | None = None


def asked(context: typer.Context) -> Asked:
    """The options given before the command."""
    return context.obj if isinstance(context.obj, Asked) else Asked()


@contextmanager
def shop_of(context: typer.Context) -> Iterator[Shop]:
    """The shop that was asked for, closed at the end."""
    from dwellwright.service.shop import open_shop

    wanted = asked(context)
    shop = open_shop(wanted.shop, wanted.database)
    try:
        yield shop
    finally:
        shop.close()


@contextmanager
def known_shop_of(context: typer.Context) -> Iterator[Shop | None]:
    """The shop that was asked for, closed at the end; None where there is none yet, and none is made."""
    from dwellwright.service.shop import open_known_shop

    wanted = asked(context)
    shop = open_known_shop(wanted.shop, wanted.database)
    try:
        yield shop
    finally:
        if shop is not None:
            shop.close()


def person(context: typer.Context) -> str:
    """Who is at work."""
    from dwellwright.service.shop import person_at_work

    return person_at_work(asked(context).who)
