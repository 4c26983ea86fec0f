"""A car that shares no physics with the tool: own discharge and two-phase laws, bisection, Euler steps of the loop.

Every coefficient is invented and perturbed from car to car. Only the sheet's figures and the words for what is wrong
(fields of the car's state) are the tool's. Each unit was flowed when made: a healthy one without build scatter
stands at 30 deg in every regime, whatever its coefficients; a wrong setting moves it by its own, perturbed, laws.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from dwellwright.carburetor.passages import passages_of
from dwellwright.carburetor.state import Field
from dwellwright.catalogue.sheet_file import archetype

SHEET = archetype("two-barrel-v6")
UNIT = passages_of(SHEET)
SPEEDS, INSIDE = np.array([700.0, 3000.0, 2300.0]) / 60.0, np.array([33.8e3, 40.4e3, 58.0e3])
DENSITY, VISCOSITY, GRAVITY = 742.0, 4.6e-7, 9.81
LIMITS = (0.1, 0.9)
PERIODS = (1.75, 1.08, 1.10)
COEFFICIENTS = {"jet": 0.05, "friction": 0.15, "slip": 0.15, "coupling": 0.3, "boost": 0.06, "purge": 0.4,
                "bias": 0.3, "lag": 0.15, "bleed": 0.08, "ends": 0.3}  # fmt: skip
"""Spread from car to car of each coefficient, as a share of it, invented."""


@dataclass(frozen=True)
class Car:
    """What is off in its state (packed, one car) and coefficients over their middle values."""

    state: np.ndarray
    share: dict[str, float]


def perturbed(state: np.ndarray, random: np.random.Generator) -> Car:
    """A car of that state with coefficients of its own."""
    return Car(state, {k: float(np.exp(v * random.normal())) for k, v in COEFFICIENTS.items()})


def air_flow(regime: int) -> float:
    """Air drawn in one regime, at the manifold pressure of the sheet. [kg/s]"""
    density = INSIDE[regime] / (287.0 * 315.0)
    return float(UNIT.swept_volume_per_turn * SPEEDS[regime] * 0.8 * density)


def _idle_fuel(car: Car, regime: int, bleeding: bool, well: float, ambient: float) -> float:
    """Fuel of the idle circuit by bisection on the pressure drop below the bleeds. [kg/s]"""
    s = car.state
    needle = max(4.0 + 0.5 * (s[Field.NEEDLE_LEFT] + s[Field.NEEDLE_RIGHT]), 0.05)
    out = UNIT.port_effective_area * needle * UNIT.needle_per_turn
    out += 0.6 * UNIT.slot_effective_width * (4e-4 if regime == 0 else 1.4e-3)
    channel = 0.9 * UNIT.channel_effective_area * max(1.0 - s[Field.IDLE_CHANNEL_BLOCKED], 0.01)
    out = (out**-2 + channel**-2) ** -0.5
    turns = max(2.0 + s[Field.IDLE_BLEED], 0.0)
    bleed = UNIT.fixed_bleed_effective_area * (1.0 - s[Field.IDLE_BLEED_BLOCKED])
    bleed += UNIT.screw_bleed_effective_area * UNIT.screw_bleed_per_turn * turns
    bleed += UNIT.pulsed_bleed_effective_area * bleeding
    bleed *= car.share["bleed"]
    low, high = 0.0, ambient - INSIDE[regime]
    for _ in range(40):
        drop = 0.5 * (low + high)
        fuel = _tube(car, drop - well)
        gas = bleed * np.sqrt(2.0 * 1.16 * drop)
        mass = fuel + gas
        quality = gas / max(mass, 1e-12)
        mixed = 1.0 / (quality / 0.9 * car.share["slip"] + (1.0 - quality) / DENSITY)
        carried = out * np.sqrt(2.0 * mixed * max(ambient - INSIDE[regime] - drop, 0.0) * 0.55)
        low, high = (drop, high) if carried > mass else (low, drop)
    return _tube(car, 0.5 * (low + high) - well)


def _tube(car: Car, drop: float) -> float:
    """Fuel through the idle tube: laminar friction and one entrance loss, the quadratic solved. [kg/s]"""
    if drop <= 0.0:
        return 0.0
    a = 0.5 * DENSITY * 1.5
    b = 32.0 * VISCOSITY * DENSITY * UNIT.tube_length / UNIT.tube_diameter**2 * car.share["friction"]
    speed = (-b + np.sqrt(b * b + 4.0 * a * drop)) / (2.0 * a)
    return float(DENSITY * UNIT.tube_area * speed * 2.0)


def _main_fuel(car: Car, regime: int, rod: float, air: float, level: float, ambient: float) -> float:
    """Fuel of the main circuit; a bleed thins it, its jet loses at small Reynolds number. [kg/s]"""
    s = car.state
    depression = 0.5 * (air / (2.0 * UNIT.venturi_effective_area)) ** 2 / (101325.0 / (287.0 * 300.0))
    depression *= 2.4 * car.share["boost"] * 101325.0 / ambient
    drop = depression + DENSITY * GRAVITY * (level - UNIT.nozzle_lift)
    if drop <= 0.0:
        return 0.0
    area = np.pi / 4 * (UNIT.jet_diameter**2 - rod**2) * (1.0 + s[Field.MAIN_JET_ERROR])
    vacuum = ambient - INSIDE[regime]
    area += UNIT.power_effective_area * (vacuum < 20e3 + s[Field.POWER_VACUUM])
    for_bleed = 0.62 + 0.38 * s[Field.MAIN_BLEED_BLOCKED]
    speed = np.sqrt(2.0 * drop / DENSITY)
    reynolds = speed * (UNIT.jet_diameter - rod) / VISCOSITY
    law = 0.82 * reynolds / (reynolds + 90.0) * car.share["jet"]
    return float(2.0 * law * area * DENSITY * speed * np.sqrt(for_bleed))


def _fuel(car: Car, regime: int, energized: bool) -> tuple[float, float]:
    """Fuel with the solenoid at one end, and the air. [kg/s]"""
    s = car.state
    ambient = 101325.0 + s[Field.AMBIENT_PRESSURE]
    air = air_flow(regime)
    low, high = s[Field.LEAN_STOP], UNIT.rod_travel + s[Field.RICH_STOP]
    above = (
        0.5 * car.share["ends"] / (0.5 * car.share["ends"] + 0.5)
    )  # of the travel lost, at the rich end: about half
    low += (1.0 - above) * s[Field.ROD_TRAVEL_LOST]
    high = max(high - above * s[Field.ROD_TRAVEL_LOST], low)
    held = low if energized and s[Field.SOLENOID_DEAD] < 0.5 else high
    stuck = s[Field.RODS_STUCK]
    held += abs(stuck) * ((high if stuck > 0 else low) - held)
    rod = UNIT.rod_at_lean - (UNIT.rod_at_lean - UNIT.rod_at_rich) * held / UNIT.rod_travel
    rod = float(np.clip(rod, 2e-4, UNIT.jet_diameter))
    level = s[Field.FUEL_LEVEL] + 3e-3 * min(s[Field.SEAT_LEAK], 1.0) + 1.2e-7 * s[Field.FUEL_PRESSURE]
    main = _main_fuel(car, regime, rod, air, level, ambient) if regime else 0.0
    # what the main jet passes lowers the well that the idle tube drinks from
    well = DENSITY * GRAVITY * (UNIT.idle_lift - level) + 40.0 * car.share["coupling"] * main / 1e-3
    bleeding = energized and s[Field.SOLENOID_DEAD] < 0.5
    fuel = main + _idle_fuel(car, regime, bleeding, well, ambient)
    fuel += 0.1 * UNIT.idle_fuel_flow * max(s[Field.SEAT_LEAK] - 1.0, 0.0)
    return fuel, air


def ends(car: Car, regime: int) -> tuple[float, float, float]:
    """Fuel released, fuel energized and fuel wanted in one regime. [kg/s]"""
    s = car.state
    rich, air = _fuel(car, regime, False)
    lean, _ = _fuel(car, regime, True)
    vacuum = 101325.0 + s[Field.AMBIENT_PRESSURE] - INSIDE[regime]
    vapor = 0.2 * s[Field.PURGE] * 1e6 * _demand(0, tuple(car.share.values())) * car.share["purge"]
    vapor *= np.sqrt(max(vacuum, 0.0) / 6e4)
    false = s[Field.EXHAUST_LEAK] * UNIT.idle_exhaust_flow / (air * 1.07)
    false += s[Field.INJECTED_AIR] + s[Field.MISFIRE]
    target = 1.0 + 0.11 * s[Field.SENSOR_BIAS] * car.share["bias"] * (1.0 - s[Field.SENSOR_BIAS])
    wanted = _exact_fuel(car, regime) * (1.0 + 0.9 * false) / target
    return rich + vapor, lean + vapor, wanted


def _exact_fuel(car: Car, regime: int) -> float:
    """Fuel that burns all air the engine draws, leaks included, and no more. [kg/s]"""
    s, air = car.state, air_flow(regime)
    vacuum = 101325.0 + s[Field.AMBIENT_PRESSURE] - INSIDE[regime]
    leak = 0.19 * (s[Field.VACUUM_LEAK] + s[Field.VENTILATION]) * np.sqrt(min(vacuum / 5e4, 1.0)) * 1e3
    return _demand(regime, tuple(car.share.values())) * (air + leak) / air * (1.0 + 0.37 * s[Field.ETHANOL])


def burned_lambda(car: Car, regime: int, at: float) -> float:
    """Lambda of the charge at a duty. [-]"""
    rich, lean, _ = ends(car, regime)
    return _exact_fuel(car, regime) / max(rich + at * (lean - rich), 1e-9)


@cache
def _demand(regime: int, shares: tuple[float, ...]) -> float:
    """Fuel at which a unit of these coefficients, nothing off, stands at half dwell. [kg/s]"""
    car = Car(np.zeros(len(Field)), dict(zip(COEFFICIENTS, shares, strict=True)))
    return 0.5 * (_fuel(car, regime, False)[0] + _fuel(car, regime, True)[0])


def duty(car: Car, regime: int) -> float:
    """Duty at which the loop stands, or its limit. [-]"""
    rich, lean, wanted = ends(car, regime)
    share = (rich - wanted) / (rich - lean) if rich - lean > 1e-9 else float(rich > wanted)
    return float(np.clip(share, *LIMITS))


def period(car: Car, regime: int) -> float:
    """Limit cycle by Euler steps of transport, sensor lag and an integrator, over a healthy one's. [s]"""
    extra = max(car.state[Field.SENSOR_LAG], 0.0)
    return PERIODS[regime] * _stepped(0.25 * (1.0 + extra) * car.share["lag"]) / _stepped(0.25)


@cache
def _stepped(lag: float) -> float:
    """Mean time between rich-going switches. [s]"""
    step, delay = 0.02, 15
    pipe, sensed, command, rich, turned = [0.0] * delay, 0.0, 0.3, False, []
    for n in range(2500):
        pipe.append(-command)
        sensed += step / lag * (pipe.pop(0) - sensed)
        now = sensed > 0.0
        command += step * (0.5 if now else -0.5)
        if now and not rich and n > 500:
            turned.append(n * step)
        rich = now
    return float(np.mean(np.diff(turned)))
