"""The sequences for one unit: verdicts, turns, repeats, order of entry."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.procedure.hand import Way, hand_turn
from dwellwright.procedure.history import Checked, Turned
from dwellwright.procedure.judgement import Verdict
from dwellwright.procedure.steps import Step, bench_steps, car_steps, next_step

THOU = 0.0254e-3
START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


@pytest.fixture(name="sheet")
def _sheet() -> SpecSheet:
    return archetype("two-barrel-v6")


def seen(measured: Measured, value: float, doubt: float, minute: float | None = None, regime=Regime.BENCH):
    time = None if minute is None else START + timedelta(minutes=minute)
    return Observation(measured, regime, value, doubt, "typed", time=time)


def stop(measured: Measured, thou: float, minute: float | None = None) -> Observation:
    return seen(measured, thou * THOU, 0.5 * THOU, minute)


def by_key(steps: tuple[Step, ...]) -> dict[str, Step]:
    return {step.plan.key: step for step in steps}


def test_rich_stop_14_thou_high_is_turned_down_by_the_thread(sheet: SpecSheet) -> None:
    """32 threads per inch move 31.25 thou a turn (ASME B1.1): 14 thou are 0.448 turn; clockwise lowers it.

    The tolerance of 4 thou lets rounding use 1 thou, so 1/2 turn (1.6 thou off) is too coarse and 7/16 is asked for.
    """
    step = by_key(bench_steps(sheet, [stop(Measured.RICH_STOP, 184)]))["rich_stop"]
    assert step.judgement.verdict is Verdict.OUT
    assert step.correction is not None
    assert step.correction.exact_turns == pytest.approx(14 / 31.25)
    assert str(step.correction.turn) == "7/16 turn clockwise"
    assert step.correction.expected == pytest.approx((184 - 7 / 16 * 31.25) * THOU)
    assert step.correction.richer is False


@pytest.mark.parametrize(
    ("thou", "verdict"),
    [(170, Verdict.IN), (173, Verdict.IN), (173.9, Verdict.CANNOT_TELL), (174.1, Verdict.CANNOT_TELL),
     (175, Verdict.OUT), (163, Verdict.OUT), (166.1, Verdict.CANNOT_TELL)],
)  # fmt: skip
def test_guard_band_of_the_stop(sheet: SpecSheet, thou: float, verdict: Verdict) -> None:
    """170 ± 4 thou read to 0.5 thou: 95 % one-sided is 1.645 x 0.5 = 0.82 thou (normal table)."""
    assert (
        by_key(bench_steps(sheet, [stop(Measured.RICH_STOP, thou)]))["rich_stop"].judgement.verdict is verdict
    )


def test_a_gauge_too_coarse_for_the_tolerance_says_so(sheet: SpecSheet) -> None:
    step = by_key(bench_steps(sheet, [seen(Measured.RICH_STOP, 170 * THOU, 3 * THOU)]))["rich_stop"]
    assert step.judgement.verdict is Verdict.CANNOT_TELL
    assert "finer gauge" in step.judgement.reason
    assert step.correction is not None
    assert step.correction.turn is not None
    assert step.correction.turn.way is Way.LEAVE


def test_travel_follows_from_the_stops_with_both_doubts(sheet: SpecSheet) -> None:
    steps = by_key(bench_steps(sheet, [stop(Measured.LEAN_STOP, 70), stop(Measured.RICH_STOP, 171)]))
    travel = steps["travel"]
    assert travel.reading is not None
    assert travel.reading.value == pytest.approx(101 * THOU)
    assert travel.reading.uncertainty == pytest.approx(2**0.5 * 0.5 * THOU)
    assert travel.done
    own = [*(stop(Measured.LEAN_STOP, 70), stop(Measured.RICH_STOP, 171)), stop(Measured.ROD_TRAVEL, 88)]
    assert by_key(bench_steps(sheet, own))["travel"].judgement.verdict is Verdict.OUT


def test_two_good_stops_never_make_a_bad_travel_when_the_sheet_gives_none(sheet: SpecSheet) -> None:
    plain = sheet.model_copy(
        update={"settings": {k: v for k, v in sheet.settings.items() if k != "rod_travel"}}
    )
    steps = by_key(bench_steps(plain, [stop(Measured.LEAN_STOP, 72), stop(Measured.RICH_STOP, 167)]))
    assert steps["travel"].judgement.verdict is Verdict.IN
    assert steps["travel"].figure is not None
    assert steps["travel"].figure.tolerance == pytest.approx(7 * THOU)


def test_moving_a_stop_marks_what_was_read_before_it(sheet: SpecSheet) -> None:
    observations = [
        stop(Measured.LEAN_STOP, 70, 0), stop(Measured.RICH_STOP, 182, 5),
        seen(Measured.FLOAT_LEVEL, 9.5e-3, 0.1e-3, 10), stop(Measured.RICH_STOP, 170, 20),
    ]  # fmt: skip
    steps = by_key(bench_steps(sheet, observations))
    assert steps["lean_stop"].do_again == ()
    assert steps["rich_stop"].do_again == ()
    assert steps["travel"].done
    assert steps["float_level"].judgement.verdict is Verdict.IN
    assert steps["float_level"].do_again == ("Solenoid travel: rich stop was changed after this",)
    assert not steps["float_level"].done
    assert "float_level" in steps["idle_bleed"].waits_for
    again = [*observations, seen(Measured.FLOAT_LEVEL, 9.5e-3, 0.1e-3, 25)]
    assert by_key(bench_steps(sheet, again))["float_level"].done


def test_repeating_a_reading_within_its_doubt_changes_nothing(sheet: SpecSheet) -> None:
    observations = [
        stop(Measured.LEAN_STOP, 70, 0), stop(Measured.RICH_STOP, 170, 5),
        seen(Measured.FLOAT_LEVEL, 9.5e-3, 0.1e-3, 10), stop(Measured.RICH_STOP, 170.8, 20),
    ]  # fmt: skip
    assert by_key(bench_steps(sheet, observations))["float_level"].do_again == ()


def test_a_turn_after_the_reading_asks_for_another(sheet: SpecSheet) -> None:
    turned = [Turned("lean_stop", START + timedelta(minutes=3), turns=0.25)]
    steps = by_key(bench_steps(sheet, [stop(Measured.LEAN_STOP, 70, 0)], turned=turned))
    assert steps["lean_stop"].do_again == ("it was turned after it was last read",)
    later = [stop(Measured.LEAN_STOP, 70, 0), stop(Measured.LEAN_STOP, 69, 4)]
    assert by_key(bench_steps(sheet, later, turned=turned))["lean_stop"].done


def test_times_with_and_without_a_zone_can_be_mixed(sheet: SpecSheet) -> None:
    naive = [Turned("lean_stop", datetime(2026, 3, 2, 9, 3), turns=0.25)]
    steps = by_key(bench_steps(sheet, [stop(Measured.LEAN_STOP, 70, 0)], turned=naive))
    assert steps["lean_stop"].do_again


def test_checks_stand_in_for_readings(sheet: SpecSheet) -> None:
    checks = [
        Checked("choke", START, passed=True, value=3.3e-3, uncertainty=0.1e-3),
        Checked("pull_off", START, passed=True, value=5.6e-3, uncertainty=0.1e-3),
        Checked("fast_idle", START, passed=True),
        Checked("leak_check", START, passed=False, note="weeps at the plug"),
    ]
    steps = by_key(bench_steps(sheet, [], checks=checks))
    verdicts = {key: steps[key].judgement.verdict for key in ("choke", "pull_off", "fast_idle", "leak_check")}
    assert verdicts == {
        "choke": Verdict.IN, "pull_off": Verdict.OUT, "fast_idle": Verdict.IN, "leak_check": Verdict.OUT,
    }  # fmt: skip
    assert steps["leak_check"].judgement.reason == "weeps at the plug"
    assert steps["choke"].done
    assert steps["pull_off"].waits_for == ()
    assert steps["fast_idle"].waits_for == ("pull_off",)


def test_needle_counted_in_turns(sheet: SpecSheet) -> None:
    step = by_key(bench_steps(sheet, [seen(Measured.IDLE_NEEDLE, 3.3, 0.03)]))["idle_needle"]
    assert step.correction is not None
    assert str(step.correction.turn) == "3/4 turn counterclockwise"  # 0.70 turn; 0.05 off is a fifth of 0.25
    assert step.correction.richer is True


def test_a_figure_typed_in_beside_the_reading_serves_when_the_sheet_is_silent(sheet: SpecSheet) -> None:
    silent = {k: v for k, v in sheet.settings.items() if k != "throttle_sensor_closed"}
    reading = Observation(Measured.THROTTLE_SENSOR_CLOSED, Regime.BENCH, 0.90, 0.005, "typed", wanted=0.52)
    plain = sheet.model_copy(update={"settings": silent})
    step = by_key(bench_steps(plain, [reading]))["throttle_sensor"]
    assert step.judgement.verdict is Verdict.OUT
    nothing = Observation(Measured.THROTTLE_SENSOR_CLOSED, Regime.BENCH, 0.90, 0.005, "typed")
    bare = by_key(bench_steps(plain, [nothing]))["throttle_sensor"].judgement
    assert (bare.verdict, bare.reason) == (Verdict.CANNOT_TELL, "the sheet gives no figure")


def test_a_reading_that_came_with_another_figure_is_pointed_out(sheet: SpecSheet) -> None:
    reading = Observation(
        Measured.RICH_STOP, Regime.BENCH, 170 * THOU, 0.5 * THOU, "typed", wanted=152 * THOU
    )
    assert any("another figure" in one for one in by_key(bench_steps(sheet, [reading]))["rich_stop"].cautions)


def test_every_step_waits_when_nothing_is_known(sheet: SpecSheet) -> None:
    for steps in (bench_steps(sheet, []), car_steps(sheet, [])):
        assert {step.judgement.verdict for step in steps} == {Verdict.NOT_READ}
        assert next_step(steps) is steps[0]
        assert [step.number for step in steps] == list(range(1, len(steps) + 1))


def test_car_steps_take_dwell_on_the_six_cylinder_scale(sheet: SpecSheet) -> None:
    """30 ± 5 deg of 60 is duty 0.5 ± 0.083; 42 deg idle is out, 30 deg at speed is in."""
    observations = [
        seen(Measured.DUTY, 42 / 60, 0.5 / 60, 1, Regime.IDLE),
        seen(Measured.DUTY, 31 / 60, 0.5 / 60, 1, Regime.FAST_NO_LOAD),
        seen(Measured.CLOSED_LOOP_SHARE, 0.99, 0.01, 1, Regime.IDLE),
        seen(Measured.COOLANT_THERMOMETER, 363.15, 1.0, 1, Regime.IDLE),
    ]
    steps = by_key(car_steps(sheet, observations))
    assert steps["idle_dwell"].judgement.verdict is Verdict.OUT
    assert steps["idle_dwell"].correction is not None
    assert steps["idle_dwell"].correction.change == pytest.approx(-0.2)
    assert steps["fast_dwell"].judgement.verdict is Verdict.IN
    assert steps["closed_loop"].judgement.verdict is Verdict.IN
    assert steps["warm_up"].judgement.verdict is Verdict.IN
    cold = [seen(Measured.COOLANT_THERMOMETER, 313.15, 1.0, 1, Regime.IDLE)]
    assert by_key(car_steps(sheet, cold))["warm_up"].judgement.verdict is Verdict.OUT


def test_turning_the_idle_needle_reopens_the_dwell_at_speed(sheet: SpecSheet) -> None:
    observations = [
        seen(Measured.DUTY, 0.5, 0.005, 1, Regime.IDLE), seen(Measured.DUTY, 0.5, 0.005, 2, Regime.FAST_NO_LOAD),
    ]  # fmt: skip
    turned = [Turned("idle_dwell", START + timedelta(minutes=3), turns=-0.25)]
    steps = by_key(car_steps(sheet, observations, turned=turned))
    assert steps["idle_dwell"].do_again
    assert steps["fast_dwell"].do_again == ("Idle needle by dwell was changed after this",)


@pytest.mark.parametrize(
    ("turns", "tolerance", "words"),
    [(0.0, 0.1, "leave it"), (0.26, 0.2, "1/4 turn clockwise"), (-2.0, 0.1, "2 turns counterclockwise"),
     (1.30, 0.1, "1 5/16 turns clockwise"), (1.37, 0.1, "1 3/8 turns clockwise"), (0.02, 0.1, "leave it"),
     (-0.9999, 0.0, "1 turn counterclockwise")],
)  # fmt: skip
def test_turns_are_as_coarse_as_the_tolerance_allows(turns: float, tolerance: float, words: str) -> None:
    assert str(hand_turn(turns, tolerance)) == words


@pytest.mark.parametrize("turns", [float("nan"), float("inf")])
def test_turns_without_a_value_are_refused(turns: float) -> None:
    with pytest.raises(ValueError, match="turns must be finite"):
        hand_turn(turns, 0.1)
