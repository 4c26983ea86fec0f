"""Everything that is not a good recording gets one clear message, and nothing crashes or hangs."""

from __future__ import annotations

import struct
from pathlib import Path

import numpy as np
import pytest
import soundfile
from benchmarks.waveform.synthesis import Recipe, synthetic
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from dwellwright.errors import InputFault
from dwellwright.evidence.waveform import Waveform, read_waveform, warm_up

FUZZ = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


@pytest.fixture(scope="module", autouse=True)
def compiled() -> None:
    warm_up()


@pytest.fixture(scope="module")
def good(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    path = tmp_path_factory.mktemp("good") / "good.wav"
    soundfile.write(path, synthetic(Recipe(sample_rate=8000, duration=3.0)).samples, 8000, subtype="PCM_16")
    return path.read_bytes()


def written(folder: Path, samples: np.ndarray, rate: int = 8000, subtype: str = "PCM_16") -> Path:
    path = folder / "bad.wav"
    soundfile.write(path, samples, rate, subtype=subtype)
    return path


def fault(path: Path) -> InputFault:
    with pytest.raises(InputFault, match=path.name) as caught:
        read_waveform(path)
    assert caught.value.what
    assert caught.value.wanted
    assert caught.value.got
    return caught.value


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    assert "no such file" in fault(tmp_path / "nothing.wav").what


def test_an_empty_file(tmp_path: Path) -> None:
    (tmp_path / "empty.wav").touch()
    assert "empty" in fault(tmp_path / "empty.wav").what


def test_text_that_claims_to_be_sound(tmp_path: Path) -> None:
    (tmp_path / "words.wav").write_text("this is not sound at all, whatever its name says\n" * 20)
    assert "not a sound file" in fault(tmp_path / "words.wav").what


def test_a_file_without_samples(tmp_path: Path) -> None:
    assert "no sound" in fault(written(tmp_path, np.zeros(0))).what


def test_silence_and_a_constant_level(tmp_path: Path) -> None:
    assert "silent" in fault(written(tmp_path, np.zeros(24000))).what
    assert "silent" in fault(written(tmp_path, np.full(24000, 0.5))).what


def test_a_wire_held_at_one_level_is_said_to_be_held(tmp_path: Path) -> None:
    noise = np.random.default_rng(1).normal(0, 0.01, 80000)
    assert "held at one level" in fault(written(tmp_path, noise)).what
    hum = 0.3 * np.sin(2 * np.pi * 60 * np.arange(80000) / 8000) + noise
    assert "held at one level" in fault(written(tmp_path, hum)).what


def test_a_recording_that_is_too_short(tmp_path: Path) -> None:
    assert (
        "too short"
        in fault(written(tmp_path, synthetic(Recipe(sample_rate=8000, duration=0.2)).samples)).what
    )


def test_a_beat_that_is_no_solenoid(tmp_path: Path) -> None:
    square = np.where(np.arange(80000) % 8000 < 4000, 0.5, -0.5)  # 1 Hz
    assert "not a mixture solenoid" in fault(written(tmp_path, square)).what


def test_steps_without_a_beat(tmp_path: Path) -> None:
    rng = np.random.default_rng(4)
    level = np.concatenate(
        [np.full(int(n), 0.5 if i % 2 else -0.5) for i, n in enumerate(rng.uniform(80, 3000, 100))]
    )
    assert "no even beat" in fault(written(tmp_path, level)).what


def test_samples_that_are_no_numbers(tmp_path: Path) -> None:
    samples = synthetic(Recipe(sample_rate=8000, duration=3.0)).samples
    for bad in (np.nan, np.inf):
        broken = samples.copy()
        broken[12345] = bad
        found = fault(written(tmp_path, broken, subtype="FLOAT"))
        assert "not a finite number" in found.what
        assert "sample 12346" in found.where


def test_a_truncated_recording(tmp_path: Path, good: bytes) -> None:
    path = tmp_path / "cut.wav"
    path.write_bytes(good[: len(good) // 2])
    found = fault(path)
    assert "cut short" in found.what
    assert found.got == f"{len(good) // 2 - 44} bytes"


def test_a_truncated_flac(tmp_path: Path) -> None:
    path = tmp_path / "cut.flac"
    soundfile.write(path, synthetic(Recipe(duration=5.0, snr=20.0)).samples, 48000)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    assert "cut short" in fault(path).what or "breaks off" in fault(path).what


@pytest.mark.parametrize("size", [3_000_000_000, 0x70000000])
def test_a_header_that_promises_gigabytes(tmp_path: Path, good: bytes, size: int) -> None:
    path = tmp_path / "lie.wav"
    path.write_bytes(good[:40] + struct.pack("<I", size) + good[44:])
    assert "cut short" in fault(path).what


def test_an_unfinished_header_is_forgiven_with_a_sentence(tmp_path: Path, good: bytes) -> None:
    path = tmp_path / "open.wav"
    path.write_bytes(good[:4] + b"\xff\xff\xff\xff" + good[8:40] + b"\xff\xff\xff\xff" + good[44:])
    wave = read_waveform(path)
    assert any("never finished" in sentence for sentence in wave.warnings)
    assert wave.known_duty().value == pytest.approx(0.5, abs=1e-3)


def harmless(path: Path) -> None:
    """Either it is read or refused with a message; anything else is a crash."""
    try:
        found: Waveform | InputFault = read_waveform(path)
    except InputFault as refused:
        found = refused
    assert isinstance(found, Waveform) or path.name in found.where


@FUZZ
@given(data=st.binary(max_size=600), suffix=st.sampled_from(["wav", "flac", "csv", "txt", "aiff"]))
@example(data=b"", suffix="wav")
@example(data=b"RIFF\x00\x00\x00\x00WAVEdata", suffix="wav")
@example(data=b"fLaC\x00", suffix="flac")
@example(data=b"\xff\xfe\x00", suffix="csv")
@example(data=b"0,0\n0,nan\n", suffix="csv")
def test_random_bytes_do_no_harm(tmp_path: Path, data: bytes, suffix: str) -> None:
    path = tmp_path / f"fuzz.{suffix}"
    path.write_bytes(data)
    harmless(path)


@FUZZ
@given(place=st.integers(0, 60), value=st.integers(0, 255), cut=st.integers(0, 2000))
def test_a_damaged_header_does_no_harm(tmp_path: Path, good: bytes, place: int, value: int, cut: int) -> None:
    damaged = bytearray(good[: len(good) - cut])
    damaged[place] = value
    path = tmp_path / "damaged.wav"
    path.write_bytes(bytes(damaged))
    harmless(path)


@FUZZ
@given(text=st.text(st.sampled_from('0123456789.,;\t\n\r-+eE"tTsVm nainf'), max_size=400))
def test_random_tables_do_no_harm(tmp_path: Path, text: str) -> None:
    path = tmp_path / "fuzz.csv"
    path.write_text(text, encoding="utf-8")
    harmless(path)


def test_a_voltage_no_wire_carries_is_refused_with_its_row(tmp_path: Path) -> None:
    rows = [f"{i / 8000:.6f},{13.8 if i // 400 % 2 else 0.5}" for i in range(8000)]
    rows[4321] = f"{4321 / 8000:.6f},1e39"
    path = tmp_path / "scope.csv"
    path.write_text("time (s),wire (V)\n" + "\n".join(rows))
    with pytest.raises(InputFault, match="no wire of a car carries such a voltage") as fault:
        read_waveform(path)
    assert "row 4323" in str(fault.value)


def test_a_sample_too_large_for_sound_is_refused(tmp_path: Path) -> None:
    samples = np.where(np.arange(80_000) // 400 % 2, 0.4, -0.4)
    samples[50_000] = 1e30
    soundfile.write(tmp_path / "drive.wav", samples, 8000, subtype="FLOAT")
    with pytest.raises(InputFault, match="too large for sound"):
        read_waveform(tmp_path / "drive.wav")
