"""What a gauge made in the shop says of a setting: which of its ends fit, as a reading with its doubt."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from enum import StrEnum

from dwellwright.catalogue.gauge_items import gauge_items
from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.budget import Budget, Component, rectangular
from dwellwright.evidence.gauge.judgement import Verdict, judgement
from dwellwright.evidence.gauge.shop.truth import single_reading
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.records import jobs, readings
from dwellwright.records.engine import writing
from dwellwright.records.shop import Shop
from dwellwright.records.stages import JobStage, Side
from dwellwright.service.gauge_cards import OwnGauge, own_gauge
from dwellwright.service.jobs import JobView
from dwellwright.service.presentation import shown
from dwellwright.service.shop_gauges import ITEMS


class Fit(StrEnum):
    """Which of its ends fit."""

    BETWEEN = "between"
    SHORT = "short"
    LONG = "long"

    @property
    def words(self) -> str:
        """What a person sees."""
        return {
            Fit.BETWEEN: "right: the short end as it must, the long end as it must",
            Fit.SHORT: "the short end only just fits",
            Fit.LONG: "the long end only just fits",
        }[self]


def fit_budget(gauge: OwnGauge, fit: Fit) -> Budget:
    """The setting behind a fit, by the gauge's true sizes. [m]

    Between the two ends any size is as likely as any other; an end that only just fits is the setting itself.
    """
    card, drawn = gauge.card, gauge.drawn
    feel = (drawn.stack.worst - drawn.make_tolerance) / 2
    if fit is not Fit.BETWEEN:
        return single_reading(card.short if fit is Fit.SHORT else card.long, feel)
    low, high = card.accepted
    parts = (
        Component("anywhere between the ends", rectangular((high - low) / 2)),
        Component("size of the ends", gauge.doubt),
        Component("feel", feel),
    )
    return Budget((low + high) / 2, parts)


@dataclass(frozen=True)
class Tried:
    """What a gauge said in a job: the reading with its interval, its verdict, and where a reading would be in.

    Args:
        side: before or after the work.
        reading: value and interval, with the unit.
        verdict: in, out or cannot tell.
        band: from which reading to which it is in: the tolerance less a guard band at each limit.
    """

    side: str
    reading: str
    verdict: Verdict
    band: str


def tried_with(view: JobView, gauge: OwnGauge) -> tuple[Tried, ...]:
    """What a gauge of the shop said in a job, of readings that still count."""
    return tuple(
        tried(one, gauge)
        for one in view.readings
        if one.observation.source.startswith(f"{gauge.name}: ") and one.observation.wanted == gauge.nominal
    )


def tried(record: readings.ReadingRecord, gauge: OwnGauge) -> Tried:
    """One fit against its setting's tolerance, its own doubt counted against the claim (ISO 14253-1)."""
    seen = record.observation
    judged = judgement(seen.value - gauge.nominal, gauge.tolerance, seen.uncertainty)
    told = shown(seen)
    inner = gauge.tolerance - judged.guard_band
    band = "no reading with this doubt can be in"
    if inner > 0:
        low, high = (f"{1e3 * (gauge.nominal + side * inner):.3f}" for side in (-1, 1))
        band = (
            f"in from {low} to {high} mm, a guard band of {1e3 * judged.guard_band:.3f} mm inside each limit"
        )
    return Tried(record.side.value, f"{told.text} ({told.interval_text})", judged.verdict, band)


def add_fit(
    shop: Shop, number: int, name: str, fit: str, side: Side, who: str, moment: datetime | None = None
) -> readings.ReadingRecord:
    """Write a fit down in a job; it supersedes an earlier typed reading of the same thing.

    Args:
        shop: where.
        number: of the job.
        name: of the shop's gauge.
        fit: `between`, `short` or `long`.
        side: before or after the work.
        who: who tried it.
        moment: when; now where None.

    Raises:
        InputFault: no such job, gauge or fit, or a setting that no reading of a job stands for.
    """
    gauge = own_gauge(shop, name)
    if fit not in {one.value for one in Fit}:
        raise InputFault("a gauge that fits at neither end says only which way to turn", where=gauge.name,
                         got=repr(fit), wanted=", ".join(one.value for one in Fit),
                         remedy="Turn the screw and try again, or measure the setting")  # fmt: skip
    item = gauge_items()[ITEMS[gauge.key]]
    if item.measured is None:
        raise InputFault("no cause uses a reading of this setting", where=item.label,
                         remedy="Write it down at its step of the bench, judged by eye")  # fmt: skip
    budget = fit_budget(gauge, Fit(fit))
    source = f"{gauge.name}: {Fit(fit).words}, by its card of {gauge.made}; tried by {who}"
    seen = Observation(
        Measured(item.measured), Regime(item.regime), budget.value, budget.normal_equivalent, source,
        gauge.nominal, moment or datetime.now(UTC),
    )  # fmt: skip
    with writing(shop.engine) as connection:
        jobs.job_record(connection, number)
        identity = readings.store_reading(connection, number, side, seen, who)
        jobs.advance_job(connection, number, JobStage.EVIDENCE, who)
        found = readings.readings_of(connection, number)
    return next(one for one in found if one.id == identity)
