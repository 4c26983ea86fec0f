"""What a recording of the switched solenoid wire turns into: plain frozen values, no files and no kernels."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from dwellwright.errors import InputFault
from dwellwright.units import SIX_CYLINDER_SCALE, dwell_degrees

Floats = NDArray[np.float64]


class Polarity(StrEnum):
    """Which way up the wire was recorded: normal is low while energized, with the release spike upward."""

    AUTO = "auto"
    NORMAL = "normal"
    REVERSED = "reversed"
    UNDECIDED = "undecided"


class Pattern(StrEnum):
    """Whether the computer is working the duty or holding it."""

    FIXED = "fixed"
    VARYING = "varying"


@dataclass(frozen=True)
class Estimate:
    """A value with its doubt.

    Args:
        value: best value, SI.
        low: lower end of the 95 % interval, same unit.
        high: upper end of the 95 % interval, same unit.
        uncertainty: standard uncertainty (one sigma), same unit.
    """

    value: float
    low: float
    high: float
    uncertainty: float


@dataclass(frozen=True)
class PolarityFinding:
    """What was decided about polarity and why.

    Args:
        polarity: NORMAL, REVERSED or UNDECIDED.
        confidence: chance that the decision is right, 0.5 (a coin) to 1. [-]
        evidence: plain sentences that carried the decision.
        told: True where the caller said so instead of the signal.
    """

    polarity: Polarity
    confidence: float
    evidence: tuple[str, ...]
    told: bool = False


@dataclass(frozen=True)
class Pulses:
    """One entry per whole pulse; every array has the same shape (n,).

    Args:
        start: beginning of the period, from the beginning of the recording. [s]
        period: length of the period. [s]
        energized: energized time within the period. [s]
    """

    start: Floats
    period: Floats
    energized: Floats

    @property
    def duty(self) -> Floats:
        """Energized fraction of each period, shape (n,). [-]"""
        return self.energized / self.period

    def __len__(self) -> int:
        return len(self.start)


@dataclass(frozen=True)
class Plot:
    """One line to draw: `x` in seconds, `y` in the unit of `label`."""

    label: str
    x: Floats
    y: Floats


@dataclass(frozen=True)
class Waveform:
    """A recording of the switched wire, read.

    Args:
        duty: energized fraction, mean over the recording; None while the polarity is undecided. [-]
        duty_if_normal: the same if low means energized. [-]
        duty_if_reversed: the same if high means energized. [-]
        pulse_rate: pulses per second. [Hz]
        jitter: standard deviation of the steadier edge against an even beat. [s]
        pulses: whole pulses, in time order (empty while the polarity is undecided).
        pulse_count: whole pulses found. [-]
        missing_pulses: pulses that the beat promised and the recording lacks.
        double_pulses: pulses too many within one beat.
        polarity_finding: what was decided, how sure, and why.
        pattern: FIXED or VARYING.
        duty_range: 5th and 95th percentile of the duty of single pulses. [-]
        sliding_time: middles of the sliding window, shape (k,). [s]
        sliding_duty: mean duty within the window, shape (k,). [-]
        pull_in: time from energizing to the kink of the moving armature, None where invisible. [s]
        drop_out: time from release to the kink of the returning armature, None where invisible. [s]
        sample_rate: of the recording. [Hz]
        duration: of the recording. [s]
        clipped_fraction: share of samples at the recorder's limit. [-]
        channel: which channel was read, from 0.
        shape: mean of one pulse, drawn from the moment of energizing, or of its falling edge while the polarity is
            undecided. [V, or share of the recorder's full scale, as its label says]
        warnings: plain sentences.
        source: the file.
    """

    duty: Estimate | None
    duty_if_normal: Estimate
    duty_if_reversed: Estimate
    pulse_rate: Estimate
    jitter: float
    pulses: Pulses
    pulse_count: int
    missing_pulses: int
    double_pulses: int
    polarity_finding: PolarityFinding
    pattern: Pattern
    duty_range: tuple[float, float]
    sliding_time: Floats
    sliding_duty: Floats
    pull_in: float | None
    drop_out: float | None
    sample_rate: float
    duration: float
    clipped_fraction: float
    channel: int
    shape: Plot
    source: str
    warnings: tuple[str, ...] = field(default_factory=tuple)

    @property
    def polarity(self) -> Polarity:
        """NORMAL, REVERSED or UNDECIDED."""
        return self.polarity_finding.polarity

    def known_duty(self) -> Estimate:
        """The duty, where the polarity is decided. [-]

        Raises:
            InputFault: the polarity is undecided; the message names both candidates.
        """
        if self.duty is None:
            raise InputFault(
                "the recording does not show which level is energized",
                where=self.source,
                wanted="a release spike, or the polarity",
                got=f"duty {self.duty_if_normal.value:.3f} if low is energized, "
                f"{self.duty_if_reversed.value:.3f} if high is",
                remedy="Say which: normal if the wire was recorded the right way up, else reversed.",
            )
        return self.duty

    def dwell(self, cylinders: int = SIX_CYLINDER_SCALE) -> Estimate:
        """Dwell on the scale of that many cylinders. [deg]

        Raises:
            InputFault: the polarity is undecided.
        """
        duty = self.known_duty()
        parts = (duty.value, duty.low, duty.high, duty.uncertainty)
        return Estimate(*(dwell_degrees(part, cylinders) for part in parts))

    def plot_data(self) -> tuple[Plot, ...]:
        """Lines worth drawing: duty of each pulse, sliding duty, and the mean shape of one pulse."""
        middle = self.pulses.start + self.pulses.period / 2
        return (
            Plot("duty of each pulse", middle, self.pulses.duty),
            Plot("sliding duty", self.sliding_time, self.sliding_duty),
            self.shape,
        )
