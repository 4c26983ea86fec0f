"""A drive: operating points of the engine over time, straight between them; or one point, held."""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np

from dwellwright.loop.mixture import MixtureMap
from dwellwright.loop.stages import Floats


@dataclass(frozen=True, eq=False)
class Drive:
    """Operating points of one car along a drive; every array has one value per point.

    Args:
        time: rising, from the engine's start or from the start of the recording. [s]
        engine_speed: revolutions per second. [1/s]
        air_flow: [kg/s]
        fuel_rich: fuel at the rich stop. [kg/s]
        fuel_lean: fuel at the lean stop. [kg/s]
        manifold_pressure: absolute. [Pa]
        coolant_temperature: [K]
        sensor_temperature: of the oxygen sensor's element. [K]
        throttle_voltage: of the throttle sensor. [V]
        battery_voltage: at the solenoid. [V]
        stoichiometric_ratio: of the fuel. [-]
    """

    time: Floats
    engine_speed: Floats
    air_flow: Floats
    fuel_rich: Floats
    fuel_lean: Floats
    manifold_pressure: Floats
    coolant_temperature: Floats
    sensor_temperature: Floats
    throttle_voltage: Floats
    battery_voltage: Floats
    stoichiometric_ratio: float

    def __post_init__(self) -> None:
        for field in fields(self):
            if field.name == "stoichiometric_ratio":
                continue
            values = np.atleast_1d(np.asarray(getattr(self, field.name), dtype=np.float64))
            if values.shape != np.atleast_1d(self.time).shape:
                raise ValueError(f"{field.name} must have one value per time, got shape {values.shape}")
            if not np.isfinite(values).all():
                raise ValueError(f"{field.name} must be finite")
            object.__setattr__(self, field.name, values)
        if (np.diff(self.time) <= 0).any():
            raise ValueError("time must rise from point to point")
        for name in ("air_flow", "fuel_rich", "fuel_lean", "manifold_pressure", "sensor_temperature"):
            if (getattr(self, name) <= 0).any():
                raise ValueError(f"{name} must be positive at every point")
        if (self.engine_speed < 0).any():
            raise ValueError("engine_speed must not be negative")
        if not self.stoichiometric_ratio > 0:
            raise ValueError(f"stoichiometric ratio must be positive, got {self.stoichiometric_ratio}")

    @property
    def duration(self) -> float:
        """From the first point to the last. [s]"""
        return float(self.time[-1] - self.time[0])

    def map_at(self, point: int) -> MixtureMap:
        """The mixture map of one of the points."""
        return MixtureMap(
            float(self.air_flow[point]),
            float(self.fuel_rich[point]),
            float(self.fuel_lean[point]),
            self.stoichiometric_ratio,
        )


def steady_drive(
    mixture: MixtureMap,
    duration: float,
    *,
    engine_speed: float,
    manifold_pressure: float = 40e3,
    coolant_temperature: float = 363.15,
    sensor_temperature: float = 800.0,
    throttle_voltage: float = 1.0,
    battery_voltage: float = 14.0,
) -> Drive:
    """One operating point held for a while. Arguments as in `Drive`.

    Raises:
        ValueError: duration not positive, or a value refused by `Drive`.
    """
    if not duration > 0:
        raise ValueError(f"duration must be positive, got {duration} s")

    def held(value: float) -> Floats:
        return np.full(2, float(value))

    return Drive(
        time=np.array([0.0, duration]),
        engine_speed=held(engine_speed),
        air_flow=held(mixture.air_flow),
        fuel_rich=held(mixture.fuel_rich),
        fuel_lean=held(mixture.fuel_lean),
        manifold_pressure=held(manifold_pressure),
        coolant_temperature=held(coolant_temperature),
        sensor_temperature=held(sensor_temperature),
        throttle_voltage=held(throttle_voltage),
        battery_voltage=held(battery_voltage),
        stoichiometric_ratio=mixture.stoichiometric_ratio,
    )
