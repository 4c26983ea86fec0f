"""Fuel film on the manifold wall: a share X lands on it and leaves with a time constant tau."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp

from dwellwright.physics.checks import require_fraction, require_positive

WARM_SHARE_RANGE = (0.2, 0.5)
"""Share landing on the wall of a warm carbureted manifold, prior; Aquino 1981 and common practice. [-]"""
WARM_TIME_RANGE = (0.3, 1.5)
"""Time constant of a warm film, prior; Aquino 1981 and common practice. [s]"""


@dataclass(frozen=True)
class WallFilm:
    """Share and time constant of a film.

    Args:
        wall_share: X, part of the fuel that lands on the wall. [-]
        time_constant: tau, of the film's leaving. [s]

    Raises:
        ValueError: share outside 0 to 1, time constant not positive.

    References:
        [1] C. F. Aquino, SAE 810494, 1981.
    """

    wall_share: float
    time_constant: float

    def __post_init__(self) -> None:
        require_fraction("wall share", self.wall_share)
        require_positive("film time constant", self.time_constant, "s")

    def response(self, frequency: float) -> complex:
        """Fuel into the engine over fuel from the carburetor, at an angular frequency. [-]"""
        lag = 1j * frequency * self.time_constant
        return (1.0 + (1.0 - self.wall_share) * lag) / (1.0 + lag)

    def equilibrium_mass(self, fuel_flow: float) -> float:
        """Film that a steady fuel flow builds up. [kg]"""
        return self.wall_share * self.time_constant * fuel_flow


def film_mass(mass: float, fuel_flow: float, step: float, wall_share: float, time_constant: float) -> float:
    """Film after a step of constant fuel flow, exact. [kg]

    Args:
        mass: of the film at the start. [kg]
        fuel_flow: from the carburetor. [kg/s]
        step: of time. [s]
        wall_share: X. [-]
        time_constant: tau. [s]
    """
    settled = wall_share * time_constant * fuel_flow
    return settled + (mass - settled) * exp(-step / time_constant)


def delivered_flow(mass: float, later_mass: float, fuel_flow: float, step: float) -> float:
    """Mean fuel flow into the engine over the step; what went in, less what the film kept. [kg/s]

    Args:
        mass: of the film at the start. [kg]
        later_mass: at the end, from `film_mass`. [kg]
        fuel_flow: from the carburetor. [kg/s]
        step: of time, above zero. [s]
    """
    return fuel_flow + (mass - later_mass) / step
