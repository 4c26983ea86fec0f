"""Sheets that shops give each other: who signed them off, and whether anything was changed since.

The sign-off stands at the end of the sheet's own file, in remarks, so that it stays a plain sheet. Its digest covers
everything above it: a number, a source or a name that was changed afterwards no longer fits. It does not prove who
wrote it; for that one must know whom the file came from.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from hashlib import sha256

MARK = "# --- signed off ---"
_DIGEST = "# sha256 of all above: "
_BLOCK = re.compile(
    rf"^{re.escape(MARK)}\n# by: (?P<who>.*)\n# shop: (?P<shop>.*)\n# on: (?P<day>\d{{4}}-\d{{2}}-\d{{2}})\n"
    rf"(?:# remark: (?P<remark>.*)\n)?{re.escape(_DIGEST)}(?P<digest>[0-9a-f]{{64}})$",
    re.MULTILINE,
)


@dataclass(frozen=True)
class SignOff:
    """One sign-off of a sheet; `whole` says whether everything above it is as it was signed."""

    who: str
    shop: str
    day: str
    remark: str
    digest: str
    whole: bool

    @property
    def words(self) -> str:
        """The same in a line."""
        return f"signed off by {self.who}, {self.shop}, {self.day} (SHA-256 {self.digest[:16]})"


def plain_lines(text: str) -> str:
    """Text with one kind of line end, so that a digest does not depend on the editor."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


def signed_text(text: str, who: str, shop: str, day: date, remark: str = "") -> str:
    """The sheet with one more sign-off below it.

    >>> signed = signed_text("format = 1", "A. Sample", "a shop", date(2026, 1, 2))
    >>> [one.whole for one in sign_offs(signed)], [one.whole for one in sign_offs(signed.replace("1", "2", 1))]
    ([True], [False])
    """
    told = [" ".join(one.split()) for one in (who, shop, remark)]
    head = (
        plain_lines(text).rstrip("\n")
        + f"\n\n{MARK}\n# by: {told[0]}\n# shop: {told[1]}\n# on: {day.isoformat()}\n"
    )
    head += f"# remark: {told[2]}\n" if told[2] else ""
    return f"{head}{_DIGEST}{sha256(head.encode()).hexdigest()}\n"


def sign_offs(text: str) -> list[SignOff]:
    """Every sign-off of a sheet, the first at the top."""
    plain = plain_lines(text)
    found = []
    for match in _BLOCK.finditer(plain):
        above = plain[: match.start("digest") - len(_DIGEST)]
        whole = sha256(above.encode()).hexdigest() == match["digest"]
        found.append(
            SignOff(match["who"], match["shop"], match["day"], match["remark"] or "", match["digest"], whole)
        )
    return found


def unsigned_text(text: str) -> str:
    """The sheet without its sign-offs: what somebody goes on working at is signed by nobody."""
    return plain_lines(text).split(f"\n{MARK}\n")[0].rstrip("\n") + "\n"


def is_changed(text: str) -> bool:
    """Whether a signed sheet was changed afterwards: a digest does not fit, a mark is damaged, or something follows."""
    plain = plain_lines(text)
    if MARK not in plain:
        return False
    blocks = list(_BLOCK.finditer(plain))
    if len(blocks) != plain.count(MARK) or not all(one.whole for one in sign_offs(plain)):
        return True
    return bool(plain[blocks[-1].end() :].strip())
