"""What a table is, from its words and, where those say nothing, from how fast it was sampled."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dwellwright.service.file_kind import FileKind, file_kind

TIME = np.arange(4000) / 8000.0 - 0.2
VOLTS = np.where(TIME * 10 % 1 < 0.4, 0.2, 13.8)
PREAMBLE = ("Record Length,4000", "Sample Interval,1.25e-4", "Trigger Point,1600", "Source,CH1")
"""Heads and rows as oscilloscopes of several habits write them; no maker's format."""


def rows(form: str, time: np.ndarray = TIME) -> str:
    return "".join(form.format(t=t, v=v) for t, v in zip(time, VOLTS, strict=True))


SCOPES = {
    "no names at all": rows("{t:.6f},{v:.3f}\n"),
    "names in the shop's own tongue": rows("{t:.6f};{v:.3f}\n")
    .replace(".", ",")
    .join(("Zeit;Kanal A\n(s);(V)\n\n", "")),
    "milliseconds below the names": "Time,Channel A\n(ms),(V)\n\n" + rows("{t:.4f},{v:.3f}\n", 1e3 * TIME),
    "tabs": "t\tU\ns\tV\n" + rows("{t:.6f}\t{v:.3f}\n"),
    "facts left of the numbers": "".join(
        f"{PREAMBLE[i] if i < len(PREAMBLE) else ','},,{t:+.6e},{v:+.3e}\n"
        for i, (t, v) in enumerate(zip(TIME, VOLTS, strict=True))
    ),
    "row numbers and an increment": "X,CH1,Start,Increment\nSequence,Volt,-0.2,1.25e-04\n"
    + "".join(f"{i},{v:.3f},,\n" for i, v in enumerate(VOLTS)),
}


@pytest.mark.parametrize("text", SCOPES.values(), ids=SCOPES)
def test_an_oscilloscope_is_known_by_its_rate(text: str, tmp_path: Path) -> None:
    path = tmp_path / "capture.csv"
    path.write_text(text, encoding="utf-8")
    assert file_kind(path) is FileKind.WAVEFORM


@pytest.mark.parametrize(
    "text",
    [
        "Zeit;Kanal 1\n" + "".join(f"{k / 10:.1f};{k % 60}\n" for k in range(200)),
        "time_s,rpm,o2_mv\n" + "".join(f"{k / 2000:.5f},{700 + k % 9},{k % 900}\n" for k in range(200)),
    ],
    ids=["slow, names unknown", "fast, but an engine's"],
)
def test_a_drive_recording_stays_one(text: str, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(text, encoding="utf-8")
    assert file_kind(path) is FileKind.TRACE
