"""A sentence without its numbers: what a catalogue lists, so that one entry serves every value."""

from __future__ import annotations

import re
from collections.abc import Mapping

NUMBER = r"\d{4}-\d\d-\d\d(?:[ T]\d\d:\d\d(?::\d\d)?)?|(?:(?<!\S)|(?<=[(]))[+\-−±]?\d+(?:[.,:]\d+)*|\d+(?:[.,:]\d+)*"
"""A date with or without its time, or digits with points, commas and colons between them and perhaps a sign."""

SLOT = re.compile(r"\{(\w+)\}")
"""`{0}`, `{1}` … stand for numbers in their order; `{name}` for words."""

_NUMBERS = re.compile(rf"(?<![A-Za-z_\d])(?:{NUMBER})")
_WORD = re.compile(r"(?<![\w'`])[^\W\d_]{2,}(?![\w'`])")
_QUOTED = re.compile(r"`[^`]*`|(?<!\w)'[^']*'(?!\w)|\w*_\w*")
_NO_SENTENCE = re.compile(r"[\w./\\-]+\.[a-z]\w{1,8}|https?://\S+|/[\w./-]*")


def numbered(text: str) -> tuple[str, tuple[str, ...]]:
    """The sentence with its numbers replaced by slots, and the numbers.

    >>> numbered("28.8° at 3000 rpm, 2026-11-25 21:37")
    ('{0}° at {1} rpm, {2}', ('28.8', '3000', '2026-11-25 21:37'))
    """
    found: list[str] = []

    def slot(match: re.Match[str]) -> str:
        found.append(match[0])
        return f"{{{len(found) - 1}}}"

    return _NUMBERS.sub(slot, text), tuple(found)


def filled(sentence: str, values: Mapping[str, str]) -> str:
    """The sentence with its slots filled; a slot without a value stays as it is.

    >>> filled("{1} rpm: {0}°", {"0": "28.8", "1": "3000"})
    '3000 rpm: 28.8°'
    """
    return SLOT.sub(lambda match: values.get(match[1], match[0]), sentence)


def has_words(text: str) -> bool:
    """Whether there is anything to translate: a word that is not quoted, not just a name of a file or a field.

    >>> has_words("28.8 to 30"), has_words("28.8°"), has_words("log.csv"), has_words("'such'")
    (True, False, False, False)
    """
    return bool(_WORD.search(_QUOTED.sub("", SLOT.sub("", text)))) and not _NO_SENTENCE.fullmatch(
        text.strip()
    )
