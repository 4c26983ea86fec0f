"""The gas table: columns in any order and unit, and every wrong cell named."""

from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dwellwright.errors import InputFault
from dwellwright.evidence.gas import GasReading, read_gas
from dwellwright.evidence.gas.reading import regime_of
from dwellwright.evidence.observation import Regime

GOOD = "condition,co_pct,co2_pct,o2_pct,hc_ppm\nidle,0.94,14.8,0.65,273\n2500,1.33,14.6,0.54,292\n"


def written(folder: Path, text: str | bytes) -> Path:
    path = folder / "gas.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_plain_table(tmp_path: Path) -> None:
    idle, fast = read_gas(written(tmp_path, GOOD))
    assert (idle.regime, fast.regime) == (Regime.IDLE, Regime.FAST_NO_LOAD)
    assert idle.co == pytest.approx(0.0094)
    assert idle.co2 == pytest.approx(0.148)
    assert idle.o2 == pytest.approx(0.0065)
    assert idle.hc == pytest.approx(273e-6)
    assert idle.nox is None
    assert fast.source == "gas.csv, row 3"


@pytest.mark.parametrize(
    "text",
    [
        "hc_ppm,o2_pct,condition,co2_pct,co_pct\n273,0.65,idle,14.8,0.94\n",
        "condition;co_pct;co2_pct;o2_pct;hc_ppm\nidle;0,94;14,8;0,65;273\n",
        "Condition\tCO [%]\tCO2 [%]\tO2 [%]\tHC [ppm]\nHot idle\t0.94\t14.8\t0.65\t273\n",
        "\ufeffcondition,CO (ppm),CO2 (%),O2 (%),HC (ppm)\r\n800 rpm,9400,14.8,0.65,273\r\n",
        "condition,co_pct,co2_pct,o2_pct,hc_ppm_c1\nidle,0.94,14.8,0.65,1638\n",
        "condition,co_pct,co2_pct,o2_pct,hc_ppm_propane\nidle,0.94,14.8,0.65,546\n",
        "\n\ncondition,co_pct,co2_pct,o2_pct,hc_ppm\n\nidle,0.94,14.8,0.65,273\n,,,,\n",
    ],
)
def test_same_reading_however_it_is_typed(tmp_path: Path, text: str) -> None:
    (reading,) = read_gas(written(tmp_path, text))
    assert reading.regime is Regime.IDLE
    assert (reading.co, reading.co2, reading.o2, reading.hc) == pytest.approx((0.0094, 0.148, 0.0065, 273e-6))


def test_utf16_from_a_spreadsheet_is_read(tmp_path: Path) -> None:
    assert len(read_gas(written(tmp_path, GOOD.encode("utf-16")))) == 2


def test_fifth_gas_and_time(tmp_path: Path) -> None:
    text = "time_s,condition,co_pct,co2_pct,o2_pct,hc_ppm,nox_ppm\n1.5,idle,0.9,14.8,0.6,273,120\n"
    (reading,) = read_gas(written(tmp_path, text))
    assert reading.nox == pytest.approx(120e-6)
    assert reading.time == 1.5


def test_zero_drift_counts_as_zero(tmp_path: Path) -> None:
    (reading,) = read_gas(written(tmp_path, "condition,co_pct,co2_pct,o2_pct,hc_ppm\nidle,-0.02,12,3,20\n"))
    assert reading.co == 0.0


@pytest.mark.parametrize(
    ("row", "place", "words"),
    [
        ("idle,abc,14.8,0.65,273", "row 3, co_pct", "not a number"),
        ("idle,nan,14.8,0.65,273", "row 3, co_pct", "not a number"),
        ("idle,1e999,14.8,0.65,273", "row 3, co_pct", "not a number"),
        ("idle,0.9,,0.65,273", "row 3, co2_pct", "blank"),
        ("idle,0.9,14.8,65,273", "row 3, o2_pct", "not believable"),
        ("idle,-3,14.8,0.6,273", "row 3, co_pct", "not believable"),
        ("moon,0.9,14.8,0.6,273", "row 3, condition", "not understood"),
        ("1500,0.9,14.8,0.6,273", "row 3, condition", "not understood"),
        ("idle,0.9,14.8,0.6,273,7", "row 3", "more cells"),
        ('idle,"0.9,14.8,0.6,273', "row 3", "quote"),
        ("idle,15,14.8,10,273", "row 3", "more than exhaust"),
        ("idle,0.9,14.8,0.6,27\x003", "row 3", "zero byte"),
    ],
)
def test_bad_row_is_named_and_spoils_no_other(tmp_path: Path, row: str, place: str, words: str) -> None:
    text = "condition,co_pct,co2_pct,o2_pct,hc_ppm\nidle,0.94,14.8,0.65,273\n" + row + "\n2500,1,14,0.5,200\n"
    path = written(tmp_path, text)
    findings: list[InputFault] = []
    assert [one.condition for one in read_gas(path, findings)] == ["idle", "2500"]
    (finding,) = findings
    assert words in finding.message
    assert place in finding.where
    with pytest.raises(InputFault, match=words):
        read_gas(path)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("\n \n", "empty"),
        ("condition,co_pct,co2_pct,o2_pct,hc_ppm\n", "no rows"),
        ("condition,co_pct,co2_pct,hc_ppm\nidle,1,2,3\n", "lacks o2"),
        ("condition,co,co2_pct,o2_pct,hc_ppm\nidle,1,14,1,200\n", "no unit"),
        ("condition,co_furlong,co2_pct,o2_pct,hc_ppm\nidle,1,14,1,200\n", "no unit"),
        ("condition,co_pct,co_ppm,co2_pct,o2_pct,hc_ppm\nidle,1,1,14,1,200\n", "same gas"),
        (b"\xff\xfa\x00\x01\x02", "UTF-8"),
        (b"\xff\xfea", "UTF-8|UTF-16"),
        ("condition,co_pct,co2_pct,o2_pct,hc_ppm\nidle,x,14,1,200\n", "not a number"),
    ],
)
def test_useless_file_is_refused(tmp_path: Path, text: str | bytes, words: str) -> None:
    with pytest.raises(InputFault, match=words):
        read_gas(written(tmp_path, text))


def test_missing_and_huge_files_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputFault, match="cannot be read"):
        read_gas(tmp_path / "none.csv")
    with pytest.raises(InputFault, match="cannot be read"):
        read_gas(tmp_path)
    with pytest.raises(InputFault, match="too long"):
        read_gas(written(tmp_path, b"a" * 2_000_001))
    with pytest.raises(InputFault, match="too many rows"):
        read_gas(written(tmp_path, "a\n" + "\n" * 25_000))


@given(st.one_of(st.binary(max_size=400), st.text(max_size=400).map(lambda t: (GOOD[:40] + t).encode())))
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150, deadline=None)
def test_any_bytes_give_readings_or_one_clear_fault(tmp_path: Path, data: bytes) -> None:
    findings: list[InputFault] = []
    readings: list[GasReading] = []
    with suppress(InputFault):
        readings = read_gas(written(tmp_path, data), findings)
    assert all(0 <= one.co <= 0.2 and 0 <= one.hc <= 0.05 for one in readings)
    assert all(finding.where.startswith("gas.csv, row") for finding in findings)


def test_conditions_as_people_write_them() -> None:
    assert regime_of("Fast idle 2500") is Regime.FAST_NO_LOAD
    assert regime_of("3000 RPM") is Regime.FAST_NO_LOAD
    assert regime_of("cruise 60") is Regime.CRUISE
    assert regime_of("750") is Regime.IDLE


TIMED = "Time;CO [%];CO2 [%];O2 [%];HC [ppm]\n" + "".join(
    f"12:00:{i:02};0,7;14,5;0,6;150\n" for i in range(20)
)


@pytest.mark.parametrize("told", [Regime.IDLE, Regime.FAST_NO_LOAD])
def test_a_record_without_a_condition_is_taken_as_told_and_marked(tmp_path: Path, told: Regime) -> None:
    found = read_gas(written(tmp_path, TIMED), told=told)
    assert len(found) == 20
    assert {one.regime for one in found} == {told}
    assert all(one.assumed for one in found)
    assert found[3].time == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("head", "cells", "times"),
    [
        ("time_s", ("7.5", "9"), (7.5, 9.0)),
        ("Time [ms]", ("7500", "9000"), (7.5, 9.0)),
        ("Time (min)", ("2", "2.5"), (120.0, 150.0)),
        ("timestamp", ("2024-05-01 00:01:00", "2024-05-02T00:01:02.5"), (0.0, 86402.5)),
        ("t", ("0:02:05.5", "0:03:00"), (0.0, 54.5)),
        ("Time", ("23:59:59", "00:00:01"), (0.0, 2.0)),
    ],
)
def test_time_in_its_forms(
    tmp_path: Path, head: str, cells: tuple[str, str], times: tuple[float, float]
) -> None:
    rows = "".join(f"{cell},800,0.7,14.5,0.6,150\n" for cell in cells)
    found = read_gas(written(tmp_path, f"{head},rpm,co_pct,co2_pct,o2_pct,hc_ppm\n{rows}"))
    assert [one.time for one in found] == pytest.approx(times)


def test_speed_and_units_as_analyzers_write_them(tmp_path: Path) -> None:
    text = "Engine speed (rpm);CO;CO2;O2;HC;NO\n;%;%;%;ppm;ppm\n812;0,7;14,5;0,6;150;90\n2490;0,5;14,8;0,5;90;400\n"
    idle, fast = read_gas(written(tmp_path, text))
    assert (idle.regime, fast.regime) == (Regime.IDLE, Regime.FAST_NO_LOAD)
    assert (idle.co, idle.nox) == pytest.approx((0.007, 90e-6))
    assert not idle.assumed
    assert read_gas(
        written(tmp_path, "condition,CO%,CO2%,O2%,HCppm\nidle,1,14,1,200\n".replace("HCp", "HC p"))
    )
