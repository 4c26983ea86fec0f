"""Taking names, plates and numbers out of free words, so that a case can be shown to others.

It errs towards taking out: a part's number that looks like a plate goes, too.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

GONE = "[…]"

_TRADE = frozenset({
    "e", "v", "rpm", "map", "tps", "clt", "ect", "iat", "egr", "pcv", "hc", "co", "co2", "o2", "nox", "kpa", "inhg",
    "psi", "mm", "thou", "deg", "mv", "hz", "afr", "bar", "volt", "volts", "ohm", "degc", "degf", "din",
    "iso", "sae", "awg", "usa", "lpg", "ron", "aki", "to", "at", "of", "the", "and", "was", "set", "about",
    "near", "from", "over", "under", "is",
})  # fmt: skip
"""Short words that stand before numbers in this trade, and are no part of a plate."""

_MAIL = re.compile(r"[\w.+-]+@[\w-]+(\.[\w-]+)+")
_ADDRESS = re.compile(r"\b(?:https?://|www\.)\S+", re.IGNORECASE)
_PHONE = re.compile(r"(?<![\w.])\+?\(?\d[\d ()/-]{6,}\d(?![\w.])")
_CHASSIS = re.compile(
    r"\b(?=[A-HJ-NPR-Z0-9]*\d)(?=[A-HJ-NPR-Z0-9]*[A-Z])[A-HJ-NPR-Z0-9]{17}\b", re.IGNORECASE
)
_DAY = re.compile(r"\b\d{4}-\d{2}-\d{2}\b|\b\d{1,2}[./]\d{1,2}[./]\d{2,4}\b")
_PLATE = re.compile(r"(?<![\w.])(?:[A-Z]{1,3}|\d{1,4})(?:[ -]?(?:[A-Z]{1,3}|\d{1,4})){1,4}(?!\w|[.,]\d)")
_TOLD_PLATE = re.compile(
    r"\b(?P<word>(?:license |licence )?plates?|registration|chassis number|vin)(?P<gap>[:#. ]+)\S*\d\S*(?: \d+)?",
    re.I,
)
_LEAST = 5
"""Letters and digits of a plate; fewer are a size, a fuel or a speed. Assumed."""


class Redactor:
    """Takes things out of words and counts how many.

    Args:
        names: of people and shops, whole; their parts of three letters and more go, too.
    """

    def __init__(self, names: Iterable[str]) -> None:
        parts = {part for name in names for part in (name, *re.split(r"[\s,.;()-]+", name))}
        kept = {part for part in parts if len(part) >= 3 and part.lower() not in _COMMON}
        longest = sorted(kept, key=len, reverse=True)
        self._names = (
            re.compile(r"(?<!\w)(?:" + "|".join(map(re.escape, longest)) + r")(?!\w)", re.IGNORECASE)
            if longest
            else None
        )
        self.count = 0

    def __call__(self, text: str) -> str:
        """The text without them.

        >>> Redactor(["Ann Sample"])("Ann's car, B-XY 1234, call +49 30 1234567; idles at 700 rpm on E10")
        "[…]'s car, […], call […]; idles at 700 rpm on E10"
        """
        for pattern in (_MAIL, _ADDRESS, _CHASSIS, _DAY, _PHONE):
            text = pattern.sub(self._gone, text)
        text = _TOLD_PLATE.sub(self._told, text)
        text = _PLATE.sub(self._plate, text)
        return self._names.sub(self._gone, text) if self._names else text

    def _gone(self, match: re.Match[str]) -> str:
        self.count += 1
        return GONE

    def _told(self, match: re.Match[str]) -> str:
        self.count += 1
        return f"{match['word']}{match['gap']}{GONE}"

    def _plate(self, match: re.Match[str]) -> str:
        found = match[0]
        letters = "".join(re.findall(r"[A-Z]+", found))
        digits = "".join(re.findall(r"\d+", found))
        if len(letters) + len(digits) < _LEAST or letters.lower() in _TRADE:
            return found
        return self._gone(match)


_COMMON = frozenset({
    "the", "and", "for", "with", "garage", "shop", "workshop", "tester", "unknown", "invented", "motor",
    "motors", "auto", "service", "car", "cars", "sons", "family", "owner",
})  # fmt: skip
"""Words of names that are no names by themselves."""
