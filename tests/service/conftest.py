"""A shop with one job, and small evidence files made here."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from dwellwright.records.shop import Shop, opened_shop
from dwellwright.service.jobs import take_in_job

WHO = "tester"
SHEET = "two-barrel-v6"

GAS = "condition,co_pct,co2_pct,o2_pct,hc_ppm\nidle,0.74,14.3,0.67,275\n2500,0.80,14.5,0.61,290\n"
BENCH = """item,unit,spec,reading_1,reading_2,reading_3
engine,,,V6,,
cylinders,,,6,,
rod_lean_gauge,thou,70,82,83,82
float_gauge_below_rim,mm,9.5,9.4,9.5,9.6
"""


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    shop = opened_shop(tmp_path / "shop")
    yield shop
    shop.close()


@pytest.fixture
def job(shop: Shop) -> int:
    view = take_in_job(shop, owner="an owner", car="a car", complaint="it hunts", sheet=SHEET, who=WHO)
    return view.job.number


@pytest.fixture
def gas_file(tmp_path: Path) -> Path:
    path = tmp_path / "gas.csv"
    path.write_text(GAS, encoding="utf-8")
    return path


@pytest.fixture
def bench_file(tmp_path: Path) -> Path:
    path = tmp_path / "bench.csv"
    path.write_text(BENCH, encoding="utf-8")
    return path


@pytest.fixture
def drive_file(tmp_path: Path) -> Path:
    """Twelve seconds of a 10 Hz wire that is low for 40 % of the time, with a spike at each release."""
    rate, duty = 8000, 0.4
    phase = np.arange(12 * rate) / rate * 10.0 % 1.0
    wave = np.where(phase < duty, 0.0, 0.35)
    wave[(phase >= duty) & (phase < duty + 0.004)] = 0.9
    wave += 0.002 * np.random.default_rng(1).standard_normal(
        wave.size
    )  # without noise a level may seem clipped
    path = tmp_path / "drive.wav"
    soundfile.write(path, wave.astype(np.float32), rate)
    return path


@pytest.fixture
def log_file(tmp_path: Path) -> Path:
    """Ninety seconds of warm idle whose dwell swings about 24 deg once in two seconds."""
    time = np.arange(0.0, 90.0, 0.1)
    swing = 24.0 + 4.0 * np.sin(np.pi * time)
    sensor = np.where(np.sin(np.pi * time - 0.9) > 0, 780.0, 120.0)
    path = tmp_path / "log.csv"
    rows = [
        f"{t:.1f},700,34.0,0.52,90,{o2:.0f},{d:.2f},0" for t, o2, d in zip(time, sensor, swing, strict=True)
    ]
    path.write_text("time_s,rpm,map_kpa,tps_v,coolant_c,o2_mv,dwell_deg,speed_kmh\n" + "\n".join(rows) + "\n")
    return path
