"""What the loop, the sensor and the exhaust should show in a given state, and how well that fits the evidence."""

from __future__ import annotations

import numpy as np
from scipy.special import ndtr

from dwellwright.carburetor.passages import Passages
from dwellwright.carburetor.state import Field
from dwellwright.carburetor.steady import COLUMN, lean_share_at
from dwellwright.diagnosis.exhaust_model import (
    GAS_FLOOR,
    GAS_SHARE,
    HYDROCARBON_SPREAD,
    gas_at,
    hydrocarbon_at,
)
from dwellwright.diagnosis.readings import HELD_LIMITS, REGIMES, Evidence, Float
from dwellwright.diagnosis.scatter import Scatter
from dwellwright.evidence.observation import Measured, Regime

PERIOD_SPREAD = {Regime.IDLE: 0.35, Regime.FAST_NO_LOAD: 0.09, Regime.CRUISE: 0.09}
"""Relative spread of healthy limit-cycle lengths in each regime, assumed. [-]"""
PERIOD_SHARED = 0.10
"""The same, common to all regimes: another controller, another exhaust volume, assumed. [-]"""
ENTRY_SPREAD = 6.0
"""Spread of the coolant reading at which controllers allow closed loop, assumed. [K]"""
NEVER = 0.01
"""Chance that a loop stays open for a reason the model does not know, assumed. [-]"""
COLD_IDLE, COLD_FAST, COLD_SPREAD = 180.0, 300.0, 60.0
"""How much colder than usual a sensor must be to drop out at idle and at speed, and the spread, assumed. [K]"""
LAMBDA_SPREAD = {Regime.IDLE: 0.012, Regime.FAST_NO_LOAD: 0.02}
"""Doubt of the lambda a loop in control holds, assumed. [-]"""
LAMBDA_DISCREPANCY = 0.30
"""Doubt of how far a loop at its limit leaves lambda from 1, in proportion: the model's, as for dwell, assumed. [-]"""
OPEN_LAMBDA_SPREAD = 0.05
"""Doubt of lambda at an open-loop duty, which may differ between the gas reading and the recording, assumed. [-]"""
ENTRY_TYPICAL, ENTRY_DELAY = 339.0, 0.06
"""Coolant when a warm-up first closes the loop [K], and how much hotter it gets per kelvin the sensor is too cold [-],
assumed."""
PURGE_HOSE_AREA = 0.3e-6
"""Opening at which a purge hose feels half of the manifold's vacuum, assumed. [m²]"""
PURGE_FLOOR, PURGE_SHARE = 2.0e3, 0.4
"""Doubt of the purge hose's vacuum, absolute [Pa] and in proportion [-], assumed."""
FORCED_SPREAD = 0.04
"""Relative doubt of lambda at either end of the actuator: build scatter and the model, assumed. [-]"""
FORCED_LIMITS = (0.6, 1.6)
"""Lambda that an engine still idles on, or that a meter still reads, assumed. [-]"""
RICH_SHARE_SPREAD = 0.15
"""Doubt of the share of time a sensor reads rich, assumed. [-]"""


def loop_parts(
    evidence: Evidence, scatter: Scatter, states: Float, steady: Float, passages: Passages
) -> dict[str, Float]:
    """Log-likelihood of loop, sensor and gas evidence for each state, by part."""
    held = held_lambda(evidence, steady, passages)
    parts = {"limit cycle": _period_part(evidence, scatter, states)}
    parts |= {"loop closed": _closed_part(evidence, scatter, states)}
    parts |= {"loop entry": _entry_part(evidence, states), "purge hose": _purge_part(evidence, states)}
    parts |= {"sensor side": _side_part(evidence, steady, held)}
    parts |= {"forced solenoid": _forced_part(evidence, steady)}
    for k, regime in enumerate(REGIMES[:2]):
        name = "gas at idle" if regime is Regime.IDLE else "gas at speed"
        parts[name] = _gas_part(evidence, regime, states, steady[:, k], held[:, k], passages)
    parts |= {"hydrocarbon": _hydrocarbon_part(evidence, states, held)}
    return {name: part for name, part in parts.items() if np.any(part)}


def held_lambda(evidence: Evidence, steady: Float, passages: Passages) -> Float:
    """Lambda burned in each regime: at the duty the loop finds, or at the fixed command seen. [array (n, 3)]"""
    duty = np.clip(steady[:, :, COLUMN.duty], *HELD_LIMITS)
    for k, regime in enumerate(REGIMES):
        seen = evidence.get(Measured.DUTY, regime)
        if seen is not None and evidence.is_open_loop(regime):
            duty[:, k] = seen.value
    share = lean_share_at(passages, duty)
    fuel = (1.0 - share) * steady[:, :, COLUMN.fuel_rich] + share * steady[:, :, COLUMN.fuel_lean]
    stoichiometric = steady[:, :, COLUMN.demand] * steady[:, :, COLUMN.target_lambda]
    result: Float = stoichiometric / np.maximum(fuel, 1e-9)
    return result


def _period_part(evidence: Evidence, scatter: Scatter, states: Float) -> Float:
    """Limit-cycle lengths, log-normal, with a spread that all regimes share."""
    names = {Regime.IDLE: "idle_period", Regime.FAST_NO_LOAD: "fast_period", Regime.CRUISE: "cruise_period"}
    seen = [(r, evidence.get(Measured.LIMIT_CYCLE_PERIOD, r)) for r in REGIMES]
    used = [(r, one) for r, one in seen if one is not None and one.value > 0.0]
    if not used:
        return np.zeros(len(states))
    longer = np.log1p(scatter.loop["lag_share"] * states[:, Field.SENSOR_LAG])
    residual = (
        np.array([np.log(one.value / scatter.loop[names[r]]) for r, one in used])[None] - longer[:, None]
    )
    own = [min(one.uncertainty / one.value, 0.5) ** 2 + PERIOD_SPREAD[r] ** 2 for r, one in used]
    covariance = np.diag(own) + PERIOD_SHARED**2
    factor = np.linalg.cholesky(covariance)
    whitened = np.linalg.solve(factor, residual.T)
    part: Float = -0.5 * np.sum(whitened**2, axis=0) - np.sum(np.log(np.diag(factor))) - 0.919 * len(used)
    return part


def _closed_part(evidence: Evidence, scatter: Scatter, states: Float) -> Float:
    """Whether each regime ran closed loop, given what the computer read of coolant and sensor."""
    part = np.zeros(len(states))
    for regime in REGIMES:
        share = evidence.get(Measured.CLOSED_LOOP_SHARE, regime)
        if share is None:
            continue
        closed = closed_chance(evidence, scatter, states, regime)
        still = evidence.is_open_loop(regime)
        part += np.log(1.0 - closed) if still else np.log(closed)
    return part


def closed_chance(evidence: Evidence, scatter: Scatter, states: Float, regime: Regime) -> Float:
    """Chance that the loop is closed in a regime, given what the computer read of coolant and sensor. [-]"""
    coolant = evidence.get(Measured.COOLANT_TEMPERATURE, regime)
    warm = 1.0 if coolant is None else ndtr((coolant.value - scatter.loop["entry_coolant"]) / ENTRY_SPREAD)
    limit = COLD_IDLE if regime is Regime.IDLE else COLD_FAST
    alive = ndtr((limit - states[:, Field.SENSOR_COLD]) / COLD_SPREAD)
    closed: Float = np.clip(warm * alive * (1.0 - NEVER), NEVER, 1.0 - NEVER)
    return closed


def _entry_part(evidence: Evidence, states: Float) -> Float:
    """Coolant reading at which a warm-up first closed the loop; a cold sensor closes it later."""
    seen = evidence.get(Measured.COOLANT_TEMPERATURE, Regime.WARM_UP)
    if seen is None:
        return np.zeros(len(states))
    later = ENTRY_DELAY * states[:, Field.SENSOR_COLD]
    sigma = np.hypot(np.hypot(ENTRY_SPREAD, seen.uncertainty), 0.5 * later)
    part: Float = -0.5 * ((seen.value - ENTRY_TYPICAL - later) / sigma) ** 2 - np.log(sigma)
    return part


def _purge_part(evidence: Evidence, states: Float) -> Float:
    """Vacuum felt in the purge hose at hot idle: none while the valve is shut."""
    seen = evidence.get(Measured.PURGE_VACUUM)
    if seen is None:
        return np.zeros(len(states))
    inside = evidence.get(Measured.MANIFOLD_PRESSURE, Regime.IDLE)
    vacuum = 101325.0 - (inside.value if inside else 34e3)
    opening = states[:, Field.PURGE] ** 2
    expected = vacuum * opening / (opening + PURGE_HOSE_AREA**2)
    sigma = np.hypot(np.hypot(PURGE_FLOOR, seen.uncertainty), PURGE_SHARE * expected)
    part: Float = np.maximum(-0.5 * ((seen.value - expected) / sigma) ** 2, -20.0) - np.log(sigma)
    return part


def _forced_part(evidence: Evidence, steady: Float) -> Float:
    """Lambda at idle with the solenoid held at either end, against what that end meters."""
    part = np.zeros(len(steady))
    wanted = steady[:, 0, COLUMN.demand] * steady[:, 0, COLUMN.target_lambda]
    for measured, end in (
        (Measured.LAMBDA_RELEASED, COLUMN.fuel_rich),
        (Measured.LAMBDA_ENERGIZED, COLUMN.fuel_lean),
    ):
        seen = evidence.get(measured)
        if seen is not None:
            expected = np.clip(wanted / np.maximum(steady[:, 0, end], 1e-9), *FORCED_LIMITS)
            sigma = np.hypot(seen.uncertainty, FORCED_SPREAD * expected)
            part += np.maximum(-0.5 * ((seen.value - expected) / sigma) ** 2, -20.0) - np.log(sigma)
    return part


def _side_part(evidence: Evidence, steady: Float, held: Float) -> Float:
    """Whether the sensor sat rich, lean or crossed, as the state says it should."""
    part = np.zeros(len(steady))
    for k, regime in enumerate(REGIMES):
        seen = evidence.get(Measured.SENSOR_RICH_SHARE, regime)
        if seen is None:
            continue
        sensed = held[:, k] / steady[:, k, COLUMN.target_lambda]
        expected = ndtr((1.0 - sensed) / 0.01)
        sigma = np.hypot(seen.uncertainty, RICH_SHARE_SPREAD)
        part += np.maximum(-0.5 * ((seen.value - expected) / sigma) ** 2, -6.0)
    return part


def _hydrocarbon_part(evidence: Evidence, states: Float, held: Float) -> Float:
    """Unburned fuel at idle and at speed, log-normal; a healthy engine's own level is common to both."""
    seen = [
        (k, one)
        for k, r in enumerate(REGIMES[:2])
        if (one := evidence.get(Measured.HC, r)) and one.value > 0.0
    ]
    if not seen:
        return np.zeros(len(states))
    misfire = np.maximum(states[:, Field.MISFIRE], 0.0)
    residual = np.column_stack([np.log(one.value / hydrocarbon_at(held[:, k], misfire)) for k, one in seen])
    own = np.array([min(one.uncertainty / one.value, 0.5) for _, one in seen])
    covariance = np.diag(own**2 + (0.5 * HYDROCARBON_SPREAD) ** 2) + HYDROCARBON_SPREAD**2
    square = np.einsum("ni,ij,nj->n", residual, np.linalg.inv(covariance), residual)
    part: Float = np.maximum(-0.5 * square, -20.0)
    return part


def _gas_part(
    evidence: Evidence, regime: Regime, states: Float, steady: Float, held: Float, passages: Passages
) -> Float:
    """CO, CO2 and O2 against what lambda and false air give, with lambda's own doubt."""
    seen = [evidence.get(what, regime) for what in (Measured.CO, Measured.CO2, Measured.O2)]
    if any(one is None for one in seen):
        return np.zeros(len(states))
    exhaust = steady[:, COLUMN.air] * (1.0 + 1.0 / steady[:, COLUMN.stoichiometric_ratio])
    leak = states[:, Field.EXHAUST_LEAK] * passages.idle_exhaust_flow / exhaust
    false_air = leak + states[:, Field.INJECTED_AIR] + states[:, Field.MISFIRE]
    doubt = OPEN_LAMBDA_SPREAD if evidence.is_open_loop(regime) else LAMBDA_SPREAD[regime]
    spread = np.hypot(doubt, LAMBDA_DISCREPANCY * (held - 1.0))
    middle, low, high = (gas_at(held + step, false_air) for step in (0.0, -spread, spread))
    slope = 0.5 * (high - low)
    values = np.array([one.value for one in seen if one is not None])
    sigmas = np.array([one.uncertainty for one in seen if one is not None])
    own = sigmas**2 + GAS_FLOOR**2 + (GAS_SHARE * middle) ** 2
    # covariance = diag(own) + slope slopeᵀ: inverse and determinant in closed form (Sherman-Morrison)
    residual = values - middle
    reach = 1.0 + np.sum(slope**2 / own, axis=1)
    along = np.sum(slope * residual / own, axis=1)
    square = np.sum(residual**2 / own, axis=1) - along**2 / reach
    part: Float = -0.5 * square - 0.5 * np.log(reach) - 0.5 * np.sum(np.log(own), axis=1)
    return np.maximum(part, np.max(part) - 60.0)
