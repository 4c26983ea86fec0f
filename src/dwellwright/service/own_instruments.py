"""The shop's own line instruments: their descriptions, kept as TOML files in the shop folder."""

from __future__ import annotations

import os
import re
import tempfile
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path

from dwellwright.errors import InputFault
from dwellwright.evidence.instrument.description import LARGEST, Description, description_of
from dwellwright.evidence.instrument.wire import known_address
from dwellwright.records.shop import Shop

FOLDER = "instruments"
MOST = 100
_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9._-]{0,59}")


@dataclass(frozen=True)
class LineInstrument:
    """One described instrument; `description` is None where its file was damaged, and `fault` says how."""

    name: str
    text: str
    description: Description | None
    fault: str = ""


def example_description() -> str:
    """A description to start from."""
    return files("dwellwright.catalogue").joinpath("data", "line_instrument.toml").read_text("utf-8")


def line_instruments(shop: Shop) -> list[LineInstrument]:
    """Every instrument described in the shop, by name."""
    return [_read(path) for path in sorted((shop.folder / FOLDER).glob("*.toml"))]


def _read(path: Path) -> LineInstrument:
    try:
        text = path.read_bytes()[: LARGEST + 1].decode("utf-8", "replace")
        return LineInstrument(path.stem, text, description_of(text, path.name))
    except OSError as fault:
        return LineInstrument(path.stem, "", None, fault.strerror or str(fault))
    except InputFault as fault:
        return LineInstrument(path.stem, text, None, str(fault))


def line_instrument(shop: Shop, name: str) -> Description:
    """The description of that name.

    Raises:
        InputFault: there is none, or its file was damaged.
    """
    known = {one.name: one for one in line_instruments(shop)}
    if name not in known:
        raise InputFault("no such instrument", got=repr(name[:80]),
                         wanted=", ".join(known) or "none is described yet",
                         remedy="Describe it first; `dwellwright instrument example` prints a start")  # fmt: skip
    found = known[name]
    if found.description is None:
        raise InputFault(found.fault)
    return found.description


def save_line_instrument(shop: Shop, name: str, text: str) -> Description:
    """Keep a description under a name, over an older one.

    Raises:
        InputFault: the text is no description, or the name cannot be used.
    """
    if not _NAME.fullmatch(name):
        raise InputFault("the name of an instrument is short and plain", got=repr(name[:80]),
                         wanted="letters, digits, dot, hyphen and underscore, at most 60")  # fmt: skip
    found = description_of(text, name)
    place = shop.folder / FOLDER
    known = {one.name for one in line_instruments(shop)}
    if name not in known and len(known) >= MOST:
        raise InputFault("there are too many instruments", wanted=f"at most {MOST}")
    try:
        place.mkdir(exist_ok=True)
        handle, draft = tempfile.mkstemp(dir=place, prefix=".draft-")
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text.replace("\r\n", "\n"))
        os.replace(draft, place / f"{name}.toml")
    except OSError as fault:
        raise InputFault("the shop folder cannot be written", where=str(shop.folder),
                         got=fault.strerror or str(fault)) from None  # fmt: skip
    return found


def remove_line_instrument(shop: Shop, name: str) -> None:
    """Take a description away; recordings made with it stay.

    Raises:
        InputFault: there is none of that name.
    """
    if name not in {one.name for one in line_instruments(shop)}:
        raise InputFault("no such instrument", got=repr(name[:80]))
    (shop.folder / FOLDER / f"{name}.toml").unlink(missing_ok=True)


def checked_address(description: Description, address: str) -> str:
    """An address the instrument can have.

    Raises:
        InputFault: it is none.
    """
    return known_address(description.connection.kind, address)
