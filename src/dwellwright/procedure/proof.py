"""Proof: each criterion of the sheet held against what was measured after the work, and what is still missing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from dwellwright.catalogue.quantity import Quantity
from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.catalogue.steps import Judge
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.procedure.figure import Figure, figure_of_quantity
from dwellwright.procedure.history import aware
from dwellwright.procedure.judgement import Verdict, judged

REGIME_WORDS = {Regime.IDLE: "hot idle", Regime.FAST_NO_LOAD: "3000 rpm", Regime.CRUISE: "cruise"}


class Standing(StrEnum):
    """How one criterion stands."""

    MET = "met"
    NOT_MET = "not met"
    NOT_SHOWN = "not shown"


class ProofVerdict(StrEnum):
    """How the whole stands."""

    PROVEN = "proven"
    NOT_PROVEN = "not proven"
    NOT_YET_SHOWN = "not yet shown"


@dataclass(frozen=True)
class Criterion:
    """One criterion and how it stands.

    Args:
        key: stable name.
        title: in words.
        regime: where it was judged.
        measured: kind of reading that shows it.
        figure: what is asked. [fraction for dwell]
        reading: what was measured, None if nothing was.
        interval: values the reading leaves open, about 95 %.
        standing: met or not met only where that is 95 % likely, else not shown.
        reason: why it is not shown; empty otherwise.
    """

    key: str
    title: str
    regime: Regime
    measured: Measured
    figure: Figure
    reading: Observation | None
    interval: tuple[float, float] | None
    standing: Standing
    reason: str


@dataclass(frozen=True)
class Proof:
    """Every criterion of a sheet, and the verdict they make together."""

    criteria: tuple[Criterion, ...]

    @property
    def verdict(self) -> ProofVerdict:
        """Proven when all are met; not proven when one is not; else not yet shown."""
        standings = {one.standing for one in self.criteria}
        if Standing.NOT_MET in standings:
            return ProofVerdict.NOT_PROVEN
        return ProofVerdict.NOT_YET_SHOWN if Standing.NOT_SHOWN in standings else ProofVerdict.PROVEN

    @property
    def missing(self) -> tuple[str, ...]:
        """What would have to be measured, or measured better, to call it proven."""
        return tuple(
            f"{one.title}: {one.reason}" for one in self.criteria if one.standing is Standing.NOT_SHOWN
        )

    @property
    def failed(self) -> tuple[str, ...]:
        """Titles of the criteria that are not met."""
        return tuple(one.title for one in self.criteria if one.standing is Standing.NOT_MET)


def prove(sheet: SpecSheet, observations: Sequence[Observation], *, since: datetime | None = None) -> Proof:
    """The proof as it stands.

    Args:
        sheet: whose criteria are judged.
        observations: in the order they were entered; of each kind and regime the latest counts.
        since: time of the last adjustment. What was measured before it, or at an unknown time, proves nothing.
    """
    counted = [one for one in observations if since is None or (one.time and aware(one.time) >= aware(since))]
    criteria = [
        *_dwell(sheet, counted),
        *_reserve(sheet, counted),
        *_loop(sheet, counted),
        _gas(sheet, counted),
    ]
    return Proof(tuple(criteria))


def latest(observations: Iterable[Observation], measured: Measured, regime: Regime) -> Observation | None:
    """The last reading of one kind in one regime; entry order decides between equal times."""
    found = [one for one in observations if one.measured is measured and one.regime is regime]
    return max(enumerate(found), key=lambda pair: (aware(pair[1].time), pair[0]))[1] if found else None


def _dwell(sheet: SpecSheet, observations: Sequence[Observation]) -> list[Criterion]:
    wanted = {
        "idle_dwell": (Regime.IDLE, sheet.criteria.idle_dwell),
        "fast_dwell": (Regime.FAST_NO_LOAD, sheet.criteria.fast_dwell),
        "cruise_dwell": (Regime.CRUISE, sheet.criteria.cruise_dwell),
    }
    return [
        _criterion(key, "dwell", regime, quantity, Judge.WITHIN, latest(observations, Measured.DUTY, regime))
        for key, (regime, quantity) in wanted.items()
    ]


def _reserve(sheet: SpecSheet, observations: Sequence[Observation]) -> list[Criterion]:
    """Distance of mean duty from the nearer end of the scale, so that it holds both ways."""
    found = []
    for regime in REGIME_WORDS:
        duty = latest(observations, Measured.DUTY, regime)
        reserve = None
        if duty is not None:
            value = min(duty.value, 1 - duty.value)
            reserve = Observation(Measured.DUTY, regime, value, duty.uncertainty, duty.source, time=duty.time)
        key, quantity = f"reserve_{regime.name.lower()}", sheet.criteria.least_reserve
        found.append(_criterion(key, "reserve both ways", regime, quantity, Judge.AT_LEAST, reserve))
    return found


def _loop(sheet: SpecSheet, observations: Sequence[Observation]) -> list[Criterion]:
    kinds = (
        (
            "closed_loop",
            "closed-loop share",
            sheet.criteria.least_closed_loop_share,
            Measured.CLOSED_LOOP_SHARE,
        ),
        ("crossings", "sensor crossings", sheet.criteria.least_crossing_rate, Measured.SENSOR_CROSSING_RATE),
    )
    return [
        _criterion(f"{key}_{regime.name.lower()}", title, regime, quantity, Judge.AT_LEAST,
                   latest(observations, measured, regime), measured)
        for key, title, quantity, measured in kinds
        for regime in REGIME_WORDS
    ]  # fmt: skip


def _gas(sheet: SpecSheet, observations: Sequence[Observation]) -> Criterion:
    reading = latest(observations, Measured.GAS_LAMBDA, Regime.IDLE)
    quantity = sheet.criteria.lambda_at_idle
    return _criterion(
        "lambda_at_idle", "lambda by gas", Regime.IDLE, quantity, Judge.WITHIN, reading, Measured.GAS_LAMBDA
    )


def _criterion(
    key: str,
    title: str,
    regime: Regime,
    quantity: Quantity,
    judge: Judge,
    reading: Observation | None,
    measured: Measured = Measured.DUTY,
) -> Criterion:
    figure = figure_of_quantity(quantity, judge, as_duty=True)
    judgement = judged(reading, figure)
    standing, reason = {
        Verdict.IN: (Standing.MET, ""),
        Verdict.OUT: (Standing.NOT_MET, ""),
        Verdict.CANNOT_TELL: (Standing.NOT_SHOWN, judgement.reason),
        Verdict.NOT_READ: (Standing.NOT_SHOWN, "not measured"),
    }[judgement.verdict]
    title = f"{title} at {REGIME_WORDS[regime]}"
    return Criterion(key, title, regime, measured, figure, reading, judgement.interval, standing, reason)
