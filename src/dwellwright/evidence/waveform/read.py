"""A recording of the switched solenoid wire, read: duty, rate, polarity, pattern, with their doubt."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from dwellwright.errors import InputFault
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.evidence.waveform.duty import FEW_SAMPLES, Reading, mirrored, pulse_rate, reading, sliding
from dwellwright.evidence.waveform.edges import Train, train
from dwellwright.evidence.waveform.files import Recording, sound_recording
from dwellwright.evidence.waveform.polarity import polarity_finding
from dwellwright.evidence.waveform.scan import Steps, compile_kernels, scanned
from dwellwright.evidence.waveform.shape import pulse_shape
from dwellwright.evidence.waveform.text import is_text, text_recording
from dwellwright.evidence.waveform.types import (
    Polarity,
    PolarityFinding,
    Pulses,
    Waveform,
)

SLOWEST, FASTEST = 2.0, 50.0
"""Pulse rates that a mixture solenoid can have; 5 to 20 Hz is usual. [Hz]"""
USUAL_SLOWEST, USUAL_FASTEST = 5.0, 20.0
FEWEST_PULSES = 3
UNREADABLE_SHARE = 0.02
"""Pulses without a readable beginning beyond this share, and beyond the one cut at the start, are worth a sentence."""
SHORT = 1.0
"""A recording shorter than this, with too few pulses, is called short. [s]"""
BEAT_SLACK, REGULAR_SHARE = 0.2, 0.6
"""How far a beat may be off, and the share of beats that must not be, for pulses to be called a train (assumed)."""


def read_waveform(
    path: str | Path,
    *,
    polarity: Polarity = Polarity.AUTO,
    channel: int | None = None,
    sample_rate: float | None = None,
) -> Waveform:
    """Duty, rate, polarity and pattern of a recording of the switched wire.

    Args:
        path: WAV, FLAC or other sound file, or text with time and volts.
        polarity: AUTO to decide from the signal, or what the caller knows.
        channel: counted from 0; None takes the one that pulses.
        sample_rate: rows in a second of a text without time; a recording with time keeps its own. [Hz]

    Raises:
        InputFault: the file cannot be used, or holds no pulses; the message says what to do.
        ValueError: polarity is UNDECIDED.
    """
    if polarity is Polarity.UNDECIDED:
        raise ValueError("polarity must be AUTO, NORMAL or REVERSED, got UNDECIDED")
    recording = _opened(Path(path), sample_rate)
    candidates = scanned(recording, channel)
    rate = recording.sample_rate
    number = 0
    if len(candidates) > 1:
        number = max(range(len(candidates)), key=lambda index: _pulsedness(candidates[index], rate))
    steps = candidates[number]
    normal, reverse = train(steps, rate, True), train(steps, rate, False)
    _refuse_unpulsed(recording, steps, normal, reverse)
    finding = polarity_finding(steps, normal, reverse, rate, recording.volts)
    if polarity is not Polarity.AUTO:
        told = (f"Told to be {polarity.value}.", *finding.evidence)
        finding = PolarityFinding(polarity, 1.0, told, told=True)
    return _waveform(recording, steps, (normal, reverse), finding, number if channel is None else channel)


def _opened(path: Path, sample_rate: float | None) -> Recording:
    if not path.is_file():
        raise InputFault(
            "there is no such file", where=path.name or str(path), wanted="a recording", got="nothing"
        )
    if path.stat().st_size == 0:
        raise InputFault(
            "the file is empty",
            where=path.name,
            wanted="a recording",
            got="0 bytes",
            remedy="Copy it again from the recorder.",
        )
    return text_recording(path, sample_rate) if is_text(path) else sound_recording(path)


def _pulsedness(steps: Steps, rate: float) -> tuple[int, float]:
    normal = train(steps, rate, True)
    return len(normal.on), min(normal.release_height, normal.energize_height)


def _refuse_unpulsed(recording: Recording, steps: Steps, normal: Train, reverse: Train) -> None:
    """Say what a recording without pulses is instead."""
    where, duration = recording.source, steps.frames / recording.sample_rate
    wanted = f"at least {FEWEST_PULSES} pulses at {USUAL_SLOWEST:.0f} to {USUAL_FASTEST:.0f} Hz"
    if steps.frames == 0:
        raise InputFault("the recording holds no sound", where=where, wanted=wanted, got="0 samples")
    if min(len(normal.on), len(reverse.on)) < FEWEST_PULSES:
        if duration < SHORT:
            raise InputFault(
                "the recording is too short",
                where=where,
                wanted=wanted,
                got=f"{duration:.2f} s",
                remedy="Record at least 10 s.",
            )
        if steps.lowest == steps.highest:
            raise InputFault(
                "the recording is silent",
                where=where,
                wanted=wanted,
                got="one constant level",
                remedy="Check the lead, the input and that the ignition is on.",
            )
        raise InputFault(
            "the wire does not pulse: it is held at one level, or the lead is not on it",
            where=where,
            wanted=wanted,
            got=f"{len(normal.on)} pulses in {duration:.1f} s",
            remedy="A recording of sound cannot tell held on from held off: measure the wire's volts "
            "(near ground is energized, near the supply is released).",
        )
    _refuse_irregular(where, (normal, reverse), wanted)


def _refuse_irregular(where: str, trains: tuple[Train, Train], wanted: str) -> None:
    """Refuse where neither edge of either polarity keeps a beat: upside down, one edge may be taken for many."""
    steps = [np.diff(edge) for pulses in trains for edge in (pulses.on, pulses.off)]
    shares = [float(np.mean(np.abs(step / np.median(step) - 1) < BEAT_SLACK)) for step in steps]
    single, usual = max(shares), float(np.median(steps[int(np.argmax(shares))]))
    if single < REGULAR_SHARE:
        raise InputFault(
            "there is no even beat in this recording",
            where=where,
            wanted=wanted,
            got=f"steps, of which {single:.0%} keep a beat",
            remedy="Check that the lead is on the solenoid's switched wire.",
        )
    if not SLOWEST <= 1 / usual <= FASTEST:
        raise InputFault(
            "this beat is not a mixture solenoid's",
            where=where,
            wanted=wanted,
            got=f"{1 / usual:.3g} Hz",
            remedy="Check which wire the lead is on.",
        )


def _waveform(
    recording: Recording, steps: Steps, trains: tuple[Train, Train], finding: PolarityFinding, channel: int
) -> Waveform:
    rate = recording.sample_rate
    readings = _readings(recording.source, steps, trains, rate)
    chosen = 1 if finding.polarity is Polarity.REVERSED else 0
    decided = finding.polarity is not Polarity.UNDECIDED
    read, pulses = readings[chosen], trains[chosen]
    scale = None if recording.volts else recording.full_scale
    shape = pulse_shape(steps, pulses, rate, read.clock.period, scale)
    middle, sliding_duty = sliding(read.pulses) if decided else (np.zeros(0), np.zeros(0))
    nothing = Pulses(np.zeros(0), np.zeros(0), np.zeros(0))
    return Waveform(
        duty=read.duty if decided else None,
        duty_if_normal=readings[0].duty,
        duty_if_reversed=readings[1].duty,
        pulse_rate=pulse_rate(pulses, read.clock, rate),
        jitter=read.clock.jitter,
        pulses=read.pulses if decided else nothing,
        pulse_count=len(read.pulses),
        missing_pulses=read.missing,
        double_pulses=read.double,
        polarity_finding=finding,
        pattern=read.pattern,
        duty_range=read.duty_range,
        sliding_time=middle,
        sliding_duty=sliding_duty,
        pull_in=shape.pull_in if decided else None,
        drop_out=shape.drop_out if decided else None,
        sample_rate=rate,
        duration=steps.frames / rate,
        clipped_fraction=steps.clipped_fraction,
        channel=channel,
        shape=shape.plot,
        source=recording.source,
        warnings=_warnings(recording, steps, read, finding, channel),
    )


def _readings(source: str, steps: Steps, trains: tuple[Train, Train], rate: float) -> tuple[Reading, Reading]:
    """Both polarities read; where one is unreadable it mirrors the other.

    Raises:
        InputFault: neither can be read.
    """
    smaller = max(min(trains[0].release_height, trains[0].energize_height), 1e-30)
    found = [reading(pulses, rate, 4.0 * steps.noise / smaller) for pulses in trains]
    readable = [read for read in found if read is not None]
    if not readable:
        raise InputFault(
            "the pulses have no readable beginnings and ends",
            where=source,
            wanted=f"at least {FEWEST_PULSES} whole pulses",
            got="releases without energizing edges",
            remedy="Record again with less noise or a lower level.",
        )
    normal, reverse = found
    return normal or mirrored(readable[0]), reverse or mirrored(readable[0])


def _warnings(
    recording: Recording, steps: Steps, read: Reading, finding: PolarityFinding, channel: int
) -> tuple[str, ...]:
    """Everything that a reader of the numbers should know, in plain sentences."""
    said = list(recording.notes)
    if recording.channels > 1:
        said.append(f"Channel {channel + 1} of {recording.channels} was read.")
    if finding.polarity is Polarity.UNDECIDED:
        said.append("The polarity could not be decided: both duties are given, and neither is preferred.")
    if finding.told and finding.confidence < 0.9:
        said.append("The polarity was told, not seen.")
    if steps.clipped_fraction > 0.05:
        said.append(
            f"{steps.clipped_fraction:.1%} of the samples are clipped: turn the recording level down."
        )
    rate = 1 / read.clock.period
    if not USUAL_SLOWEST * 0.9 <= rate <= USUAL_FASTEST * 1.1:
        said.append(f"The pulse rate of {rate:.2f} Hz is unusual.")
    for start, length in read.gaps.T[:5]:
        said.append(f"No pulse began between {start:.2f} s and {start + length:.2f} s.")
    if read.unreadable > max(1, UNREADABLE_SHARE * len(read.pulses)):
        said.append(
            f"{read.unreadable} releases have no readable energizing edge; those pulses were left out."
        )
    if read.placed:
        said.append(
            f"{read.placed} energizing edges could not be seen and were placed where the beat or their neighbors "
            "say."
        )
    if read.cramped:
        said.append(
            f"The shorter level lasts fewer than {FEW_SAMPLES} samples, so its length is in doubt: record at a "
            "higher sample rate."
        )
    if read.missing:
        said.append("1 pulse is missing." if read.missing == 1 else f"{read.missing} pulses are missing.")
    if read.double:
        few = "1 pulse" if read.double == 1 else f"{read.double} pulses"
        said.append(f"{few} came twice within a beat.")
    if read.left_out > 0:
        said.append(f"{read.left_out:.1f} s at the ends of the recording hold no pulses and were left out.")
    if len(read.pulses) * read.clock.period < 5.0:
        said.append("Less than 5 s of pulses: a working loop needs 10 s or more for a steady mean.")
    return tuple(said)


def observations(waveform: Waveform, regime: Regime) -> list[Observation]:
    """The reading as the model will meet it; duty only where the polarity is decided."""
    rate = waveform.pulse_rate
    found = [Observation(Measured.PULSE_RATE, regime, rate.value, rate.uncertainty, waveform.source)]
    if waveform.duty is not None:
        duty = waveform.duty
        found.insert(0, Observation(Measured.DUTY, regime, duty.value, duty.uncertainty, waveform.source))
    return found


def warm_up() -> None:
    """Compile the kernels, so that the first recording does not wait for it."""
    compile_kernels()
