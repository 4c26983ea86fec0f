"""The shop itself: its name as it is printed, who works in it, and its own instruments with their calibration dates.

Kept as one small file beside the records, written whole or not at all.
"""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Sequence
from dataclasses import asdict, dataclass, replace
from datetime import date
from pathlib import Path
from typing import Any

from dwellwright.catalogue.instruments import instrument, instruments
from dwellwright.errors import InputFault
from dwellwright.records.shop import Shop

PROFILE = "shop.json"
LONGEST_LINE, MOST_LINES, MOST_ENTRIES = 120, 6, 200
LONGEST_SIGN = 4
SOON = 30
"""Days before a calibration runs out at which it is said. Assumed."""


@dataclass(frozen=True)
class OwnInstrument:
    """One instrument of the shop.

    Args:
        kind: key of the instrument in the catalogue.
        mark: what tells it from others of its kind: a serial number, a sticker.
        calibrated: day of the last calibration; None where it never was.
        months: how long a calibration holds; None where nobody says.
    """

    kind: str
    mark: str
    calibrated: date | None = None
    months: int | None = None

    @property
    def due(self) -> date | None:
        """Day on which it wants calibrating again; None where that is not known."""
        if self.calibrated is None or self.months is None:
            return None
        months = self.calibrated.month - 1 + self.months
        year, month = self.calibrated.year + months // 12, months % 12 + 1
        return next(day for back in range(4) if (day := _day(year, month, self.calibrated.day - back)))

    def standing(self, today: date) -> str:
        """How its calibration stands, in one word or two."""
        due = self.due
        if due is None:
            return "not calibrated" if self.calibrated is None else "no end named"
        if due < today:
            return "overdue"
        return "due soon" if (due - today).days <= SOON else "in date"


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


@dataclass(frozen=True)
class ShopProfile:
    """Everything the shop says of itself.

    `lines` are printed below its name, `a4` is its paper; `currency` is written before every price, and `hourly` is
    what an hour of work costs in the smallest coin, None where time is not charged.
    """

    name: str = "The workshop"
    lines: tuple[str, ...] = ()
    a4: bool = False
    people: tuple[str, ...] = ()
    instruments: tuple[OwnInstrument, ...] = ()
    currency: str = ""
    hourly: int | None = None


def shop_profile(shop: Shop) -> ShopProfile:
    """What the shop says of itself; the plain default where it has said nothing yet.

    Raises:
        InputFault: the file was damaged.
    """
    path = shop.folder / PROFILE
    try:
        facts = json.loads(path.read_text(encoding="utf-8"))
        return _profile(facts)
    except FileNotFoundError:
        return ShopProfile()
    except (OSError, ValueError, KeyError, TypeError, AttributeError) as fault:
        raise InputFault("the shop's own file cannot be read", where=str(path), got=str(fault),
                         remedy="Mend it or move it away; nothing else depends on it") from None  # fmt: skip


def _profile(facts: dict[str, Any]) -> ShopProfile:
    own = tuple(
        OwnInstrument(
            str(one["kind"]),
            str(one["mark"]),
            date.fromisoformat(one["calibrated"]) if one.get("calibrated") else None,
            int(one["months"]) if one.get("months") else None,
        )
        for one in facts.get("instruments", [])
    )
    lines, people = (tuple(str(one) for one in facts.get(key, [])) for key in ("lines", "people"))
    hourly = facts.get("hourly")
    return ShopProfile(str(facts.get("name", ShopProfile.name)), lines, bool(facts.get("a4")), people, own,
                       str(facts.get("currency", "")), None if hourly is None else int(hourly))  # fmt: skip


def save_shop(shop: Shop, name: str, lines: Sequence[str], *, a4: bool) -> ShopProfile:
    """Name the shop as it is printed on papers.

    Raises:
        InputFault: a line is too long, or there are too many.
    """
    kept = tuple(one.strip() for one in lines if one.strip())
    if len(kept) > MOST_LINES:
        raise InputFault("there are too many lines", where="address", wanted=f"at most {MOST_LINES}",
                         got=str(len(kept)))  # fmt: skip
    for one in kept:
        _words(one, "address")
    return _saved(shop, replace(shop_profile(shop), name=_words(name, "name of the shop"), lines=kept, a4=a4))


def save_prices(shop: Shop, currency: str, hourly: int | None) -> ShopProfile:
    """Say what prices are written in, and what an hour of work costs in the smallest coin.

    Raises:
        InputFault: the sign is too long.
    """
    sign = " ".join(currency.split())
    if len(sign) > LONGEST_SIGN:
        raise InputFault("the currency's sign is too long", where="currency", got=str(len(sign)),
                         wanted=f"at most {LONGEST_SIGN} characters")  # fmt: skip
    return _saved(shop, replace(shop_profile(shop), currency=sign, hourly=hourly))


def add_person(shop: Shop, name: str) -> ShopProfile:
    """Add somebody who works in the shop; one who is there already stays.

    Raises:
        InputFault: no name, or one that is too long.
    """
    profile, named = shop_profile(shop), _words(name, "name")
    if named in profile.people:
        return profile
    _refuse_more(len(profile.people), "people")
    return _saved(shop, replace(profile, people=(*profile.people, named)))


def remove_person(shop: Shop, name: str) -> ShopProfile:
    """Take a name off the list; what that person did stays in the audit trail."""
    profile = shop_profile(shop)
    return _saved(shop, replace(profile, people=tuple(one for one in profile.people if one != name)))


def add_instrument(shop: Shop, kind: str, mark: str, calibrated: str, months: float | None) -> ShopProfile:
    """Add an instrument, or replace the one of that kind and mark.

    Args:
        shop: where.
        kind: key in the catalogue.
        mark: serial number or sticker.
        calibrated: day as YYYY-MM-DD, or nothing.
        months: how long a calibration holds.

    Raises:
        InputFault: no such kind, no mark, or a day or a time that cannot be.
    """
    known, marked = instrument(kind, where="instrument").name, _words(mark, "mark")
    day = calibration_day(calibrated.strip())
    if months is not None and not (1 <= months <= 240 and months == int(months)):
        raise InputFault("the time between calibrations cannot be", where=marked, wanted="1 to 240 whole months",
                         got=f"{months:g}")  # fmt: skip
    own = OwnInstrument(known, marked, day, None if months is None else int(months))
    profile = shop_profile(shop)
    others = [one for one in profile.instruments if (one.kind, one.mark) != (known, marked)]
    _refuse_more(len(others), "instruments")
    return _saved(shop, replace(profile, instruments=(*others, own)))


def remove_instrument(shop: Shop, kind: str, mark: str) -> ShopProfile:
    """Take an instrument off the list."""
    profile = shop_profile(shop)
    kept = tuple(one for one in profile.instruments if (one.kind, one.mark) != (kind, mark))
    return _saved(shop, replace(profile, instruments=kept))


def instrument_labels() -> dict[str, str]:
    """Kinds of instrument in plain words, by key."""
    return {name: one.label for name, one in instruments().items()}


def calibration_day(text: str) -> date | None:
    """A day of calibration as it was typed; None where nothing was.

    Raises:
        InputFault: no day, or one that has not come yet.
    """
    if not text:
        return None
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise InputFault(
            "this is not a day", where="calibrated", wanted="YYYY-MM-DD", got=repr(text)
        ) from None
    if not date(1970, 1, 1) <= day <= date.today():
        raise InputFault("the day of calibration cannot be", where="calibrated", wanted="a day in the past",
                         got=text)  # fmt: skip
    return day


def _words(text: str, where: str) -> str:
    words = " ".join(text.split())
    if not words:
        raise InputFault("the field is blank", where=where, wanted="a few plain words")
    if len(words) > LONGEST_LINE:
        raise InputFault("the words are too long", where=where, wanted=f"at most {LONGEST_LINE} characters",
                         got=str(len(words)))  # fmt: skip
    return words


def _refuse_more(count: int, what: str) -> None:
    if count >= MOST_ENTRIES:
        raise InputFault(f"there are too many {what}", wanted=f"at most {MOST_ENTRIES}", got=str(count + 1))


def _saved(shop: Shop, profile: ShopProfile) -> ShopProfile:
    facts = asdict(profile)
    for one in facts["instruments"]:
        one["calibrated"] = one["calibrated"].isoformat() if one["calibrated"] else None
    path: Path = shop.folder / PROFILE
    try:
        handle, draft = tempfile.mkstemp(dir=shop.folder, prefix=".shop-")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            json.dump(facts, file, ensure_ascii=False, indent=1)
            file.flush()
            os.fsync(file.fileno())
        os.replace(draft, path)
    except OSError as fault:
        raise InputFault("the shop folder cannot be written", where=str(shop.folder),
                         got=fault.strerror or str(fault)) from None  # fmt: skip
    return profile
