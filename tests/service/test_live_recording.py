"""Live recording into a job: over the network, over a serial line, and what happens when a wire breaks."""

from __future__ import annotations

import os
import threading
import time
from contextlib import suppress
from pathlib import Path

import pytest

from dwellwright.demo.instrument import DESCRIPTION, simulated_instrument, simulated_lines
from dwellwright.errors import InputFault
from dwellwright.evidence.instrument.description import Column, description_of
from dwellwright.evidence.observation import Measured, Regime
from dwellwright.evidence.trace import Channel, guess_columns
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Side
from dwellwright.service.jobs import job_view, take_in_job
from dwellwright.service.live_into_job import drafts, new_recorder, take_reading, taken_in
from dwellwright.service.live_recording import SHOWN, Recorder, written_value
from dwellwright.service.own_instruments import line_instrument, line_instruments, save_line_instrument
from dwellwright.service.shop import open_shop

SERIAL = """
format = 1
title = "dwell meter on a wire (invented)"
connection = { kind = "serial", ask = "?\\n", ask_every = 0.01 }
column = [{ place = 1, channel = "duty", unit = "deg", cylinders = 8 }]
"""


@pytest.fixture
def job(tmp_path: Path) -> Shop:
    shop = open_shop(tmp_path / "shop")
    take_in_job(shop, owner="A. Sample", car="wagon", complaint="lamp", sheet="two-barrel-v6", who="t")
    return shop


def waited(recorder: Recorder, rows: int) -> None:
    """Until so many lines came; a minute is more than any machine needs."""
    until = time.monotonic() + 60
    while recorder.progress().rows < rows and recorder.progress().running and time.monotonic() < until:
        time.sleep(0.01)
    assert recorder.progress().rows >= rows, recorder.progress()


def test_every_header_written_is_the_channel_that_the_reader_understands() -> None:
    for channel in (one for one in SHOWN if one in set(Channel) and one != "time"):
        found = guess_columns(["time_s", SHOWN[channel][0]])
        assert [use.channel for use in found.uses if use.channel != "time"] == [channel]


def test_a_drive_recorded_over_the_network_is_evidence(job: Shop) -> None:
    lines = simulated_lines(start=280.0)
    with simulated_instrument(lines, speed=1e6) as address:
        recorder = new_recorder(job, 1, "simulated", description_of(DESCRIPTION), address)
        recorder.start()
        waited(recorder, len(lines))
        recorder.stop()
    assert recorder.progress().passed == 1  # the heading
    added = taken_in(job, 1, recorder.path, Side.AS_FOUND, "t")
    assert [one.record.kind for one in added] == ["trace"]
    seen = [one for one in job_view(job, 1).observations(Side.AS_FOUND) if one.measured is Measured.DUTY]
    idle = next(one for one in seen if one.regime is Regime.IDLE)
    assert 48 < 60 * idle.value < 52  # the invented car as found idles at about 50 deg, see the demonstration
    assert drafts(job, 1) == []
    job.close()


def test_a_meter_on_a_serial_line_is_asked_and_taken_as_a_reading(job: Shop) -> None:
    pytest.importorskip("serial", reason="serial instruments need pyserial")
    master, slave = os.openpty()
    ended = threading.Event()

    def answer() -> None:
        with suppress(OSError):  # the wire is pulled at the end
            while not ended.is_set():
                if b"?" in os.read(master, 64):
                    os.write(master, b"22.50\r\n")

    threading.Thread(target=answer, daemon=True).start()
    recorder = new_recorder(job, 1, "meter", description_of(SERIAL), os.ttyname(slave))
    recorder.start()
    waited(recorder, 10)
    mean = take_reading(job, 1, recorder, "duty", 30.0, Regime.IDLE, Side.AS_LEFT, "t")
    ended.set()
    recorder.stop()
    assert mean == pytest.approx(30.0)  # 22.5 of 45 deg on the eight-cylinder scale is half, 30 of 60 on six
    [seen] = job_view(job, 1).observations(Side.AS_LEFT)
    assert seen.value == pytest.approx(0.5)
    for end in (master, slave):
        os.close(end)
    job.close()


def test_a_wire_that_breaks_ends_the_recording_and_keeps_what_came(job: Shop) -> None:
    with simulated_instrument(simulated_lines()[:40], speed=1e6) as address:
        recorder = new_recorder(job, 1, "x", description_of(DESCRIPTION), address)
        recorder.start()
        recorder.wait(30)
    assert "hung up" in recorder.progress().fault
    assert drafts(job, 1) == [recorder.path.name]
    assert len(recorder.path.read_text().splitlines()) == 41
    job.close()


def test_an_instrument_that_does_not_answer_is_said_at_once(job: Shop) -> None:
    with simulated_instrument([]) as address:
        pass
    with pytest.raises(InputFault, match="does not answer"):
        new_recorder(job, 1, "x", description_of(DESCRIPTION), address).start()
    job.close()


def test_gas_is_put_in_as_gas(job: Shop) -> None:
    text = 'format=1\ntitle="g"\nconnection={kind="network"}\ncolumn=[' + ",".join(
        f'{{place={place},channel="{gas}",unit="{unit}"}}'
        for place, (gas, unit) in enumerate((("co", "%"), ("co2", "%"), ("o2", "%"), ("hc", "ppm")), 1)
    ) + "]"  # fmt: skip
    lines = [(0.0, "0.60,14.5,0.4,180\n"), (0.0, "0.64,14.7,0.6,200\n")]
    with simulated_instrument(lines, speed=1e6) as address:
        recorder = new_recorder(job, 1, "gas", description_of(text), address)
        recorder.start()
        waited(recorder, 2)
        recorder.stop()
    [added] = taken_in(job, 1, recorder.path, Side.AS_FOUND, "t")
    [line] = added.record.summary["facts"]["readings"]
    assert (line["co_pct"], line["co2_pct"], line["o2_pct"], line["hc_ppm"]) == (0.62, 14.6, 0.5, 190.0)
    job.close()


@pytest.mark.parametrize(
    ("channel", "unit", "value", "written"),
    [
        ("duty", "deg", 30.0, 30.0), ("duty", "%", 50.0, 30.0), ("duty", "1", 0.5, 30.0),
        ("sensor_voltage", "V", 0.45, 450.0), ("coolant_temperature", "degF", 212.0, 100.0),
        ("engine_speed", "Hz", 10.0, 600.0), ("manifold_pressure", "inHg", 29.9213, 101.325),
    ],
)  # fmt: skip
def test_units_are_turned_into_those_that_are_written(
    channel: str, unit: str, value: float, written: float
) -> None:
    """Closed forms; the mercury column is the standard atmosphere by definition of 101.325 kPa, to six figures."""
    found = written_value(Column(place=1, channel=channel, unit=unit), value)
    assert found == pytest.approx(written, rel=2e-6)


def test_descriptions_are_kept_by_plain_names(job: Shop) -> None:
    save_line_instrument(job, "logger-1", DESCRIPTION)
    assert line_instrument(job, "logger-1").title == "simulated logger (invented)"
    for name in ("../x", "", "a/b", ".hidden", "x" * 61):
        with pytest.raises(InputFault, match="short and plain"):
            save_line_instrument(job, name, DESCRIPTION)
    (job.folder / "instruments" / "broken.toml").write_text("format = ")
    assert [one.name for one in line_instruments(job) if one.fault] == ["broken"]
    with pytest.raises(InputFault, match="not TOML"):
        line_instrument(job, "broken")
    with pytest.raises(InputFault, match="no such instrument"):
        line_instrument(job, "nothing")
    job.close()
