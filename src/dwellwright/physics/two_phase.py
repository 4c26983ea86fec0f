"""Air-bled liquid through one passage: homogeneous mixture with one fitted multiplier on the air's volume.

One relation, `(mf + ma) * (mf/rho_f + k ma/rho_a) = 2 (Cd A)² dp`, read in four directions. k = 1 is the
homogeneous model with equal speeds; slip and unfinished mixing move it. Its prior range is assumed.
"""

from __future__ import annotations

from math import copysign, log, sqrt

AIR_VOLUME_FACTOR_RANGE = (0.6, 1.4)
"""Prior range of the fitted multiplier k on the air's volume; assumed. [-]"""


def bled_liquid_flow(
    area: float,
    discharge: float,
    pressure_drop: float,
    air_flow: float,
    liquid_density: float,
    air_density: float,
    air_volume_factor: float = 1.0,
) -> float:
    """Liquid that a passage still carries beside a given air flow. [kg/s]

    Zero where the pressure drop cannot carry even the air. The air does not expand in the passage: for nearly
    all air, at a drop of a tenth of the absolute pressure, the total is 3 % high with the air density taken
    downstream. Larger drops need `mixture_flow_limit`.

    Args:
        area: of the passage. [m²]
        discharge: contraction and friction together. [-]
        pressure_drop: upstream minus downstream. [Pa]
        air_flow: bled into the liquid before the passage. [kg/s]
        liquid_density: [kg/m³]
        air_density: at the downstream pressure. [kg/m³]
        air_volume_factor: fitted multiplier on the air's volume. [-]
    """
    if pressure_drop <= 0.0 or area <= 0.0:
        return 0.0
    drive = 2.0 * (discharge * area) ** 2 * pressure_drop
    air_volume = air_volume_factor * air_flow / air_density
    # mf²/rho_f + mf (air_volume + ma/rho_f) + ma air_volume - drive = 0
    linear = air_volume * liquid_density + air_flow
    constant = (air_flow * air_volume - drive) * liquid_density
    if constant >= 0.0:
        return 0.0
    return -2.0 * constant / (linear + sqrt(linear * linear - 4.0 * constant))


def bled_air_flow(
    area: float,
    discharge: float,
    pressure_drop: float,
    liquid_flow: float,
    liquid_density: float,
    air_density: float,
    air_volume_factor: float = 1.0,
) -> float:
    """Air that a passage carries beside a given liquid flow: the same relation the other way. [kg/s]

    Args:
        area: of the passage. [m²]
        discharge: contraction and friction together. [-]
        pressure_drop: upstream minus downstream. [Pa]
        liquid_flow: [kg/s]
        liquid_density: [kg/m³]
        air_density: at the downstream pressure. [kg/m³]
        air_volume_factor: fitted multiplier on the air's volume. [-]
    """
    if pressure_drop <= 0.0 or area <= 0.0:
        return 0.0
    drive = 2.0 * (discharge * area) ** 2 * pressure_drop
    specific = air_volume_factor / air_density
    linear = liquid_flow * (specific + 1.0 / liquid_density)
    constant = liquid_flow * liquid_flow / liquid_density - drive
    if constant >= 0.0:
        return 0.0
    return -2.0 * constant / (linear + sqrt(linear * linear - 4.0 * specific * constant))


def bled_pressure_drop(
    area: float,
    discharge: float,
    liquid_flow: float,
    air_flow: float,
    liquid_density: float,
    air_density: float,
    air_volume_factor: float = 1.0,
) -> float:
    """Pressure drop that carries both flows through the passage. [Pa]

    Args:
        area: of the passage, above zero. [m²]
        discharge: contraction and friction together, above zero. [-]
        liquid_flow: [kg/s]
        air_flow: [kg/s]
        liquid_density: [kg/m³]
        air_density: at the downstream pressure. [kg/m³]
        air_volume_factor: fitted multiplier on the air's volume. [-]
    """
    volume = liquid_flow / liquid_density + air_volume_factor * air_flow / air_density
    return (liquid_flow + air_flow) * volume / (2.0 * (discharge * area) ** 2)


def mixture_flow(
    area: float,
    discharge: float,
    pressure_drop: float,
    air_share: float,
    liquid_density: float,
    air_density: float,
    air_volume_factor: float = 1.0,
) -> float:
    """Total mass flow of a mixture of known composition; negative pressure drives it back. [kg/s]

    Args:
        area: of the passage. [m²]
        discharge: contraction and friction together. [-]
        pressure_drop: upstream minus downstream. [Pa]
        air_share: air mass over total mass. [-]
        liquid_density: [kg/m³]
        air_density: at the downstream pressure. [kg/m³]
        air_volume_factor: fitted multiplier on the air's volume. [-]
    """
    specific = (1.0 - air_share) / liquid_density + air_volume_factor * air_share / air_density
    return copysign(discharge * area * sqrt(2.0 * abs(pressure_drop) / specific), pressure_drop)


def air_void(
    air_share: float, liquid_density: float, air_density: float, air_volume_factor: float = 1.0
) -> float:
    """Share of the mixture's volume taken by air. [-]

    Args:
        air_share: air mass over total mass. [-]
        liquid_density: [kg/m³]
        air_density: [kg/m³]
        air_volume_factor: fitted multiplier on the air's volume. [-]
    """
    air = air_volume_factor * air_share / air_density
    return air / (air + (1.0 - air_share) / liquid_density)


def mixture_critical_ratio(void: float) -> float:
    """Throat over upstream pressure at which a non-flashing mixture chokes. [-]

    The liquid keeps the bubbles at constant temperature, so the specific volume is linear in 1/p; an all-air
    mixture then chokes at exp(-1/2) = 0.607, not at the isentropic 0.528.

    Args:
        void: share of the volume taken by air before the passage. [-]

    References:
        [1] J. C. Leung, A generalized correlation for one-component homogeneous equilibrium flashing choked
        flow, AIChE J. 32(10), 1986, 1743-1746; the omega method of API RP 520 part I (from memory).
    """
    if void <= 0.0:
        return 0.0
    square, root = void * void, sqrt(void)
    ratio = 0.97 * root * (1.4021 - root * (1.6899 - root * (1.4242 - 0.5352 * root)))
    for _ in range(4):  # Newton from below: the balance is concave there
        drop = 1.0 - ratio
        value = ratio * ratio + (square - 2.0 * void) * drop * drop + 2.0 * square * (log(ratio) + drop)
        slope = 2.0 * ratio - 2.0 * (square - 2.0 * void) * drop + 2.0 * square * drop / ratio
        ratio -= value / slope
    return ratio


def mixture_flow_limit(
    area: float,
    discharge: float,
    upstream_pressure: float,
    downstream_pressure: float,
    void: float,
    mixture_density: float,
) -> float:
    """Total mass flow with the bubbles expanding in the passage, choked where the drop is large. [kg/s]

    Args:
        area: of the passage. [m²]
        discharge: contraction and friction together. [-]
        upstream_pressure: absolute. [Pa]
        downstream_pressure: absolute; below the critical one it no longer matters. [Pa]
        void: share of the volume taken by air before the passage, above zero. [-]
        mixture_density: before the passage. [kg/m³]

    References:
        [1] As `mixture_critical_ratio`, mass flux of the omega method.
    """
    if upstream_pressure <= downstream_pressure:
        return 0.0
    square, root = void * void, sqrt(void)
    ratio = downstream_pressure / upstream_pressure
    lowest = 0.97 * root * (1.4021 - root * (1.6899 - root * (1.4242 - 0.5352 * root)))
    ratio = max(ratio, lowest)
    for step in range(5):  # Newton on the choking balance; not started where the flow is not choked
        drop = 1.0 - ratio
        value = ratio * ratio + (square - 2.0 * void) * drop * drop + 2.0 * square * (log(ratio) + drop)
        if step == 0 and value >= 0.0:
            break
        slope = 2.0 * ratio - 2.0 * (square - 2.0 * void) * drop + 2.0 * square * drop / ratio
        ratio -= value / slope
    work = (1.0 - void) * (1.0 - ratio) - void * log(ratio)
    volume = void * (1.0 / ratio - 1.0) + 1.0
    return discharge * area * sqrt(2.0 * upstream_pressure * mixture_density * work) / volume
