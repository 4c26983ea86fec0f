"""Descriptions of instruments and their lines: understood, refused, and never a crash on what comes down a wire."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.errors import InputFault
from dwellwright.evidence.instrument.description import Wire, description_of
from dwellwright.evidence.instrument.lines import decoded
from dwellwright.evidence.instrument.wire import known_address

METER = """
format = 1
title = "a meter (invented)"
connection = { kind = "serial", baud = 19200 }
line = { begins = "$D", separator = ";", decimal = "," }
column = [
  { place = 1, channel = "duty", unit = "deg", cylinders = 8 },
  { place = 3, channel = "sensor_voltage", unit = "mV" },
]
"""


def test_a_line_is_read_by_place_and_decimal_sign() -> None:
    found = decoded(description_of(METER), "$D22,5;x;451\r\n")
    assert found.values == {"duty": 22.5, "sensor_voltage": 451.0}
    assert not found.fault


def test_other_lines_are_passed_over() -> None:
    meter = description_of(METER)
    assert decoded(meter, "# hello").passed
    assert decoded(meter, "").passed


@pytest.mark.parametrize("text", ["$D22,5;x;", "$D22,5", "$D22,5;x;nan", "$D22,5;x;4_5", "$D22,5;x;inf"])
def test_a_cell_that_holds_no_number_is_left_out_and_told(text: str) -> None:
    found = decoded(description_of(METER), text)
    assert found.values == {"duty": 22.5}
    assert "column 3" in found.fault


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("format = 1", "format = 2", "format"),
        ('unit = "mV"', 'unit = "kg"', "unit of sensor_voltage must be one of V, mV"),
        ('channel = "duty"', 'channel = "luck"', "channel must be one of"),
        ("place = 3", "place = 1", "column place 1 is used twice"),
        ("place = 3", "place = 0", "column.2.place"),
        ("baud = 19200", "baud = 1", "line 4, connection.baud"),
        ('kind = "serial"', 'kind = "radio"', "connection.kind"),
        ("19200", "nan", "connection.baud"),
        ('title = "a meter (invented)"', "title = ", "not TOML"),
        ("connection", "conection", "connection"),
    ],
)
def test_a_wrong_description_is_refused_with_its_place(old: str, new: str, said: str) -> None:
    with pytest.raises(InputFault, match=said):
        description_of(METER.replace(old, new, 1))


def test_a_long_description_is_refused() -> None:
    with pytest.raises(InputFault, match="too long"):
        description_of("#" * 200_000)


def test_only_the_time_is_no_instrument() -> None:
    text = 'format=1\ntitle="x"\nconnection={kind="serial"}\ncolumn=[{place=1,channel="time",unit="s"}]'
    with pytest.raises(InputFault, match="more than the time"):
        description_of(text)


@given(st.text(max_size=300))
def test_any_text_is_read_or_passed_over(text: str) -> None:
    found = decoded(description_of(METER), text)
    assert set(found.values) <= {"duty", "sensor_voltage"}
    assert found.passed or found.values or found.fault


@pytest.mark.parametrize("address", ["/dev/ttyUSB0", "COM3", "/dev/pts/4", "/dev/cu.usbserial-14"])
def test_serial_ports_are_known(address: str) -> None:
    assert known_address(Wire.SERIAL, f" {address} ") == address


@pytest.mark.parametrize(
    "address", ["", "/etc/passwd", "/dev/sda", "/dev/tty/../sda", "10.0.0.1:5", "COM3 x"]
)
def test_what_is_no_serial_port_is_refused(address: str) -> None:
    with pytest.raises(InputFault, match="no serial port"):
        known_address(Wire.SERIAL, address)


@pytest.mark.parametrize(
    "address", ["192.168.1.20:5025", "127.0.0.1:9", "localhost:80", "[::1]:5025", "10.1.2.3:65535"]
)
def test_addresses_of_this_network_are_known(address: str) -> None:
    assert known_address(Wire.NETWORK, address) == address


@pytest.mark.parametrize(
    "address",
    ["8.8.8.8:53", "elsewhere.example:80", "10.0.0.1", "10.0.0.1:0", "10.0.0.1:99999", ":80", "a" * 5000],
)
def test_addresses_elsewhere_are_refused(address: str) -> None:
    with pytest.raises(InputFault, match="no address of an instrument"):
        known_address(Wire.NETWORK, address)
