"""What a shop's instruments would have written down of a simulated drive: a logger's rows, and the solenoid's wire.

For invented cars, tests and studies. Names and numbers are in SI; whoever writes a file converts.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.signal import lfilter

from dwellwright.catalogue.controller_rules import Signal
from dwellwright.loop.simulation import LoopTrace
from dwellwright.loop.stages import Floats


@dataclass(frozen=True)
class Channel:
    """How one quantity is written down.

    Args:
        noise: standard deviation, in the quantity's unit.
        resolution: of the written number, same unit; 0 for none.
        low: what the instrument cannot go below.
        high: what it cannot go above.
    """

    noise: float = 0.0
    resolution: float = 0.0
    low: float = -np.inf
    high: float = np.inf

    def __post_init__(self) -> None:
        if not (self.noise >= 0 and self.resolution >= 0 and self.low < self.high):
            raise ValueError(f"noise and resolution must not be negative and limits must rise, got {self}")

    def written(self, values: Floats, rng: np.random.Generator) -> Floats:
        """The values as this channel writes them."""
        heard = np.clip(values + self.noise * rng.standard_normal(values.shape), self.low, self.high)
        return np.round(heard / self.resolution) * self.resolution if self.resolution else heard


LOGGER: Mapping[str, Channel] = {
    "time": Channel(resolution=0.01),
    "engine_speed": Channel(noise=0.07, resolution=1 / 60, low=0.0),
    "manifold_pressure": Channel(noise=150.0, resolution=100.0, low=0.0),
    "throttle_voltage": Channel(noise=0.006, resolution=5.0 / 255, low=0.0, high=5.0),
    "coolant_temperature": Channel(noise=0.2, resolution=1.0),
    "sensor_voltage": Channel(noise=0.006, resolution=0.00444, low=0.0, high=1.132),
    "duty": Channel(noise=0.0025, resolution=1 / 600, low=0.0, high=1.0),
    "battery_voltage": Channel(noise=0.03, resolution=0.1, low=0.0),
}
"""A logger of the period: eight bits, rounded shop units. Assumed."""


def recorded_rows(
    trace: LoopTrace,
    *,
    seed: int,
    logger: Mapping[str, Channel] = LOGGER,
    extra: Mapping[str, Floats] | None = None,
) -> dict[str, Floats]:
    """A logger's rows of a simulated drive, one array per channel, in SI.

    Args:
        trace: at the log rate wanted.
        seed: of the noise; the same seed writes the same rows.
        logger: channels to write and how; a channel of `extra` that it does not name is written as it is.
        extra: further columns, one value per row of the trace: road speed, for one.

    Raises:
        ValueError: a channel that neither the trace nor `extra` has, or one of the wrong length.
    """
    rng = np.random.default_rng(seed)
    have: dict[str, Floats] = {signal.value: values for signal, values in trace.signals().items()}
    have["time"] = trace.time
    have["manifold_pressure"] = np.interp(trace.time, trace.drive.time, trace.drive.manifold_pressure)
    have |= {name: np.asarray(values, dtype=np.float64) for name, values in (extra or {}).items()}
    wanted = [*logger, *(name for name in extra or {} if name not in logger)]
    rows = {}
    for name in wanted:
        if name not in have or have[name].shape != trace.time.shape:
            raise ValueError(f"channel {name!r} must be in the trace or in extra, one value per row")
        rows[name] = logger.get(name, Channel()).written(have[name], rng)
    return rows


@dataclass(frozen=True)
class Pickup:
    """The solenoid's wire through a divider into a recorder's line input.

    Args:
        supply: on the wire while the driver is off. [V]
        saturation: across the driver while it is on. [V]
        flyback: how far the wire rises above the supply at release. [V]
        flyback_time: time constant of its fall. [s]
        divider: wire voltage over full scale. [V]
        coupling: corner of the input's high-pass. [Hz]
        hum: amplitude of the mains on the wire. [V]
        hum_frequency: [Hz]
        tick: height of the ignition's ticks on the wire. [V]
        noise: standard deviation at the input, over full scale. [-]
        bits: of the recorder; 0 leaves the numbers as they are.
    """

    supply: float = 13.9
    saturation: float = 0.35
    flyback: float = 22.0
    flyback_time: float = 1.2e-3
    divider: float = 60.0
    coupling: float = 1.5
    hum: float = 0.15
    hum_frequency: float = 60.0
    tick: float = 1.5
    noise: float = 1.5e-4
    bits: int = 16


def wire_voltage(duty: Floats, pulse_rate: float, sample_rate: float, pickup: Pickup) -> Floats:
    """Voltage on the solenoid's wire, pulse after pulse: low while energized, a spike at each release. [V]

    Args:
        duty: energized share of each pulse in turn. [-]
        pulse_rate: [Hz]
        sample_rate: [Hz]
        pickup: levels.
    """
    duty = np.asarray(duty, dtype=np.float64)
    phase = np.arange(int(sample_rate * duty.size / pulse_rate)) * (pulse_rate / sample_rate)
    pulse = np.minimum(phase.astype(np.int64), duty.size - 1)
    since = (phase - pulse - duty[pulse]) / pulse_rate
    energized = (since < 0.0) & (duty[pulse] > 0.0) | (duty[pulse] >= 1.0)
    released = (duty > 0.0) & (duty < 1.0)
    spike = pickup.flyback * np.exp(-np.maximum(since, 0.0) / pickup.flyback_time)
    return np.where(energized, pickup.saturation, pickup.supply + np.where(released[pulse], spike, 0.0))


def drive_waveform(
    duty: Floats,
    *,
    pulse_rate: float,
    sample_rate: float = 16_000.0,
    firing_rate: float = 0.0,
    pickup: Pickup | None = None,
    seed: int = 0,
) -> Floats:
    """What a recorder hears of the solenoid's wire, over full scale. [-]

    Args:
        duty: energized share of each pulse in turn. [-]
        pulse_rate: [Hz]
        sample_rate: [Hz]
        firing_rate: ignitions per second, which tick on the wire; 0 for none. [Hz]
        pickup: levels, divider, coupling and noise.
        seed: of the noise.

    Raises:
        ValueError: a duty outside 0 to 1, no pulse at all, or a sample rate below 20 samples per pulse.
    """
    duty, pickup = np.asarray(duty, dtype=np.float64), pickup or Pickup()
    if duty.size == 0 or not ((duty >= 0) & (duty <= 1)).all():
        raise ValueError("duty must hold at least one pulse, each from 0 to 1")
    if not sample_rate >= 20 * pulse_rate > 0:
        raise ValueError(
            f"sample rate must be at least 20 per pulse at {pulse_rate} Hz, got {sample_rate} Hz"
        )
    rng = np.random.default_rng(seed)
    volts = wire_voltage(duty, pulse_rate, sample_rate, pickup)
    time = np.arange(volts.size) / sample_rate
    volts += pickup.hum * np.sin(2 * np.pi * pickup.hum_frequency * time)
    if firing_rate > 0.0:
        ticks = (np.arange(int(time[-1] * firing_rate)) / firing_rate * sample_rate).astype(np.int64)
        volts[ticks] += pickup.tick * rng.choice((-1.0, 1.0), ticks.size)
    pole = np.exp(-2 * np.pi * pickup.coupling / sample_rate)
    heard: Floats = lfilter([1.0, -1.0], [1.0, -pole], volts / pickup.divider)
    heard = np.clip(heard + pickup.noise * rng.standard_normal(heard.size), -1.0, 1.0)
    scale = 2.0 ** (pickup.bits - 1)
    rounded: Floats = np.round(heard * scale) / scale
    return rounded if pickup.bits else heard


def pulse_duties(trace: LoopTrace, begin: float, seconds: float) -> Floats:
    """Duty of each pulse of a stretch of a drive. [-]

    Args:
        trace: logged once per pulse or oftener.
        begin: in the drive's time. [s]
        seconds: length of the stretch. [s]

    Raises:
        ValueError: the stretch is not within the trace, or the trace has less than one row per pulse.
    """
    rate = trace.controller.pulse_rate
    pulses = begin + (np.arange(int(seconds * rate + 1e-9)) + 0.5) / rate
    if pulses.size == 0 or pulses[-1] > trace.time[-1] or begin < trace.drive.time[0]:
        raise ValueError(f"stretch must lie within {trace.drive.time[0]} and {trace.time[-1]} s")
    if trace.time.size > 1 and trace.time[1] - trace.time[0] > 1.0001 / rate:
        raise ValueError(f"trace must be logged at {rate} Hz or oftener")
    row = np.searchsorted(trace.time, pulses - 0.5 / rate - 1e-6)
    return np.asarray(trace.signals()[Signal.DUTY][row])
