"""Sets of causes that may hold together, and the cars they make."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import log, log1p

import numpy as np
from numpy.typing import NDArray

from dwellwright.carburetor.state import FIELD_COUNT, Field, healthy
from dwellwright.catalogue.causes import Cause
from dwellwright.diagnosis.readings import Float

EXCLUSIVE = (
    {"rods_stuck_rich", "rods_stuck_lean"},
    {"solenoid_dead", "rods_stuck_rich"},
    {"solenoid_dead", "rods_stuck_lean"},
    {"rod_travel", "rods_stuck_rich"},
    {"rod_travel", "rods_stuck_lean"},
)
"""Pairs that cannot hold together, or that are one and the same thing."""


@dataclass(frozen=True)
class Causes:
    """The causes considered, in a fixed order.

    Args:
        names: identifiers.
        causes: the same, as the catalogue gives them.
        priors: share of arriving cars that have each.
    """

    names: tuple[str, ...]
    causes: tuple[Cause, ...]
    priors: tuple[float, ...]

    def log_prior(self, members: tuple[int, ...]) -> float:
        """Log of the prior probability that exactly these hold. Causes come independently."""
        none = sum(log1p(-prior) for prior in self.priors)
        return none + sum(log(self.priors[k]) - log1p(-self.priors[k]) for k in members)

    def together(self, members: tuple[int, ...]) -> bool:
        """Whether these can hold together."""
        names = {self.names[k] for k in members}
        return not any(pair <= names for pair in EXCLUSIVE)

    @cached_property
    def effects(self) -> Float:
        """Change of the packed state per unit of each cause, shape (causes, FIELD_COUNT)."""
        table = np.zeros((len(self.causes), FIELD_COUNT))
        for row, cause in enumerate(self.causes):
            for field, per_unit in cause.effects.items():
                table[row, Field[field.upper()]] = per_unit
        return table

    def states(self, members: tuple[int, ...], magnitudes: Float) -> Float:
        """Packed states of cars with these causes at these magnitudes (SI or turns, shape (cars, members))."""
        packed: Float = healthy(len(magnitudes)) + magnitudes @ self.effects[list(members)]
        return packed

    def mixed_states(self, members: NDArray[np.int64], magnitudes: Float) -> Float:
        """Packed states of cars that each have their own causes; both arguments of shape (cars, causes held)."""
        packed = healthy(len(magnitudes))
        for held in range(members.shape[1]):
            packed += magnitudes[:, held, None] * self.effects[members[:, held]]
        return packed


def selected(causes: dict[str, Cause], priors: dict[str, float] | None = None) -> Causes:
    """Causes in their fixed order, with the shop's own priors where it has some."""
    own = priors or {}
    return Causes(
        tuple(causes),
        tuple(causes.values()),
        tuple(own.get(name, cause.prior) for name, cause in causes.items()),
    )


@dataclass(frozen=True)
class Range:
    """How large one cause may be before any evidence: evenly between two sizes, to either side where it has two.

    Args:
        least, most: size limits. [SI or turns]
        two_sided: whether it can be negative.
    """

    least: float
    most: float
    two_sided: bool

    @property
    def log_density(self) -> float:
        """Log of the even density inside the limits."""
        return -log((self.most - self.least) * (2.0 if self.two_sided else 1.0))

    def spread_evenly(self, uniform: Float) -> Float:
        """Sizes from numbers in (0, 1), any shape."""
        if not self.two_sided:
            return self.least + (self.most - self.least) * uniform
        side = np.where(uniform < 0.5, -1.0, 1.0)
        within = np.where(side < 0, 2.0 * uniform, 2.0 * uniform - 1.0)
        even: Float = side * (self.least + (self.most - self.least) * within)
        return even

    def side(self, negative: bool) -> tuple[float, float]:
        """Limits of one side, the lower first. [SI or turns]"""
        return (-self.most, -self.least) if negative else (self.least, self.most)


def range_of(cause: Cause) -> Range:
    """The belief in a cause's size before any evidence."""
    return Range(cause.si(cause.least), cause.si(cause.most), cause.two_sided)
