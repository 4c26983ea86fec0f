"""Jobs, sheets, evidence, readings, steps and verdicts come back as they went in."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from sqlalchemy import insert
from sqlalchemy.exc import StatementError

from dwellwright.catalogue.sheet_file import archetype_texts
from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.records import audit, evidence, jobs, readings, sheets, steps, tables, verdicts
from dwellwright.records.engine import reading, writing
from dwellwright.records.shop import Shop, opened_shop
from dwellwright.records.stages import JobStage, Phase, Side

NAME, SHEET = next(iter(archetype_texts().items()))
WHO = "tester"


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    shop = opened_shop(tmp_path / "shop")
    yield shop
    shop.close()


@pytest.fixture
def job(shop: Shop) -> int:
    with writing(shop.engine) as connection:
        stored = sheets.store_sheet(connection, NAME, SHEET, "invented", WHO)
        return jobs.store_job(connection, jobs.Arrival("an owner", "a car", "it hunts"), stored.id, WHO)


def dwell(value: float) -> Observation:
    return Observation(
        Measured.DUTY, Regime.IDLE, value, 0.01, "dwell meter", 0.5, datetime(2024, 5, 1, tzinfo=UTC)
    )


def test_sheets_gain_versions_and_never_lose_one(shop: Shop) -> None:
    changed = SHEET + "\n# a remark\n"
    with writing(shop.engine) as connection:
        first = sheets.store_sheet(connection, "mine", SHEET, "typed in", WHO)
        again = sheets.store_sheet(connection, "mine", SHEET, "typed in", WHO)
        second = sheets.store_sheet(connection, "mine", changed, "typed in", WHO)
        assert (first.version, again.id, second.version) == (1, first.id, 2)
        assert sheets.sheet_version(connection, first.id).text == SHEET
        assert [sheet.version for sheet in sheets.newest_sheets(connection)] == [2]
        assert second.sheet.title == first.title


def test_a_text_that_is_no_sheet_is_not_stored(shop: Shop) -> None:
    with pytest.raises(InputFault, match="line 1, format"), writing(shop.engine) as connection:
        sheets.store_sheet(connection, "mine", "format = 'one'\n", "typed in", WHO)
    with reading(shop.engine) as connection:
        assert sheets.newest_sheet(connection, "mine") is None


def test_jobs_only_advance(shop: Shop, job: int) -> None:
    with writing(shop.engine) as connection:
        jobs.advance_job(connection, job, JobStage.BENCH, WHO)
        jobs.advance_job(connection, job, JobStage.EVIDENCE, WHO)
        assert jobs.job_record(connection, job).stage is JobStage.BENCH
        jobs.close_job(connection, job, [{"id": "lean_stop"}], WHO)
        closed = jobs.job_record(connection, job)
    assert closed.stage is JobStage.HANDED_OVER
    assert closed.closed is not None
    assert closed.found == [{"id": "lean_stop"}]


def test_a_correction_keeps_the_old_words(shop: Shop, job: int) -> None:
    with writing(shop.engine) as connection:
        jobs.change_job(connection, job, {"complaint": "it stalls", "owner": "an owner"}, WHO)
        assert jobs.job_record(connection, job).complaint == "it stalls"
        last = audit.changes(connection, job)[-1]
    assert (last.before, last.after) == ({"complaint": "it hunts"}, {"complaint": "it stalls"})
    with pytest.raises(ValueError, match="not changed by hand: stage"), writing(shop.engine) as connection:
        jobs.change_job(connection, job, {"stage": "proof"}, WHO)


def test_an_unknown_job_is_refused(shop: Shop) -> None:
    with reading(shop.engine) as connection, pytest.raises(InputFault, match="no such job; got job 7"):
        jobs.job_record(connection, 7)


def test_evidence_and_its_readings_come_back(shop: Shop, job: int) -> None:
    file = evidence.StoredFile("gas.csv", "0" * 64, 12)
    with writing(shop.engine) as connection:
        one = evidence.store_evidence(connection, job, file, "gas", Side.AS_FOUND, {"rows": 2}, WHO)
        assert (
            readings.store_observations(connection, job, Side.AS_FOUND, [dwell(0.4), dwell(0.45)], one) == 2
        )
    with reading(shop.engine) as connection:
        kept = evidence.evidence_of(connection, job)
        seen = readings.readings_of(connection, job)
        assert evidence.same_evidence(connection, job, file.sha256, Side.AS_FOUND) == kept[0]
        assert evidence.same_evidence(connection, job, file.sha256, Side.AS_LEFT) is None
    assert (kept[0].file, kept[0].summary) == (file, {"rows": 2})
    assert [record.observation for record in seen] == [dwell(0.4), dwell(0.45)]
    assert {record.evidence for record in seen} == {one}


def test_a_typed_reading_supersedes_and_can_be_taken_back(shop: Shop, job: int) -> None:
    with writing(shop.engine) as connection:
        first = readings.store_reading(connection, job, Side.AS_FOUND, dwell(0.4), WHO)
        left = readings.store_reading(connection, job, Side.AS_LEFT, dwell(0.5), WHO)
        second = readings.store_reading(connection, job, Side.AS_FOUND, dwell(0.6), WHO)
        assert [one.id for one in readings.readings_of(connection, job)] == [left, second]
        everything = readings.readings_of(connection, job, history=True)
        assert [(one.id, one.superseded_by) for one in everything] == [
            (first, second),
            (left, None),
            (second, None),
        ]
        assert readings.withdraw_last_reading(connection, job, WHO).id == second
        assert [one.id for one in readings.readings_of(connection, job)] == [first, left]
        assert [one.stands for one in readings.readings_of(connection, job, history=True)] == [
            True,
            True,
            False,
        ]


def test_nothing_to_take_back_is_said(shop: Shop, job: int) -> None:
    with pytest.raises(InputFault, match="no typed reading"), writing(shop.engine) as connection:
        readings.withdraw_last_reading(connection, job, WHO)


@pytest.mark.parametrize(("value", "uncertainty"), [(float("nan"), 0.1), (0.5, float("inf")), (0.5, -0.1)])
def test_numbers_that_are_none_are_not_stored(shop: Shop, job: int, value: float, uncertainty: float) -> None:
    odd = Observation(Measured.DUTY, Regime.IDLE, value, uncertainty, "test")
    with pytest.raises(ValueError, match="finite numbers"), writing(shop.engine) as connection:
        readings.store_reading(connection, job, Side.AS_FOUND, odd, WHO)


def test_a_step_supersedes_unless_it_repeats(shop: Shop, job: int) -> None:
    stop = steps.StepDone(Phase.BENCH, "lean_stop", 0.0033, 0.5, 0.0034, True, 4.0, "tight")
    move = steps.StepDone(Phase.CAR, "idle_needle", 2.5, 0.25)
    with writing(shop.engine) as connection:
        steps.store_step(connection, job, stop, WHO)
        again = steps.store_step(connection, job, stop, WHO)
        for _ in range(2):
            steps.store_step(connection, job, move, WHO, repeats=True)
        standing = steps.steps_of(connection, job)
        assert [one.done for one in standing] == [stop, move, move]
        assert standing[0].id == again
        assert len(steps.steps_of(connection, job, history=True)) == 4


def test_verdicts_and_documents_come_back(shop: Shop, job: int) -> None:
    with writing(shop.engine) as connection:
        assert verdicts.last_verdict(connection, job, Side.AS_FOUND) is None
        for chance in (0.2, 0.3):
            verdicts.store_verdict(connection, job, Side.AS_FOUND, {"healthy": chance}, WHO)
        last = verdicts.last_verdict(connection, job, Side.AS_FOUND)
        verdicts.store_document(connection, job, "handover", "sheet.pdf", "1" * 64, {"job": job}, WHO)
        papers = verdicts.documents_of(connection, job)
    assert last is not None
    assert last.diagnosis == {"healthy": 0.3}
    assert [(paper.kind, paper.name) for paper in papers] == [("handover", "sheet.pdf")]


def test_times_are_kept_in_utc_and_need_a_zone(shop: Shop, job: int) -> None:
    there = datetime(2024, 5, 1, 9, tzinfo=timezone(timedelta(hours=-7)))
    seen = Observation(Measured.DUTY, Regime.IDLE, 0.5, 0.01, "test", None, there)
    with writing(shop.engine) as connection:
        readings.store_reading(connection, job, Side.AS_FOUND, seen, WHO)
        kept = readings.readings_of(connection, job)[0].observation.time
    assert kept == there
    assert kept is not None
    assert kept.isoformat() == "2024-05-01T16:00:00+00:00"
    row = {"time": datetime(2024, 5, 1), "who": "x", "what": "y"}
    with pytest.raises(StatementError, match="needs its zone"), writing(shop.engine) as connection:
        connection.execute(insert(tables.audit).values(row))
