"""The jet with its rod: pressure drop and its slope, the coefficient following Reynolds, without a branch.

The law is `physics.liquid_flow.discharge_coefficient`; here it is written so that many barrels fit side by side in
one register. The only change is its logarithm, which stands as a series on the law's own range.
"""

from __future__ import annotations

from math import sqrt

from dwellwright.compiled import register_jitable

CENTER = 14.907119849998601
"""1 / sqrt(0.0015 * 3): puts the law's range of 0.00015 Re evenly about 1. [-]"""
CENTER_LOG = 1.1733937431123282
"""log10(CENTER)."""
LARGEST_LOG_ERROR = 5e-9
"""Largest error of `range_log10` on the law's range, where the coefficient then errs by less than 2e-10; tested. [-]"""
LEAST_FLOW = 1e-9
"""Flow below which a circuit counts as standing still. [kg/s]"""


@register_jitable(forceinline=True)
def range_log10(value: float) -> float:
    """log10 of a value from 0.0015 to 3, the discharge law's own range; elsewhere it is wrong. [-]

    Two square roots bring the range to 0.39-2.59, where the odd series of the inverse hyperbolic tangent, its
    coefficients fitted to the range, is within `LARGEST_LOG_ERROR`.

    >>> round(range_log10(0.15), 7)
    -0.8239087
    """
    root = sqrt(sqrt(CENTER * value))
    odd = (root - 1.0) / (root + 1.0)
    z = odd * odd
    series = 0.694439480555796 + z * (0.5040919253816386 + z * (0.32118842428423033 + z * 0.5588857025376461))
    return odd * (3.4743558015544163 + z * (1.1581283431542324 + z * series)) - CENTER_LOG


@register_jitable(forceinline=True)
def jet_coefficient(reynolds: float, slenderness: float) -> tuple[float, float]:
    """Discharge coefficient [-] and its logarithmic slope with Reynolds, d ln Cd / d ln Re [-].

    Args:
        reynolds: by the gap between jet and rod. [-]
        slenderness: jet length over gap. [-]
    """
    held = min(max(reynolds, 10.0), 20000.0)
    spread = range_log10(0.00015 * held)
    ultimate = 0.827 - 0.0085 * slenderness
    friction = 20.0 * (1.0 + 2.25 * slenderness)
    bell = 1.0 + 7.5 * spread * spread
    # 1/Cd = 1/ultimate + friction/held - 0.005 slenderness/bell over one denominator, which its slope shares,
    # so that one division is enough
    part, square = ultimate * held * bell, held * bell * bell
    under = (held + friction * ultimate) * bell - 0.005 * slenderness * ultimate * held
    inverse = 1.0 / (under * square)
    coefficient = part * square * inverse
    dip = 0.005 * slenderness * 15.0 * 0.4342944819032518 * spread
    slope = coefficient * (friction * bell * bell - dip * held) * under * inverse
    slope = slope if held == reynolds else 0.0
    slope = 0.5 if reynolds < 10.0 else slope
    return coefficient * sqrt(min(max(reynolds, 0.0) * 0.1, 1.0)), slope


@register_jitable(forceinline=True)
def jet_drop(fuel: float, area: float, reynolds_per_flow: float, slenderness: float, power_area: float,
             volume: float) -> tuple[float, float]:  # fmt: skip
    """Pressure drop [Pa] over jet and power jet that pass this fuel, and its slope with the fuel [Pa s/kg].

    Args:
        fuel: through both. [kg/s]
        area: between jet and rod. [m²]
        reynolds_per_flow: gap over area and viscosity. [s/kg]
        slenderness: jet length over gap. [-]
        power_area: effective area of the power jet as far as open. [m²]
        volume: of the fuel. [m³/kg]
    """
    coefficient, follows = jet_coefficient(fuel * reynolds_per_flow, slenderness)
    through_jet = coefficient * area
    inverse = 1.0 / (through_jet + power_area)
    per_flow = 0.5 * volume * fuel * inverse * inverse
    return per_flow * fuel, 2.0 * per_flow * (1.0 - through_jet * inverse * follows)
