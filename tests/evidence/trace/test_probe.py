"""A file that kills its reader is refused, not obeyed."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from dwellwright.errors import InputFault
from dwellwright.evidence.trace import probe
from dwellwright.evidence.trace.probe import refuse_fatal


def test_a_file_that_ends_the_process_that_reads_it_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputFault, match="damaged") as fault:
        refuse_fatal(tmp_path / "drive.parquet", program="import os; os.abort()")
    assert "stops its reader" in str(fault.value)


def test_a_file_that_is_never_read_through_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(probe, "LONGEST", 0.3)
    with pytest.raises(InputFault, match="not read in"):
        refuse_fatal(tmp_path / "drive.parquet", program="import time; time.sleep(20)")


def test_what_can_be_read_or_named_is_left_to_the_reader(tmp_path: Path) -> None:
    good, torn = tmp_path / "good.parquet", tmp_path / "torn.parquet"
    pl.DataFrame({"time (s)": [0.0, 1.0], "dwell (deg)": [30.0, 31.0]}).write_parquet(good)
    torn.write_bytes(good.read_bytes()[:40])
    refuse_fatal(good)
    refuse_fatal(torn)


def test_every_row_is_read_not_only_the_last(tmp_path: Path) -> None:
    # two groups of rows; damage inside the first is met only by whoever reads it
    drive, row_group = tmp_path / "drive.parquet", 20_000
    columns = {"time_s": np.arange(2 * row_group) * 0.02, "note": ["hill"] * (2 * row_group)}
    pl.DataFrame(columns).write_parquet(drive, row_group_size=row_group, compression="zstd")
    program = [sys.executable, "-c", probe.READ_THROUGH, str(drive)]
    assert subprocess.run(program, capture_output=True, check=False).returncode == 0
    written = bytearray(drive.read_bytes())
    for place in range(4, 80):  # the first page's head
        written[place] ^= 0x5A
    drive.write_bytes(written)
    assert subprocess.run(program, capture_output=True, check=False).returncode != 0
