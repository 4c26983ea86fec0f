"""Measuring without the special gauge: each way's budget, and whether it is good enough for the tolerance."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, sqrt

from dwellwright.catalogue.instruments import Instrument, instrument
from dwellwright.catalogue.makeshift_methods import Conversion, Extra, MakeshiftMethod, MakeshiftSetting
from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.budget import Budget, Component, Kind, rectangular, resolution
from dwellwright.evidence.gauge.judgement import conforming_probability
from dwellwright.evidence.gauge.turns import TURNING_BY_HAND, Thread
from dwellwright.units import Dimension

LARGEST_WRONG = 0.05
"""A way is good enough if fewer settings than this come out wrong (common practice, no source). [-]"""

THICKEST_LEAF = 0.8e-3
"""Thickest leaf of a usual feeler set. [m] Common practice, no source."""

USUAL_REPEATS = 3


@dataclass(frozen=True)
class BenchSetting:
    """A setting on one unit's sheet.

    Args:
        nominal: specification. [SI, or turns]
        tolerance: half width allowed around it. [same]
        thread: of the screw that sets it, if one does.
        lever_ratio: change of the setting for one of the reading, where read on a lever. [-]
        repeats: readings averaged.
        in_turns: the setting itself is counted in turns out.
    """

    nominal: float
    tolerance: float
    thread: Thread | None = None
    lever_ratio: float = 1.0
    repeats: int = USUAL_REPEATS
    in_turns: bool = False

    def __post_init__(self) -> None:
        if not (self.tolerance > 0 and self.lever_ratio > 0 and self.repeats >= 1):
            raise ValueError(f"tolerance, lever ratio and repeats must be positive, got {self}")


@dataclass(frozen=True)
class MethodVerdict:
    """One way for one setting.

    Args:
        method: the way.
        budget: of the setting measured by it. [unit of the setting]
        wrong: probability that a setting made by it is outside its tolerance. [-]
        good_enough: whether that is rare enough.
        words: the verdict in a sentence.
    """

    method: MakeshiftMethod
    budget: Budget
    wrong: float
    good_enough: bool
    words: str


def _thread(setting: BenchSetting, method: MakeshiftMethod) -> Thread:
    if setting.thread is None:
        raise InputFault(
            "this way needs the screw's thread",
            where=method.label,
            wanted="a thread such as 10-32 on the spec sheet",
        )
    return setting.thread


def _sensitivity(method: MakeshiftMethod, setting: BenchSetting) -> float:
    """Change of the setting for one of the instrument's unit."""
    if method.conversion is Conversion.TURNS:
        return _thread(setting, method).pitch
    if method.conversion is Conversion.TRAVEL:
        return 1 / _thread(setting, method).pitch
    if method.conversion is Conversion.LEVER:
        return setting.lever_ratio
    if method.conversion is Conversion.DIVIDER:
        return method.reference / method.whole
    return 1.0


def leaves(size: float) -> int:
    """Leaves that make up a size. [-]"""
    return max(1, ceil(size / THICKEST_LEAF))


def _readings(method: MakeshiftMethod, setting: BenchSetting) -> int:
    """How many readings of the instrument make one of the setting."""
    if method.conversion in (Conversion.DIFFERENCE, Conversion.TRAVEL, Conversion.DIVIDER):
        return 2
    if method.conversion is Conversion.STACK:
        return leaves(setting.nominal)
    return 1


def _extra_sensitivity(extra: Extra, method: MakeshiftMethod, setting: BenchSetting) -> float:
    """Extra doubts in turns act through the thread where the setting is a length; the others are the setting's."""
    if extra.dimension is Dimension.TURNS and method.conversion is Conversion.TURNS:
        return _thread(setting, method).pitch
    return setting.lever_ratio if method.conversion is Conversion.LEVER else 1.0


def _instrument_parts(
    tool: Instrument, readings: int, slope: float, setting: BenchSetting
) -> list[Component]:
    """Repeats and reading steps add up with each reading taken; the limit of error grows with leaves alike."""
    repeat = tool.repeatability * sqrt(readings / setting.repeats)
    return [
        Component("repeats", repeat, slope, tool.repeatability_freedom, Kind.TYPE_A),
        Component("resolution", resolution(tool.resolution) * sqrt(readings), slope),
        Component("calibration", rectangular(tool.limit) * sqrt(readings), slope),
    ]


def method_budget(method: MakeshiftMethod, setting: BenchSetting) -> Budget:
    """Budget of the setting measured one way. [unit of the setting]

    Raises:
        InputFault: the way needs a thread and the setting has none.
    """
    tool, slope = instrument(method.instrument), _sensitivity(method, setting)
    parts = _instrument_parts(tool, _readings(method, setting), slope, setting)
    if method.conversion is Conversion.DIVIDER:
        share = setting.nominal / method.reference
        relative = rectangular(tool.limit_relative) * method.whole * share * sqrt(2)
        parts.append(Component("relative error of both readings", relative, slope))
        parts.append(Component("reference", rectangular(method.reference_half_width), share))
    elif tool.limit_relative:
        parts.append(Component("relative error", rectangular(tool.limit_relative * setting.nominal)))
    for extra in method.extra:
        slope = _extra_sensitivity(extra, method, setting)
        parts.append(Component(extra.name, rectangular(extra.half_width), slope))
    return Budget(setting.nominal, tuple(parts))


def wrong_probability(budget: Budget, setting: BenchSetting) -> float:
    """Probability that a setting brought to its specification by this reading is outside its tolerance. [-]

    The hand that turns the screw leaves its own error beside the reading's.
    """
    hand = 0.0
    if setting.thread is not None:
        hand = TURNING_BY_HAND * (1.0 if setting.in_turns else setting.thread.pitch)
    total = sqrt(budget.uncertainty**2 + hand**2)
    return 1 - conforming_probability(0.0, setting.tolerance, total, budget.freedom)


def chance_words(chance: float) -> str:
    """A probability as people say it.

    >>> chance_words(0.00412), chance_words(0.31)
    ('about 1 in 240', 'about 1 in 3.2')
    """
    if chance < 1e-4:
        return "fewer than 1 in 10 000"
    odds = float(f"{1 / chance:.2g}")
    return f"about 1 in {odds:g}"


def method_verdict(method: MakeshiftMethod, setting: BenchSetting) -> MethodVerdict:
    """Whether one way is good enough for a setting's tolerance.

    Raises:
        InputFault: the way needs a thread and the setting has none.
    """
    budget = method_budget(method, setting)
    wrong = wrong_probability(budget, setting)
    good = wrong <= LARGEST_WRONG
    verdict = "good enough" if good else "not good enough"
    words = f"{method.label}: {verdict} for this tolerance; {chance_words(wrong)} settings would be wrong"
    return MethodVerdict(method, budget, wrong, good, words)


def method_verdicts(ways: MakeshiftSetting, setting: BenchSetting) -> tuple[MethodVerdict, ...]:
    """Every way for a setting, the surest first; ways that need a thread are left out where none is known."""
    needs = (Conversion.TURNS, Conversion.TRAVEL)
    usable = [m for m in ways.methods.values() if setting.thread is not None or m.conversion not in needs]
    return tuple(sorted((method_verdict(m, setting) for m in usable), key=lambda one: one.wrong))
