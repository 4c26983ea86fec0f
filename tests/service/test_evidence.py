"""Files are told apart by their content, kept with their readings, and refused without a trace."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile

from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Measured, Regime
from dwellwright.evidence.waveform.types import Polarity
from dwellwright.records.shop import Shop, damaged_files
from dwellwright.records.stages import JobStage, Side
from dwellwright.service.evidence import add_evidence, answer_polarity, evidence_file
from dwellwright.service.file_kind import FileKind, file_kind
from dwellwright.service.files import read_file
from dwellwright.service.jobs import job_history, job_view
from dwellwright.units import dwell_degrees

WHO = "tester"


def test_each_kind_is_told_by_its_content(
    gas_file: Path, bench_file: Path, drive_file: Path, log_file: Path, tmp_path: Path
) -> None:
    kinds = {
        gas_file: FileKind.GAS,
        bench_file: FileKind.GAUGES,
        drive_file: FileKind.WAVEFORM,
        log_file: FileKind.TRACE,
    }
    for number, (file, kind) in enumerate(kinds.items()):
        other = file.rename(tmp_path / f"misnamed-{number}.dat")
        assert file_kind(other) is kind


def test_an_oscilloscope_table_is_a_waveform(tmp_path: Path) -> None:
    path = tmp_path / "scope.csv"
    path.write_text("time (s),ch1 (V)\n0,0.1\n0.001,13.9\n", encoding="utf-8")
    assert file_kind(path) is FileKind.WAVEFORM


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "the file is empty"),
        (b"\x00" * 100, "the file is empty"),
        (b"\x89PNG\r\n", "holds no readings"),
        (b"%PDF-1.7", "holds no readings"),
        (b"PK\x03\x04abc", "holds no readings"),
        (b"\x01\x02\x00\x05" * 50, "neither sound nor a table"),
        (b"just words\nand more\n", "no row of names"),
        (b"RIFF\x00\x00", "drive.csv"),
    ],
)
def test_a_file_that_cannot_be_used_leaves_the_job_as_it_was(
    shop: Shop, job: int, tmp_path: Path, content: bytes, message: str
) -> None:
    path = tmp_path / "drive.csv"
    path.write_bytes(content)
    before = (job_view(shop, job), job_history(shop, job))
    with pytest.raises(InputFault, match=message):
        add_evidence(shop, job, path, Side.AS_FOUND, WHO)
    assert (job_view(shop, job), job_history(shop, job)) == before
    assert not [one for one in (shop.folder / "files").rglob("*") if one.is_file()]


def test_a_missing_file_and_a_missing_job_are_said(
    shop: Shop, job: int, tmp_path: Path, gas_file: Path
) -> None:
    with pytest.raises(InputFault, match="cannot be read"):
        add_evidence(shop, job, tmp_path / "nothing", Side.AS_FOUND, WHO)
    with pytest.raises(InputFault, match="no such job"):
        add_evidence(shop, job + 1, gas_file, Side.AS_FOUND, WHO)


def test_a_file_is_kept_with_its_readings_once(shop: Shop, job: int, gas_file: Path) -> None:
    added = add_evidence(shop, job, gas_file, Side.AS_FOUND, WHO)
    again = add_evidence(shop, job, gas_file, Side.AS_FOUND, WHO)
    later = add_evidence(shop, job, gas_file, Side.AS_LEFT, WHO)
    view = job_view(shop, job)
    assert (added.new, again.new, later.new) == (True, False, True)
    assert again.record == added.record
    assert len(view.evidence) == 2
    assert view.job.stage is JobStage.EVIDENCE
    assert view.observations(Side.AS_FOUND) == list(added.report.observations)
    assert evidence_file(shop, added.record).read_bytes() == gas_file.read_bytes()
    assert damaged_files(shop) == []


def test_a_sound_recording_gives_its_dwell(drive_file: Path) -> None:
    report = read_file(drive_file, regime=Regime.CRUISE)
    duty = next(one for one in report.observations if one.measured is Measured.DUTY)
    assert duty.regime is Regime.CRUISE
    assert duty.value == pytest.approx(0.4, abs=0.002)  # as the file was made
    assert report.facts["dwell_deg"]["value"] == pytest.approx(24.0, abs=0.1)
    assert report.facts["pulse_rate_hz"] == pytest.approx(10.0, abs=0.01)


def test_a_drive_recording_gives_dwell_and_swing(log_file: Path) -> None:
    report = read_file(log_file)
    idle = report.facts["regimes"]["idle"]
    assert idle["dwell_deg"]["value"] == pytest.approx(24.0, abs=0.3)  # as the file was made
    assert idle["swing_period_s"] == pytest.approx(2.0, abs=0.1)


def test_a_bench_sheet_keeps_its_findings(tmp_path: Path) -> None:
    path = tmp_path / "bench.csv"
    path.write_text(
        "item,unit,spec,reading_1\nrod_lean_gauge,thou,70,82\nnonsense,mm,1,2\n", encoding="utf-8"
    )
    report = read_file(path)
    assert [one.measured for one in report.observations] == [Measured.LEAN_STOP]
    assert any("row 3" in warning for warning in report.warnings)


@pytest.fixture
def square(tmp_path: Path) -> Path:
    """A coupled wire without a spike, low for 42 %: nothing in it tells which way up it is."""
    rate = 16000
    phase = np.arange(20 * rate) / rate * 10.0 % 1.0
    wave = np.where(phase < 0.42, -0.29, 0.21) + 0.002 * np.random.default_rng(1).standard_normal(phase.size)
    path = tmp_path / "square.wav"
    soundfile.write(path, wave.astype(np.float32), rate)
    return path


def dwell_of(shop: Shop, job: int) -> list[float]:
    seen = job_view(shop, job).observations(Side.AS_FOUND)
    return [dwell_degrees(one.value) for one in seen if one.measured is Measured.DUTY]


def test_a_polarity_that_is_said_later_is_read_again(shop: Shop, job: int, square: Path) -> None:
    first = add_evidence(shop, job, square, Side.AS_FOUND, WHO)
    assert (first.new, dwell_of(shop, job)) == (True, [])
    again = add_evidence(shop, job, square, Side.AS_FOUND, WHO, polarity=Polarity.NORMAL)
    assert (again.new, again.again) == (False, True)
    assert dwell_of(shop, job) == [pytest.approx(25.2, abs=0.1)]  # 42 % of 60 deg, by construction
    same = add_evidence(shop, job, square, Side.AS_FOUND, WHO, polarity=Polarity.NORMAL)
    assert (same.new, same.again) == (False, False)
    answer_polarity(shop, job, first.record.id, Polarity.REVERSED, WHO)
    assert dwell_of(shop, job) == [pytest.approx(34.8, abs=0.1)]
    view = job_view(shop, job)
    assert {one.observation.source for one in view.readings} == {"square.wav"}
    assert [entry.what for entry in job_history(shop, job)].count("evidence read again") == 2
    with pytest.raises(InputFault, match="no such file"):
        answer_polarity(shop, job, 99, Polarity.NORMAL, WHO)


def test_a_table_is_not_read_again(shop: Shop, job: int, bench_file: Path) -> None:
    add_evidence(shop, job, bench_file, Side.AS_FOUND, WHO)
    again = add_evidence(shop, job, bench_file, Side.AS_FOUND, WHO)
    assert (again.new, again.again) == (False, False)
