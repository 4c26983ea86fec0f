"""Sets of causes that may hold together, and the cars they make."""

from __future__ import annotations

from dataclasses import dataclass
from math import log, log1p

import numpy as np

from dwellwright.carburetor.state import Field, healthy
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

    def states(self, members: tuple[int, ...], magnitudes: Float) -> Float:
        """Packed states of cars with these causes at these magnitudes (SI or turns, shape (cars, members))."""
        states = healthy(len(magnitudes))
        for column, k in enumerate(members):
            for field, per_unit in self.causes[k].effects.items():
                states[:, Field[field.upper()]] += per_unit * magnitudes[:, column]
        return states


def selected(causes: dict[str, Cause], priors: dict[str, float] | None = None) -> Causes:
    """Causes in their fixed order, with the shop's own priors where it has some."""
    own = priors or {}
    return Causes(
        tuple(causes),
        tuple(causes.values()),
        tuple(own.get(name, cause.prior) for name, cause in causes.items()),
    )


@dataclass(frozen=True)
class Belief:
    """What is believed of one cause's magnitude: the prior's even spread, and a normal fitted to the posterior.

    Args:
        least, most: size limits. [SI or turns]
        two_sided: whether it can be negative.
        middle, spread: of the fitted normal; spread 0 while there is none. [SI or turns]
    """

    least: float
    most: float
    two_sided: bool
    middle: float = 0.0
    spread: float = 0.0

    def draws(self, uniform: Float, choice: Float) -> Float:
        """Magnitudes from the proposal: half prior, half fitted normal (all prior while there is none).

        Args:
            uniform: numbers in (0, 1), shape (n,).
            choice: numbers in (0, 1) that pick the half, shape (n,).
        """
        from scipy.special import ndtri

        side = np.where((uniform < 0.5) & self.two_sided, -1.0, 1.0)
        within = np.where(side < 0, 2.0 * uniform, 2.0 * uniform - 1.0) if self.two_sided else uniform
        prior = side * (self.least + (self.most - self.least) * within)
        if self.spread <= 0.0:
            return prior
        fitted = self.middle + self.spread * ndtri(np.clip(uniform, 1e-9, 1 - 1e-9))
        drawn: Float = np.where(choice < 0.5, prior, fitted)
        return drawn

    def log_prior(self, magnitudes: Float) -> Float:
        """Log density of the prior; minus infinity outside its limits."""
        size = magnitudes if not self.two_sided else np.abs(magnitudes)
        inside = (size >= self.least) & (size <= self.most)
        width = (self.most - self.least) * (2.0 if self.two_sided else 1.0)
        density: Float = np.where(inside, -np.log(width), -np.inf)
        return density

    def log_proposal(self, magnitudes: Float) -> Float:
        """Log density of the proposal that `draws` comes from."""
        prior = self.log_prior(magnitudes)
        if self.spread <= 0.0:
            return prior
        z = (magnitudes - self.middle) / self.spread
        fitted = -0.5 * z * z - np.log(self.spread) - 0.9189385332046727
        density: Float = np.logaddexp(prior, fitted) - np.log(2.0)
        return density


def belief_of(cause: Cause) -> Belief:
    """The belief in a cause's magnitude before any evidence."""
    return Belief(cause.si(cause.least), cause.si(cause.most), cause.two_sided)
