"""A switched solenoid wire of known duty, as a sound input hears it behind a divider."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

RATE, PULSES, SECONDS = 48_000, 10, 30


def wire(duty: float) -> NDArray[np.float64]:
    """Low while energized, a spike that stands and falls at the release, direct current blocked, a little noise.

    Levels are assumed; the duty is exact.
    """
    time = np.arange(RATE * SECONDS) / RATE
    within = time * PULSES % 1.0
    released = (within - duty) / PULSES
    volts = np.where(within < duty, 0.4, 13.9)
    standing = (released >= 0) & (released < 1.5e-3)
    fading = 26.0 * np.exp(-np.clip(released - 1.5e-3, 0.0, None) / 2e-4)
    volts = np.where(standing, 40.0, np.where(released >= 1.5e-3, 13.9 + fading, volts))
    keep = 1.0 - 2 * np.pi * 1.5 / RATE
    heard: NDArray[np.float64] = lfilter([1.0, -1.0], [1.0, -keep], 0.6 * volts / 60.0)
    return heard + np.random.default_rng(7).normal(0.0, 3e-4, time.size)
