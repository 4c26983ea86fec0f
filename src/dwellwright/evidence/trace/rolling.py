"""Small tools on bins: hysteresis, short runs removed, rolling ranges, runs."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d, minimum_filter1d, uniform_filter1d

from dwellwright.compiled import njit
from dwellwright.evidence.trace.trace import Values

Flags = NDArray[np.bool_]


@njit(cache=True)
def _latch(on, off, out):  # type: ignore[no-untyped-def] # numba infers
    state = on[0]
    for i in range(on.size):
        if on[i]:
            state = True
        elif off[i]:
            state = False
        out[i] = state


def hysteresis(values: Values, on: float, off: float) -> Flags:
    """True from where `values` exceed `on` until they fall below `off`."""
    out = np.zeros(values.size, np.bool_)
    if values.size:
        _latch(values > on, values < off, out)
    return out


def latched(on: Flags, off: Flags) -> Flags:
    """True from an `on` until the next `off`."""
    out = np.zeros(on.size, np.bool_)
    if on.size:
        _latch(on, off, out)
    return out


def rolling_range(values: Values, bins: int) -> Values:
    """Largest minus smallest within a centred window."""
    span: Values = maximum_filter1d(values, bins, mode="nearest") - minimum_filter1d(
        values, bins, mode="nearest"
    )
    return span


def rolling_mean(values: Values, bins: int) -> Values:
    """Mean within a centred window."""
    mean: Values = uniform_filter1d(values, bins, mode="nearest")
    return mean


def runs(labels: NDArray[np.int8]) -> list[tuple[int, int, int]]:
    """(label, first, end) of each run of equal labels; end is exclusive."""
    if labels.size == 0:
        return []
    edges = np.flatnonzero(np.diff(labels)) + 1
    firsts = np.concatenate(([0], edges))
    ends = np.concatenate((edges, [labels.size]))
    return [(int(labels[a]), int(a), int(b)) for a, b in zip(firsts, ends, strict=True)]


def without_short(flags: Flags, bins: int) -> Flags:
    """Flags with true runs shorter than `bins` taken out."""
    out = flags.copy()
    for value, first, end in runs(flags.astype(np.int8)):
        if value and end - first < bins:
            out[first:end] = False
    return out


def bridged(flags: Flags, bins: int) -> Flags:
    """Flags with false runs shorter than `bins` between true ones filled."""
    out = flags.copy()
    for value, first, end in runs(flags.astype(np.int8)):
        if not value and end - first < bins and first > 0 and end < flags.size:
            out[first:end] = True
    return out
