"""What a held-out car arrives with: a bare recording, a whole morning's measuring on the car, or a bench sheet too.

Noise is a fifth to a quarter larger than the doubt that is stated with each reading.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from held_out_gas import exhaust
from held_out_model import (
    INSIDE,
    LIMITS,
    SHEET,
    SPEEDS,
    UNIT,
    Car,
    air_flow,
    burned_lambda,
    duty,
    ends,
    period,
)

from dwellwright.carburetor.passages import passages_of
from dwellwright.carburetor.state import Field
from dwellwright.diagnosis.readings import REGIMES
from dwellwright.diagnosis.settings_model import DIRECT
from dwellwright.evidence.observation import Measured, Observation, Regime

BENCH = {Measured.LEAN_STOP: 3e-5, Measured.RICH_STOP: 3e-5, Measured.FLOAT_LEVEL: 2.5e-4,
         Measured.IDLE_NEEDLE: 0.06, Measured.IDLE_BLEED: 0.06, Measured.FUEL_PRESSURE: 1.0e3}  # fmt: skip
"""What a bench sheet usually holds, with its doubt; each line is missing in three of ten."""
WRITTEN = 0.7
SPEED_LOST = (0.55, 2.0)
"""Share of speed lost over share of torque lost, and torque's curvature over lambda; a third apart, invented."""


@dataclass(frozen=True)
class Arrived:
    """One car: its causes, state, own physics, and how large its largest fault is within the range (0 to 1)."""

    members: tuple[int, ...]
    state: np.ndarray
    car: Car
    size: float


def thin(one: Arrived, random: np.random.Generator) -> list[Observation]:
    """Dwell, limit cycle, share of closed loop and coolant reading of a recording."""
    found, cold, coolant = [], one.state[Field.SENSOR_COLD], one.state[Field.COOLANT_SENSOR]
    read = 360.0 + coolant + 3.0 * random.normal()
    for k, regime in enumerate(REGIMES):
        closed = cold < random.normal(200.0 if k == 0 else 320.0, 50.0) and read > random.normal(333.0, 5.0)
        seen = duty(one.car, k) + 0.012 * random.normal() if closed else 0.5
        found += [Observation(Measured.DUTY, regime, seen, 0.01, "read"),
                  Observation(Measured.CLOSED_LOOP_SHARE, regime, 0.97 if closed else 0.03, 0.02, "read")]  # fmt: skip
        if closed:
            cycle = period(one.car, k) * np.exp(0.08 * random.normal())
            found.append(Observation(Measured.LIMIT_CYCLE_PERIOD, regime, cycle, 0.05 * cycle, "read"))
    found.append(Observation(Measured.COOLANT_TEMPERATURE, Regime.IDLE, read, 1.0, "read"))
    return found


def on_car(one: Arrived, random: np.random.Generator) -> list[Observation]:
    """The same with sensor swing, throttle voltage, vacuum, five gases at idle and fast, and two forced answers."""
    seen = thin(one, random)
    closed = {o.regime: o.value > 0.5 for o in seen if o.measured is Measured.CLOSED_LOOP_SHARE}
    commands = [duty(one.car, k) if closed[regime] else 0.5 for k, regime in enumerate(REGIMES)]
    burned = [burned_lambda(one.car, k, at) for k, at in enumerate(commands)]
    seen += _sensor(one, burned[0], commands[0], closed[Regime.IDLE], random)
    seen += _engine(one, random)
    for k, regime in enumerate(REGIMES[:2]):
        seen += _gas(one, k, regime, burned[k], random)
    return seen + _answers(one, burned[1], commands[1], random)


def on_bench(one: Arrived, random: np.random.Generator) -> list[Observation]:
    """The same with a bench sheet, lines of it missing."""
    seen = on_car(one, random)
    for measured, own in BENCH.items():
        if random.random() < WRITTEN:
            wanted = SHEET.settings[measured.value].wanted.si
            off = float(DIRECT[measured][0](one.state[None], passages_of(SHEET), 0.0)[0])
            value = wanted + off + 1.25 * own * random.normal()
            seen.append(Observation(measured, Regime.BENCH, value, own, "bench sheet", wanted))
    return seen


def _sensor(
    one: Arrived, burned: float, command: float, closed: bool, random: np.random.Generator
) -> list[Observation]:
    bias = one.state[Field.SENSOR_BIAS]
    high, low = 0.84 + bias + 0.035 * random.normal(), 0.10 + bias + 0.03 * random.normal()
    false = _false_air(one, 0)
    sensed = burned * (1.0 + 0.9 * false) / (1.0 + 0.11 * bias)
    swings = closed and LIMITS[0] < command < LIMITS[1]
    share = float(np.clip(0.5 + 0.06 * random.normal(), 0.0, 1.0)) if swings else float(sensed < 1.0)
    return [
        Observation(Measured.SENSOR_HIGH, Regime.IDLE, high, 0.02, "read"),
        Observation(Measured.SENSOR_LOW, Regime.IDLE, low, 0.02, "read"),
        Observation(Measured.SENSOR_RICH_SHARE, Regime.IDLE, share, 0.03, "read"),
    ]


def _engine(one: Arrived, random: np.random.Generator) -> list[Observation]:
    """Throttle voltage, closed and idling, and manifold pressure with a vacuum gauge beside it."""
    wanted = SHEET.settings["throttle_sensor_closed"].wanted.si
    closed = wanted + one.state[Field.THROTTLE_SENSOR]
    inside = float(INSIDE[0])
    vacuum = one.state[Field.AMBIENT_PRESSURE] - inside
    return [
        Observation(
            Measured.THROTTLE_SENSOR_CLOSED,
            Regime.BENCH,
            closed + 0.015 * random.normal(),
            0.012,
            "meter",
            wanted,
        ),
        Observation(
            Measured.THROTTLE_VOLTAGE, Regime.IDLE, closed + 0.03 + 0.03 * random.normal(), 0.01, "read"
        ),
        Observation(Measured.MANIFOLD_PRESSURE, Regime.IDLE, inside + 900.0 * random.normal(), 800.0, "read"),
        Observation(Measured.IDLE_VACUUM, Regime.IDLE, vacuum + 900.0 * random.normal(), 800.0, "gauge"),
    ]


def _false_air(one: Arrived, regime: int) -> float:
    drawn = one.state[Field.EXHAUST_LEAK] * UNIT.idle_exhaust_flow / (air_flow(regime) * 1.07)
    return float(max(drawn, 0.0) + one.state[Field.INJECTED_AIR])


def _gas(
    one: Arrived, regime: int, where: Regime, burned: float, random: np.random.Generator
) -> list[Observation]:
    lam = float(np.clip(burned * np.exp(0.006 * random.normal()), 0.62, 1.5))
    gases = exhaust(lam, _false_air(one, regime), max(one.state[Field.MISFIRE], 0.0), random)
    doubts = [
        max(0.05 * gases[0], 6e-4),
        max(0.02 * gases[1], 1e-3),
        max(0.05 * gases[2], 1e-3),
        max(0.06 * gases[3], 1.2e-5),
    ]
    names = (Measured.CO, Measured.CO2, Measured.O2, Measured.HC)
    return [Observation(name, where, max(value + 1.2 * doubt * random.normal(), 0.0), doubt, "gas table")
            for name, value, doubt in zip(names, gases, doubts, strict=True)]  # fmt: skip


def _answers(one: Arrived, before: float, command: float, random: np.random.Generator) -> list[Observation]:
    """Change of speed at 3000: computer unplugged and the driver's lead grounded; solenoid unplugged in closed loop."""
    rich, lean, _ = ends(one.car, 1)
    share, curve = (value * float(np.exp(0.33 * random.normal())) for value in SPEED_LOST)
    held = before * (rich + command * (lean - rich))
    released, energized = (float(np.clip(held / max(fuel, 1e-9), 0.6, 1.6)) for fuel in (rich, lean))
    found = []
    for name, start, after in (
        (Measured.RESPONSE_DRIVER_LEAD_GROUNDED, released, energized),
        (Measured.RESPONSE_SOLENOID_UNPLUGGED, before, released),
    ):
        lost = curve * ((after - 0.92) ** 2 - (start - 0.92) ** 2)
        change = -float(SPEEDS[1]) * share * lost + 0.5 * random.normal()
        found.append(Observation(name, Regime.FAST_NO_LOAD, change, 0.4, "answer"))
    return found


EVIDENCE: dict[str, Callable[[Arrived, np.random.Generator], list[Observation]]] = {
    "thin": thin, "car": on_car, "bench": on_bench,
}  # fmt: skip
