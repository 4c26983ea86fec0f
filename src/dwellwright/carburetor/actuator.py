"""The five ways an engine computer moves the mixture, as what each end of the command opens and lifts."""

from __future__ import annotations

from typing import NamedTuple

from dwellwright.catalogue.sheet import Actuator


class Command(NamedTuple):
    """What the actuator does at one place between its rich and its lean end.

    Args:
        rods: rod height share, 0 at the lean stop, 1 at the rich stop. [-]
        idle_bleed: share of the moved idle bleed that is open. [-]
        main_bleed: share of the moved main bleed that is open. [-]
        auxiliary: share of the auxiliary fuel valve that is open. [-]
    """

    rods: float
    idle_bleed: float
    main_bleed: float
    auxiliary: float


class Ends(NamedTuple):
    """Both ends of an actuator and how it goes between them.

    Args:
        rich: at the rich end.
        lean: at the lean end.
        positional: 1 where it stands between the ends, 0 where it is pulsed from one to the other.
    """

    rich: Command
    lean: Command
    positional: float


FIXED_RODS = 0.5
"""Rods that the actuator does not move stand halfway between the stops. [-]"""

ENDS: dict[Actuator, Ends] = {
    Actuator.PULSED_RODS: Ends(Command(1.0, 0.0, 0.0, 0.0), Command(0.0, 1.0, 0.0, 0.0), 0.0),
    Actuator.PULSED_BLEED: Ends(Command(FIXED_RODS, 0.0, 0.0, 0.0), Command(FIXED_RODS, 1.0, 1.0, 0.0), 0.0),
    Actuator.PULSED_FUEL_VALVE: Ends(
        Command(FIXED_RODS, 0.0, 0.0, 1.0), Command(FIXED_RODS, 0.0, 0.0, 0.0), 0.0
    ),
    Actuator.STEPPER_PINTLE: Ends(
        Command(FIXED_RODS, 0.0, 0.0, 0.0), Command(FIXED_RODS, 1.0, 1.0, 0.0), 1.0
    ),
    Actuator.VACUUM_DIAPHRAGM: Ends(Command(1.0, 0.0, 0.0, 0.0), Command(0.0, 1.0, 0.0, 0.0), 1.0),
}
"""What each kind opens and lifts at its ends: common practice, no source."""


def shows_dwell(actuator: Actuator) -> bool:
    """Whether a dwell meter on the drive wire says where the mixture stands: not on a stepper."""
    return actuator is not Actuator.STEPPER_PINTLE


def flat(ends: Ends) -> dict[str, float]:
    """The ends as plain numbers, the form in which compiled kernels take them."""
    sides = {
        f"{side}_{name}": value
        for side in ("rich", "lean")
        for name, value in getattr(ends, side)._asdict().items()
    }
    return {**sides, "positional": ends.positional}
