"""Taking names, plates and numbers out of free words, so that a case can be shown to others.

It errs towards taking out: a part's number that looks like a plate goes, too. A plate that was recognized once is taken
out wherever it stands, however it is written.
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
    r"\b(?P<word>(?:license |licence )?plates?|registration|chassis number|vin)(?P<gap>[:#. ]+)"
    r"(?P<plate>(?:[a-z]{1,3}[ -])?[^\s,;()]*\d[^\s,;()]*(?: \d+)?)",
    re.I,
)
_CAPITAL = re.compile(r"(?<=[a-z,;:] )([A-Z][a-z]{2,})(?!\w)")
_MIXED = re.compile(r"(?<![\w.])(?=\w*\d)(?=\w*[a-z])[a-z0-9]{5,}(?![\w]|[.,]\d)", re.IGNORECASE)
_LEAST = 5
"""Letters and digits of a plate; fewer are a size, a fuel or a speed. Assumed."""


class Redactor:
    """Takes things out of words, and remembers what.

    Args:
        names: of people and shops, whole; their parts of three letters and more go, too.
        words: of the whole job; a plate in any of them is the job's own, in capitals or not.
    """

    def __init__(self, names: Iterable[str], words: Iterable[str] = ()) -> None:
        parts = {part for name in names for part in (name, *re.split(r"[\s,.;()-]+", name))}
        kept = {part for part in parts if len(part) >= 3 and part.lower() not in _COMMON}
        own = {plate for text in words for plate in plates_in(text)}
        patterns = [*map(re.escape, sorted(kept, key=len, reverse=True)), *map(_any_way, sorted(own))]
        self._own = (
            re.compile(r"(?<!\w)(?:" + "|".join(patterns) + r")(?!\w)", re.IGNORECASE) if patterns else None
        )
        self.taken: list[str] = []

    @property
    def count(self) -> int:
        """How many things were taken out."""
        return len(self.taken)

    def __call__(self, text: str) -> str:
        """The text without them.

        >>> Redactor(["Ann Sample"])("Ann's car, B-XY 1234, call +49 30 1234567; idles at 700 rpm on E10")
        "[…]'s car, […], call […]; idles at 700 rpm on E10"
        """
        own = (self._own,) if self._own else ()
        for pattern in (_MAIL, _ADDRESS, _CHASSIS, *own, _DAY, _PHONE):
            text = pattern.sub(self._gone, text)
        return _PLATE.sub(self._plate, _TOLD_PLATE.sub(self._told, text))

    def _gone(self, match: re.Match[str]) -> str:
        self.taken.append(match[0])
        return GONE

    def _told(self, match: re.Match[str]) -> str:
        self.taken.append(match[0])
        return f"{match['word']}{match['gap']}{GONE}"

    def _plate(self, match: re.Match[str]) -> str:
        return self._gone(match) if _is_plate(match[0]) else match[0]


def plates_in(text: str) -> list[str]:
    """Plates in words: what stands in capitals and figures, and what is said to be one. Letters and digits only.

    >>> plates_in("B-XY 1234, plate abc 123, 700 rpm")
    ['BXY1234', 'ABC123']
    """
    written = [match[0] for match in _PLATE.finditer(text) if _is_plate(match[0])]
    told = [match["plate"] for match in _TOLD_PLATE.finditer(text)]
    bare = (re.sub(r"[^A-Za-z0-9]", "", one).upper() for one in (*written, *told))
    return [one for one in bare if len(one) >= _LEAST]


def doubtful(text: str) -> list[str]:
    """Words that stayed and look like a name or a plate: a capital inside a sentence, or letters and figures together.

    >>> doubtful("The lamp came on. Told by Maria, she drives ab12cde; idles at 700 rpm on E10, V6")
    ['Maria', 'ab12cde']
    """
    found = [match[1] for match in _CAPITAL.finditer(text) if match[1].lower() not in _COMMON]
    mixed = [one[0] for one in _MIXED.finditer(text) if re.sub(r"\d", "", one[0]).lower() not in _TRADE]
    return list(dict.fromkeys([*found, *mixed]))


def _is_plate(found: str) -> bool:
    letters = "".join(re.findall(r"[A-Z]+", found))
    digits = "".join(re.findall(r"\d+", found))
    return len(letters) + len(digits) >= _LEAST and letters.lower() not in _TRADE


def _any_way(plate: str) -> str:
    """A pattern of a plate, whatever stands between its letters and figures."""
    return r"[\s.-]{0,2}".join(map(re.escape, plate))


_COMMON = frozenset({
    "the", "and", "for", "with", "garage", "shop", "workshop", "tester", "unknown", "invented", "motor",
    "motors", "auto", "service", "car", "cars", "sons", "family", "owner",
})  # fmt: skip
"""Words of names that are no names by themselves."""
