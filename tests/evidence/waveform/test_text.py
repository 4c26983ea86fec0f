"""Voltage recordings as text, in the shapes that oscilloscopes give them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from benchmarks.waveform.synthesis import Recipe, synthetic

from dwellwright.errors import InputFault
from dwellwright.evidence.waveform import Polarity, read_waveform, warm_up

RATE = 10000


@pytest.fixture(scope="module", autouse=True)
def compiled() -> None:
    warm_up()


@pytest.fixture(scope="module")
def volts() -> np.ndarray:
    return synthetic(Recipe(sample_rate=RATE, duration=3.0, duty=0.35, snr=40.0, gain=1 / 60)).samples * 60


def rows(time: np.ndarray, level: np.ndarray, separator: str = ",") -> str:
    return "\n".join(f"{t:.7g}{separator}{v:.4f}" for t, v in zip(time, level, strict=True)) + "\n"


def duty(path: Path) -> float:
    wave = read_waveform(path)
    assert wave.polarity is Polarity.NORMAL
    return wave.known_duty().value


@pytest.mark.parametrize(
    ("head", "scale_time", "scale_volts"),
    [
        ("", 1.0, 1.0),
        ("time,volts\n", 1.0, 1.0),
        ("Time (ms),Channel A (mV)\n", 1e3, 1e3),
        ("x-axis,1\nsecond,Volt\n", 1.0, 1.0),
        ("Capture 7\nNotes: idle, hot\nInterval,0.0001\n\nTime [us],CH1 [V]\n", 1e6, 1.0),
    ],
)
def test_headers_and_units(
    tmp_path: Path, volts: np.ndarray, head: str, scale_time: float, scale_volts: float
) -> None:
    time = np.arange(len(volts)) / RATE
    path = tmp_path / "scope.csv"
    path.write_text(head + rows(time * scale_time, volts * scale_volts))
    assert duty(path) == pytest.approx(0.35, abs=1e-3)


def test_decimal_commas(tmp_path: Path, volts: np.ndarray) -> None:
    path = tmp_path / "scope.csv"
    text = rows(np.arange(len(volts)) / RATE, volts, ";").replace(".", ",")
    path.write_text("Zeit (s);Spannung (V)\n" + text)
    assert duty(path) == pytest.approx(0.35, abs=1e-3)


def test_wide_characters_and_tabs(tmp_path: Path, volts: np.ndarray) -> None:
    path = tmp_path / "scope.tsv"
    path.write_bytes(
        ("Time (s)\tA (V)\r\n" + rows(np.arange(len(volts)) / RATE, volts, "\t")).encode("utf-16")
    )
    assert duty(path) == pytest.approx(0.35, abs=1e-3)


def test_a_label_column_and_a_second_channel(tmp_path: Path, volts: np.ndarray) -> None:
    time = np.arange(len(volts)) / RATE
    lines = [
        f"{'note' if i == 0 else ''},{t:.6f},0.02,{v:.4f}"
        for i, (t, v) in enumerate(zip(time, volts, strict=True))
    ]
    path = tmp_path / "scope.csv"
    path.write_text("label,time,CH1,CH2\n" + "\n".join(lines))
    wave = read_waveform(path)
    assert wave.channel == 1
    assert wave.known_duty().value == pytest.approx(0.35, abs=1e-3)


def test_true_volts_decide_the_polarity_without_a_spike(tmp_path: Path) -> None:
    for sign, polarity in ((1, Polarity.NORMAL), (-1, Polarity.REVERSED)):
        level = (
            sign
            * 60
            * synthetic(Recipe(sample_rate=RATE, duration=3.0, duty=0.4, spike=0.0, snr=40.0)).samples
        )
        path = tmp_path / "scope.csv"
        path.write_text("time,volts\n" + rows(np.arange(len(level)) / RATE, level))
        wave = read_waveform(path)
        assert wave.polarity is polarity
        assert wave.known_duty().value == pytest.approx(0.4, abs=1e-3)
        assert any("near ground" in words for words in wave.polarity_finding.evidence)


def test_uneven_time_is_read_and_said(tmp_path: Path, volts: np.ndarray) -> None:
    keep = np.ones(len(volts), bool)
    keep[5000:5040] = False
    path = tmp_path / "scope.csv"
    path.write_text("time,volts\n" + rows(np.arange(len(volts))[keep] / RATE, volts[keep]))
    wave = read_waveform(path)
    assert any("uneven" in sentence for sentence in wave.warnings)
    assert wave.known_duty().value == pytest.approx(0.35, abs=3e-3)


def test_faults_name_the_row(tmp_path: Path, volts: np.ndarray) -> None:
    lines = ("time,volts\n" + rows(np.arange(len(volts)) / RATE, volts)).splitlines()
    path = tmp_path / "scope.csv"

    def refused(changed: list[str], match: str) -> None:
        path.write_text("\n".join(changed) + "\n")
        with pytest.raises(InputFault, match=match):
            read_waveform(path)

    refused([*lines[:99], "0.0098,over", *lines[100:]], r"row 100, column 2")
    refused([*lines[:99], "0.0001,3.0", *lines[100:]], r"time runs backward \(scope.csv, row 100\)")
    refused(["time,volts"], "no columns of numbers")
    refused(["0.1,0.2"] * 50, "time stands still")
    refused([f"{i},1.0" for i in range(100)], "do not fit")
    refused([line.split(",")[1] for line in lines], "no columns of numbers")


def test_an_incomplete_last_row_is_left_out(tmp_path: Path, volts: np.ndarray) -> None:
    path = tmp_path / "scope.csv"
    path.write_text("time,volts\n" + rows(np.arange(len(volts)) / RATE, volts) + "3.0001,-")
    wave = read_waveform(path)
    assert any("last row" in sentence for sentence in wave.warnings)


def test_a_column_that_counts_rows_takes_the_increment_of_the_header(
    tmp_path: Path, volts: np.ndarray
) -> None:
    path = tmp_path / "scope.csv"
    head = f"X,CH1,Start,Increment\nSequence,Volt,-1.0,{1 / RATE:.6e}\n"
    path.write_text(head + "".join(f"{i},{v:.4f},,\n" for i, v in enumerate(volts)))
    assert read_waveform(path).sample_rate == pytest.approx(RATE, rel=1e-3)


@pytest.mark.parametrize("name", ["capture", "capture.prn"])
def test_text_is_known_by_its_content_under_any_other_name(
    tmp_path: Path, volts: np.ndarray, name: str
) -> None:
    path = tmp_path / name
    path.write_text("time,volts\n" + rows(np.arange(len(volts)) / RATE, volts))
    assert read_waveform(path).sample_rate == pytest.approx(RATE, rel=1e-3)
