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
    refused(["time,volts"] + ["0.1,0.2"] * 50, "time stands still")
    refused(["0.1,0.2"] * 50, "no time beside them")
    refused([f"{i},1.0" for i in range(100)], "do not fit")
    refused([line.split(",")[1] for line in lines], "no time beside them .*Say the rows in a second")


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


@pytest.mark.parametrize("comma", [False, True])
@pytest.mark.parametrize("head", ["", "CH1 (V)\n", "Notes: idle\nvolts\n"])
def test_volts_alone_are_read_where_the_rate_is_told(
    tmp_path: Path, volts: np.ndarray, head: str, comma: bool
) -> None:
    path = tmp_path / "volts.csv"
    text = "".join(f"{v:.4f}\n" for v in volts)
    path.write_text(head + (text.replace(".", ",") if comma else text))
    with pytest.raises(InputFault, match=r"no time beside them .*rows there are in a second.*Say the rows"):
        read_waveform(path)
    wave = read_waveform(path, sample_rate=RATE)
    assert wave.known_duty().value == pytest.approx(0.35, abs=1e-3)
    assert wave.pulse_rate.value == pytest.approx(10.0, abs=0.01)
    assert any("as was told" in sentence for sentence in wave.warnings)


@pytest.mark.parametrize(
    "head",
    [
        "Sample Interval (s),1.0E-04\nCH1\n",
        "Sampling rate;10 kHz\n",
        "SampleRate=10000\n",
        "dt = 100 us\n",
        "Interval\t0.1\tms\n",
    ],
)
def test_volts_alone_take_the_rate_that_stands_above_them(
    tmp_path: Path, volts: np.ndarray, head: str
) -> None:
    path = tmp_path / "volts.csv"
    path.write_text(head + "".join(f"{v:.4f}\n" for v in volts))
    wave = read_waveform(path)
    assert wave.sample_rate == pytest.approx(RATE)
    assert wave.known_duty().value == pytest.approx(0.35, abs=1e-3)


def test_two_channels_without_time_and_a_column_that_counts(tmp_path: Path, volts: np.ndarray) -> None:
    path = tmp_path / "volts.csv"
    path.write_text("CH1,CH2\n" + "".join(f"{0.01 * (i % 3)},{v:.4f}\n" for i, v in enumerate(volts)))
    assert read_waveform(path, sample_rate=RATE).known_duty().value == pytest.approx(0.35, abs=1e-3)
    path.write_text("point,CH1\n" + "".join(f"{i},{v:.4f}\n" for i, v in enumerate(volts)))
    assert read_waveform(path, sample_rate=RATE).sample_rate == RATE


def test_a_file_with_time_keeps_it_whatever_is_told(tmp_path: Path, volts: np.ndarray) -> None:
    path = tmp_path / "scope.csv"
    path.write_text("time,volts\n" + rows(np.arange(len(volts)) / RATE, volts))
    wave = read_waveform(path, sample_rate=777.0)
    assert wave.sample_rate == pytest.approx(RATE, rel=1e-3)
    assert any("are not used" in sentence for sentence in wave.warnings)


@pytest.mark.parametrize("rate", [1.0, 1e9])
def test_a_rate_that_cannot_be_is_refused(tmp_path: Path, volts: np.ndarray, rate: float) -> None:
    path = tmp_path / "volts.csv"
    path.write_text("".join(f"{v:.4f}\n" for v in volts))
    with pytest.raises(InputFault, match="do not fit a recording of pulses"):
        read_waveform(path, sample_rate=rate)
