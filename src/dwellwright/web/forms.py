"""Reading forms without losing what was typed."""

from __future__ import annotations

import re
from collections.abc import AsyncIterator, Mapping
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from math import isfinite

from fastapi import Request
from starlette.datastructures import UploadFile

from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Regime
from dwellwright.records.stages import Side

MOST_FILES, MOST_FIELDS, LARGEST_FIELD = 60, 400, 1_000_000
"""Files and fields of one form, and bytes of one field."""

_NUMBER = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)(e[+-]?[0-9]+)?", re.IGNORECASE)
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")


@dataclass(frozen=True)
class Form:
    """A posted form: text fields as typed, and files by field."""

    typed: dict[str, str]
    files: dict[str, list[UploadFile]] = field(default_factory=dict)

    def chosen(self, name: str) -> list[UploadFile]:
        """The files chosen in that field."""
        return self.files.get(name, [])


@asynccontextmanager
async def form_of(request: Request) -> AsyncIterator[Form]:
    """The form that was posted; its files lie on the disk until the block ends. Control characters are left out."""
    posted = await request.form(max_files=MOST_FILES, max_fields=MOST_FIELDS, max_part_size=LARGEST_FIELD)
    typed: dict[str, str] = {}
    files: dict[str, list[UploadFile]] = {}
    for name, value in posted.multi_items():
        if isinstance(value, str):
            typed[name] = _CONTROL.sub("", value)
        elif value.filename:
            files.setdefault(name, []).append(value)
    try:
        yield Form(typed, files)
    finally:
        await posted.close()


async def typed_of(request: Request) -> dict[str, str]:
    """The text fields of a posted form, as typed."""
    async with form_of(request) as form:
        return form.typed


def number_of(typed: Mapping[str, str], name: str, label: str) -> float | None:
    """A number from a form field; None where it was left empty. A decimal comma and a typographic minus are understood.

    Raises:
        InputFault: something was typed that is no finite number.
    """
    text = typed.get(name, "").strip()
    if not text:
        return None
    plain = text.replace(",", ".", 1).replace("\u2212", "-")
    if _NUMBER.fullmatch(plain) is None:
        if plain.lower().lstrip("+-") in ("nan", "inf", "infinity"):
            raise InputFault(
                "the value is not a finite number", where=label, wanted="a number", got=repr(text)
            )
        raise InputFault("this is not a number", where=label, wanted="a number such as 12.5", got=repr(text))
    value = float(plain)
    if not isfinite(value):
        raise InputFault("the value is not a finite number", where=label, wanted="a number", got=repr(text))
    return value


def numbers_of(typed: Mapping[str, str], name: str, label: str) -> list[float]:
    """Repeats typed into one field, apart by blanks or semicolons.

    Raises:
        InputFault: something was typed that is no number.
    """
    parts = typed.get(name, "").replace(";", " ").split()
    found = [number_of({name: part}, name, label) for part in parts]
    return [value for value in found if value is not None]


def side_of(typed: Mapping[str, str]) -> Side:
    """Before or after the work, as chosen; before where nothing was."""
    return Side.AS_LEFT if typed.get("side") == Side.AS_LEFT.value else Side.AS_FOUND


def regime_of(typed: Mapping[str, str]) -> Regime:
    """Where in the operating range, as chosen; hot idle where nothing was.

    Raises:
        InputFault: there is no such place.
    """
    given = typed.get("regime") or Regime.IDLE.value
    if given not in {one.value for one in Regime}:
        raise InputFault("no such place in the operating range", where="regime", got=repr(given),
                         wanted=", ".join(one.value for one in Regime))  # fmt: skip
    return Regime(given)
