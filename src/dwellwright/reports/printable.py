"""Any text a person or a file may hold, made safe to print: no control marks, breakable words, known glyphs."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

import matplotlib
from matplotlib.ft2font import FT2Font

LONGEST_WORD, STRETCH = 18, 4
"""Characters up to which a word is left whole, and between places where a longer one may be broken."""

BREAK = "\u200b"
MISSING = "\u25a1"
"""Printed for a character of which no font at hand holds a drawing."""


def font_folder() -> Path:
    """Folder of the fonts that arrive with the plotting library."""
    return Path(matplotlib.get_data_path()) / "fonts" / "ttf"


@cache
def drawable() -> frozenset[int]:
    """Code points that the fonts at hand can draw."""
    return frozenset(FT2Font(str(font_folder() / "DejaVuSans.ttf")).get_charmap())


def printable(text: str) -> str:
    """The text with control and direction marks removed, unknown glyphs boxed, and long words breakable.

    Line ends and tabs become spaces.

    >>> printable("a\\x00b\\u202ec\\nd")
    'abc d'
    """
    shown = "".join(_shown(one) for one in unicodedata.normalize("NFC", text))
    return " ".join(_breakable(word) for word in shown.split(" ") if word)


def _shown(one: str) -> str:
    """One character as it will be printed; empty if it has no business on paper."""
    if one == "\u00a0":
        return one
    category = unicodedata.category(one)
    if one.isspace() or category in ("Zs", "Zl", "Zp"):
        return " "
    if category in ("Cc", "Cf", "Cs", "Co", "Cn") or "\ufe00" <= one <= "\ufe0f":
        return ""
    return one if ord(one) in drawable() else MISSING


def _breakable(word: str) -> str:
    """A word longer than fits a narrow column, with places where it may be broken."""
    if len(word) <= LONGEST_WORD:
        return word
    parts = [word[at : at + STRETCH] for at in range(0, len(word), STRETCH)]
    return "".join(
        part + (BREAK if after and not unicodedata.combining(after[0]) else "")
        for part, after in zip(parts, [*parts[1:], ""], strict=True)
    )


def clipped(text: str, most: int) -> str:
    """A text cut at a word to at most so many characters, the cut shown."""
    if len(text) <= most:
        return text
    head = text[: most - 2]
    cut = head.rsplit(" ", 1)[0] if " " in head[most // 2 :] else head
    return f"{cut} …"


def limited_tree(value: Any, limits: Mapping[str, int], key: str = "") -> Any:
    """The same tree with every text under a named key cut to that key's limit."""
    if isinstance(value, str):
        return clipped(printable(value), limits[key]) if key in limits else value
    if isinstance(value, dict):
        return {name: limited_tree(item, limits, name) for name, item in value.items()}
    if isinstance(value, list | tuple):
        return [limited_tree(item, limits, key) for item in value]
    return value


def printable_tree(value: Any) -> Any:
    """The same tree of lists, mappings and values with every text printable."""
    if isinstance(value, str):
        return printable(value)
    if isinstance(value, dict):
        return {key: printable_tree(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [printable_tree(item) for item in value]
    return value
