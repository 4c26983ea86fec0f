"""What a gas reading points to: healthy, rich, lean, misfire or false air, each by its likelihood.

Atoms and mixing only: a charge of some lambda burns, part of it may leave unburned, and air may join in the
pipe. No engine or carburetor is believed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from dwellwright.evidence.gas.air_ratio import GasOptions, gas_uncertainty
from dwellwright.evidence.gas.reading import GasReading
from dwellwright.physics.combustion import HEXANE_CARBON, ExhaustGas, gas_composition
from dwellwright.physics.fuel import AIR_OXYGEN, Fuel

Values = NDArray[np.float64]

DRAWS = 4096
SPREADS = (0.01, 0.04, 0.07)
"""Spread of mixture between charges: even, typical, poor (around the typical 0.04 of `combustion`). [-]"""
LAMBDAS = tuple(round(0.70 + 0.01 * step, 3) for step in range(71))
RELATIVE_DISCREPANCY = np.array([0.15, 0.012, 0.10, 0.25])
ABSOLUTE_DISCREPANCY = np.array([0.0010, 0.0015, 0.0010, 40e-6])
"""How far real gas strays from the mixing law (CO, CO2, O2, HC), one standard deviation; assumed. [-]"""


class GasCause(StrEnum):
    """What the gas of one condition may point to."""

    HEALTHY = "healthy"
    RICH = "rich"
    LEAN = "lean"
    MISFIRE = "misfire"
    FALSE_AIR = "false air"


@dataclass(frozen=True)
class GasStates:
    """Range of the charge under one cause; every share uniform in its logarithm, lambda uniform. [-]"""

    lambda_: tuple[float, float]
    unburned: tuple[float, float] = (0.004, 0.018)
    false_air: tuple[float, float] = (0.0005, 0.01)


STATES: Mapping[GasCause, GasStates] = {
    GasCause.HEALTHY: GasStates((0.97, 1.03)),
    GasCause.RICH: GasStates((0.72, 0.97)),
    GasCause.LEAN: GasStates((1.03, 1.30)),
    GasCause.MISFIRE: GasStates((0.85, 1.15), unburned=(0.025, 0.25)),
    GasCause.FALSE_AIR: GasStates((0.80, 1.05), false_air=(0.02, 0.40)),
}
"""Where one cause ends and the next begins is a convention of this table (assumed)."""


@dataclass(frozen=True)
class CauseLikelihood:
    """One cause against one reading.

    Args:
        cause: which.
        log_likelihood: of the four gases, the charge averaged over its range.
        probability: among these causes, all held equally likely before. [-]
        charge_lambda: of the charge before any air joined, mean under this cause. [-]
        unburned: share of the charge that left unburned, mean under this cause. [-]
        false_air: share of the sample that is air, mean under this cause. [-]
    """

    cause: GasCause
    log_likelihood: float
    probability: float
    charge_lambda: float
    unburned: float
    false_air: float


@lru_cache(maxsize=8)
def _burned_table(fuel: Fuel) -> tuple[Values, Values]:
    """Moles of CO, CO2, O2, HC and all dry gas per carbon, burned and unburned: shape (spreads, lambdas, 5)."""

    def moles(gas: ExhaustGas) -> list[float]:
        parts = (gas.carbon_monoxide, gas.carbon_dioxide, gas.oxygen, gas.hydrocarbon, 1.0)
        return [part * gas.dry_moles for part in parts]

    burned = [[moles(gas_composition(x, fuel, mixing_spread=s)) for x in LAMBDAS] for s in SPREADS]
    unburned = [[moles(gas_composition(x, fuel, 1.0)) for x in LAMBDAS] for _ in SPREADS]
    return np.array(burned), np.array(unburned)


@dataclass(frozen=True)
class _Draws:
    """States drawn for one cause, shape (DRAWS,) each."""

    charge_lambda: Values
    spread: NDArray[np.int64]
    unburned: Values
    false_air: Values
    seen: Values


def _logarithmic(share: Values, limits: tuple[float, float]) -> Values:
    low, high = np.log(limits[0]), np.log(limits[1])
    drawn: Values = np.exp(low + share * (high - low))
    return drawn


@lru_cache(maxsize=8)
def _draws(cause: GasCause, whole: bool) -> _Draws:
    """Evenly spread states under one cause, always the same ones."""
    unit = qmc.Sobol(5, scramble=True, seed=20).random(DRAWS)
    states = STATES[cause]
    low, high = states.lambda_
    return _Draws(
        charge_lambda=low + unit[:, 0] * (high - low),
        spread=(unit[:, 1] * len(SPREADS)).astype(np.int64),
        unburned=_logarithmic(unit[:, 2], states.unburned),
        false_air=_logarithmic(unit[:, 3], states.false_air),
        seen=0.5 + 0.5 * unit[:, 4] if whole else np.full(DRAWS, 0.5),
    )


def _predicted(draws: _Draws, fuel: Fuel) -> Values:
    """CO, CO2, O2, HC of the sample in each drawn state, shape (DRAWS, 4). [-]"""
    burned, unburned = _burned_table(fuel)
    place = (draws.charge_lambda - LAMBDAS[0]) / (LAMBDAS[1] - LAMBDAS[0])
    index = np.clip(place.astype(np.int64), 0, len(LAMBDAS) - 2)
    share = (place - index)[:, None]

    def at(table: Values) -> Values:
        found: Values = (1 - share) * table[draws.spread, index] + share * table[draws.spread, index + 1]
        return found

    lost = draws.unburned[:, None]
    moles = (1 - lost) * at(burned) + lost * at(unburned)
    gas: Values = moles[:, :4] / moles[:, 4:]
    gas *= (1 - draws.false_air)[:, None]
    gas[:, 2] += draws.false_air * AIR_OXYGEN
    gas[:, 3] *= draws.seen
    return gas


def _log_likelihoods(reading: GasReading, options: GasOptions, predicted: Values) -> Values:
    read = np.array([reading.co, reading.co2, reading.o2, reading.hc])
    meter = options.meter
    channels = (meter.co, meter.co2, meter.o2, meter.hc)
    doubt = np.array(
        [gas_uncertainty(float(one), channel) for one, channel in zip(read, channels, strict=True)]
    )
    variance = doubt**2 + ABSOLUTE_DISCREPANCY**2 + (RELATIVE_DISCREPANCY * predicted) ** 2
    logs: Values = -0.5 * ((read - predicted) ** 2 / variance + np.log(2 * np.pi * variance)).sum(axis=1)
    return logs


def gas_causes(reading: GasReading, options: GasOptions) -> tuple[CauseLikelihood, ...]:
    """Every cause by its likelihood for one reading, the likeliest first.

    The hydrocarbon reading may have seen all of the carbon or, by infrared, only half of it; both are allowed
    for unless the options say infrared.

    Args:
        reading: four gases of one condition.
        options: fuel, analyzer class and hydrocarbon factor.
    """
    results = []
    for cause in GasCause:
        draws = _draws(cause, options.carbon_factor == HEXANE_CARBON)
        logs = _log_likelihoods(reading, options, _predicted(draws, options.fuel))
        top = float(logs.max())
        weights = np.exp(logs - top)
        total = top + float(np.log(weights.mean()))
        weights /= weights.sum()
        means = [float(weights @ one) for one in (draws.charge_lambda, draws.unburned, draws.false_air)]
        results.append((cause, total, means))
    highest = max(total for _, total, _ in results)
    norm = sum(np.exp(total - highest) for _, total, _ in results)
    found = [CauseLikelihood(c, t, float(np.exp(t - highest) / norm), *means) for c, t, means in results]
    return tuple(sorted(found, key=lambda one: -one.probability))
