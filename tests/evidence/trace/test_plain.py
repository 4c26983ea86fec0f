"""The quick reader of plain numbers: exactly what the language's own conversion and the general reader give."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from pathlib import Path

import numpy as np
import polars as pl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.evidence.trace.test_reading import HEADER, rows

from dwellwright.evidence.trace import Polarity, read_trace, text
from dwellwright.evidence.trace.plain import PIECE, Plan, pieces_of, plain_columns

NUMBERS = st.one_of(
    st.decimals(allow_nan=False, allow_infinity=False, places=4, min_value=-99_999, max_value=99_999),
    st.decimals(allow_nan=False, allow_infinity=False, places=9, min_value=-9_000_000, max_value=9_000_000),
    st.integers(-(2**53), 2**53).map(Decimal),
)
CELLS = st.one_of(
    NUMBERS.map(lambda number: f"{number:f}"), st.sampled_from(["", ".5", "7.", "-.25", "-0", "007"])
)


def plan(count: int, delimiter: str = ",", point: str = ".") -> Plan:
    names = tuple(f"c{i}" for i in range(count))
    return Plan(names, tuple(range(count)), (1.0,) * count, (0.0,) * count, delimiter, point)


class NotPlainError(Exception):
    """The general reader was asked."""


def refused(piece: bytes) -> pl.DataFrame:
    raise NotPlainError(piece.decode())


def read(folder: Path, content: str, count: int) -> pl.DataFrame:
    path = folder / "cells.csv"
    path.write_bytes(content.encode())
    frame = plain_columns(path, 0, plan(count), refused)
    assert frame is not None
    return frame


@settings(max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    table=st.lists(st.tuples(CELLS, CELLS, CELLS), min_size=1, max_size=20),
    line_end=st.sampled_from(["\n", "\r\n"]),
    ended=st.booleans(),
)
def test_every_number_is_rounded_as_the_language_rounds_it(
    table: list[tuple[str, str, str]], line_end: str, ended: bool, tmp_path: Path
) -> None:
    # the reference is Python's float(), which rounds correctly (its documentation, "Floating point arithmetic")
    content = line_end.join(",".join(row) for row in table) + (line_end if ended else "")
    frame = read(tmp_path, content, 3)
    assert frame.rows() == [tuple(float(cell) if cell else None for cell in row) for row in table]


@pytest.mark.parametrize("cell", [
    "-", ".", "-.", "+5", "1e3", "nan", "inf", " 1", "1 ", "1.2.3", "1,5", '"1"', "0x1", "--1", "12:00",
    "1234567890123456789", "9007199254740993", "1\r2", "é",
])  # fmt: skip
def test_a_cell_that_is_not_plain_is_left_to_the_general_reader(cell: str, tmp_path: Path) -> None:
    with pytest.raises(NotPlainError, match=r"1,2\n"):
        read(tmp_path, f"1,2\n{cell},3\n", 2)


def test_rows_that_end_early_and_empty_rows_are_blank_and_longer_ones_not_plain(tmp_path: Path) -> None:
    frame = read(tmp_path, "1,2\n3\n\n4,5\r\n\r\n", 2)
    assert frame.rows() == [(1, 2), (3, None), (None, None), (4, 5), (None, None)]
    for longer in ("1,2\n3,4,5\n", "1,2\n3,4,\n"):
        with pytest.raises(NotPlainError, match="3,4,"):
            read(tmp_path, longer, 2)


def test_decimal_commas_factors_and_columns_left_out(tmp_path: Path) -> None:
    path = tmp_path / "cells.csv"
    path.write_text("first line\n1,5;any text;-2\n2,5;;4", encoding="utf-8")
    chosen = Plan(("b", "a"), (1, -1, 0), (10.0, 1.0), (1.0, 0.0), ";", ",")
    frame = plain_columns(path, 1, chosen, refused)
    assert frame is not None
    assert frame.to_dict(as_series=False) == {"b": [-19.0, 41.0], "a": [1.5, 2.5]}  # by hand: 10 * -2 + 1


@pytest.mark.parametrize("size", [1, 7, 8, 50, 10_000])
def test_pieces_are_whole_lines_and_lose_nothing(size: int) -> None:
    content = b"head\n\n" + b"".join(b"%d,%d\n" % (i, i * i) for i in range(60)) + b"end"
    pieces = [piece.tobytes() for piece in pieces_of(np.frombuffer(content, np.uint8), 1, size)]
    assert b"".join(pieces) == content[5:] + b"\n"
    assert all(piece.endswith(b"\n") for piece in pieces)
    assert list(pieces_of(np.frombuffer(b"a\nb", np.uint8), 2)) == []


@pytest.mark.parametrize(("odd", "asked"), [((), 0), ((140_000,), 1), (range(0, 150_000, 1000), None)])
def test_many_pieces_give_what_the_general_reader_gives(
    odd: Sequence[int], asked: int | None, tmp_path: Path
) -> None:
    rng = np.random.default_rng(1)
    path = tmp_path / "long.csv"
    cells = pl.DataFrame(np.round(rng.normal(size=(150_000, 3)) * (1, 1e3, 1e6), 5)).with_row_index("t")
    cells = cells.with_columns(pl.when(pl.col("t") % 1000 != 7).then(pl.col("column_1")).alias("column_1"))
    lines = cells.write_csv(float_precision=5).splitlines()
    for row in odd:
        lines[1 + row] = f"{row},nan,1e-05,+3"
    path.write_text("\n".join(lines), encoding="ascii")
    assert path.stat().st_size > 4 * PIECE
    pieces = []

    def general(piece: bytes) -> pl.DataFrame:
        pieces.append(piece)
        return pl.read_csv(piece, has_header=False, schema=dict.fromkeys(plan(4).names, pl.Float64))

    frame = plain_columns(path, 1, plan(4), general)
    assert len(pieces) == (asked or 0)
    if asked is None:
        assert frame is None  # the caller reads the whole file
        return
    assert frame is not None
    whole = general(path.read_bytes().partition(b"\n")[2])
    assert frame["c2"].null_count() == 150
    assert frame.equals(whole)


DAMAGED = {
    "good": HEADER + rows(400),
    "blanks": HEADER + rows(400) + "24.1,,34,0.55,88,400,,0\n24.2\n\n24.3,800,34,0.55,88,400,31,0\n",
    "impossible": HEADER + rows(400) + "24.1,99999,34,0.55,88,400,31,0\n",
    "gap and step back": HEADER + rows(400) + rows(400, begin=100.0) + rows(400, begin=2.0),
    "stuck": HEADER
    + rows(400)
    + "".join(f"{24 + i / 10:.1f},751,34,0.55,88,400,30.5,0\n" for i in range(900)),
    "odd numbers": HEADER + rows(400) + "2.41e1,nan,34,0.55,88,4e2,+30,0\n",
    "words": HEADER + rows(400) + "24.1,ERR,34,0.55,88,400,31,0\n",
    "cut": HEADER + rows(400) + "24.1,750,34",
    "vacuum": "time_s;vacuum (kPa);baro (kPa);dwell\n" + "".join(f"{i},5;60,25;95;20\n" for i in range(50)),
    "windows": (HEADER + rows(400)).replace("\n", "\r\n"),
}


@pytest.mark.parametrize("case", DAMAGED)
@pytest.mark.parametrize("polarity", [Polarity.ENERGIZED_LEAN, Polarity.METER_REVERSED_LEAN])
def test_a_recording_does_not_depend_on_its_reader(
    case: str, polarity: Polarity, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(DAMAGED[case].encode())
    quick = read_trace(path, polarity=polarity)
    monkeypatch.setattr(text, "plain_columns", lambda *_: None)
    general = read_trace(path, polarity=polarity)
    assert quick.frame.equals(general.frame)
    assert quick.damage == general.damage
