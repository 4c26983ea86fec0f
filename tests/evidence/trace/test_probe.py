"""A file that kills its reader is refused, not obeyed."""

from __future__ import annotations

import os
import signal
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from dwellwright.errors import InputFault
from dwellwright.evidence.trace import probe
from dwellwright.evidence.trace.probe import PARQUET, ForeReader, make_ready


def test_a_file_that_ends_the_process_that_reads_it_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputFault, match="damaged") as fault:
        ForeReader("Parquet", "import os; os.abort()").refuse_fatal(tmp_path / "drive.parquet")
    assert "stops its reader" in str(fault.value)


def test_a_file_that_is_never_read_through_is_refused(tmp_path: Path) -> None:
    slow = ForeReader("Parquet", "import time; time.sleep(20)", longest=0.3)
    with pytest.raises(InputFault, match="whose reading does not end"):
        slow.refuse_fatal(tmp_path / "drive.parquet")


def test_what_can_be_read_or_named_is_left_to_the_reader(tmp_path: Path) -> None:
    good, torn = sound_file(tmp_path), tmp_path / "torn.parquet"
    torn.write_bytes(good.read_bytes()[:40])
    PARQUET.refuse_fatal(good)
    PARQUET.refuse_fatal(torn)


ONE_PROCESS = """
import json, os, sys
for line in sys.stdin:
    if "fatal" in json.loads(line)[0]:
        os.abort()
    print(os.getpid(), flush=True)
"""


def test_the_process_stays_for_the_next_file_and_a_fatal_one_gets_another(tmp_path: Path) -> None:
    reader = ForeReader("any", ONE_PROCESS)
    first = reader.word(tmp_path / "good.parquet")
    assert int(first)
    assert reader.word(tmp_path / "again.parquet") == first
    assert reader.word(tmp_path / "fatal.parquet") == ""
    assert reader.word(tmp_path / "good.parquet") not in ("", first)
    reader.leave()


def test_a_process_lost_meanwhile_does_not_condemn_the_file(tmp_path: Path) -> None:
    reader = ForeReader("any", ONE_PROCESS)
    lost = int(reader.word(tmp_path / "good.parquet"))
    os.kill(lost, signal.SIGTERM)
    assert int(reader.word(tmp_path / "good.parquet")) != lost
    reader.leave()


def test_a_process_that_is_not_needed_leaves(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(probe, "STAYS", 0.05)
    reader = ForeReader("any", ONE_PROCESS)
    reader.begin()
    begun = reader._process
    assert begun is not None
    assert begun.wait(timeout=30) is not None


def test_a_process_begun_before_the_file_serves_it(tmp_path: Path) -> None:
    reader = ForeReader("any", ONE_PROCESS)
    reader.begin()
    begun = reader._process
    assert begun is not None
    assert int(reader.word(tmp_path / "good.parquet")) == begun.pid
    reader.leave()
    make_ready(sound_file(tmp_path))
    assert PARQUET._process is not None


def test_a_name_that_is_not_plain_is_read_all_the_same(tmp_path: Path) -> None:
    odd = sound_file(tmp_path).rename(tmp_path / "drive {1} \u00e9\u4e2d.parquet")
    assert PARQUET.word(odd) == "sound"


def test_every_row_is_read_not_only_the_last(tmp_path: Path) -> None:
    # two groups of rows; damage inside the first is met only by whoever reads it
    drive, row_group = tmp_path / "drive.parquet", 20_000
    columns = {"time_s": np.arange(2 * row_group) * 0.02, "note": ["hill"] * (2 * row_group)}
    pl.DataFrame(columns).write_parquet(drive, row_group_size=row_group, compression="zstd")
    assert PARQUET.word(drive) == "sound"
    written = bytearray(drive.read_bytes())
    for place in range(4, 80):  # the first page's head
        written[place] ^= 0x5A
    drive.write_bytes(written)
    assert PARQUET.word(drive) != "sound"


def sound_file(folder: Path) -> Path:
    """Two rows of an invented recording."""
    path = folder / "good.parquet"
    pl.DataFrame({"time (s)": [0.0, 1.0], "dwell (deg)": [30.0, 31.0]}).write_parquet(path)
    return path
