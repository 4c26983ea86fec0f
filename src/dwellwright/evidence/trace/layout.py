"""How a text recording is laid out: encoding, delimiter, decimal comma, where the header and the data begin."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass, replace
from pathlib import Path

from dwellwright.errors import InputFault
from dwellwright.evidence.trace.names import split_name

HEAD_BYTES = 1 << 18
LONGEST_LINE = 1 << 16
LARGEST_TEXT = 4 << 30
HEADER_LINES = 60
"""A header is looked for in the first so many lines: loggers write a preamble."""

_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?|[+-]?(nan|inf(inity)?)", re.IGNORECASE)
_MOMENT = re.compile(
    r"\d{1,4}[-/.]\d{1,2}[-/.]\d{1,4}[T ]\s*\d{1,2}:\d\d.*|\d{1,3}:\d{1,2}(:\d{1,2})?([.,]\d+)?"
)
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+([eE][+-]?\d+)?")
_MAGIC = {
    b"PK\x03\x04": ("a workbook or zip archive", "Save the sheet as CSV."),
    b"\x1f\x8b": ("a gzip archive", "Unpack it first."),
    b"%PDF": ("a PDF", "Give the recording itself."),
    b"RIFF": ("an audio file", "Read it as a waveform, not as a trace."),
    b"fLaC": ("an audio file", "Read it as a waveform, not as a trace."),
}


@dataclass(frozen=True)
class Layout:
    """Where things are in a text recording.

    Args:
        encoding: how its header was decoded.
        delimiter: between fields.
        decimal_comma: numbers are written 1,5.
        quoted: fields may be in double quotes.
        header: column names.
        skipped_lines: lines before the first row of data.
        header_line: number of the header's line, counting from 1.
        sample: the first rows of data, as text.
        old_line_ends: lines end in a carriage return alone, which Polars does not know.
        last_cut: the last row has fewer cells than the header: the file was cut short there.
    """

    encoding: str
    delimiter: str
    decimal_comma: bool
    quoted: bool
    header: tuple[str, ...]
    skipped_lines: int
    header_line: int
    sample: tuple[tuple[str, ...], ...]
    old_line_ends: bool = False
    last_cut: bool = False


def text_layout(path: Path) -> Layout:
    """The layout of a text recording, from its first quarter megabyte.

    Raises:
        InputFault: empty, binary, too large, without a header, or with a header only.
    """
    size = path.stat().st_size
    if size > LARGEST_TEXT:
        raise InputFault(
            "the recording is too large to read as text",
            where=path.name,
            wanted=f"at most {LARGEST_TEXT >> 30} GB",
            got=f"{size / 2**30:.1f} GB",
            remedy="Cut it into pieces, or store it as Parquet.",
        )
    with path.open("rb") as file:
        head = file.read(HEAD_BYTES)
    encoding, text = _decoded(head, path.name)
    layout = _layout(text, encoding, path.name, whole=size <= HEAD_BYTES)
    return replace(layout, old_line_ends="\r" in text and "\n" not in text, last_cut=_last_cut(path, layout))


def _last_cut(path: Path, layout: Layout) -> bool:
    if layout.encoding == "utf-16":
        return False
    with path.open("rb") as file:
        file.seek(max(0, path.stat().st_size - LONGEST_LINE))
        tail = file.read()
    if tail.endswith((b"\n", b"\r")):
        return False
    last = tail.splitlines()[-1].decode("utf-8", errors="replace")
    return len(fields_of(last, layout.delimiter)) < len(layout.header)


def _decoded(head: bytes, name: str) -> tuple[str, str]:
    if not head.strip():
        raise InputFault(
            "the file is empty", where=name, wanted="a header and rows of numbers", got="nothing"
        )
    for magic, (kind, remedy) in _MAGIC.items():
        if head.startswith(magic):
            raise InputFault("the file is not a table of text", where=name, got=kind, remedy=remedy)
    for mark, encoding in ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"), (b"\xef\xbb\xbf", "utf-8-sig")):
        if head.startswith(mark):
            even = head[: len(head) // 2 * 2] if encoding == "utf-16" else head
            return encoding, even.decode(encoding, errors="replace")
    if b"\x00" in head:
        row = head[: head.index(b"\x00")].count(b"\n") + 1
        raise InputFault(
            "the file is binary, not a table of text",
            where=f"{name}, row {row}",
            got=f"a zero byte at {head.index(0)}",
        )
    end = head.rfind(b"\n") + 1
    cut = head[:end] if len(head) == HEAD_BYTES and 0 <= HEAD_BYTES - end <= LONGEST_LINE else head
    try:
        return "utf-8", cut.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252", cut.decode("cp1252", errors="replace")


def _layout(text: str, encoding: str, name: str, *, whole: bool) -> Layout:
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    _check_lines(lines, name)
    if not whole:
        lines = lines[:-1] or lines
    for index in range(min(len(lines), HEADER_LINES)):
        for delimiter in ("\t", ";", ",", "|"):
            found = _header_at(lines, index, delimiter)
            if found is not None:
                return _finished(lines, index, delimiter, found, encoding, name)
    raise _no_header(lines, name)


def _check_lines(lines: list[str], name: str) -> None:
    for number, line in enumerate(lines, start=1):
        if len(line) > LONGEST_LINE:
            raise InputFault(
                "a line is too long to be a row of a recording",
                where=f"{name}, row {number}",
                wanted=f"at most {LONGEST_LINE} characters",
                got=f"{len(line)} or more",
                remedy="Check that the file has line ends.",
            )


def fields_of(line: str, delimiter: str) -> list[str]:
    """The fields of one line, without their quotes and outer blanks; an odd quote is a character like others."""
    if line.count('"') % 2:
        return [field.strip() for field in line.split(delimiter)]
    try:
        return [field.strip() for field in next(csv.reader([line], delimiter=delimiter), [])]
    except csv.Error:
        return [field.strip() for field in line.split(delimiter)]


def _is_value(field: str) -> bool:
    return not field or bool(_NUMBER.fullmatch(field) or _MOMENT.fullmatch(field))


def _header_at(lines: list[str], index: int, delimiter: str) -> int | None:
    """Lines to skip before the data if `index` is the header in this delimiter."""
    names = fields_of(lines[index], delimiter)
    while len(names) > 1 and not names[-1]:
        names.pop()
    if len(names) < 2 or sum(_is_value(name) for name in names) > len(names) / 4:
        return None
    for first in range(index + 1, min(index + 4, len(lines))):
        row = fields_of(lines[first], delimiter)
        filled = [field for field in row if field]
        if len(filled) < 2 and first > index + 1:
            continue
        if len(names) <= len(row) <= len(names) + 1 and sum(map(_is_value, filled)) >= max(
            1, len(filled) / 2
        ):
            return first
    return None


def _finished(lines: list[str], index: int, delimiter: str, first: int, encoding: str, name: str) -> Layout:
    header = [field.replace("\ufeff", "") for field in fields_of(lines[index], delimiter)]
    while not header[-1]:
        header.pop()
    for between in lines[index + 1 : first]:
        header = _with_units(header, fields_of(between, delimiter))
    twice = sorted({field for field in header if header.count(field) > 1})
    if twice:
        raise InputFault(
            "two columns have the same name", where=f"{name}, row {index + 1}", got=", ".join(twice)
        )
    sample = [fields_of(line, delimiter) for line in lines[first : first + 200] if line.strip()]
    commas = sum(bool(_DECIMAL_COMMA.fullmatch(field)) for row in sample for field in row)
    dots = sum(bool(re.fullmatch(r"[+-]?\d+\.\d+", field)) for row in sample for field in row)
    quotes = [line.count('"') for line in lines[index : first + 200]]
    quoted = any(quotes) and all(count % 2 == 0 for count in quotes)
    rows = tuple(tuple(row) for row in sample)
    return Layout(encoding, delimiter, commas > dots, quoted, tuple(header), first, index + 1, rows)


def _with_units(header: list[str], row: list[str]) -> list[str]:
    """The header with the units of the row under it, where that row is one."""
    joined = []
    for name, unit in zip(header, [*row, *[""] * len(header)], strict=False):
        text = unit.strip("[]() ")
        with_unit = f"{name} ({text})"
        named = text and split_name(with_unit)[1] is not None and split_name(name)[1] is None
        joined.append(with_unit if named else name)
    return joined


def _no_header(lines: list[str], name: str) -> InputFault:
    first = next((line for line in lines if line.strip()), "")
    filled = [line for line in lines if line.strip()]
    shown = repr(first[:60])
    if len(filled) == 1:
        return InputFault(
            "the file has a header but no rows", where=f"{name}, row 2", wanted="rows of numbers", got=shown
        )
    cells = [field for delimiter in ",;\t|" for field in fields_of(first, delimiter) if delimiter in first]
    if cells and all(map(_is_value, cells)):
        return InputFault(
            "the columns have no names",
            where=f"{name}, row 1",
            wanted="a first row such as time_s,rpm,map_kpa,o2_mv,dwell_deg",
            got=shown,
            remedy="Add a row of names.",
        )
    return InputFault(
        "no row of names followed by rows of numbers was found",
        where=f"{name}, rows 1 to {min(len(lines), HEADER_LINES)}",
        wanted="comma, semicolon or tab separated columns with a header",
        got=shown,
    )
