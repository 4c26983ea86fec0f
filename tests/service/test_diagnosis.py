"""The diagnosis of a job and of a folder, as plain facts. What the posterior is worth is tested in tests/diagnosis."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

import pytest

from dwellwright.catalogue.sheet_file import archetype
from dwellwright.errors import InputFault
from dwellwright.records.shop import Shop
from dwellwright.records.stages import JobStage, Side
from dwellwright.service.diagnosis import diagnose_folder, diagnose_job, likely_causes
from dwellwright.service.evidence import add_evidence
from dwellwright.service.jobs import job_view

WHO = "tester"
PAGE = Path(__file__).resolve().parents[2] / "docs" / "reference" / "diagnose-json.md"
DEMO = Path(str(files("dwellwright.demo").joinpath("data", "as_found")))


@pytest.fixture
def folder(tmp_path: Path, log_file: Path, gas_file: Path, bench_file: Path, drive_file: Path) -> Path:
    place = tmp_path / "loose"
    place.mkdir()
    for file in (log_file, gas_file, bench_file, drive_file):
        file.rename(place / file.name)
    return place


def test_the_document_of_a_folder_is_whole_and_plain(folder: Path) -> None:
    facts = diagnose_folder(folder)
    again = json.loads(json.dumps(facts, allow_nan=False))
    assert again == facts
    assert set(facts["regimes"]) == {"idle", "3000", "cruise"}
    idle = facts["regimes"]["idle"]
    assert idle["dwell_low_deg"] < idle["dwell_deg"] < idle["dwell_high_deg"]
    assert idle["dwell_deg"] == pytest.approx(24.0, abs=0.3)  # as the recording was made
    assert idle["duty"] == pytest.approx(idle["dwell_deg"] / 60, abs=1e-4)
    assert idle["limit_cycle_s"] == pytest.approx(2.0, abs=0.1)
    assert facts["regimes"]["cruise"]["dwell_deg"] is None
    assert facts["waveform"]["dwell_deg"] == pytest.approx(24.0, abs=0.1)
    assert facts["gas"]["idle"]["co_pct"] == 0.74
    assert facts["engine"]["cylinders"] == 6
    chances = [one["probability"] for one in facts["causes"]]
    assert chances == sorted(chances, reverse=True)
    assert any("archetype two-barrel-v6" in words for words in facts["warnings"])


def test_every_name_of_the_document_is_on_its_page(folder: Path) -> None:
    page = PAGE.read_text(encoding="utf-8")
    facts = diagnose_folder(folder)
    parts = [facts, facts["engine"], *facts["regimes"].values(), facts["waveform"], *facts["gas"].values(),
             *facts["causes"], *facts["predictions"].values(), *facts["next_tests"]]  # fmt: skip
    names = {name for part in parts for name in part}
    assert {name for name in names if f"`{name}`" not in page} == set()


def test_a_folder_with_one_file_leaves_nulls_and_says_what_is_missing(tmp_path: Path, gas_file: Path) -> None:
    place = tmp_path / "loose"
    place.mkdir()
    gas_file.rename(place / "gas.csv")
    facts = diagnose_folder(place)
    assert facts["engine"] == {
        "layout": None,
        "cylinders": None,
        "displacement_l": None,
        "idle_speed_rpm": None,
        "codes": [],
    }
    assert facts["waveform"]["dwell_deg"] is None
    assert any("There is no log.csv" in words for words in facts["warnings"])
    assert any("6 cylinders were assumed" in words for words in facts["warnings"])


def test_a_folder_that_holds_nothing_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputFault, match="holds no evidence"):
        diagnose_folder(tmp_path)
    with pytest.raises(InputFault, match="no such folder"):
        diagnose_folder(tmp_path / "nothing")


def test_a_sheet_that_is_given_is_the_one_held_against(folder: Path) -> None:
    sheet = archetype("one-barrel-four")
    facts = diagnose_folder(folder, sheet)
    assert facts["sheet"] == sheet.title
    assert not any("stands in" in words for words in facts["warnings"])


def test_a_job_keeps_its_verdicts_and_moves_on(shop: Shop, job: int, bench_file: Path) -> None:
    with pytest.raises(InputFault, match="nothing to diagnose yet"):
        diagnose_job(shop, job, WHO)
    add_evidence(shop, job, bench_file, Side.AS_FOUND, WHO)
    verdict = diagnose_job(shop, job, WHO)
    view = job_view(shop, job)
    assert view.job.stage is JobStage.CAUSES
    assert view.as_found_verdict is not None
    assert view.as_found_verdict.diagnosis == verdict.facts
    assert view.as_left_verdict is None
    # the bench sheet reads the lean stop 12 thou high on a tolerance of 3: it must lead
    assert verdict.facts["causes"][0]["id"] == "lean_stop"
    assert verdict.facts["causes"][0]["unit"] == "thou"


def test_only_causes_worth_showing_are_shown() -> None:
    facts = diagnose_folder(DEMO)
    shown = likely_causes(facts, least=0.02, most=3)
    assert 0 < len(shown) <= 3
    assert all(one["probability"] >= 0.02 for one in shown)
    assert shown == facts["causes"][: len(shown)]
