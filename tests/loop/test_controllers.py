"""The catalogue's controllers and the reading of others."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from dwellwright.catalogue.controller_rules import Signal
from dwellwright.catalogue.controllers import catalogue_controllers, read_controllers
from dwellwright.errors import InputFault
from dwellwright.loop.controller import CLOSED, forced_duty, ramps, waiting_duty

TEXT = files("dwellwright.catalogue").joinpath("data/controllers.toml").read_text(encoding="utf-8")
CONTROLLER = catalogue_controllers()["generic-pulsed"]


def signals(**changes: float) -> dict[Signal, np.ndarray]:
    usual = {"time": 100.0, "engine_speed": 30.0, "coolant_temperature": 360.0, "throttle_voltage": 1.2}
    usual |= {"battery_voltage": 14.0, "air_flow": 0.02, "sensor_temperature": 800.0}
    return {Signal(name): np.array([value]) for name, value in (usual | changes).items()}


def test_a_file_of_ones_own_reads_like_the_catalogue(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(TEXT, encoding="utf-8")
    assert read_controllers(path) == catalogue_controllers()


def test_units_arrive_in_si() -> None:
    """Expected numbers: the file's own, converted by hand."""
    assert CONTROLLER.threshold_voltage == pytest.approx(0.45)
    assert CONTROLLER.idle_lean_ramp == pytest.approx(0.04)
    assert CONTROLLER.ramp_speed == pytest.approx((10.0, 25.0, 50.0, 75.0))
    assert CONTROLLER.waiting_coolant[0] == pytest.approx(253.15)


@pytest.mark.parametrize("name", ["generic-pulsed", "slow-integral", "inverted-valve"])
def test_every_number_says_where_it_is_from_and_every_controller_that_it_is_invented(name: str) -> None:
    import tomllib

    table = tomllib.loads(TEXT)[name]
    assert table["invented"] is True
    assert all("source" in entry for entry in table.values() if isinstance(entry, dict) and "value" in entry)
    assert {"ramp_source", "waiting_source"} <= table.keys()


@pytest.mark.parametrize(
    ("change", "want"),
    [
        ({}, CLOSED),
        ({"engine_speed": 2.0}, 0.0),
        ({"throttle_voltage": 4.2}, 0.1),
        ({"coolant_temperature": 300.0}, 0.4),
        ({"time": 3.0}, 0.5),
        ({"coolant_temperature": 300.0, "throttle_voltage": 4.2}, 0.1),  # the earlier rule wins
    ],
)
def test_modes(change: dict[str, float], want: float) -> None:
    assert forced_duty(CONTROLLER, signals(**change)) == pytest.approx([want])


def test_ramps_by_speed_and_at_idle() -> None:
    lean, rich, jump = ramps(CONTROLLER, signals(engine_speed=37.5))
    assert (lean[0], rich[0], jump[0]) == pytest.approx((0.13, 0.13, 0.02))  # halfway between 10 and 16 %/s
    lean, rich, jump = ramps(CONTROLLER, signals(throttle_voltage=0.55))
    assert (lean[0], rich[0], jump[0]) == pytest.approx((0.04, 0.04, 0.01))
    assert waiting_duty(CONTROLLER, signals(coolant_temperature=313.15)) == pytest.approx([0.35])


@pytest.mark.parametrize(
    ("old", "new", "what"),
    [
        ('unit = "Hz"', 'unit = "V"', "a unit that measures something else .*pulse_rate.*Hz"),
        ('unit = "Hz"', 'unit = "furlong"', "unknown unit"),
        ("value = 10, unit", 'value = "ten", unit', "not a number"),
        ("value = 10, unit", "value = nan, unit", "not a number"),
        ("value = 450, unit", "unit", "wanted value"),
        ("pulse_rate = {", "pulse_rat = {", "wanted pulse_rate"),
        ('signal = "engine_speed"', 'signal = "moon"', "unknown signal"),
        (
            'signal = "engine_speed", below = 300, unit = "rpm"',
            'signal = "duty", below = 3, unit = "%"',
            "unknown signal",
        ),
        ("below = 300, unit", "below = 300, above = 200, unit", "one side"),
        ("low_limit = { value = 10", "low_limit = { value = 95", "limits must rise"),
        ("silent_low = { value = 300", "silent_low = { value = 700", "silent window must rise"),
        ("values = [600, 1500, 3000, 4500]", "values = [600, 1500, 1500, 4500]", "axis must rise"),
        ("values = [600, 1500, 3000, 4500]", "values = [600, 1500]", "as long as their axis"),
        ("jump = { value = 2,", "jump = { value = -2,", "must not be negative"),
        ("duty = { value = 0,", "duty = { value = 140,", "within 0 and 1"),
        ('title = "Invented pulsed', 'title = "Invented" pulsed', "not a TOML file"),
        (
            'pulse_rate = { value = 10, unit = "Hz", source = "common practice, no source" }',
            "pulse_rate = 10",
            "without unit and source",
        ),
    ],
)
def test_refused_files(tmp_path: Path, old: str, new: str, what: str) -> None:
    assert old in TEXT
    path = tmp_path / "mine.toml"
    path.write_text(TEXT.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(InputFault, match=what):
        read_controllers(path)


def test_refused_values() -> None:
    with pytest.raises(ValueError, match="pulse rate must be positive"):
        replace(CONTROLLER, pulse_rate=0.0)
    with pytest.raises(ValueError, match="input resistance must be positive"):
        replace(CONTROLLER, input_resistance=0.0)
