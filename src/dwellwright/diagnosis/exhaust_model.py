"""Exhaust gas that a state predicts, tabulated from the gas laws so that thousands of cars can be asked at once."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray

from dwellwright.catalogue.fuels import fuel_named
from dwellwright.compiled import njit
from dwellwright.physics.combustion import HEALTHY_UNBURNED, TYPICAL_MIXING_SPREAD, gas_composition

LAMBDAS = np.linspace(0.70, 1.35, 53)
FALSE_AIRS = np.linspace(0.0, 0.30, 13)
GASES = ("carbon_monoxide", "carbon_dioxide", "oxygen")
GAS_FLOOR = np.array([0.0020, 0.0035, 0.0015])
"""Doubt about CO, CO2 and O2 of a healthy engine at a known lambda (catalyst, mixing, quench), assumed. [-]"""
GAS_SHARE = np.array([0.20, 0.01, 0.20])
"""The same in proportion to the value, assumed. [-]"""


HYDROCARBON_SPREAD = 0.45
"""Spread of the log of hydrocarbons between healthy engines, cold corners and analyzers, assumed. [-]"""
MISFIRES = (0.0, 0.1)


@cache
def _hydrocarbons() -> NDArray[np.float64]:
    """Hydrocarbon, counted as hexane, at each lambda without misfire and with a tenth of the cycles unburned."""
    fuel = fuel_named("gasoline")
    return np.array([
        [gas_composition(float(lam), fuel, HEALTHY_UNBURNED + share, mixing_spread=TYPICAL_MIXING_SPREAD).hydrocarbon
         for lam in LAMBDAS]
        for share in MISFIRES
    ])  # fmt: skip


def hydrocarbon_at(lambdas: NDArray[np.float64], misfire: NDArray[np.float64]) -> NDArray[np.float64]:
    """Dry hydrocarbon, counted as hexane, for each lambda and share of unburned cycles. [array (n,), fraction]"""
    plain, missing = (np.interp(lambdas, LAMBDAS, row) for row in _hydrocarbons())
    found: NDArray[np.float64] = plain + (missing - plain) * misfire / MISFIRES[1]
    return found


@cache
def _table() -> NDArray[np.float64]:
    fuel = fuel_named("gasoline")
    return np.array(
        [
            [
                [getattr(gas, name) for name in GASES]
                for gas in (gas_composition(float(lam), fuel, HEALTHY_UNBURNED, float(air),
                                           mixing_spread=TYPICAL_MIXING_SPREAD)
                            for air in FALSE_AIRS)
            ]
            for lam in LAMBDAS
        ]
    )  # fmt: skip


@njit(cache=True, nogil=True)
def _interpolated(table, lambdas, false_air, start, step):  # type: ignore[no-untyped-def]
    """Straight lines between the knots of an even table, held at its edge."""
    out = np.empty((lambdas.shape[0], table.shape[2]))
    for n in range(lambdas.shape[0]):
        x = min(max((lambdas[n] - start[0]) / step[0], 0.0), table.shape[0] - 1.0)
        y = min(max((false_air[n] - start[1]) / step[1], 0.0), table.shape[1] - 1.0)
        i, j = min(int(x), table.shape[0] - 2), min(int(y), table.shape[1] - 2)
        x, y = x - i, y - j
        for k in range(table.shape[2]):
            low = (1.0 - y) * table[i, j, k] + y * table[i, j + 1, k]
            high = (1.0 - y) * table[i + 1, j, k] + y * table[i + 1, j + 1, k]
            out[n, k] = (1.0 - x) * low + x * high
    return out


def gas_at(lambdas: NDArray[np.float64], false_air: NDArray[np.float64]) -> NDArray[np.float64]:
    """Dry CO, CO2 and O2 for each lambda of the burned mixture and share of false air. [array (n, 3), fractions]

    Values outside the table (lambda 0.70-1.35, false air 0-0.30) are held at its edge.
    """
    start = (LAMBDAS[0], FALSE_AIRS[0])
    step = (LAMBDAS[1] - LAMBDAS[0], FALSE_AIRS[1] - FALSE_AIRS[0])
    result: NDArray[np.float64] = _interpolated(_table(), lambdas, false_air, start, step)
    return result
