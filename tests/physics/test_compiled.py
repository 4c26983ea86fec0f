"""The laws meant for hot loops compile with Numba as they stand and give the same numbers."""

from collections.abc import Callable
from typing import Any

import numba
import pytest

from dwellwright.physics import (
    combustion,
    exhaust,
    gas_flow,
    lag,
    liquid_flow,
    switching,
    transport,
    two_phase,
    wall_film,
    zirconia,
)

CASES: list[tuple[Callable[..., Any], tuple[Any, ...]]] = [
    (gas_flow.compressible_flow, (1e-5, 0.8, 1e5, 300.0, 8e4)),
    (gas_flow.venturi_depression, (0.02, 5e-4, 0.85, 1e5, 300.0)),
    (liquid_flow.annulus_area, (1.8e-3, 1.2e-3)),
    (liquid_flow.liquid_flow, (1e-6, 0.75, -500.0, 745.0)),
    (liquid_flow.discharge_coefficient, (1500.0, 2.5)),
    (liquid_flow.metered_flow, (1e-6, 6e-4, 2.5, 500.0, 745.0, 5e-4)),
    (two_phase.bled_liquid_flow, (1e-6, 0.75, 2000.0, 1e-6, 745.0, 1.15)),
    (two_phase.bled_air_flow, (1e-6, 0.75, 2000.0, 1e-5, 745.0, 1.15)),
    (two_phase.mixture_flow, (1e-6, 0.75, -2000.0, 0.1, 745.0, 1.15)),
    (two_phase.mixture_flow_limit, (1e-6, 0.75, 1e5, 3e4, 0.8, 100.0)),
    (lag.lagged_both_ways, (0.2, 0.9, 0.01, 0.1, 0.2)),
    (wall_film.film_mass, (1e-4, 1e-3, 0.01, 0.3, 0.5)),
    (transport.transport_delay, (12.0, 4e-3, 4e-3, 4e4, 320.0, 2e-3, 1e5, 750.0)),
    (zirconia.nernst_voltage, (900.0, 0.01)),
    (zirconia.loaded_voltage, (0.85, 1e4, 1e6, 0.45)),
    (switching.switching_voltage, (0.98, 0.98, -0.005, 0.026, 0.03, 0.002, 0.022, 1e-3, 0.0)),
    (combustion.burned_gas, (0.97, 1.85, 0.0, 0.04, 0.01, 3.5)),
    (combustion.sampled_gas, ((0.01, 0.99, 0.004, 0.003, 0.93), 0.97, 1.85, 0.0, 0.02, 0.05, 0.1, 0.5, 0.01)),
    (exhaust.brettschneider_lambda, (0.01, 0.146, 0.007, 1e-4, 0.0, 1.85, 0.0, 6.0, 0.0, 3.5)),
]


@pytest.mark.parametrize(("law", "arguments"), CASES, ids=[law.__name__ for law, _ in CASES])
def test_law_compiles_as_it_stands(law: Callable[..., Any], arguments: tuple[Any, ...]) -> None:
    compiled = numba.njit(law)
    assert compiled(*arguments) == pytest.approx(law(*arguments), rel=1e-13)
