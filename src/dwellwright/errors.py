"""The one error a person is meant to read: something given cannot be used, and what to do about it."""

from __future__ import annotations

GOT_LENGTH = 200
"""Most characters of what was found that a message repeats."""

PART_LENGTH = 700
"""Most characters of any other part of a message; lists of what would be accepted are the longest."""


def folded(text: str, most: int = GOT_LENGTH) -> str:
    """The text on one line, cut with an ellipsis at `most` characters; what cannot be printed becomes a `?`.

    >>> folded("two\\nlines"), folded("bell\\a")
    ('two lines', 'bell?')
    """
    line = " ".join(text[: 8 * most].split())
    plain = "".join(one if one.isprintable() else "?" for one in line)
    whole = len(plain) <= most and len(text) <= 8 * most
    return plain if whole else plain[: most - 1].rstrip() + "…"


class InputFault(ValueError):
    """Something a person gave (a file, a sheet, a field) cannot be used.

    The command line prints it and exits with 2; the pages answer 422 with the same words.

    Args:
        what: the fault in plain words, a sentence without its full stop.
        where: file, row, column, field or line at fault.
        wanted: what would have been accepted, with its unit.
        got: what was found instead.
        remedy: what the person can do about it.

    Every part is folded to one line and cut if long, so that a message stays short whatever was given.

    >>> print(InputFault("the reading is not a number", where="gas.csv, row 2, co_pct", got="abc"))
    the reading is not a number (gas.csv, row 2, co_pct); got abc
    """

    def __init__(
        self, what: str, *, where: str = "", wanted: str = "", got: str = "", remedy: str = ""
    ) -> None:
        self.what, self.where, self.wanted, self.remedy = (
            folded(part, PART_LENGTH) for part in (what, where, wanted, remedy)
        )
        self.got = folded(got)
        super().__init__(self.message)

    @property
    def message(self) -> str:
        """The whole fault on one line."""
        text = self.what + (f" ({self.where})" if self.where else "")
        for label, part in (("wanted", self.wanted), ("got", self.got)):
            text += f"; {label} {part}" if part else ""
        return text + (f". {self.remedy}" if self.remedy else "")
