"""Gas recorded in time, drawn: what the lines hold is what was read, and only what settled sets the scale."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dwellwright.reports.plots.look import Format
from dwellwright.reports.plots.moving import Moving
from dwellwright.service.evidence_plots import evidence_plot
from dwellwright.service.gas_verdict import GasVerdict, chosen_options, gas_verdict

HEAD = "time_s,rpm,co_pct,co2_pct,o2_pct,hc_ppm\n"
AIR, IDLE, FAST = "0.00,0.0,20.9,0", "0.60,14.6,0.60,100", "0.20,14.9,0.40,60"


def record(folder: Path, *parts: tuple[int, int, str]) -> Path:
    """A table of so many seconds at so many rpm with such gas, one part after the other."""
    rows, time = [], 0
    for seconds, speed, gas in parts:
        rows += [f"{time + i},{speed},{gas}\n" for i in range(seconds)]
        time += seconds
    path = folder / "gas.csv"
    path.write_text(HEAD + "".join(rows), encoding="utf-8")
    return path


@pytest.fixture
def seen(tmp_path: Path) -> GasVerdict:
    """Ten seconds of air, a minute of idle, a minute of fast running."""
    return gas_verdict(record(tmp_path, (10, 700, AIR), (60, 700, IDLE), (60, 2500, FAST)), chosen_options())


def lines(plot: Moving) -> list[dict[str, Any]]:
    """The points of each line in a figure."""
    found: list[dict[str, Any]] = []

    def walk(part: Any) -> None:
        if isinstance(part, dict):
            if part.get("name") == "ColumnDataSource":
                found.append(dict(part["attributes"]["data"]["entries"]))
            for one in part.values():
                walk(one)
        elif isinstance(part, list):
            for one in part:
                walk(one)

    walk(json.loads(plot.figure))
    return found


def test_lambda_over_time_is_that_of_each_reading_and_air_has_none(seen: GasVerdict) -> None:
    assert seen.record is not None
    assert np.isnan(seen.record.ratio[:10]).all()
    by_line = [line.numbers[0] for line in seen.lines if line.numbers]
    assert seen.record.ratio[[30, 100]] == pytest.approx(by_line)
    assert [(one.start, one.end) for one in seen.record.spans] == [(10.0, 69.0), (70.0, 129.0)]
    assert seen.record.spans[0].title == f"700 rpm, lambda {by_line[0]:.3f}"


def test_the_tracks_hold_the_gas_as_read(seen: GasVerdict) -> None:
    ratio, oxides, dioxide, unburned = seen.moving_over_time()
    assert len(lines(ratio)[0]["x"]) == 130
    carbon_monoxide, oxygen = lines(oxides)
    assert carbon_monoxide["y"][20] == pytest.approx(0.6)
    assert oxygen["y"][0] == pytest.approx(20.9)
    assert lines(dioxide)[0]["y"][-1] == pytest.approx(14.9)
    assert lines(unburned)[0]["told"][20] == "20.0 s: HC 100 ppm"
    assert oxides.alt == "CO, O₂, %: CO 0.2 … 0.6; O₂ 0.4 … 0.6"  # the air before it is not of the exhaust


def test_a_file_of_a_record_is_drawn_over_time(tmp_path: Path) -> None:
    words = evidence_plot(record(tmp_path, (40, 700, IDLE)), Format.SVG).alt
    assert words.startswith("Exhaust gas over 39 seconds: 700 rpm, lambda")


@pytest.mark.parametrize(
    "rows",
    ["0,700,0.6,14.6,0.6,100\n1,700,0.6,14.6,0.6,100\n", "".join(f"5,700,{IDLE}\n" for _ in range(20))],
    ids=["few readings", "a clock that stands"],
)
def test_what_is_no_record_has_no_plot_over_time(rows: str, tmp_path: Path) -> None:
    path = tmp_path / "gas.csv"
    path.write_text(HEAD + rows, encoding="utf-8")
    seen = gas_verdict(path, chosen_options())
    assert seen.record is None
    assert seen.over_time(Format.SVG) is None
    assert seen.moving_over_time() == ()
    assert evidence_plot(path, Format.SVG).alt.startswith("Exhaust gas. ")


def test_gas_that_has_not_settled_is_not_held_against_the_idle_limits(tmp_path: Path) -> None:
    # half exhaust, half air while the analyzer fills: within the limits by dilution alone
    filling = (10, 700, "0.70,8.0,9.0,150")
    above = gas_verdict(record(tmp_path, filling, (60, 700, "1.60,13.9,0.60,300")), chosen_options())
    assert "HC 300 ppm" in above.idle
    assert "above a limit" in above.idle
