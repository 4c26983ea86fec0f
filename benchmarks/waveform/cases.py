"""Dwell errors of the waveform reader on a folder of cases, each with `drive.wav` and `truth.json`.

Usage: python benchmarks/waveform/cases.py FOLDER
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np

from dwellwright.evidence.waveform import Polarity, read_waveform
from dwellwright.units import dwell_degrees


def main(folder: str) -> int:
    errors = []
    print(f"{'case':<12}{'true':>8}{'read':>8}{'error':>9}{'+-':>7}{'rate error':>12}  polarity, pattern")
    for case in sorted(path.parent for path in Path(folder).glob("*/drive.wav")):
        truth = json.loads((case / "truth.json").read_text())["wav"]
        wave = read_waveform(case / "drive.wav")
        right = wave.polarity is (Polarity.NORMAL if truth["polarity"] > 0 else Polarity.REVERSED)
        read = dwell_degrees(wave.duty.value) if wave.duty else float("nan")
        errors.append(read - dwell_degrees(truth["duty"]))
        doubt = dwell_degrees(wave.duty.uncertainty) if wave.duty else float("nan")
        rate = wave.pulse_rate.value - truth["frequency_hz"]
        print(
            f"{case.name:<12}{dwell_degrees(truth['duty']):8.3f}{read:8.3f}{errors[-1]:9.4f}{doubt:7.3f}{rate:12.4f}"
            f"  {wave.polarity.value} {'ok' if right else 'WRONG'} {wave.polarity_finding.confidence:.3f}"
            f"  {wave.pattern.value} {'; '.join(wave.warnings)}"
        )
    size = np.abs(errors)
    print(
        f"{len(size)} cases: median |error| {np.median(size):.4f} deg, "
        f"worst {np.max(size):.4f} deg (six-cylinder scale)"
    )
    return int(not np.max(size) < 0.1)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
