"""ASAM MDF recordings as its reference library writes them; versions 3.30 and 4.10 of the standard."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest

from dwellwright.errors import InputFault
from dwellwright.evidence.trace import read_trace
from dwellwright.evidence.trace.columnar import mdf_header
from dwellwright.evidence.trace.columns import Channel, ColumnMap, ColumnUse, header_fingerprint
from dwellwright.evidence.trace.trace import Damage

asammdf = pytest.importorskip("asammdf", reason="asammdf is not made for this Python yet")
SLOW, FAST = np.arange(0, 30, 0.1), np.arange(0.05, 30, 0.02)


def written(folder: Path, version: str, *extra: tuple[str, str]) -> Path:
    """Two groups with a clock of their own each; the sensor's begins later."""
    with asammdf.MDF(version=version) as mdf:

        def group(time: np.ndarray, **signals: tuple[np.ndarray, str]) -> None:
            mdf.append([asammdf.Signal(values, time, name=name, unit=unit)
                        for name, (values, unit) in signals.items()])  # fmt: skip

        group(SLOW, EngineSpeed=(750.0 + SLOW, "rpm"), CoolantTemp=(80.0 + SLOW / 10, "°C"))
        group(FAST, O2Sensor=(450.0 + 400 * np.sin(FAST), "mV"), Dwell=(30.0 + np.sin(FAST), "deg"))
        for name, unit in extra:
            group(SLOW, **{name: (np.full(SLOW.size, 3.0), unit)})
        return Path(mdf.save(folder / "drive.mf4", overwrite=True))


@pytest.mark.parametrize("version", ["3.30", "4.10", "4.11"])
def test_channels_stand_on_the_clock_of_the_busiest(tmp_path: Path, version: str) -> None:
    trace = read_trace(written(tmp_path, version))
    assert trace.time == pytest.approx(FAST)
    assert trace.values(Channel.SENSOR_VOLTAGE) == pytest.approx(0.45 + 0.4 * np.sin(FAST))
    assert trace.values(Channel.DUTY) == pytest.approx((30 + np.sin(FAST)) / 60)
    held = (750.0 + np.floor(FAST / 0.1 + 1e-9) * 0.1) / 60  # the last reading before
    assert trace.values(Channel.ENGINE_SPEED) == pytest.approx(held)
    assert trace.values(Channel.COOLANT_TEMPERATURE)[0] == pytest.approx(353.15)


def test_what_is_left_out_for_another_column_is_said(tmp_path: Path) -> None:
    trace = read_trace(
        written(tmp_path, "4.10", ("rpm of the meter", "rpm"), ("Time", "ms"), ("Oil level", "mm"))
    )
    said = " ".join(one.sentence for one in trace.damage if one.kind is Damage.UNUSED_COLUMN)
    assert "'rpm of the meter (rpm)' was not used because 'EngineSpeed (rpm)'" in said
    assert "'Time (ms)' was not used because 'time (s)'" in said
    assert trace.time == pytest.approx(FAST)


def test_channels_of_any_name_are_read_through_a_map(tmp_path: Path) -> None:
    path = written(tmp_path, "4.10", ("ub_lambda", ""), ("zeit", "ms"))
    header = mdf_header(path)
    assert header[0] == "time (s)"
    assert {"ub_lambda", "zeit (ms)"} < set(header)
    uses = (ColumnUse(Channel.TIME, "time (s)", "s"), ColumnUse(Channel.SENSOR_VOLTAGE, "ub_lambda", "V"))
    trace = read_trace(path, columns=ColumnMap(uses, header_fingerprint(header)))
    assert trace.values(Channel.SENSOR_VOLTAGE) == pytest.approx(np.full(SLOW.size, 3.0), nan_ok=True)
    wrong = (ColumnUse(Channel.TIME, "zeit (ms)", "ms"), uses[1])
    with pytest.raises(InputFault, match="has a clock of its own"):
        read_trace(path, columns=ColumnMap(wrong, header_fingerprint(header)))


def test_a_recording_without_known_channels_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "oil.mf4"
    with asammdf.MDF(version="4.10") as mdf:
        mdf.append([asammdf.Signal(SLOW, SLOW, name="Oil", unit="mm")])
        mdf.save(path)
    with pytest.raises(InputFault, match="no column beside the time is known"):
        read_trace(path)


def test_a_damaged_file_is_refused_or_read(tmp_path: Path) -> None:
    content = written(tmp_path, "4.10").read_bytes()
    dice, refused = random.Random(5), 0
    for _ in range(60):
        broken = bytearray(content)
        for _ in range(dice.randint(1, 4)):
            at = dice.randrange(8, len(broken))
            broken[at : at + dice.choice((1, 4, 64))] = dice.randbytes(dice.choice((1, 4, 64)))
        path = tmp_path / "broken.mf4"
        path.write_bytes(broken[: dice.randrange(64, len(broken))] if dice.random() < 0.3 else broken)
        try:
            read_trace(path)
        except InputFault:
            refused += 1
    assert refused > 5
