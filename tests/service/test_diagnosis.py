"""The diagnosis of a job and of a folder, as plain facts. What the posterior is worth is tested in tests/diagnosis."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from dwellwright.catalogue.sheet_file import archetype
from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Regime
from dwellwright.records.shop import Shop
from dwellwright.records.stages import JobStage, Side
from dwellwright.service.diagnosis import diagnose_folder, diagnose_job, document_schema, likely_causes
from dwellwright.service.diagnosis_plots import draw_diagnosis
from dwellwright.service.evidence import add_evidence
from dwellwright.service.jobs import job_view
from dwellwright.service.readings import add_reading

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


def strict(part: Any) -> Any:
    """The schema with no name allowed that it does not list."""
    if isinstance(part, list):
        return [strict(one) for one in part]
    if not isinstance(part, dict):
        return part
    inner = {name: strict(one) for name, one in part.items()}
    return {**inner, "additionalProperties": False} if part.get("type") == "object" else inner


def held(document: Any) -> list[str]:
    """What of a document its schema does not allow, once no further name is allowed."""
    return [one.message for one in Draft202012Validator(strict(document_schema())).iter_errors(document)]


def test_the_documents_keep_to_their_schema(folder: Path, shop: Shop, job: int) -> None:
    Draft202012Validator.check_schema(document_schema())
    facts = diagnose_folder(folder)
    assert held(json.loads(json.dumps(facts))) == []
    add_evidence(shop, job, folder / "bench.csv", Side.AS_FOUND, WHO)
    assert held(json.loads(json.dumps(diagnose_job(shop, job, WHO).facts))) == []
    # and the schema can refuse
    assert held({**facts, "more": 1})
    assert held({**facts, "healthy_probability": 1.2})
    assert held({name: one for name, one in facts.items() if name != "causes"})
    assert held({name: one for name, one in facts.items() if name != "regimes"})


@pytest.mark.parametrize("ending", ["svg", "png"])
def test_a_diagnosis_is_drawn_with_all_that_it_says(folder: Path, tmp_path: Path, ending: str) -> None:
    facts, path = diagnose_folder(folder), tmp_path / f"drawn.{ending}"
    plot = draw_diagnosis(facts, path)
    assert path.read_bytes() == plot.image
    assert plot.image.startswith(b"\x89PNG" if ending == "png" else b"<?xml")
    first = facts["causes"][0]
    assert f"{first['title']} {first['probability']:.0%}" in plot.alt
    assert "no fault" in plot.alt
    assert "best explanation" in plot.alt
    assert "as left" not in plot.alt
    with pytest.raises(InputFault, match="cannot be written"):
        draw_diagnosis(facts, path)


def test_a_job_that_was_worked_on_is_drawn_before_and_after(shop: Shop, job: int, tmp_path: Path) -> None:
    for side, dwell in ((Side.AS_FOUND, 44.0), (Side.AS_LEFT, 30.0)):
        add_reading(shop, job, "dwell", [dwell], "deg", side, WHO, regime=Regime.IDLE)
    facts = diagnose_job(shop, job, WHO).facts
    plot = draw_diagnosis(facts, tmp_path / "drawn.svg", job_view(shop, job))
    assert "as found 44.0 degrees" in plot.alt
    assert "as left 30.0 degrees" in plot.alt


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
