"""The bench and car sequences of a job follow what is read and written down."""

from __future__ import annotations

from pathlib import Path

import pytest

from dwellwright.errors import InputFault
from dwellwright.procedure.judgement import Verdict
from dwellwright.records.shop import Shop
from dwellwright.records.stages import JobStage, Phase, Side
from dwellwright.service.evidence import add_evidence
from dwellwright.service.export import job_facts
from dwellwright.service.jobs import job_history, job_view
from dwellwright.service.plan_lines import plan_lines
from dwellwright.service.plans import StepEntry, bench_plan, car_plan, record_step

WHO = "tester"


def test_a_stop_that_is_out_is_turned_and_then_in(shop: Shop, job: int, bench_file: Path) -> None:
    add_evidence(shop, job, bench_file, Side.AS_FOUND, WHO)
    before = bench_plan(shop, job).steps[0]
    assert before.plan.key == "lean_stop"
    assert before.judgement.verdict is Verdict.OUT
    assert before.correction is not None
    # (82.33 - 70) thou over 31.25 thou a turn (32 threads per inch, ASME B1.1) is 0.39 turn
    assert before.correction.exact_turns == pytest.approx(12.333 / 31.25, abs=0.01)
    entry = StepEntry(
        [82, 83, 82], [70, 71, 70], "thou", "dial_indicator", turns=0.375, minutes=6, note="tight"
    )
    record_step(shop, job, Phase.BENCH, "lean_stop", entry, WHO)
    plan = bench_plan(shop, job)
    assert plan.steps[0].judgement.verdict is Verdict.IN
    assert plan.steps[0].done
    assert plan.next is not None
    assert plan.next.plan.key == "rich_stop"
    assert job_view(shop, job).job.stage is JobStage.BENCH


def test_lines_carry_units_and_the_turn(shop: Shop, job: int, bench_file: Path) -> None:
    add_evidence(shop, job, bench_file, Side.AS_FOUND, WHO)
    line = plan_lines(bench_plan(shop, job))[0]
    assert (line.verdict, line.reading, line.wanted) == ("out", "82.3 thou", "70.0 thou ± 3.0 thou")
    assert line.advice.startswith("turn 3/8 turn clockwise, leaner; expect 70.6 thou")


def test_a_needle_moved_on_the_car_keeps_every_move(shop: Shop, job: int) -> None:
    for found, left, turns in ((20.0, 25.0, -0.25), (25.0, 29.5, -0.25)):
        entry = StepEntry([found], [left], "deg", turns=turns)
        record_step(shop, job, Phase.CAR, "idle_dwell", entry, WHO)
    step = next(one for one in car_plan(shop, job).steps if one.plan.key == "idle_dwell")
    assert [one.done.turns for one in job_view(shop, job).steps] == [-0.25, -0.25]
    assert step.as_found is not None
    assert step.as_found.value == pytest.approx(20 / 60)
    assert step.reading is not None
    assert step.reading.value == pytest.approx(29.5 / 60)
    assert step.judgement.verdict is Verdict.IN
    assert not step.do_again


def test_a_first_reading_on_the_car_after_work_is_not_as_found(shop: Shop, job: int) -> None:
    record_step(shop, job, Phase.BENCH, "lean_stop", StepEntry(turns=0.5), WHO)
    record_step(shop, job, Phase.CAR, "idle_dwell", StepEntry([40.0], [30.0], "deg", turns=0.5), WHO)
    assert {one.side for one in job_view(shop, job).readings} == {Side.AS_LEFT}


def test_a_step_by_eye_passes_or_not(shop: Shop, job: int) -> None:
    record_step(shop, job, Phase.CAR, "safe", StepEntry(passed=True, note="two hoses renewed"), WHO)
    step = car_plan(shop, job).steps[0]
    assert (step.plan.key, step.judgement.verdict, step.judgement.reason) == (
        "safe",
        Verdict.IN,
        "two hoses renewed",
    )


@pytest.mark.parametrize(
    ("key", "entry", "message"),
    [
        ("nothing", StepEntry(passed=True), "no such step"),
        ("lean_stop", StepEntry(), "nothing to write down"),
        ("lean_stop", StepEntry([80.0]), "no unit"),
        ("lean_stop", StepEntry([80.0], unit="deg"), "does not measure"),
        ("lean_stop", StepEntry([80.0], unit="thou", instrument="voltmeter"), "instrument does not measure"),
        ("lean_stop", StepEntry([80.0], unit="thou", instrument="thumb"), "unknown instrument"),
        ("leak_check", StepEntry([80.0], unit="mm"), "has no reading"),
        ("lean_stop", StepEntry(turns=float("nan")), "turns cannot be"),
        ("lean_stop", StepEntry(turns=1.0, minutes=-3.0), "minutes cannot be"),
    ],
)
def test_a_wrong_entry_is_refused_and_nothing_is_written(
    shop: Shop, job: int, key: str, entry: StepEntry, message: str
) -> None:
    with pytest.raises(InputFault, match=message):
        record_step(shop, job, Phase.BENCH, key, entry, WHO)
    view = job_view(shop, job)
    assert (view.steps, view.readings, view.job.stage) == ([], [], JobStage.ARRIVAL)


def test_everything_is_exported_with_its_history(shop: Shop, job: int, bench_file: Path) -> None:
    add_evidence(shop, job, bench_file, Side.AS_FOUND, WHO)
    record_step(shop, job, Phase.BENCH, "lean_stop", StepEntry(turns=0.375), WHO)
    facts = job_facts(job_view(shop, job), job_history(shop, job))
    assert facts["evidence"][0]["name"] == "bench.csv"
    assert {one["unit"] for one in facts["readings"]} == {"thou", "mm"}
    assert facts["steps"][0]["turns"] == 0.375
    assert [one["what"] for one in facts["history"]] == [
        "job opened", "evidence added", "job advanced", "step done", "job advanced",
    ]  # fmt: skip
