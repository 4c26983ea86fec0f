"""The plots of a job's handover sheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from dwellwright.catalogue.quantity import Quantity
from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.procedure.proof import latest
from dwellwright.records.evidence import EvidenceRecord
from dwellwright.records.shop import Shop, file_place
from dwellwright.records.stages import Side
from dwellwright.reports.facts import Captioned, Photo
from dwellwright.reports.plots.causes import CauseBar, cause_bars
from dwellwright.reports.plots.dwell import DwellRow, Spread, before_and_after, predicted_and_observed
from dwellwright.reports.plots.look import Format, Plot
from dwellwright.reports.plots.recordings import Span, drive_trace
from dwellwright.service.column_maps import columns_for
from dwellwright.service.evidence import evidence_file
from dwellwright.service.handover_facts import NAMED, HandoverPlots, magnitude_words
from dwellwright.service.jobs import JobView
from dwellwright.service.photographs import photographs
from dwellwright.service.presentation import REGIME_LABELS
from dwellwright.units import dwell_degrees

REGIMES = (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)
MOST_CAUSES = 6
MOST_PHOTOS = 8
"""Photographs of each side on a handover sheet; the job keeps all."""


def handover_plots(shop: Shop, view: JobView, form: Format = Format.SVG) -> HandoverPlots:
    """Every plot that the job's evidence allows."""
    appendix = [
        Captioned(plot, caption)
        for plot, caption in (
            (causes_plot(view, form), "How likely each cause was, before any work"),
            (predicted_plot(view, form), "Dwell as the causes found predict it, and as it was read"),
            (drive_plot(shop, view, Side.AS_FOUND, form), "The drive as found"),
            (drive_plot(shop, view, Side.AS_LEFT, form), "The drive as left"),
        )
        if plot is not None
    ]
    return HandoverPlots(dwell_plot(view, form), tuple(appendix), handover_photos(shop, view))


def handover_photos(shop: Shop, view: JobView) -> tuple[Photo, ...]:
    """The photographs for the appendix, before the work first; the first of each side where there are many."""
    found = []
    for side in Side:
        own = [one for one in photographs(view) if one.side is side][:MOST_PHOTOS]
        for one in own:
            words = f"{side.value}: {one.words}" if one.words else side.value
            try:
                found.append(Photo(file_place(shop, one.sha256).read_bytes(), words))
            except OSError:
                continue
    return tuple(found)


def dwell_plot(view: JobView, form: Format = Format.SVG) -> Plot | None:
    """Dwell before and after in each regime over the band asked for; None where no dwell was read."""
    rows = work_rows(view)
    return before_and_after(rows, form) if rows else None


def work_rows(view: JobView) -> list[DwellRow]:
    """Dwell before and after the work in each regime that has any, over the band asked for."""
    rows = []
    for regime, band in zip(REGIMES, _bands(view), strict=True):
        first, second = (_spread(view, side, regime) for side in (Side.AS_FOUND, Side.AS_LEFT))
        if first or second:
            rows.append(DwellRow(REGIME_LABELS[regime], first, second, band))
    return rows


def causes_plot(view: JobView, form: Format = Format.SVG) -> Plot | None:
    """How likely each cause was as found; None without a verdict."""
    verdict = view.as_found_verdict
    causes = verdict.diagnosis.get("causes", [])[:MOST_CAUSES] if verdict else []
    bars = [CauseBar(one["title"], one["probability"], magnitude_words(one), named=one["probability"] >= NAMED)
            for one in causes]  # fmt: skip
    return cause_bars(bars, form) if bars else None


def predicted_plot(view: JobView, form: Format = Format.SVG) -> Plot | None:
    """Dwell as the verdict predicts it against what was read as found; None without predictions."""
    verdict = view.as_found_verdict
    predicted: Mapping[str, Any] = verdict.diagnosis.get("predictions", {}) if verdict else {}
    rows = []
    for regime in REGIMES:
        facts, seen = predicted.get(regime.value), _spread(view, Side.AS_FOUND, regime)
        if facts and seen:
            dwell = min(max(facts["explained_dwell_deg"], 0.0), 60.0)
            rows.append(DwellRow(REGIME_LABELS[regime], Spread(dwell, dwell, dwell), seen))
    return predicted_and_observed(rows, form) if rows else None


def drive_plot(shop: Shop, view: JobView, side: Side, form: Format = Format.SVG) -> Plot | None:
    """The drive recording of one side with its regimes shaded; None where there is none or it cannot be read."""
    from dwellwright.evidence.trace import Channel, read_trace

    record = _last_trace(view, side)
    if record is None:
        return None
    try:
        path = evidence_file(shop, record)
        trace = read_trace(path, columns=columns_for(shop, path))
    except InputFault:
        return None
    spans = [
        Span(one["from_s"], one["to_s"], REGIME_LABELS[Regime(one["regime"])])
        for one in record.summary["facts"]["segments"]
    ]
    return drive_trace(
        trace.time,
        dwell_degrees(1.0) * trace.values(Channel.DUTY),
        trace.values(Channel.SENSOR_VOLTAGE),
        trace.values(Channel.ENGINE_SPEED),
        spans,
        form,
        f"drive-{side.name.lower().replace('_', '-')}",
    )


def _last_trace(view: JobView, side: Side) -> EvidenceRecord | None:
    found = [one for one in view.evidence if one.kind == "trace" and one.side is side]
    return found[-1] if found else None


def _bands(view: JobView) -> list[tuple[float, float] | None]:
    criteria = view.sheet.sheet.criteria
    return [_band(one) for one in (criteria.idle_dwell, criteria.fast_dwell, criteria.cruise_dwell)]


def _band(wanted: Quantity) -> tuple[float, float] | None:
    if wanted.unit != "deg":
        return None
    return wanted.value - wanted.tolerance, wanted.value + wanted.tolerance


def _spread(view: JobView, side: Side, regime: Regime) -> Spread | None:
    seen: Observation | None = latest(view.observations(side), Measured.DUTY, regime)
    if seen is None:
        return None
    low, high = seen.interval()
    return Spread(*(dwell_degrees(value) for value in (seen.value, max(low, 0.0), min(high, 1.0))))
