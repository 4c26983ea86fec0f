"""Any file is either read or refused with one InputFault; set DWELLWRIGHT_FUZZ_EXAMPLES for a long run."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dwellwright.errors import InputFault
from dwellwright.evidence.trace import observations, read_trace, summarize

EXAMPLES = int(os.environ.get("DWELLWRIGHT_FUZZ_EXAMPLES", "40"))
SETTINGS = settings(
    max_examples=EXAMPLES, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
HEADERS = (
    "time_s,rpm,map_kpa,tps_v,coolant_c,o2_mv,dwell_deg,speed_kmh",
    "Time;U/min;MAP (bar);O2 (V);Dwell",
    "timestamp\trpm\tduty (%)\tvacuum (inHg)",
)
CELLS = st.one_of(
    st.floats(allow_nan=True, allow_infinity=True).map(str),
    st.integers(-(10**20), 10**20).map(str),
    st.sampled_from(
        ["", "-", "0", "1,5", "1.5", "10:00:01", "2024-01-01T00:00:00", '"', "NaN", "\u00e9", "\x00", "-inf"]
    ),
    st.text(max_size=8),
)


def survives(path: Path) -> None:
    """Read, sum up and tell, or one fault; what is told is finite."""
    try:
        trace = read_trace(path)
    except InputFault:
        return
    assert np.all(np.diff(trace.time) > 0)
    for seen in observations(summarize(trace)):
        assert np.isfinite(seen.value)
        assert np.isfinite(seen.uncertainty)


@SETTINGS
@given(content=st.binary(max_size=2000))
def test_any_bytes(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_bytes(content)
    survives(path)


@SETTINGS
@given(
    header=st.sampled_from(HEADERS),
    rows=st.lists(st.lists(CELLS, max_size=9), max_size=30),
    seed=st.integers(0, 9),
)
def test_any_cells_under_a_good_header(header: str, rows: list[list[str]], seed: int, tmp_path: Path) -> None:
    delimiter = next(mark for mark in "\t;," if mark in header)
    lines = [header, *(delimiter.join(row) for row in rows)]
    good = [f"{i * 0.1:.1f}" + f"{delimiter}30" * header.count(delimiter) for i in range(40)]
    lines[1:1] = good[: 4 * seed]
    path = tmp_path / "log.csv"
    path.write_bytes("\n".join(lines).encode("utf-8", "surrogatepass"))
    survives(path)


@SETTINGS
@given(
    step=st.floats(0.005, 3.0),
    count=st.integers(2, 600),
    seed=st.integers(0, 2**31),
    scale=st.sampled_from([0.0, 1e-6, 1.0, 50.0]),
)
def test_any_numbers_in_range(step: float, count: int, seed: int, scale: float, tmp_path: Path) -> None:
    rng = np.random.default_rng(seed)
    table = np.array([1500.0, 60.0, 1.0, 60.0, 450.0, 30.0, 40.0]) + scale * rng.standard_normal((count, 7))
    table = np.clip(table, 0.0, [9000, 105, 5, 120, 1100, 60, 200])
    lines = [HEADERS[0]]
    for i, row in enumerate(table):
        cells = ["" if rng.random() < 0.05 else f"{value:.3f}" for value in row]
        lines.append(",".join((f"{i * step:.4f}", *cells)))
    path = tmp_path / "log.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    survives(path)


@pytest.mark.parametrize("share", [0.1, 0.35, 0.6, 0.9])
def test_a_good_file_cut_anywhere(share: float, tmp_path: Path) -> None:
    rows = "".join(f"{i * 0.1:.1f},{750 + i % 7},34,0.5,88,{400 + i % 9},30,0\n" for i in range(400))
    content = (HEADERS[0] + "\n" + rows).encode()
    path = tmp_path / "log.csv"
    path.write_bytes(content[: int(len(content) * share)])
    survives(path)
