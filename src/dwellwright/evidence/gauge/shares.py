"""What makes a reading doubtful: shares of its variance, in the four groups that one can do something about."""

from __future__ import annotations

from enum import StrEnum

from dwellwright.evidence.gauge.budget import Budget


class DoubtKind(StrEnum):
    """Where a doubt comes from."""

    REPEATS = "repeats"
    STEP = "step that can be read"
    GAUGE = "the gauge's own error"
    WAY = "the way of measuring"


_OF = {
    "repeats": DoubtKind.REPEATS, "resolution": DoubtKind.STEP, "calibration": DoubtKind.GAUGE,
    "relative error": DoubtKind.GAUGE, "relative error of both readings": DoubtKind.GAUGE,
    "reference": DoubtKind.GAUGE, "calibration line": DoubtKind.GAUGE, "known sizes": DoubtKind.GAUGE,
    "error left as it is": DoubtKind.GAUGE,
}  # fmt: skip


def doubt_kind(name: str) -> DoubtKind:
    """The group of a component of a budget by its name.

    >>> doubt_kind("resolution").value, doubt_kind("beam not square").value
    ('step that can be read', 'the way of measuring')
    """
    if name.startswith("size of "):
        return DoubtKind.GAUGE
    return _OF.get(name, DoubtKind.WAY)


def doubt_shares(budget: Budget) -> dict[str, float]:
    """Share of each group in the variance of a budget; they add up to one. [-]"""
    whole = budget.uncertainty**2
    shares = dict.fromkeys((one.value for one in DoubtKind), 0.0)
    for part in budget.components:
        if whole > 0:
            shares[doubt_kind(part.name).value] += part.contribution**2 / whole
    return shares
