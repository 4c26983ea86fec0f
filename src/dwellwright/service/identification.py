"""Which sheet belongs to a unit: by what is stamped on it, worn characters and all."""

from __future__ import annotations

import re
from dataclasses import dataclass

from dwellwright.errors import InputFault
from dwellwright.records.shop import Shop
from dwellwright.service.known_sheets import sheet_lines, sheet_named

LONGEST = 80
LEAST_ALIKE = 0.7
"""How alike a stamp must be to be shown. Assumed."""

LOOK_ALIKES = ("0ODQ", "1ILT7", "2Z", "38B", "5S", "6G8", "UV", "4A", "MN", "CG")
"""Characters that a worn stamp or a dirty casting makes one of the other. Common experience, no source."""

WORN, UNREAD, OTHER = 0.25, 0.1, 1.0
"""Cost of a character that looks alike, of one typed as `?`, and of any other slip. Assumed."""


@dataclass(frozen=True)
class SheetMatch:
    """A sheet whose stamp fits.

    Args:
        name: of the sheet.
        title: of the sheet.
        invented: no such unit exists.
        stamp: on the sheet that fits.
        alike: 1 where every character is the same. [-]
        words: how it differs.
    """

    name: str
    title: str
    invented: bool
    stamp: str
    alike: float
    words: str


def plain_stamp(text: str) -> str:
    """A stamp as compared: capitals and digits, and `?` for what cannot be read.

    >>> plain_stamp("17-0 5?, b")
    '1705?B'
    """
    return re.sub(r"[^A-Z0-9?]", "", text.upper())


def sheets_stamped(shop: Shop, stamped: str) -> list[SheetMatch]:
    """Sheets whose stamp is on the unit, the likeliest first.

    Args:
        shop: whose sheets.
        stamped: all that can be read on the unit; `?` for a character that cannot, other stamps around it do no harm.

    Raises:
        InputFault: nothing, or too much, was typed.
    """
    if len(stamped) > LONGEST:
        raise InputFault(
            "this is too long for a stamp", got=str(len(stamped)), wanted=f"at most {LONGEST} characters"
        )
    seen = plain_stamp(stamped)
    if len(seen.replace("?", "")) < 3:
        raise InputFault("too little of the stamp was read", wanted="at least three letters or digits",
                         got=repr(stamped))  # fmt: skip
    found: dict[str, SheetMatch] = {}
    for line in sheet_lines(shop):
        for stamp in sheet_named(shop, line.name).stamped:
            alike = likeness(plain_stamp(stamp), seen)
            if alike >= LEAST_ALIKE and (line.name not in found or alike > found[line.name].alike):
                found[line.name] = SheetMatch(
                    line.name, line.title, line.invented, stamp, alike, _words(alike)
                )
    return sorted(found.values(), key=lambda one: -one.alike)


def _words(alike: float) -> str:
    if alike > 0.999:
        return "every character fits"
    return "fits but for worn characters" if alike > 0.9 else "differs: look again, and compare the figures"


def likeness(stamp: str, seen: str) -> float:
    """How much of a sheet's stamp is found somewhere in what was read: 1 all of it, 0 none. [-]

    >>> likeness("17059021", "A 17O59O21 84".replace(" ", "")) > 0.9
    True
    """
    if not stamp:
        return 0.0
    before = [0.0] * (len(seen) + 1)  # the stamp may begin anywhere
    for row, wanted in enumerate(stamp, 1):
        now = [row * OTHER]
        for column, got in enumerate(seen, 1):
            now.append(
                min(before[column - 1] + _cost(wanted, got), before[column] + OTHER, now[column - 1] + OTHER)
            )
        before = now
    return max(0.0, 1.0 - min(before) / len(stamp))


def _cost(wanted: str, got: str) -> float:
    if wanted == got:
        return 0.0
    if got == "?":
        return UNREAD
    return WORN if any(wanted in group and got in group for group in LOOK_ALIKES) else OTHER
