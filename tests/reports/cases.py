"""An invented job for the tests of sheets and plots."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from dwellwright.catalogue.sheet_file import archetype
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.procedure.history import Checked, Turned
from dwellwright.procedure.proof import prove
from dwellwright.procedure.steps import bench_steps, car_steps
from dwellwright.reports.facts import Captioned, Finding, HandoverFacts, Pair, Party, Work
from dwellwright.reports.lines import criterion_lines, reading_lines, setting_lines, turn_lines
from dwellwright.reports.plots.causes import CauseBar, cause_bars
from dwellwright.reports.plots.dwell import DwellRow, Spread, before_and_after

SHEET = archetype("two-barrel-v6")
START = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)
THOU = 0.0254e-3

NASTY = (
    '<b>#let x=1</b> $x^2$ *bold* _it_ \\ " \' @ref [x] #panic("no") '
    + "W" * 300
    + " 😀 שלום مرحبا 日本語 \u202ereversed\u202c \x00\x07 \ud800 line\nbreak\ttab "
)


def seen(
    measured: Measured, value: float, doubt: float, minute: float, regime: Regime = Regime.BENCH
) -> Observation:
    return Observation(
        measured, regime, value, doubt, "bench.csv, row 5", time=START + timedelta(minutes=minute)
    )


BENCH = [
    seen(Measured.LEAN_STOP, 70.4 * THOU, 0.6 * THOU, 5),
    seen(Measured.RICH_STOP, 197 * THOU, 0.6 * THOU, 9),
    seen(Measured.RICH_STOP, 170.6 * THOU, 0.6 * THOU, 20),
    seen(Measured.FLOAT_LEVEL, 9.4e-3, 0.12e-3, 30),
    seen(Measured.IDLE_NEEDLE, 4.0, 0.03, 40),
]
CAR = [
    *(seen(Measured.DUTY, degrees / 60, 0.4 / 60, 200, regime)
      for regime, degrees in ((Regime.IDLE, 30.8), (Regime.FAST_NO_LOAD, 32.4), (Regime.CRUISE, 29.1))),
    *(seen(Measured.CLOSED_LOOP_SHARE, 0.985, 0.008, 200, regime)
      for regime in (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)),
    *(seen(Measured.SENSOR_CROSSING_RATE, 1.1, 0.04, 200, regime)
      for regime in (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)),
    seen(Measured.GAS_LAMBDA, 1.003, 0.007, 220, Regime.IDLE),
]  # fmt: skip
TURNED = [
    Turned("rich_stop", START + timedelta(minutes=15), 0.8125),
    Turned("idle_dwell", START + timedelta(minutes=150), -0.25, "both needles"),
]
CHECKS = [
    Checked("pull_off", START + timedelta(minutes=44), passed=True, value=4.4e-3, uncertainty=0.1e-3),
    Checked("fast_idle", START + timedelta(minutes=46), passed=True),
]
STEPS = bench_steps(SHEET, BENCH, checks=CHECKS, turned=TURNED)
PROOF = prove(SHEET, CAR, since=TURNED[-1].time)
BARS = (
    CauseBar("Rich stop set high", 0.83, "+27 thou (22 to 32)", (0.74, 0.9), named=True),
    CauseBar("Healthy", 0.02),
)
ROWS = (
    DwellRow("Hot idle", Spread(48, 46.5, 49.5), Spread(30.8, 30, 31.6), (25, 35)),
    DwellRow("Cruise", None, Spread(29.1, 28.3, 29.9), (22, 38)),
)


def facts(**changes: object) -> HandoverFacts:
    """The whole job; any field may be changed."""
    whole = HandoverFacts(
        job="1042",
        shop=Party("Millbrook Works (invented)", ("12 Foundry Lane", "Millbrook")),
        owner=Party("R. Hollis (invented)"),
        vehicle=(Pair("car", "Invented sedan, 1986"), Pair("engine", "V6, 3.3 l"), Pair("plate", "INV 042")),
        unit=(Pair("stamped", "INVENTED-6"), Pair("spec sheet", SHEET.title)),
        arrived=date(2026, 3, 1),
        finished=date(2026, 3, 4),
        complaint="The check lamp comes on and the idle hunts when warm.",
        summary="The carburetor is guilty: one stop was set 27 thousandths of an inch too high.",
        found=(Finding("Rich stop set high", 0.83, "+27 thou (22 to 32)", "Too much fuel at every speed."),),
        done=(Work("Set both stops", "45"), Work("Gasket set", "", "38.00")),
        total_minutes="45",
        total_cost="38.00",
        verdict=PROOF.verdict,
        criteria=criterion_lines(PROOF),
        missing=PROOF.missing,
        printed=datetime(2026, 3, 4, 16, 5, tzinfo=UTC),
        cautions=("A fuel smell after standing means a leak.",),
        not_tested=("Catalyst efficiency",),
        before_after=before_and_after(ROWS),
        settings=setting_lines(STEPS, TURNED),
        turns=turn_lines(TURNED, (*STEPS, *car_steps(SHEET, []))),
        readings=reading_lines([*BENCH, *CAR]),
        plots=(Captioned(cause_bars(BARS), "What the evidence said."),),
        sources=("Spec sheet: invented",),
        link="http://localhost:8000/jobs/1042",
        invented=True,
        program="Dwellwright 0",
    )
    return replace(whole, **changes)  # type: ignore[arg-type]
