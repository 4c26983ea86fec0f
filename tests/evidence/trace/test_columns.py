"""What a header says: channels, units, what is asked, and the map that is kept."""

from __future__ import annotations

from pathlib import Path

import pytest

from dwellwright.errors import InputFault
from dwellwright.evidence.trace.columns import (
    Channel,
    ColumnMap,
    ColumnUse,
    header_fingerprint,
    remembered_columns,
    save_column_map,
)
from dwellwright.evidence.trace.names import (
    channel_limits,
    channel_units,
    column_unit,
    guess_columns,
    proposed_columns,
    split_name,
)

USUAL = ["time_s", "rpm", "map_kpa", "tps_v", "coolant_c", "o2_mv", "dwell_deg", "speed_kmh"]


@pytest.mark.parametrize(
    ("header", "channel", "unit"),
    [
        ("o2_mv", Channel.SENSOR_VOLTAGE, "mV"),
        ("O2 (V)", Channel.SENSOR_VOLTAGE, "V"),
        ("Oxygen sensor [mV]", Channel.SENSOR_VOLTAGE, "mV"),
        ("Dwell [deg]", Channel.DUTY, "deg"),
        ("dwell", Channel.DUTY, "deg"),
        ("MC dwell", Channel.DUTY, "deg"),
        ("Duty Cycle (%)", Channel.DUTY, "%"),
        ("ECT (°F)", Channel.COOLANT_TEMPERATURE, "degF"),
        ("coolant temp degC", Channel.COOLANT_TEMPERATURE, "degC"),
        ("RPM", Channel.ENGINE_SPEED, "rpm"),
        ("Engine Speed [1/min]", Channel.ENGINE_SPEED, "rpm"),
        ("speed (rpm)", Channel.ENGINE_SPEED, "rpm"),
        ("speed (mph)", Channel.ROAD_SPEED, "mph"),
        ("vehicle speed km/h", Channel.ROAD_SPEED, "km/h"),
        ("MAP (inHg)", Channel.MANIFOLD_PRESSURE, "inHg"),
        ("Manifold vacuum (inHg)", Channel.MANIFOLD_VACUUM, "inHg"),
        ("Baro (mbar)", Channel.BAROMETER, "hPa"),
        ("TPS %", Channel.THROTTLE_OPENING, "%"),
        ("Throttle position (V)", Channel.THROTTLE_VOLTAGE, "V"),
        ("Drehzahl (U/min)", Channel.ENGINE_SPEED, "rpm"),
        ("CoolantTemp (°C)", Channel.COOLANT_TEMPERATURE, "degC"),
        ("O2Sensor [mV]", Channel.SENSOR_VOLTAGE, "mV"),
        ("ThrottleVoltage (V)", Channel.THROTTLE_VOLTAGE, "V"),
    ],
)
def test_a_name_is_understood(header: str, channel: Channel, unit: str) -> None:
    uses = guess_columns(["time_s", header]).by_channel
    assert uses[channel] == ColumnUse(channel, header, unit)


@pytest.mark.parametrize(
    "header",
    [
        "O2 heater (V)",
        "ignition dwell (deg)",
        "target rpm",
        "fuel (%)",
        "O2 (%)",
        "purge vacuum (kPa)",
        "O2Heater (V)",
        "TargetRpm",
        "IgnitionDwell (deg)",
    ],
)
def test_a_name_that_only_looks_alike_is_not_taken(header: str) -> None:
    assert header in proposed_columns(["time_s", header]).unused


def test_the_usual_header() -> None:
    assert [str(u.channel) for u in guess_columns(USUAL).uses] == [
        "time", "engine_speed", "manifold_pressure", "throttle_voltage", "coolant_temperature", "sensor_voltage",
        "duty", "road_speed",
    ]  # fmt: skip


def test_a_column_without_unit_is_asked() -> None:
    asked = proposed_columns(["time_s", "map", "o2", "dwell"]).unit_asked
    assert [use.column for use in asked] == ["map", "o2"]
    with pytest.raises(
        InputFault, match=r"does not say its unit \(log.csv, row 3, column 'map', 'o2'\).*kPa"
    ):
        guess_columns(["time_s", "map", "o2", "dwell"], where="log.csv, row 3")


def test_a_header_without_time_or_without_anything_else_is_refused() -> None:
    with pytest.raises(InputFault, match=r"no column is the time"):
        guess_columns(["rpm", "dwell"])
    with pytest.raises(InputFault, match=r"no column beside the time is known"):
        guess_columns(["time_s", "banana"])


def test_two_columns_for_one_channel() -> None:
    seen = proposed_columns(["time_s", "rpm", "Drehzahl (U/min)"])
    assert seen.rivals == (("Drehzahl (U/min)", "rpm"),)


def test_a_unit_in_a_name() -> None:
    assert split_name("temp (front) [degC]") == (("temp", "front"), "degC")
    assert split_name("o2") == (("o2",), None)
    assert split_name("v") == (("v",), None)


def test_units_beyond_the_shop_are_exact() -> None:
    assert column_unit("hPa").factor == 100.0
    assert column_unit("mmHg").factor == pytest.approx(101325 / 760)  # definition of the torr
    with pytest.raises(InputFault, match=r"unknown unit"):
        column_unit("furlong")


def test_every_channel_has_units_that_exist_and_limits() -> None:
    for channel in Channel:
        for unit in channel_units(channel):
            if channel is not Channel.TIME or unit not in ("epoch", "iso", "clock"):
                assert column_unit(unit).factor > 0
        if channel is not Channel.TIME:
            low, high = channel_limits(channel)
            assert low < high


def test_a_map_survives_json() -> None:
    columns = guess_columns(USUAL)
    assert ColumnMap.from_json(columns.to_json()) == columns
    assert columns.to_json() == guess_columns(USUAL).to_json()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{}",
        '{"columns": 3}',
        '{"columns": [{"channel": "magic", "column": "a", "unit": "s"}]}',
        "[" * 5000,
    ],
)
def test_a_broken_map_is_refused(text: str) -> None:
    with pytest.raises(InputFault, match=r"column map|no column is the time"):
        ColumnMap.from_json(text)


def test_a_map_uses_a_channel_once_and_has_a_time() -> None:
    time = ColumnUse(Channel.TIME, "t", "s")
    with pytest.raises(InputFault, match=r"a channel is used twice"):
        ColumnMap((time, ColumnUse(Channel.DUTY, "a", "deg"), ColumnUse(Channel.DUTY, "b", "deg")))
    with pytest.raises(InputFault, match=r"a column is used twice"):
        ColumnMap((time, ColumnUse(Channel.DUTY, "t", "deg")))
    with pytest.raises(InputFault, match=r"no column is the time"):
        ColumnMap((ColumnUse(Channel.DUTY, "a", "deg"),))


def test_a_map_is_remembered_by_its_header(tmp_path: Path) -> None:
    columns = guess_columns(USUAL)
    assert remembered_columns(USUAL, tmp_path) is None
    path = save_column_map(columns, tmp_path / "maps")
    assert remembered_columns([name.upper() for name in USUAL], tmp_path / "maps") == columns
    assert header_fingerprint(USUAL[:-1]) != header_fingerprint(USUAL)
    path.write_text("{", encoding="utf-8")
    with pytest.raises(InputFault, match=r"cannot be read"):
        remembered_columns(USUAL, tmp_path / "maps")
