"""What kind of evidence a file is, by its first bytes and its first words, whatever it is called."""

from __future__ import annotations

import re
from enum import StrEnum
from pathlib import Path

from dwellwright.errors import InputFault

HEAD = 1 << 16
HEADER_LINES = 60
"""A header is looked for in the first so many lines: loggers write a preamble."""


SLOWEST_WAVEFORM = 400.0
"""No log of a drive has so many rows a second, and no waveform of the drive can do with fewer. [1/s] (assumed)"""


class FileKind(StrEnum):
    """The four kinds of evidence file."""

    WAVEFORM = "waveform"
    TRACE = "trace"
    GAS = "gas"
    GAUGES = "gauges"


_SOUND = (b"RIFF", b"RIFX", b"RF64", b"fLaC", b"OggS", b"FORM", b"caff", b"ID3")
_COLUMNAR = (b"PAR1", b"MDF     ", b"UnFinMF ")
_REFUSED = {
    b"\xff\xd8\xff": "a photograph",
    b"\x89PNG": "a picture",
    b"%PDF": "a PDF",
    b"PK\x03\x04": "a workbook or zip archive",
    b"\x1f\x8b": "a gzip archive",
}
_WORD = re.compile(r"[a-z0-9]+")
_VOLTS = re.compile(r"volt|ch(annel)?_?\s?\d|\(?\bm?v\b\)?|^[a-d]$")


def file_kind(path: Path) -> FileKind:
    """The kind of an evidence file.

    Raises:
        InputFault: it cannot be read, is empty, or is of no kind that is evidence.
    """
    head = _head(path)
    for sign, what in _REFUSED.items():
        if head.startswith(sign):
            raise InputFault("this file holds no readings", where=path.name, got=what,
                             wanted="sound of the drive, a drive recording, a gas table or a bench sheet",
                             remedy="Save the numbers themselves as CSV")  # fmt: skip
    if head.startswith(_SOUND):
        return FileKind.WAVEFORM
    if head.startswith(_COLUMNAR):
        return FileKind.TRACE
    return _text_kind(path, head)


def _head(path: Path) -> bytes:
    try:
        with open(path, "rb") as file:
            head = file.read(HEAD)
    except OSError as fault:
        raise InputFault(
            "the file cannot be read", where=str(path), got=fault.strerror or str(fault)
        ) from None
    if not head.strip(b"\x00 \t\r\n\xef\xbb\xbf"):
        raise InputFault(
            "the file is empty", where=path.name, wanted="readings", got=f"{len(head)} blank bytes"
        )
    return head


def _text_kind(path: Path, head: bytes) -> FileKind:
    wide = head.startswith((b"\xff\xfe", b"\xfe\xff"))
    text = (
        head[: len(head) // 2 * 2].decode("utf-16", "replace")
        if wide
        else head.decode("utf-8-sig", "replace")
    )
    if "\x00" in text:
        raise InputFault("the file is neither sound nor a table", where=path.name, got="binary data",
                         wanted="WAV, FLAC, CSV, Parquet or MDF")  # fmt: skip
    lines = [line for line in text.splitlines()[:HEADER_LINES] if line.strip()]
    for line in lines:
        cells = [cell.strip(" \"'").lower() for cell in re.split(r"[,;\t|]", line)]
        words = {word for cell in cells for word in _WORD.findall(cell)}
        if {"co", "co2"} <= words:
            return FileKind.GAS
        if words & {"item", "setting"} and words & {"unit", "units"}:
            return FileKind.GAUGES
        if _is_oscilloscope(cells):
            return FileKind.WAVEFORM
    return FileKind.WAVEFORM if _is_fast_unnamed(path, lines) else FileKind.TRACE


def _is_fast_unnamed(path: Path, lines: list[str]) -> bool:
    """Whether a table that names nothing of an engine has no time, or was sampled as fast as only a waveform is."""
    from dwellwright.evidence.trace import proposed_columns
    from dwellwright.evidence.waveform.text import text_rate

    for line in lines:
        cells = [cell.strip(" \"'").lower() for cell in re.split(r"[,;\t|]", line)]
        if any(use.channel != "time" for use in proposed_columns(cells).uses):
            return False
    rate = text_rate(path)
    return rate is not None and rate >= SLOWEST_WAVEFORM


def _is_oscilloscope(cells: list[str]) -> bool:
    """Whether a header has a time and volts and nothing that a drive recording has."""
    from dwellwright.evidence.trace import proposed_columns

    if not 2 <= len(cells) <= 5 or not any("time" in cell or cell in ("t", "s", "second") for cell in cells):
        return False
    if not any(_VOLTS.search(cell) for cell in cells):
        return False
    seen = proposed_columns(cells)
    return not any(use.channel != "time" for use in (*seen.uses, *seen.unit_asked))
