"""Gas looked at closely: two methods, dilution, causes, idle limits; and plots of every kind of file."""

from __future__ import annotations

from pathlib import Path

import pytest

from dwellwright.errors import InputFault
from dwellwright.evidence.gas.causes import GasCause
from dwellwright.reports.plots.look import Format
from dwellwright.service.evidence_plots import evidence_plot
from dwellwright.service.gas_verdict import chosen_options, gas_choices, gas_verdict

HEAD = "condition,co_pct,co2_pct,o2_pct,hc_ppm\n"


def verdict(folder: Path, rows: str, factor: str = ""):  # type: ignore[no-untyped-def] # of the module's own kind
    path = folder / "gas.csv"
    path.write_text(HEAD + rows, encoding="utf-8")
    return gas_verdict(path, chosen_options(factor=factor))


def test_a_misfire_is_told_from_a_sound_car(tmp_path: Path) -> None:
    # check-values: 2 % misfire at lambda .95 gives CO 1.7663 CO2 13.7836 O2 .4410 HC 529 ppm, lambda .95 again
    sound, misfire = verdict(tmp_path, "idle,0.6,14.6,0.6,150\nidle,0.8,13.2,2.0,1900\n").lines
    assert sound.causes[0].cause is GasCause.HEALTHY
    assert misfire.causes[0].cause is GasCause.MISFIRE
    (rich,) = verdict(tmp_path, "idle,1.7663,13.7836,0.4410,529\n").lines
    assert rich.numbers[0] == pytest.approx(0.95, abs=2e-3)
    assert rich.causes[0].cause is GasCause.RICH


def test_a_diluted_sample_is_said_and_voids_the_idle_limits(tmp_path: Path) -> None:
    found = verdict(tmp_path, "idle,0.2,4.0,14.0,60\n")
    assert found.lines[0].diluted
    assert "Diluted" in found.lines[0].warnings[0]
    assert "void" in found.idle
    assert "not a legal test" in found.idle


def test_idle_limits_are_those_of_the_regulation(tmp_path: Path) -> None:
    # 40 CFR 85.2203: 220 ppm and 1.2 %
    assert "within the limits" in verdict(tmp_path, "idle,1.1,14.0,0.5,210\n").idle
    assert "above a limit" in verdict(tmp_path, "idle,1.3,14.0,0.5,210\n").idle
    assert verdict(tmp_path, "2500,1.3,14.0,0.5,210\n").idle == ""
    assert verdict(tmp_path, "idle,1.3,14.0,0.5,210\n").findings == ()
    assert "Ahead of a catalytic converter" in verdict(tmp_path, "idle,0.9,14.0,0.5,260\n").findings[0]


def test_the_hydrocarbon_factor_moves_lambda(tmp_path: Path) -> None:
    (six,) = verdict(tmp_path, "idle,0.8,14.0,0.8,600\n", "6").lines
    (twelve,) = verdict(tmp_path, "idle,0.8,14.0,0.8,600\n", "12").lines
    assert twelve.numbers[0] < six.numbers[0]  # more unburned carbon is richer


def test_a_bad_row_is_said_and_the_others_are_used(tmp_path: Path) -> None:
    found = verdict(tmp_path, "idle,0.8,14.0,0.8,600\nidle,x,14,0.8,600\n")
    assert len(found.lines) == 1
    assert "row 3" in found.findings[0]


def test_options_that_there_are_not_are_refused() -> None:
    for words, says in (({"fuel": "coal"}, "unknown fuel"), ({"analyzer": "x"}, "unknown analyzer class"),
                        ({"factor": "7"}, "factor is not one known")):  # fmt: skip
        with pytest.raises(InputFault, match=says):
            chosen_options(**words)
    assert set(gas_choices()) == {"fuel", "analyzer", "factor"}


def test_every_kind_of_evidence_is_drawn(
    gas_file: Path, bench_file: Path, drive_file: Path, log_file: Path, tmp_path: Path
) -> None:
    study = tmp_path / "study.csv"
    study.write_text(
        "part,hand,unit,r1,r2\n1,A,mm,1,2\n1,B,mm,2,2\n2,A,mm,9,8\n2,B,mm,9,9\n", encoding="utf-8"
    )
    names = {file: evidence_plot(file, Format.SVG).name for file in
             (gas_file, bench_file, drive_file, log_file, study)}  # fmt: skip
    assert list(names.values()) == ["gas", "gauges", "waveform", "trace", "study"]


def test_what_holds_nothing_to_draw_says_so(tmp_path: Path) -> None:
    path = tmp_path / "bench.csv"
    path.write_text("item,unit,reading_1\nrod_lean_gauge,thou,80\n", encoding="utf-8")
    with pytest.raises(InputFault, match="nothing to draw"):
        evidence_plot(path, Format.SVG)
