"""A folder of loose files: any of them missing, one bad file never spoils the others."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from dwellwright.errors import InputFault
from dwellwright.evidence.loose_folder import read_loose_folder
from dwellwright.evidence.observation import Measured, Regime

GAS = "condition,co_pct,co2_pct,o2_pct,hc_ppm\nidle,0.94,14.8,0.65,273\n2500,1.33,14.6,0.54,292\n"
BENCH = "item,unit,spec,reading_1,reading_2\nengine,,,V6,\nrod_travel,thou,100,101,100\n"
DUTY = 0.55


def write_gas(folder: Path, text: str = GAS) -> None:
    (folder / "gas.csv").write_text(text, encoding="utf-8")


def write_bench(folder: Path, text: str = BENCH) -> None:
    (folder / "bench.csv").write_text(text, encoding="utf-8")


def write_wave(folder: Path) -> None:
    """An invented switched wire: low while energized, spike at release."""
    rate = 12_000
    phase = np.arange(12 * rate) / rate * 10.0 % 1.0
    wave = np.where(phase < DUTY, -0.3, 0.3)
    wave += np.where((phase >= DUTY) & (phase < DUTY + 0.01), 0.6 * np.exp(-(phase - DUTY) / 0.002), 0.0)
    noise = np.random.default_rng(1).normal(0, 0.003, wave.size)
    soundfile.write(folder / "drive.wav", wave + noise, rate)


def write_log(folder: Path) -> None:
    """An invented drive: two minutes of hot idle, closed loop."""
    rng = np.random.default_rng(2)
    lines = ["time_s,rpm,map_kpa,tps_v,coolant_c,o2_mv,dwell_deg,speed_kmh"]
    for index in range(1800):
        time = index / 15
        swing = np.sin(2 * np.pi * time / 2.0)
        lines.append(
            f"{time:.3f},{700 + rng.normal(0, 8):.1f},34.{index % 10},0.52,88,"
            f"{450 + 350 * np.sign(swing):.0f},{30 + 3 * swing + rng.normal(0, 0.2):.1f},0"
        )
    (folder / "log.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")


def test_all_four_are_read(tmp_path: Path) -> None:
    write_gas(tmp_path)
    write_bench(tmp_path)
    write_wave(tmp_path)
    write_log(tmp_path)
    found = read_loose_folder(tmp_path)
    assert found.waveform is not None
    assert found.trace is not None
    assert found.gauges is not None
    assert found.gauges.engine == "V6"
    assert len(found.gas) == 2
    measured = {(one.measured, one.source.split(",")[0]) for one in found.observations}
    assert (Measured.DUTY, "drive.wav") in measured
    assert (Measured.ROD_TRAVEL, "bench.csv") in measured
    assert (Measured.GAS_LAMBDA, "gas.csv") in measured
    assert {source for _, source in measured} == {"drive.wav", "bench.csv", "gas.csv", "log.csv"}
    duty = next(
        one for one in found.observations if one.source.startswith("drive") and one.measured is Measured.DUTY
    )
    assert duty.value == pytest.approx(DUTY, abs=0.005)
    assert duty.regime is Regime.IDLE


def test_missing_files_are_said(tmp_path: Path) -> None:
    write_gas(tmp_path)
    found = read_loose_folder(tmp_path)
    assert (found.waveform, found.trace, found.gauges) == (None, None, None)
    assert set(found.warnings) == {"There is no bench.csv.", "There is no drive.wav.", "There is no log.csv."}


@pytest.mark.parametrize("bad", ["gas.csv", "bench.csv", "drive.wav", "log.csv"])
@pytest.mark.parametrize("content", [b"", b"\x00\xff\xfe junk", b"hello,there\n1,2\n"])
def test_one_bad_file_spoils_no_other(tmp_path: Path, bad: str, content: bytes) -> None:
    write_gas(tmp_path)
    write_bench(tmp_path)
    (tmp_path / bad).write_bytes(content)
    found = read_loose_folder(tmp_path)
    assert any(one.startswith(f"{bad} could not be used:") for one in found.warnings)
    sources = {one.source.split(",")[0] for one in found.observations}
    assert sources == {"gas.csv", "bench.csv"} - {bad}


def test_bad_rows_become_warnings(tmp_path: Path) -> None:
    write_gas(tmp_path, GAS + "idle,oops,14,1,200\n")
    write_bench(tmp_path, BENCH + "rod_rich_gauge,cubits,1,2,3\n")
    warnings = "\n".join(read_loose_folder(tmp_path).warnings)
    assert "gas.csv, row 4, co_pct" in warnings
    assert "bench.csv, row 4, unit" in warnings


def test_ethanol_test_sets_the_fuel_of_lambda(tmp_path: Path) -> None:
    write_gas(tmp_path)
    write_bench(tmp_path)
    plain = read_loose_folder(tmp_path)
    write_bench(tmp_path, BENCH + "fuel_ethanol_test,vol_pct,0,15,15\n")
    blend = read_loose_folder(tmp_path)

    def ratio(evidence: object) -> float:
        found = evidence.observations  # type: ignore[attr-defined]
        return float(next(one.value for one in found if one.measured is Measured.GAS_LAMBDA))

    assert ratio(plain) != ratio(blend)
    assert ratio(plain) == pytest.approx(ratio(blend), abs=0.01)


def test_letter_case_and_spare_files(tmp_path: Path) -> None:
    write_gas(tmp_path)
    (tmp_path / "gas.csv").rename(tmp_path / "GAS.CSV")
    (tmp_path / "gas.tsv").write_text("spare", encoding="utf-8")
    (tmp_path / "notes.txt").write_text("ignored", encoding="utf-8")
    found = read_loose_folder(tmp_path)
    assert len(found.gas) == 2
    assert any("gas.tsv was left aside" in one for one in found.warnings)


def test_useless_folders_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputFault, match="no such folder"):
        read_loose_folder(tmp_path / "none")
    with pytest.raises(InputFault, match="holds no evidence"):
        read_loose_folder(tmp_path)
    write_gas(tmp_path, "")
    with pytest.raises(InputFault, match="empty"):
        read_loose_folder(tmp_path)
    with pytest.raises(InputFault, match="no such folder"):
        read_loose_folder(tmp_path / "gas.csv")
