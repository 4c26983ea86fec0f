"""A go/no-go gauge for one setting: its two sizes, guarded by a stack-up of all that can be wrong with it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from math import sqrt

from dwellwright.errors import InputFault

MAKING_SHARE = 0.10
"""Share of the setting's tolerance given to making each size: the gauge maker's tenth (common practice)."""

EASY_STEPS = (0.1e-3, 0.05e-3, 0.02e-3, 0.01e-3, 0.005e-3)
"""Make tolerances worth writing on a drawing. [m] The last needs grinding (common practice, no source)."""

WEAR_SHARE = 0.5
"""Wear allowed on a size, as a share of its make tolerance (common practice, no source)."""

SMALLEST_ZONE = 0.25
"""A gauge that accepts less than this share of the tolerance refuses too much good work (assumed)."""


class GaugeForm(StrEnum):
    """What the gauge looks like and what its two ends do."""

    DEPTH = "double-ended depth gauge"
    LEVEL = "double-ended fuel level gauge"
    PLUG = "go and no-go plug"

    @property
    def short_end(self) -> str:
        """What is right at the smaller size."""
        return {
            GaugeForm.DEPTH: "must sit flat on the face",
            GaugeForm.LEVEL: "tip must come out dry",
            GaugeForm.PLUG: "must pass",
        }[self]

    @property
    def long_end(self) -> str:
        """What is right at the larger size."""
        return {
            GaugeForm.DEPTH: "must rock on the part",
            GaugeForm.LEVEL: "tip must come out wet",
            GaugeForm.PLUG: "must not pass",
        }[self]


@dataclass(frozen=True)
class Contribution:
    """One thing that can be wrong with a gauge. [m]

    Args:
        name: in words.
        half_width: largest error either way.
    """

    name: str
    half_width: float


@dataclass(frozen=True)
class StackUp:
    """All that can be wrong with one size, added up.

    Args:
        contributions: each.
    """

    contributions: tuple[Contribution, ...]

    @property
    def worst(self) -> float:
        """Everything at its limit at once. [m]"""
        return sum(one.half_width for one in self.contributions)

    @property
    def likely(self) -> float:
        """Root of the sum of squares: exceeded about once in 20 for limits of two standard deviations. [m]"""
        return sqrt(sum(one.half_width**2 for one in self.contributions))


@dataclass(frozen=True)
class ShopGauge:
    """A gauge as drawn.

    Args:
        form: depth, level or plug.
        setting: what it is for, in words.
        nominal: specification of the setting. [m]
        tolerance: half width allowed around it. [m]
        make_tolerance: half width allowed to each size. [m]
        stack: what can be wrong with a size; its worst case guards both.
    """

    form: GaugeForm
    setting: str
    nominal: float
    tolerance: float
    make_tolerance: float
    stack: StackUp

    @property
    def short(self) -> float:
        """The smaller size. [m]"""
        return self.nominal - self.tolerance + self.stack.worst

    @property
    def long(self) -> float:
        """The larger size. [m]"""
        return self.nominal + self.tolerance - self.stack.worst

    @property
    def zone(self) -> float:
        """Share of the tolerance that the gauge accepts. [-]"""
        return 1 - self.stack.worst / self.tolerance


def make_tolerance(tolerance: float) -> float:
    """Half width to allow each size: a tenth of the setting's, on a step worth writing. [m]

    >>> make_tolerance(0.127e-3)
    1e-05
    """
    wanted = MAKING_SHARE * tolerance
    return next((step for step in EASY_STEPS if step <= wanted * (1 + 1e-9)), EASY_STEPS[-1])


def _contributions(form: GaugeForm, making: float, feel: Sequence[Contribution]) -> tuple[Contribution, ...]:
    face = {
        GaugeForm.DEPTH: (Contribution("bar not flat", making / 2),),
        GaugeForm.LEVEL: (Contribution("bar not flat", making / 2), Contribution("meniscus", 0.2e-3)),
        GaugeForm.PLUG: (),
    }[form]
    return (Contribution("make tolerance", making), Contribution("wear", WEAR_SHARE * making), *face, *feel)


def shop_gauge(
    form: GaugeForm, setting: str, nominal: float, tolerance: float, feel: Sequence[Contribution] = ()
) -> ShopGauge:
    """A go/no-go gauge whose every acceptance is a true one, even at the worst of its stack-up.

    Args:
        form: depth, level or plug.
        setting: in words, for the drawing.
        nominal: specification of the setting. [m]
        tolerance: half width allowed around it. [m]
        feel: further contributions, such as how hard one presses.

    Raises:
        InputFault: sizes that cannot be made, or a tolerance too tight for a gauge made in a shop.

    >>> gauge = shop_gauge(GaugeForm.DEPTH, "lean stop", nominal=4.0e-3, tolerance=0.2e-3)
    >>> round(gauge.short * 1e3, 3), round(gauge.long * 1e3, 3)
    (3.84, 4.16)
    """
    if not 0 < tolerance < nominal:
        raise InputFault(
            "no gauge can be made for this",
            where=setting,
            wanted="a size and a tolerance smaller than it, both above zero",
            got=f"{nominal * 1e3:g} mm within {tolerance * 1e3:g} mm",
        )
    making = make_tolerance(tolerance)
    stack = StackUp(_contributions(form, making, feel))
    gauge = ShopGauge(form, setting, nominal, tolerance, making, stack)
    if gauge.zone < SMALLEST_ZONE:
        raise InputFault(
            "the tolerance is too tight for a gauge made in a shop",
            where=setting,
            wanted=f"more than {stack.worst / (1 - SMALLEST_ZONE) * 1e3:.3f} mm",
            got=f"{tolerance * 1e3:g} mm",
            remedy="Measure it with a depth micrometer or a dial indicator instead",
        )
    return gauge
