"""From a place between the actuator's ends to what the computer must command for it, and back."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from dwellwright.carburetor.air import OperatingPoint
from dwellwright.carburetor.barrel import Setting, between, fuel_at
from dwellwright.carburetor.passages import Passages
from dwellwright.carburetor.state import Field
from dwellwright.compiled import register_jitable

POSITION_HALVINGS = 24
"""Halvings of the travel when a standing actuator's place is searched: 6e-8 of it."""


@register_jitable
def lean_share(p: Passages, state: NDArray[np.float64], point: OperatingPoint, setting: Setting, wanted: float,
               rich: float, lean: float) -> float:  # fmt: skip
    """How far towards lean the actuator must go for the wanted fuel; outside 0 to 1 where neither end reaches it. [-]

    A pulsed actuator gives the mean of its ends, so the answer is a ratio; one that stands in between is searched.
    """
    span = rich - lean
    if span <= 1e-12:
        return 1.0e6 if rich > wanted else -1.0e6
    if p.positional < 0.5 or wanted >= rich or wanted <= lean:
        return (rich - wanted) / span
    low, high = 0.0, 1.0
    for _ in range(POSITION_HALVINGS):
        middle = 0.5 * (low + high)
        if fuel_at(p, state, point, setting, between(p, middle), (0.0, 0.0))[0] > wanted:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@register_jitable
def commanded_duty(p: Passages, state: NDArray[np.float64], share: float, vacuum: float) -> float:
    """Duty (or position) that the computer must command for a place between the ends. [-]

    Pull-in and drop-out times shift a pulsed one; a diaphragm needs the vacuum at its place out of what there is.
    """
    share -= state[Field.ACTUATOR_OFFSET]
    if p.regulated_vacuum > 0.0:
        supply = max(min(vacuum, p.regulated_vacuum), 1.0)
        return (p.diaphragm_starts + share * (p.diaphragm_ends - p.diaphragm_starts)) / supply
    if p.positional > 0.5:
        return share
    if p.energized_is_lean > 0.5:
        return share - p.solenoid_duty_shift
    return 1.0 - share - p.solenoid_duty_shift


def lean_share_at(p: Passages, duty: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far towards lean a commanded duty (or position) puts the actuator, held to its travel. [-]

    A diaphragm is taken to have its full regulated vacuum.
    """
    if p.regulated_vacuum > 0.0:
        share = (duty * p.regulated_vacuum - p.diaphragm_starts) / (p.diaphragm_ends - p.diaphragm_starts)
    elif p.positional > 0.5:
        share = duty
    else:
        effective = duty + p.solenoid_duty_shift
        share = effective if p.energized_is_lean > 0.5 else 1.0 - effective
    return np.clip(share, 0.0, 1.0)
