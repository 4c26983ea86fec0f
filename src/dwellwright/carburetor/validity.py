"""Where a solved point leaves the range its laws were made for: said with the result, never raised from a solver."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from dwellwright.carburetor.air import OperatingPoint, hole_flux
from dwellwright.carburetor.barrel import (
    NARROWEST_GAP,
    THINNEST_ROD,
    between,
    height_errors,
    held_at,
    power_opening,
)
from dwellwright.carburetor.demand import demand_at
from dwellwright.carburetor.passages import Passages
from dwellwright.carburetor.secondary import secondary_air_share
from dwellwright.carburetor.solution import solved
from dwellwright.carburetor.state import Field, fuel_columns
from dwellwright.carburetor.steady import COLUMN
from dwellwright.physics.gas_flow import sonic_share
from dwellwright.physics.liquid_flow import REYNOLDS_RANGE

CHOKED = 0.95
"""Share of the sonic flow from which a venturi counts as choked: its law takes no more air beyond, assumed. [-]"""
LARGEST_SIGNAL = 15e3
"""Venturi signal beyond which the boost venturi is near sonic flow and its gain is no longer constant, assumed. [Pa]"""


@dataclass(frozen=True)
class Finding:
    """One doubt about a result: what is out of range, its value, and the range.

    Args:
        point: operating point.
        what: in plain words.
        value: the value found, SI.
        low: lower end of the range, SI.
        high: upper end of the range, SI.
    """

    point: str
    what: str
    value: float
    low: float
    high: float

    def __str__(self) -> str:
        return f"{self.point}: {self.what} is {self.value:.3g}, outside {self.low:.3g} to {self.high:.3g}"


def point_findings(
    name: str, row: NDArray[np.float64], wanted_duty: float, limits: tuple[float, float]
) -> tuple[Finding, ...]:
    """Findings of one row of `steady.steady_batch`."""
    checks = (
        ("duty needed to hold the mixture", wanted_duty, *limits),
        ("Reynolds number in the jet", float(row[COLUMN.jet_reynolds]), *REYNOLDS_RANGE),
        ("venturi signal in Pa", float(row[COLUMN.venturi_depression]), 0.0, LARGEST_SIGNAL),
    )
    return tuple(
        Finding(name, what, value, low, high) for what, value, low, high in checks if not low <= value <= high
    )


def state_findings(
    name: str, passages: Passages, state: NDArray[np.float64], point: OperatingPoint
) -> tuple[Finding, ...]:
    """What a car's state makes doubtful at a point beyond its row: rods, piston, secondaries, idle circuit."""
    density, viscosity, ratio = (
        float(column[0]) for column in fuel_columns(state[[Field.ETHANOL]], state[[Field.FUEL_TEMPERATURE]])
    )
    flux = hole_flux(point, state[Field.AMBIENT_PRESSURE], state[Field.AIR_TEMPERATURE])
    asked = demand_at(passages, state, (density, viscosity), ratio, point, flux)
    held = held_at(passages, state, point, asked.setting, state[Field.NEEDLE_LEFT], between(passages, 0.0))
    idle = 1e6 * solved(held)[1]
    vacuum = state[Field.AMBIENT_PRESSURE] - point.manifold_pressure
    power = [power_opening(passages, vacuum, state[Field.POWER_VACUUM], way) for way in (-1.0, 1.0)]
    behind = secondary_air_share(passages, asked.setting.air * passages.barrels / max(flux, 1e-9))
    rods = _rods_unclipped(passages, state)
    sonic = sonic_share(
        asked.setting.air, passages.venturi_effective_area, 1.0,
        float(state[Field.AMBIENT_PRESSURE]), float(state[Field.AIR_TEMPERATURE]),
    )  # fmt: skip
    checks = (
        ("share of the venturi's sonic flow (choked at 1)", sonic, 0.0, CHOKED),
        ("thinnest rod section in the jet in um", 1e6 * min(rods), 1e6 * THINNEST_ROD, np.inf),
        ("thickest rod section in the jet in um", 1e6 * max(rods), 0.0,
         1e6 * (passages.jet_diameter - NARROWEST_GAP)),
        ("fuel of the idle circuit in mg/s (none: its path runs backwards)", idle, 1e-3, np.inf),
        ("share of the power jet that hangs on where the piston came from", power[1] - power[0], 0.0, 0.01),
        ("share of the air through the secondaries, a coarse model", behind, 0.0, 0.01),
    )  # fmt: skip
    return tuple(
        Finding(name, what, value, low, high) for what, value, low, high in checks if not low <= value <= high
    )


def _rods_unclipped(p: Passages, state: NDArray[np.float64]) -> tuple[float, float]:
    """Rod diameters at both ends as the heights alone would have them. [m]"""
    taper = (p.rod_at_rich - p.rod_at_lean) / p.rod_travel
    low, high = height_errors(p, state)
    ends = [low + share * (high - low) + share * p.rod_travel for share in (p.lean_rods, p.rich_rods)]
    return p.rod_at_lean + taper * ends[0], p.rod_at_lean + taper * ends[1]
