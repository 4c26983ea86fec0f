"""A file that kills its reader is refused, not obeyed."""

from __future__ import annotations

from pathlib import Path

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
