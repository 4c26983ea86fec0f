"""A folder of loose files as the measured half of the diagnose document; every number carries its unit in its key."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.units import dwell_degrees

if TYPE_CHECKING:
    from dwellwright.evidence.gauge import GaugeSheet
    from dwellwright.evidence.loose_folder import FolderEvidence
    from dwellwright.evidence.trace.loop_features import RegimeSummary
    from dwellwright.evidence.waveform import Waveform

REGIMES = (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)


def measured_facts(evidence: FolderEvidence) -> dict[str, Any]:
    """What was measured: engine, regimes, waveform, gas. Null where the evidence does not say."""
    trace = evidence.trace
    return {
        "engine": engine_facts(evidence.gauges),
        "regimes": {
            regime.value: regime_facts(
                trace.regimes.get(regime) if trace else None, evidence.observations, regime
            )
            for regime in REGIMES
        },
        "waveform": waveform_part(evidence.waveform),
        "gas": gas_facts(evidence.observations),
    }


def engine_facts(gauges: GaugeSheet | None) -> dict[str, Any]:
    """The engine as the bench sheet names it."""
    return {
        "layout": gauges.engine if gauges else None,
        "cylinders": gauges.cylinders if gauges else None,
        "displacement_l": _rounded(1e3 * gauges.displacement, 3) if gauges and gauges.displacement else None,
        "idle_speed_rpm": _rounded(60 * gauges.idle_speed, 1) if gauges and gauges.idle_speed else None,
        "codes": list(gauges.codes) if gauges else [],
    }


def regime_facts(
    seen: RegimeSummary | None, observations: Sequence[Observation], regime: Regime
) -> dict[str, Any]:
    """Dwell, duty and limit cycle of one regime of the drive recording, with intervals of about 95 %."""
    duty = _of_trace(observations, Measured.DUTY, regime) if seen else None
    period = _of_trace(observations, Measured.LIMIT_CYCLE_PERIOD, regime) if seen else None
    low, high = _ends(duty, least=0.0, most=1.0)
    shortest, longest = _ends(period, least=0.0)
    value = duty.value if duty else None
    return {
        "dwell_deg": _dwell(value),
        "dwell_low_deg": _dwell(low),
        "dwell_high_deg": _dwell(high),
        "duty": _rounded(value, 5),
        "duty_low": _rounded(low, 5),
        "duty_high": _rounded(high, 5),
        "limit_cycle_s": _rounded(period.value if period else None, 3),
        "limit_cycle_low_s": _rounded(shortest, 3),
        "limit_cycle_high_s": _rounded(longest, 3),
        "closed_loop_fraction": _rounded(seen.duty.closed_loop_share if seen and seen.duty else None, 4),
        "from_s": _rounded(seen.begin if seen else None, 1),
        "to_s": _rounded(seen.end if seen else None, 1),
    }


def _of_trace(observations: Sequence[Observation], measured: Measured, regime: Regime) -> Observation | None:
    """The recording's own observation: the last, since the recording is read after everything else."""
    found = [one for one in observations if one.measured is measured and one.regime is regime]
    return found[-1] if found else None


def waveform_part(read: Waveform | None) -> dict[str, Any]:
    """The sound recording: dwell with its interval, pulse rate, polarity."""
    duty = read.duty if read else None
    return {
        "dwell_deg": _dwell(duty.value if duty else None),
        "dwell_low_deg": _dwell(duty.low if duty else None),
        "dwell_high_deg": _dwell(duty.high if duty else None),
        "duty": _rounded(duty.value if duty else None, 6),
        "pulse_rate_hz": _rounded(read.pulse_rate.value if read else None, 4),
        "polarity": read.polarity.value if read else None,
        "polarity_confidence": _rounded(read.polarity_finding.confidence if read else None, 4),
        "missing_pulses": read.missing_pulses if read else None,
    }


def gas_facts(observations: Sequence[Observation]) -> dict[str, Any]:
    """Gases and lambda at idle and at the fast no-load speed."""
    return {regime.value: _gas_at(observations, regime) for regime in (Regime.IDLE, Regime.FAST_NO_LOAD)}


def _gas_at(observations: Sequence[Observation], regime: Regime) -> dict[str, Any]:
    def seen(measured: Measured) -> Observation | None:
        return next((one for one in observations if one.measured is measured and one.regime is regime), None)

    def value(measured: Measured, scale: float, digits: int) -> float | None:
        one = seen(measured)
        return _rounded(one.value * scale if one else None, digits)

    ratio = seen(Measured.GAS_LAMBDA)
    low, high = _ends(ratio)
    return {
        "lambda": _rounded(ratio.value if ratio else None, 4),
        "lambda_low": _rounded(low, 4),
        "lambda_high": _rounded(high, 4),
        "co_pct": value(Measured.CO, 100, 4),
        "co2_pct": value(Measured.CO2, 100, 4),
        "o2_pct": value(Measured.O2, 100, 4),
        "hc_ppm": value(Measured.HC, 1e6, 2),
    }


def _ends(
    seen: Observation | None, least: float = float("-inf"), most: float = float("inf")
) -> tuple[float | None, float | None]:
    if seen is None:
        return None, None
    low, high = seen.interval()
    return max(low, least), min(high, most)


def _dwell(duty: float | None) -> float | None:
    return None if duty is None else round(dwell_degrees(duty), 3)


def _rounded(value: float | None, digits: int) -> float | None:
    return None if value is None else round(value, digits)
