"""A budget made from the measurement's own formula, each input moved by its standard uncertainty."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from math import inf

from dwellwright.evidence.gauge.budget import Budget, Component, Kind


@dataclass(frozen=True)
class Input:
    """An input quantity: best value, standard uncertainty, degrees of freedom, kind of evaluation."""

    value: float
    uncertainty: float = 0.0
    freedom: float = inf
    kind: Kind = Kind.TYPE_B


def propagated(formula: Callable[..., float], inputs: Mapping[str, Input]) -> Budget:
    """Budget of `formula(**values)`. [unit of the formula]

    Sensitivities are half the difference of the formula at plus and minus one standard uncertainty, which
    is what a strongly curved formula needs; inputs are taken as uncorrelated.

    Args:
        formula: takes the inputs by name.
        inputs: by the formula's argument names.

    References:
        JCGM 100:2008, 5.1.3 note 2.

    >>> budget = propagated(lambda a, b: a * b, {"a": Input(2.0, 0.1), "b": Input(3.0, 0.2)})
    >>> round(budget.value, 6), round(budget.uncertainty, 6)
    (6.0, 0.5)
    """
    values = {name: one.value for name, one in inputs.items()}
    parts = []
    for name, one in inputs.items():
        if one.uncertainty < 0:
            raise ValueError(f"the uncertainty of {name} is negative: {one.uncertainty}")
        if one.uncertainty == 0:
            continue
        above = formula(**(values | {name: one.value + one.uncertainty}))
        below = formula(**(values | {name: one.value - one.uncertainty}))
        slope = (above - below) / (2 * one.uncertainty)
        parts.append(Component(name, one.uncertainty, slope, one.freedom, one.kind))
    return Budget(formula(**values), tuple(parts))
