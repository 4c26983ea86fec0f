"""Random hard recordings read, and every reading beyond the floor shown.

Usage: python -m benchmarks.waveform.hard 1500 [FIRST] [--seed 77]

Duties of 2 to 98 % (two in five at the ends, where the gap is hardly longer than the spike), 5 to 20 Hz, 8 to 96 kHz,
10 to 50 dB of noise (a third below 15 dB), coupling, hum, ticks and clipping, upside down every second time. The
truth is known by construction.
"""

from __future__ import annotations

import argparse
from collections import Counter
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import soundfile
from benchmarks.waveform.synthesis import Recipe, synthetic

from dwellwright.errors import InputFault
from dwellwright.evidence.waveform import Polarity, read_waveform, warm_up
from dwellwright.units import dwell_degrees

FLOOR = 0.15
"""[deg on the six-cylinder scale]"""
SEED = 77


def recipe(number: int, seed: int = SEED) -> Recipe:
    """The recipe of that number and seed, always the same."""
    rng = np.random.default_rng([seed, number])

    def one_of(*choices: float) -> float:
        return choices[rng.integers(len(choices))]

    return Recipe(
        sample_rate=int(one_of(8000, 11025, 16000, 44100, 48000, 96000)),
        rate=rng.uniform(5, 20),
        duty=rng.uniform(0.02, 0.98) if rng.random() < 0.6 else one_of(0.02, 0.03, 0.05, 0.95, 0.97, 0.98),
        swing=one_of(0.0, 0.05, 0.15),
        clock_on_release=bool(rng.integers(2)),
        jitter=one_of(0.0, 1e-4),
        battery=rng.uniform(12, 14.5),
        spike=one_of(20.0, 36.0, 50.0),
        clamp_time=rng.uniform(0.2e-3, 1.5e-3),
        poles=tuple(rng.uniform(0.5, 20, rng.integers(3))),
        hum=one_of(0.0, 0.5, 2.0),
        hum_frequency=one_of(50.0, 60.0),
        tick_rate=one_of(0.0, 10.0, 40.0),
        tick=rng.uniform(1, 12),
        snr=rng.uniform(10, 50) if rng.random() < 0.7 else rng.uniform(10, 15),
        gain=one_of(1 / 70, 1 / 30, 1 / 18),
        reversed=bool(rng.integers(2)),
        seed=int(rng.integers(10_000)),
    )


def verdict(made: Recipe, folder: Path) -> tuple[str, float]:
    """What became of one recording, and the error of its dwell. [deg]"""
    drawn = synthetic(made)
    soundfile.write(folder / "drive.wav", drawn.samples, drawn.sample_rate, subtype="PCM_16")
    try:
        wave = read_waveform(folder / "drive.wav")
    except InputFault:
        return "refused", np.nan
    truth = drawn.fraction if made.swing else drawn.duty
    duty = wave.duty_if_reversed if made.reversed else wave.duty_if_normal
    error = abs(dwell_degrees(duty.value - truth))
    if wave.polarity is (Polarity.NORMAL if made.reversed else Polarity.REVERSED):
        return "upside down", error
    if error > FLOOR:
        covered = duty.low <= truth <= duty.high and bool(wave.warnings)
        return ("off, and said so" if covered else "off"), error
    return ("asked for the polarity" if wave.polarity is Polarity.UNDECIDED else "right"), error


def main(first: int, last: int, seed: int) -> None:
    """Read the recordings and print what became of them."""
    warm_up()
    errors, verdicts = [], Counter[str]()
    with TemporaryDirectory() as folder:
        for number in range(first, last):
            made = recipe(number, seed)
            found, error = verdict(made, Path(folder))
            errors.append(error)
            verdicts[found] += 1
            if found not in ("right", "asked for the polarity"):
                print(f"{number}: {found}, {error:.2f} deg: {made}", flush=True)
    print(
        f"{last - first} recordings: "
        + ", ".join(f"{count} {word}" for word, count in verdicts.most_common())
    )
    median, most = np.nanmedian(errors), np.nanmax(errors)
    print(
        f"error of dwell: median {median:.4f}, 99th percentile {np.nanquantile(errors, 0.99):.3f}, worst {most:.3f} deg"
    )


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("count", type=int, nargs="?", default=1000, help="recordings")
    parser.add_argument("first", type=int, nargs="?", default=0, help="number of the first")
    parser.add_argument("--seed", type=int, default=SEED)
    asked = parser.parse_args()
    main(asked.first, asked.first + asked.count, asked.seed)
