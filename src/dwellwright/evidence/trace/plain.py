"""Numbers out of plain text, in pieces and at once in SI: how most recordings are read, and the quickest way.

Plain is a row of digits, a minus and a point between delimiters, or nothing. A cell that is anything else sends its
piece to the general reader, many such pieces the whole file; what comes out never depends on which of them read it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from itertools import accumulate, pairwise
from pathlib import Path

import numpy as np
import polars as pl
from numpy.typing import NDArray

from dwellwright.compiled import njit
from dwellwright.evidence.trace.layout import LONGEST_LINE
from dwellwright.evidence.trace.trace import WORKERS

Bytes = NDArray[np.uint8]
Numbers = NDArray[np.float64]
PIECE = 1 << 20
"""Text given to a thread at a time. [byte]"""
MOST_ODD = 0.25
"""With a greater share of pieces not plain, the general reader takes the whole file at once."""
_ONE, _TEN = np.uintp(1), np.uint64(10)
_MOST_DIGITS = 18
_EXACT = np.uint64(1 << 53)
"""Whole numbers up to this are exact as a float, as is 10**22: so one division rounds as it should (W. D. Clinger,
How to read floating point numbers accurately, 1990)."""
_POWERS = 10.0 ** np.arange(_MOST_DIGITS + 1)


@dataclass(frozen=True)
class Plan:
    """What becomes of each column of the text.

    Args:
        names: of the columns wanted, by place.
        places: for every column of the text its place among the wanted, -1 for none.
        factors: by place. [SI unit per unit of the text]
        offsets: by place. [SI unit]
        delimiter: between cells; not a part of numbers.
        point: the decimal point.
    """

    names: tuple[str, ...]
    places: tuple[int, ...]
    factors: tuple[float, ...]
    offsets: tuple[float, ...]
    delimiter: str
    point: str


def plain_columns(
    path: Path, first_line: int, plan: Plan, general: Callable[[bytes], pl.DataFrame]
) -> pl.DataFrame | None:
    """The wanted columns, null where a cell is blank; None where few pieces of the file are plain.

    Args:
        path: text in which numbers are written in ASCII.
        first_line: lines before the first row.
        plan: what to make of the columns.
        general: reads a piece that is not plain into the same columns.
    """
    pieces = list(pieces_of(np.asarray(np.memmap(path, np.uint8, "r")), first_line))
    places, factors, offsets = (np.array(of) for of in (plan.places, plan.factors, plan.offsets))
    marks = (ord(plan.delimiter), ord(plan.point))
    with ThreadPoolExecutor(WORKERS) as pool:
        starts = list(accumulate(pool.map(_line_ends, pieces), initial=0))
        out = np.empty((len(plan.names), starts[-1]))
        blanks = np.zeros((len(pieces), len(plan.names)), np.int64)

        def parsed(piece: Bytes, row: int, blank: NDArray[np.int64]) -> bool:
            return bool(_parse(piece, *marks, places, factors, offsets, _POWERS, out, row, blank))

        plain = list(pool.map(parsed, pieces, starts, blanks))
    if all(plain):
        return _framed(plan.names, out, blanks.sum(axis=0))
    if plain.count(False) > max(1.0, MOST_ODD * len(plain)):
        return None
    return pl.concat([
        _framed(plan.names, out[:, first:end], blank) if good else general(piece.tobytes())
        for good, piece, (first, end), blank in zip(plain, pieces, pairwise(starts), blanks, strict=True)
    ])  # fmt: skip


def _framed(names: tuple[str, ...], numbers: Numbers, blanks: NDArray[np.int64]) -> pl.DataFrame:
    columns = [pl.Series(name, values) for name, values in zip(names, numbers, strict=True)]
    return pl.DataFrame([c.fill_nan(None) if n else c for c, n in zip(columns, blanks, strict=True)])


def pieces_of(text: Bytes, first_line: int, size: int = PIECE) -> Iterator[Bytes]:
    """Stretches of whole lines; the last gets the line end that it may lack."""
    begin = 0
    for _ in range(first_line):
        begin = _after_line(text, begin)
    while begin < text.size:
        end = _after_line(text, min(begin + size, text.size) - 1)
        piece = text[begin:end]
        yield piece if piece[-1] == ord("\n") else np.frombuffer(piece.tobytes() + b"\n", np.uint8)
        begin = end


def _after_line(text: Bytes, begin: int) -> int:
    """Where the line after the one at `begin` starts; the size of the text where there is none."""
    for start in range(begin, text.size, LONGEST_LINE):
        ends = np.flatnonzero(text[start : start + LONGEST_LINE] == ord("\n"))
        if ends.size:
            return start + int(ends[0]) + 1
    return text.size


@njit(cache=True, nogil=True)
def _line_ends(piece):  # type: ignore[no-untyped-def] # numba infers
    found = 0
    for byte in piece:
        found += byte == ord("\n")
    return found


@njit(cache=True, nogil=True)
def _parse(piece, delimiter, point, places, factors, offsets, powers, out, row, blanks):  # type: ignore[no-untyped-def] # numba infers
    """Fill `out` from `row` on with a piece that ends with a line end; False where a cell is not plain.

    A row that ends early goes on with blanks. Indexes without a sign, and no function of its own for a cell: three
    times as quick with this compiler.
    """
    i, last = np.uintp(0), places.size - 1
    while i < np.uintp(piece.size):
        for column in range(last + 1):
            place = places[column]
            if place < 0:
                while piece[i] != delimiter and piece[i] != ord("\n"):
                    i += _ONE
            else:
                minus, dot, total = piece[i] == ord("-"), np.uintp(0), np.uint64(0)
                if minus:
                    i += _ONE
                begin = i
                while True:
                    digit = np.uint8(piece[i] - ord("0"))
                    if digit < 10:
                        total = total * _TEN + np.uint64(digit)
                    elif piece[i] == point and dot == 0:
                        dot = i + _ONE
                    else:
                        break
                    i += _ONE
                digits = i - begin - _ONE if dot else i - begin
                if digits > 0 and digits <= _MOST_DIGITS and total <= _EXACT:
                    value = np.float64(total) / powers[i - dot if dot else np.uintp(0)]
                    out[place, row] = (-value if minus else value) * factors[place] + offsets[place]
                elif digits > 0 or minus or dot:
                    return False
                else:
                    out[place, row] = np.nan
                    blanks[place] += 1
            if column < last and piece[i] == delimiter:
                i += _ONE
        if piece[i] == ord("\r"):
            i += _ONE
        if piece[i] != ord("\n"):
            return False
        i, row = i + _ONE, row + 1
    return True
