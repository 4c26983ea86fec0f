"""What a header's words mean: the table of channel names and unit spellings, and the guess made from it."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib.resources import files
from typing import Any

from dwellwright.errors import InputFault
from dwellwright.evidence.trace.columns import Channel, ColumnMap, ColumnUse, header_fingerprint
from dwellwright.units import UNITS, Dimension, Unit

TIME_FORMS = ("clock", "iso", "epoch")
_BRACKET = re.compile(r"^(.*?)[\[(]([^\])]*)[\])]\s*$")
_HUMP = re.compile(r"(?<=[a-z0-9])(?=[A-Z])")
"""Between words written together as in `CoolantTemp`."""
_WORD = re.compile(r"[^\W_]+|[%°º]", re.UNICODE)


@dataclass(frozen=True)
class Proposal:
    """What a header seems to say.

    Args:
        uses: columns understood.
        unit_asked: columns whose channel is clear but whose unit is not.
        rivals: columns that claim a channel another column already has.
        unused: columns not understood.
    """

    uses: tuple[ColumnUse, ...]
    unit_asked: tuple[ColumnUse, ...]
    rivals: tuple[tuple[str, str], ...]
    unused: tuple[str, ...]


@cache
def _table() -> dict[str, Any]:
    text = files("dwellwright.catalogue").joinpath("data/trace_columns.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def channel_units(channel: Channel) -> tuple[str, ...]:
    """Units a channel may be given in, the commonest first."""
    return tuple(_table()["channel"][channel]["units"])


def column_unit(name: str, *, where: str = "") -> Unit:
    """The unit of a trace column by its name; the shop's units and a few that only loggers use.

    Raises:
        InputFault: no such unit.
    """
    if name in UNITS:
        return UNITS[name]
    extra = _table()["unit"].get(name)
    if extra is None:
        raise InputFault(
            "unknown unit", where=where, wanted=", ".join([*UNITS, *_table()["unit"]]), got=repr(name)
        )
    return Unit(Dimension(extra["dimension"]), float(extra["factor"]), float(extra.get("offset", 0.0)))


def split_name(column: str) -> tuple[tuple[str, ...], str | None]:
    """The words of a column's name and the unit written with it, if any.

    >>> split_name("O2 (mV)"), split_name("coolant_c"), split_name("vehicle speed km/h")
    ((('o2',), 'mV'), (('coolant',), 'degC'), (('vehicle', 'speed'), 'km/h'))
    """
    spelling: dict[str, str] = _table()["spelling"]
    bracket = _BRACKET.match(column.strip())
    if bracket:
        unit = spelling.get("".join(bracket.group(2).split()).casefold())
        if unit is not None:
            return tuple(_WORD.findall(bracket.group(1).casefold())), unit
    text = column.casefold().strip()
    for cut in re.finditer(r"[\s_.,:\-/]+", text):
        tail = text[cut.end() :].replace(" ", "").replace("_", "")
        if tail in spelling and cut.start() > 0:
            return tuple(_WORD.findall(text[: cut.start()])), spelling[tail]
    return tuple(_WORD.findall(text)), None


def _contains(words: Sequence[str], part: Sequence[str]) -> bool:
    return any(tuple(words[i : i + len(part)]) == tuple(part) for i in range(len(words) - len(part) + 1))


def _claims(column: str) -> list[tuple[int, Channel, str | None]]:
    """Channels a column could be, best first: (score, channel, unit or None when it must be asked)."""
    words, unit = split_name(column)
    whole = tuple(_WORD.findall(column.casefold()))
    apart = split_name(_HUMP.sub(" ", column))[0]
    claims = []
    for name, entry in _table()["channel"].items():
        if any(_contains(seen, tuple(word.split())) for word in entry["never"] for seen in (whole, apart)):
            continue
        best: tuple[int, str | None] | None = None
        for label, implied in [*((w, None) for w in entry["words"]), *entry["implied"].items()]:
            part = tuple(label.split())
            for seen in {words, whole, apart}:
                if not _contains(seen, part):
                    continue
                score = (
                    100 * len(part) + (1000 if seen == part else 0) + (50 if implied and unit is None else 0)
                )
                if best is None or score > best[0]:
                    best = (score, unit or implied)
        if best is not None and (best[1] is None or best[1] in entry["units"]):
            stated = 2000 if best[1] is not None else 0
            claims.append((best[0] + stated, Channel(name), best[1]))
    return sorted(claims, key=lambda claim: -claim[0])


def proposed_columns(header: Sequence[str]) -> Proposal:
    """What each column seems to be; nothing is refused here, so that a page can ask for the rest."""
    return _proposed(tuple(header))


@lru_cache(maxsize=32)
def _proposed(header: tuple[str, ...]) -> Proposal:
    claims = sorted(
        (
            (score, -i, channel, unit)
            for i, name in enumerate(header)
            for score, channel, unit in _claims(name)
        ),
        key=lambda claim: (-claim[0], -claim[1]),
    )
    taken: dict[Channel, ColumnUse] = {}
    placed: dict[int, Channel] = {}
    rivals: list[tuple[str, str]] = []
    for _, minus, channel, unit in claims:
        i = -minus
        if i in placed:
            continue
        if channel in taken:
            rivals.append((header[i], taken[channel].column))
            continue
        taken[channel] = ColumnUse(channel, header[i], unit or "")
        placed[i] = channel
    whole = tuple(taken[c] for c in Channel if c in taken)
    asked = tuple(u for u in whole if not u.unit and u.channel is not Channel.TIME)
    kept = tuple(u for u in whole if u not in asked)
    unused = tuple(name for i, name in enumerate(header) if i not in placed)
    return Proposal(kept, asked, tuple(r for r in rivals if r[0] in unused), unused)


def guess_columns(header: Sequence[str], *, where: str = "row 1") -> ColumnMap:
    """The column map a header speaks for itself.

    Args:
        header: names of the columns.
        where: file and row of the header, for the message.

    Raises:
        InputFault: no time column, a column without its unit, or nothing about the engine.
    """
    seen = proposed_columns(header)
    if seen.unit_asked:
        first = seen.unit_asked[0]
        raise InputFault(
            "a column does not say its unit",
            where=f"{where}, column " + ", ".join(repr(use.column) for use in seen.unit_asked),
            wanted=f"{first.channel} in one of {', '.join(channel_units(first.channel))}",
            got=f"{first.column!r}",
            remedy=f"Name it '{first.column} ({channel_units(first.channel)[0]})' if it is that, or give a column map.",
        )
    if all(use.channel is not Channel.TIME for use in seen.uses):
        raise InputFault(
            "no column is the time",
            where=where,
            wanted="a column of seconds, hh:mm:ss, date and time, or epoch",
            got=", ".join(header)[:200],
            remedy="Name one column 'time (s)', or give a column map.",
        )
    columns = ColumnMap(seen.uses, header_fingerprint(header))
    if len(columns.uses) < 2:
        raise InputFault(
            "no column beside the time is known",
            where=where,
            wanted="at least one of " + ", ".join(c for c in Channel if c is not Channel.TIME),
            got=", ".join(header)[:200],
            remedy="Give a column map.",
        )
    return columns


def channel_limits(channel: Channel) -> tuple[float, float]:
    """Readings that can be true at all, in SI; outside lies damage or a mistaken unit."""
    low, high = _table()["channel"][channel]["limits"]
    return float(low), float(high)
