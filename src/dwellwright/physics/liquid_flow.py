"""Flow of a liquid through jets, restrictions and needle annuli.

The laws without `Raises` call no other law and check nothing, so that they compile as they stand.
"""

from __future__ import annotations

from math import copysign, log10, pi, sqrt

REYNOLDS_RANGE = (10.0, 20000.0)
"""Reynolds numbers that the discharge law was fitted to, Lichtarowicz et al. (1965). [-]"""
LENGTH_TO_BORE_RANGE = (2.0, 10.0)
"""Passage length over bore that the discharge law was fitted to, Lichtarowicz et al. (1965). [-]"""
DISCHARGE_SPREAD = 0.015
"""One-sigma relative spread of the law about the data it was fitted to; assumed. [-]"""
START_DIP = 1.0 / (1.0 + 7.5 * log10(0.00015 * 10.0) ** 2)
END_DIP = 1.0 / (1.0 + 7.5 * log10(0.00015 * 20000.0) ** 2)
"""The bell-shaped term of the law at the ends of its range. [-]"""


def bore_area(bore: float) -> float:
    """Area of a round hole. [m²]"""
    return 0.25 * pi * bore * bore


def annulus_area(bore: float, rod: float) -> float:
    """Area between a round hole and a centered rod, zero once the rod fills it. [m²]

    Args:
        bore: of the hole. [m]
        rod: diameter of the rod. [m]
    """
    if rod >= bore:
        return 0.0
    return 0.25 * pi * (bore - rod) * (bore + rod)


def reynolds_number(mass_flow: float, area: float, hydraulic_diameter: float, viscosity: float) -> float:
    """Reynolds number of a flow in a passage. [-]

    Args:
        mass_flow: either way. [kg/s]
        area: of the passage. [m²]
        hydraulic_diameter: the bore, or bore minus rod for an annulus. [m]
        viscosity: dynamic. [Pa s]
    """
    if area <= 0.0:
        return 0.0
    return abs(mass_flow) * hydraulic_diameter / (area * viscosity)


def discharge_coefficient(reynolds: float, length_to_bore: float) -> float:
    """Discharge coefficient of a long sharp-edged orifice, non-cavitating. [-]

    Fitted to round holes; for an annulus use the hydraulic diameter, which is an assumption. Above the
    range it is held at its end value. Below, it falls with the square root of Re, so that flow at a vanishing
    pressure is laminar (linear) and never infinitely steep; that tail is assumed.

    Args:
        reynolds: by the bore or hydraulic diameter. [-]
        length_to_bore: passage length over the same diameter. [-]

    References:
        [1] A. Lichtarowicz, R. K. Duggins, E. Markland, Discharge coefficients for incompressible
        non-cavitating flow through long orifices, J. Mech. Eng. Sci. 7(2), 1965, 210-219 (from memory).

    >>> round(discharge_coefficient(3000.0, 2.0), 3)
    0.79
    """
    held = min(max(reynolds, 10.0), 20000.0)
    ultimate = 0.827 - 0.0085 * length_to_bore
    spread = log10(0.00015 * held)
    inverse = 1.0 / ultimate + 20.0 / held * (1.0 + 2.25 * length_to_bore)
    inverse -= 0.005 * length_to_bore / (1.0 + 7.5 * spread * spread)
    coefficient = 1.0 / inverse
    if reynolds < 10.0:
        coefficient *= sqrt(max(reynolds, 0.0) / 10.0)
    return coefficient


def liquid_flow(area: float, discharge: float, pressure_drop: float, density: float) -> float:
    """Mass flow of a liquid through a passage of known coefficient; negative pressure drives it back. [kg/s]

    Args:
        area: of the passage. [m²]
        discharge: contraction and friction together. [-]
        pressure_drop: upstream minus downstream. [Pa]
        density: of the liquid. [kg/m³]
    """
    return copysign(discharge * area * sqrt(2.0 * density * abs(pressure_drop)), pressure_drop)


def metered_flow(
    area: float,
    hydraulic_diameter: float,
    length_to_bore: float,
    pressure_drop: float,
    density: float,
    viscosity: float,
) -> float:
    """Mass flow of a liquid through a jet whose coefficient follows its own Reynolds number. [kg/s]

    Solves `discharge_coefficient` and `liquid_flow` together: from the ideal Reynolds number two Newton steps
    give the actual one, within 1e-9.

    Args:
        area: of the jet or annulus. [m²]
        hydraulic_diameter: the bore, or bore minus rod. [m]
        length_to_bore: passage length over hydraulic diameter. [-]
        pressure_drop: upstream minus downstream; negative drives the flow back. [Pa]
        density: of the liquid. [kg/m³]
        viscosity: dynamic. [Pa s]

    >>> round(3.6e6 * metered_flow(1.13e-6, 1.2e-3, 2.0, 500.0, 745.0, 5e-4), 1)  # g/h
    2698.7
    """
    if area <= 0.0 or pressure_drop == 0.0:
        return 0.0
    ideal = hydraulic_diameter * sqrt(2.0 * density * abs(pressure_drop)) / viscosity
    friction = 20.0 * (1.0 + 2.25 * length_to_bore)
    constant = 1.0 / (0.827 - 0.0085 * length_to_bore)
    dip = 0.005 * length_to_bore
    start = 10.0 * (constant - dip * START_DIP) + friction
    if ideal < start:  # laminar tail: Re = (ideal * Cd(10))**2 / 10
        reynolds = 10.0 * (ideal / start) ** 2
    else:
        reynolds = max((ideal - friction) / constant, 10.0)
        for _ in range(2):  # Newton on slope(Re) * Re = ideal - friction
            spread = log10(0.00015 * min(reynolds, 20000.0))
            bell = 1.0 / (1.0 + 7.5 * spread * spread)
            slope = constant - dip * bell
            steeper = slope + dip * bell * bell * 15.0 * spread / 2.302585092994046
            reynolds = max(reynolds - (slope * reynolds + friction - ideal) / steeper, 10.0)
        if reynolds > 20000.0:  # the coefficient stands still
            reynolds = ideal / (constant - dip * END_DIP + friction / 20000.0)
    return copysign(reynolds * area * viscosity / hydraulic_diameter, pressure_drop)


def orifice_flow(diameter: float, pressure_drop: float, density: float, discharge: float) -> float:
    """Mass flow of a liquid through a sharp-edged orifice. [kg/s]

    Bernoulli with a still approach, so 1 % low once the bore reaches 0.37 of
    its passage. The form is that of [1]; the coefficients of [1] begin at
    12.5 mm bores, hence `discharge` is the caller's measured number.

    Args:
        diameter: bore of the orifice. [m]
        pressure_drop: upstream minus downstream; negative drives the flow back. [Pa]
        density: of the liquid. [kg/m³]
        discharge: contraction and friction together. [-]

    Raises:
        ValueError: density is not positive.

    References:
        [1] ISO 5167-2:2003, orifice plates.

    >>> round(3600 * orifice_flow(1.2e-3, 500.0, 745.0, discharge=0.7), 2)  # kg/h
    2.46
    """
    if not density > 0:
        raise ValueError(f"density must be positive, got {density} kg/m³")
    return liquid_flow(bore_area(diameter), discharge, pressure_drop, density)


def hydraulic_diameter(bore: float, rod: float = 0.0) -> float:
    """Four times area over wetted perimeter of a hole with a rod in it. [m]

    Raises:
        ValueError: the rod is negative or does not fit the bore.
    """
    if not 0.0 <= rod < bore:
        raise ValueError(f"the rod must be smaller than the bore of {bore} m, got {rod} m")
    return bore - rod
