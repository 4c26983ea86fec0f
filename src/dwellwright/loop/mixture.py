"""What the loop needs to know of a carburetor: at an operating point, fuel is linear in duty between two stops."""

from __future__ import annotations

from dataclasses import dataclass

from dwellwright.physics.checks import require_positive


@dataclass(frozen=True)
class MixtureMap:
    """A car's mixture at one operating point.

    The rods (or the bleed) spend a share of each pulse at either stop, and the flows of the two stops add up by
    their shares. So fuel is linear in duty, and lambda is not.

    Args:
        air_flow: through the engine. [kg/s]
        fuel_rich: fuel with the valve at its rich stop. [kg/s]
        fuel_lean: fuel with the valve at its lean stop. [kg/s]
        stoichiometric_ratio: air to fuel by mass. [-]

    >>> round(MixtureMap(0.005, 0.00040, 0.00030, 14.6).stoichiometric_position, 3)
    0.575
    """

    air_flow: float
    fuel_rich: float
    fuel_lean: float
    stoichiometric_ratio: float

    def __post_init__(self) -> None:
        require_positive("air flow", self.air_flow, "kg/s")
        require_positive("fuel at the lean stop", self.fuel_lean, "kg/s")
        require_positive("fuel at the rich stop", self.fuel_rich, "kg/s")
        require_positive("stoichiometric ratio", self.stoichiometric_ratio, "kg/kg")

    @property
    def excess_rich(self) -> float:
        """Excess fuel, 1/lambda, at the rich stop. [-]"""
        return self.stoichiometric_ratio * self.fuel_rich / self.air_flow

    @property
    def excess_lean(self) -> float:
        """Excess fuel, 1/lambda, at the lean stop. [-]"""
        return self.stoichiometric_ratio * self.fuel_lean / self.air_flow

    def excess(self, position: float) -> float:
        """Excess fuel with the valve at the lean stop for a share `position` of the time. [-]"""
        return (1.0 - position) * self.excess_rich + position * self.excess_lean

    def air_ratio(self, position: float) -> float:
        """Lambda with the valve at the lean stop for a share `position` of the time. [-]"""
        return 1.0 / self.excess(position)

    def position_for(self, excess: float) -> float:
        """Share at the lean stop that gives an excess fuel; outside 0 to 1 where the stops do not reach it. [-]

        Raises:
            ValueError: both stops give the same fuel.
        """
        span = self.excess_rich - self.excess_lean
        if span == 0.0:
            raise ValueError("the two stops give the same fuel, so no duty changes the mixture")
        return (self.excess_rich - excess) / span

    @property
    def stoichiometric_position(self) -> float:
        """Share at the lean stop that gives lambda 1; outside 0 to 1 where the stops do not reach it. [-]"""
        return self.position_for(1.0)
