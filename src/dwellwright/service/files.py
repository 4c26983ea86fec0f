"""Reading one evidence file, of whatever kind: observations, plain facts, and what to be wary of."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import hypot, isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Observation, Regime
from dwellwright.service.file_kind import FileKind, file_kind
from dwellwright.units import dwell_degrees

if TYPE_CHECKING:
    from dwellwright.evidence.gauge.corrected import Correction
    from dwellwright.evidence.trace import ColumnMap, TraceSummary
    from dwellwright.evidence.trace.loop_features import RegimeSummary
    from dwellwright.evidence.waveform.types import Estimate, Polarity, Waveform


STEADY = (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)
"""Regimes in which the loop has a reserve to either limit."""


@dataclass(frozen=True)
class FileReport:
    """One file, read.

    Args:
        name: of the file.
        kind: what it turned out to be.
        observations: what it adds to a diagnosis.
        facts: the same and more in shop units, ready for JSON and for the page.
        warnings: plain sentences.
    """

    name: str
    kind: FileKind
    observations: tuple[Observation, ...]
    facts: Mapping[str, Any]
    warnings: tuple[str, ...] = field(default_factory=tuple)


def read_file(
    path: Path,
    *,
    regime: Regime = Regime.IDLE,
    polarity: Polarity | None = None,
    sample_rate: float | None = None,
    columns: ColumnMap | None = None,
    corrections: Mapping[str, Correction] | None = None,
) -> FileReport:
    """An evidence file, read.

    Args:
        path: of the file; its content decides what it is.
        regime: where in the operating range a sound recording was made, or a gas table that does not say.
        polarity: of a sound recording; None to see it from the signal.
        sample_rate: rows in a second of volts without time; None where the file says it. [Hz]
        columns: of a drive recording whose header does not say them.
        corrections: what is known of the shop's instruments, by how a bench sheet names them (`kind:mark`).

    Raises:
        InputFault: the file cannot be used; the message says where and why.
    """
    kind = file_kind(path)
    if kind is FileKind.WAVEFORM:
        return _waveform_report(path, regime, polarity, sample_rate)
    if kind is FileKind.TRACE:
        return _trace_report(path, columns)
    return _gas_report(path, regime) if kind is FileKind.GAS else _gauge_report(path, corrections or {})


def _waveform_report(
    path: Path, regime: Regime, polarity: Polarity | None, sample_rate: float | None
) -> FileReport:
    from dwellwright.evidence import waveform

    read = waveform.read_waveform(path, polarity=polarity or waveform.Polarity.AUTO, sample_rate=sample_rate)
    seen, facts = tuple(waveform.observations(read, regime)), waveform_facts(read)
    return FileReport(
        path.name, FileKind.WAVEFORM, seen, {**facts, "rate_told_hz": sample_rate}, read.warnings
    )


def _dwell(estimate: Estimate | None) -> dict[str, float] | None:
    if estimate is None:
        return None
    ends = {"value": estimate.value, "low": estimate.low, "high": estimate.high}
    return {name: round(dwell_degrees(end), 4) for name, end in ends.items()}


def waveform_facts(read: Waveform) -> dict[str, Any]:
    """A sound recording as plain facts: dwell in deg on the six-cylinder scale, Hz, s."""
    finding = read.polarity_finding
    return {
        "dwell_deg": _dwell(read.duty),
        "dwell_if_normal_deg": _dwell(read.duty_if_normal),
        "dwell_if_reversed_deg": _dwell(read.duty_if_reversed),
        "duty": None if read.duty is None else round(read.duty.value, 6),
        "pulse_rate_hz": round(read.pulse_rate.value, 4),
        "polarity": finding.polarity.value,
        "polarity_confidence": round(finding.confidence, 4),
        "polarity_evidence": list(finding.evidence),
        "pattern": read.pattern.value,
        "pulses": read.pulse_count,
        "missing_pulses": read.missing_pulses,
        "double_pulses": read.double_pulses,
        "jitter_ms": round(1e3 * read.jitter, 4),
        "dwell_spread_deg": _spread(read.duty_range),
        "duration_s": round(read.duration, 3),
        "sample_rate_hz": read.sample_rate,
        "clipped_share": round(read.clipped_fraction, 5),
        "pull_in_ms": None if read.pull_in is None else round(1e3 * read.pull_in, 2),
        "drop_out_ms": None if read.drop_out is None else round(1e3 * read.drop_out, 2),
    }


def _spread(ends: tuple[float, float]) -> dict[str, float] | None:
    """5th and 95th percentile of single pulses as dwell; None while the polarity is undecided. [deg]"""
    if not all(isfinite(end) for end in ends):
        return None
    return {name: round(dwell_degrees(end), 3) for name, end in zip(("p5", "p95"), ends, strict=True)}


def _trace_report(path: Path, columns: ColumnMap | None) -> FileReport:
    from dwellwright.evidence.trace.probe import make_ready

    make_ready(path)
    from dwellwright.evidence.trace import observations, read_trace, summarize

    summary = summarize(read_trace(path, columns=columns))
    return FileReport(
        path.name, FileKind.TRACE, tuple(observations(summary)), trace_facts(summary), summary.warnings
    )


def trace_facts(summary: TraceSummary) -> dict[str, Any]:
    """A drive recording as plain facts."""
    story = summary.features
    return {
        "regimes": {regime.value: _regime_facts(seen) for regime, seen in summary.regimes.items()},
        "segments": [
            {"regime": one.regime.value, "from_s": round(one.begin, 1), "to_s": round(one.end, 1)}
            for one in summary.segments
        ],
        "first_closed_loop_s": story.first_closed_loop,
        "enrichment_seen": story.enrichment_seen,
    }


def _regime_facts(seen: RegimeSummary) -> dict[str, Any]:
    from dwellwright.evidence.trace.facts import DUTY_CALIBRATION

    facts: dict[str, Any] = {"from_s": round(seen.begin, 1), "to_s": round(seen.end, 1)}
    if seen.duty is not None:
        half = 2 * hypot(seen.duty.mean.uncertainty, DUTY_CALIBRATION)
        ends = {
            "value": seen.duty.mean.value,
            "low": max(seen.duty.mean.value - half, 0.0),
            "high": min(seen.duty.mean.value + half, 1.0),
        }
        facts["dwell_deg"] = {name: round(dwell_degrees(end), 3) for name, end in ends.items()}
        spread = (seen.duty.low, seen.duty.median, seen.duty.high)
        for name, end in zip(("p5", "p50", "p95"), spread, strict=True):
            facts.setdefault("dwell_spread_deg", {})[name] = round(dwell_degrees(end), 3)
        reserve = {"rich": seen.duty.reserve_rich, "lean": seen.duty.reserve_lean}
        if seen.regime in STEADY:
            facts["reserve_deg"] = {name: round(dwell_degrees(left), 3) for name, left in reserve.items()}
        facts["closed_loop_share"] = round(seen.duty.closed_loop_share, 4)
    if seen.sensor is not None:
        facts["sensor_mv"] = {"low": round(1e3 * seen.sensor.low), "high": round(1e3 * seen.sensor.high)}
        facts["sensor_crossings_hz"] = round(seen.sensor.crossing_rate, 3)
    if seen.period is not None:
        facts["swing_period_s"] = round(seen.period.value, 3)
    return facts


def _gas_report(path: Path, told: Regime) -> FileReport:
    from dwellwright.evidence import gas
    from dwellwright.evidence.gas.stretches import gas_stretches, row_warnings, stretch_warnings

    findings: list[InputFault] = []
    readings, options = gas.read_gas(path, findings, told), gas.gas_options()
    stretches = gas_stretches(readings, options)
    lines = [
        {
            "condition": one.mean.condition,
            "regime": one.mean.regime.value,
            "readings": len(one.readings),
            "co_pct": round(100 * one.mean.co, 4),
            "co2_pct": round(100 * one.mean.co2, 4),
            "o2_pct": round(100 * one.mean.o2, 4),
            "hc_ppm": round(1e6 * one.mean.hc, 2),
            **({"from_s": one.span[0], "to_s": one.span[1]} if one.span else {}),
        }
        for one in stretches
    ]
    facts = {"readings": lines, "place_told": told.value if readings[0].assumed else None}
    said = (*stretch_warnings(stretches), *row_warnings(findings))
    return FileReport(path.name, FileKind.GAS, tuple(gas.observations(readings, options)), facts, said)


def _gauge_report(path: Path, corrections: Mapping[str, Correction]) -> FileReport:
    from dwellwright.evidence import gauge

    sheet = gauge.read_gauges(path)
    own, unknown = gauge.named_corrections(sheet, corrections)
    seen = tuple(gauge.observations(sheet, own))
    facts = {
        "engine": sheet.engine,
        "cylinders": sheet.cylinders,
        "displacement_l": None if sheet.displacement is None else round(1e3 * sheet.displacement, 3),
        "idle_speed_rpm": None if sheet.idle_speed is None else round(60 * sheet.idle_speed, 1),
        "codes": list(sheet.codes),
    }
    return FileReport(
        path.name, FileKind.GAUGES, seen, facts, (*(fault.message for fault in sheet.findings), *unknown)
    )
