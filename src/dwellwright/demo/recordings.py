"""The demonstration's recordings, out of the carburetor model and the loop simulator."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import soundfile

from dwellwright.carburetor.air import OperatingPoint
from dwellwright.carburetor.passages import passages_of
from dwellwright.carburetor.state import CarState, packed
from dwellwright.carburetor.steady import COLUMN, steady_batch
from dwellwright.catalogue.controllers import catalogue_controllers
from dwellwright.catalogue.sheet_file import archetype
from dwellwright.demo.car import CONTROLLER, SHEET, Floats, Profile
from dwellwright.loop.drive import Drive
from dwellwright.loop.plant import Plant
from dwellwright.loop.simulation import LoopTrace, simulate
from dwellwright.units import dwell_degrees

LOG_RATE = 10.0
CHOKE = 0.25
"""Share of extra fuel from the choke on a cold engine, gone at 60 degC; assumed. [-]"""
STANDING_AIR, STANDING_FUEL = 1e-4, 1e-5
"""Flows of an engine that stands still: the loop wants them above zero. [kg/s]"""
WAVE_RATE = 16_000
SUPPLY, SPIKE = 13.9, 22.0
"""Supply at the solenoid, and how far the wire rises above it at release behind the driver's clamp. Assumed. [V]"""


def simulated(state: CarState, drive_profile: Profile, segments: tuple[float, ...] = ()) -> LoopTrace:
    """The car in that state on that drive, logged at `LOG_RATE`; statistics of the segments that end at those times."""
    sheet = archetype(SHEET)
    points = [
        OperatingPoint(max(speed, 1.0), pressure)
        for speed, pressure in zip(
            drive_profile.engine_speed.tolist(), drive_profile.manifold_pressure.tolist(), strict=True
        )
    ]
    table = steady_batch(passages_of(sheet), packed(state), points)[0]
    turning = drive_profile.engine_speed > 1.0
    cold = np.clip((333.15 - drive_profile.coolant_temperature) / 40.0, 0.0, 1.0)
    choke = 1.0 + CHOKE * cold
    drive = Drive(
        time=drive_profile.time,
        engine_speed=drive_profile.engine_speed,
        air_flow=np.where(turning, table[:, COLUMN.air], STANDING_AIR),
        fuel_rich=np.where(turning, table[:, COLUMN.fuel_rich] * choke, STANDING_FUEL),
        fuel_lean=np.where(turning, table[:, COLUMN.fuel_lean] * choke, STANDING_FUEL),
        manifold_pressure=drive_profile.manifold_pressure,
        coolant_temperature=drive_profile.coolant_temperature,
        sensor_temperature=drive_profile.sensor_temperature,
        throttle_voltage=drive_profile.throttle_voltage,
        battery_voltage=np.where(turning, 13.9, 12.4),
        stoichiometric_ratio=float(table[0, COLUMN.stoichiometric_ratio]),
    )
    return simulate(Plant(), drive, catalogue_controllers()[CONTROLLER], segments=segments, log_rate=LOG_RATE)


def write_log(path: Path, trace: LoopTrace, drive_profile: Profile, seed: int) -> None:
    """The drive as a logger writes it: rounded, noisy, the clock starting a little off the tenth."""
    rng = np.random.default_rng(seed)
    size = trace.time.size

    def at(values: Floats) -> Floats:
        return np.interp(trace.time, drive_profile.time, values)

    columns = (
        (trace.time + 0.03, "time_s", "%.2f"),
        (np.maximum(60 * at(drive_profile.engine_speed) + rng.normal(0, 4, size), 0.0), "rpm", "%.0f"),
        (1e-3 * at(drive_profile.manifold_pressure) + rng.normal(0, 0.15, size), "map_kpa", "%.1f"),
        (at(drive_profile.throttle_voltage) + rng.normal(0, 0.006, size), "tps_v", "%.2f"),
        (at(drive_profile.coolant_temperature) - 273.15 + rng.normal(0, 0.2, size), "coolant_c", "%.0f"),
        (1e3 * trace.sensor_voltage + rng.normal(0, 6, size), "o2_mv", "%.0f"),
        (dwell_degrees(1.0) * trace.duty + rng.normal(0, 0.15, size), "dwell_deg", "%.1f"),
        (3.6 * at(drive_profile.road_speed), "speed_kmh", "%.0f"),
    )
    header = ",".join(name for _, name, _ in columns)
    rows = zip(*(np.char.mod(form, values) for values, _, form in columns), strict=True)
    path.write_text("\n".join([header, *map(",".join, rows)]) + "\n", encoding="utf-8")


def write_wave(path: Path, duty: Floats, seed: int) -> None:
    """The solenoid's wire as a recorder's line input hears it: low while energized, a spike at release, AC-coupled.

    Args:
        path: FLAC file to write.
        duty: of each pulse in turn, at ten pulses a second. [-]
        seed: of the noise.
    """
    from scipy.signal import lfilter

    rng = np.random.default_rng(seed)
    length = int(WAVE_RATE * duty.size / 10)
    time = np.arange(length) / WAVE_RATE
    pulse = np.minimum((time * 10).astype(int), duty.size - 1)
    since = time - pulse / 10
    energized = duty[pulse] / 10
    volts = np.where(since < energized, 0.35, SUPPLY)
    released = since - energized
    volts += np.where(
        (released >= 0) & (released < 0.03), SPIKE * np.exp(-np.maximum(released, 0) / 1.2e-3), 0.0
    )
    coupling = 1.0 - 2 * np.pi * 1.5 / WAVE_RATE
    heard = lfilter([1.0, -1.0], [1.0, -coupling], volts / 60.0)
    heard += rng.normal(0.0, 1.5e-4, length)
    soundfile.write(path, heard.astype(np.float32), WAVE_RATE, subtype="PCM_16", format="FLAC")


def idle_pulses(trace: LoopTrace, begin: float, seconds: float) -> Floats:
    """Duty of each pulse of a stretch of the drive; the log has one row per pulse."""
    inside = (trace.time >= begin) & (trace.time < begin + seconds)
    return np.asarray(trace.duty[inside])
