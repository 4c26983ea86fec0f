"""The mixture-control solenoid as a thing that moves late: pull-in and drop-out times."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log

from dwellwright.physics.checks import require_not_negative, require_positive


@dataclass(frozen=True)
class Solenoid:
    """A solenoid between two stops.

    The current rises through the winding until the armature lifts off, then the stroke takes its time. At switch-off
    the current falls through the driver's clamp and the spring brings the armature back, whatever the battery.

    Args:
        resistance: of the winding. [ohm]
        inductance: with the armature at rest. [H]
        pull_current: at which the armature lifts off. [A]
        stroke_time: from lift-off to the stop. [s]
        drop_out_time: from switch-off to the other stop. [s]
    """

    resistance: float = 22.0
    inductance: float = 0.080
    pull_current: float = 0.30
    stroke_time: float = 0.004
    drop_out_time: float = 0.004

    def __post_init__(self) -> None:
        require_positive("winding resistance", self.resistance, "ohm")
        require_not_negative("winding inductance", self.inductance, "H")
        require_not_negative("pull current", self.pull_current, "A")
        require_not_negative("stroke time", self.stroke_time, "s")
        require_not_negative("drop-out time", self.drop_out_time, "s")

    def pull_in_time(self, battery_voltage: float) -> float:
        """From switch-on to the lean stop; infinite where the battery cannot lift the armature. [s]

        Current in a winding, `i = V/R (1 - exp(-R t / L))`, solved for the pull current, then the stroke. The defaults
        are assumed, within the 4 to 10 ms and 2 to 6 ms of common practice.

        >>> round(1e3 * Solenoid().pull_in_time(14.0), 2), round(1e3 * Solenoid().pull_in_time(10.0), 2)
        (6.32, 7.92)
        """
        share = self.pull_current * self.resistance / battery_voltage if battery_voltage > 0 else inf
        if share >= 1.0:
            return inf
        return self.stroke_time - self.inductance / self.resistance * log(1.0 - share)
