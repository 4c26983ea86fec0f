"""Exhaust gas that a state predicts, tabulated from the gas laws so that thousands of cars can be asked at once."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import RegularGridInterpolator

from dwellwright.catalogue.fuels import fuel_named
from dwellwright.physics.combustion import HEALTHY_UNBURNED, TYPICAL_MIXING_SPREAD, gas_composition

LAMBDAS = np.linspace(0.70, 1.35, 53)
FALSE_AIRS = np.linspace(0.0, 0.30, 13)
GASES = ("carbon_monoxide", "carbon_dioxide", "oxygen")
GAS_FLOOR = np.array([0.0020, 0.0035, 0.0015])
"""Doubt about CO, CO2 and O2 of a healthy engine at a known lambda (catalyst, mixing, quench), assumed. [-]"""
GAS_SHARE = np.array([0.20, 0.01, 0.20])
"""The same in proportion to the value, assumed. [-]"""


@cache
def _table() -> RegularGridInterpolator:
    fuel = fuel_named("gasoline")
    values = np.array(
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
    return RegularGridInterpolator((LAMBDAS, FALSE_AIRS), values)


def gas_at(lambdas: NDArray[np.float64], false_air: NDArray[np.float64]) -> NDArray[np.float64]:
    """Dry CO, CO2 and O2 for each lambda of the burned mixture and share of false air. [array (n, 3), fractions]

    Values outside the table (lambda 0.70-1.35, false air 0-0.30) are held at its edge.
    """
    where = np.column_stack(
        [np.clip(lambdas, LAMBDAS[0], LAMBDAS[-1]), np.clip(false_air, FALSE_AIRS[0], FALSE_AIRS[-1])]
    )
    result: NDArray[np.float64] = _table()(where)
    return result
