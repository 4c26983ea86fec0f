"""Files of every shape: what is read, what is reported, what is refused."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import polars as pl
import pytest

from dwellwright.errors import InputFault
from dwellwright.evidence.trace import ColumnMap, ColumnUse, Polarity, read_trace
from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.trace import Damage, Trace

HEADER = "time_s,rpm,map_kpa,tps_v,coolant_c,o2_mv,dwell_deg,speed_kmh\n"


def rows(count: int, begin: float = 0.0, step: float = 0.06) -> str:
    return "".join(
        f"{begin + i * step:.3f},{750 + i % 5},{34 + i % 3 / 10},0.55,88,{400 + i % 7},30.5,0\n"
        for i in range(count)
    )


def read(folder: Path, content: str | bytes, name: str = "log.csv", **options: object) -> Trace:
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return read_trace(path, **options)  # type: ignore[arg-type]


def kinds(trace: Trace) -> set[Damage]:
    return {finding.kind for finding in trace.damage}


def finding(trace: Trace, kind: Damage) -> tuple[int, int]:
    found = [f for f in trace.damage if f.kind is kind]
    assert len(found) == 1
    return found[0].count, found[0].row


def test_si_values(tmp_path: Path) -> None:
    # by hand: 900 rpm = 15 rev/s, 34 kPa, 88 degC = 361.15 K, 0.4 V, 30 deg of 60, 72 km/h = 20 m/s
    trace = read(tmp_path, HEADER + "0.0,900,34,0.55,88,400,30,72\n0.1,900,34,0.55,88,400,30,72\n")
    assert trace.frame.columns == [
        "time", "engine_speed", "manifold_pressure", "throttle_voltage", "coolant_temperature", "sensor_voltage",
        "duty", "road_speed",
    ]  # fmt: skip
    assert trace.frame.row(0) == pytest.approx((0.0, 15.0, 34e3, 0.55, 361.15, 0.4, 0.5, 20.0))
    assert trace.damage == ()


def test_other_units(tmp_path: Path) -> None:
    text = "Time [ms]\tMAP (inHg)\tECT (°F)\tSpeed (mph)\tDuty (%)\n" + "".join(
        f"{i * 50}\t20\t212\t60\t25\n" for i in range(9)
    )
    trace = read(tmp_path, text)
    # 20 inHg = 67727.8 Pa (NIST SP 811), 212 degF boils, 60 mph = 26.8224 m/s
    assert trace.frame.row(2) == pytest.approx((0.1, 67727.77, 373.15, 0.25, 26.8224), rel=1e-6)


def test_dwell_scale_and_polarity(tmp_path: Path) -> None:
    text = "time_s,dwell\n0,18\n1,18\n2,18\n"
    assert read(tmp_path, text).values(Channel.DUTY)[0] == pytest.approx(0.3)
    assert read(tmp_path, text, dwell_cylinders=8).values(Channel.DUTY)[0] == pytest.approx(0.4)
    reversed_meter = read(tmp_path, text, polarity=Polarity.METER_REVERSED_LEAN)
    assert reversed_meter.values(Channel.DUTY)[0] == pytest.approx(0.7)
    assert reversed_meter.polarity.energized_is_lean
    assert not Polarity.ENERGIZED_RICH.energized_is_lean
    with pytest.raises(ValueError, match=r"dwell_cylinders must be 1 to 16, got 0"):
        read(tmp_path, text, dwell_cylinders=0)


def test_vacuum_becomes_pressure(tmp_path: Path) -> None:
    with_barometer = read(tmp_path, "time_s,vacuum (kPa),baro (kPa)\n0,60,95\n1,60,95\n")
    assert with_barometer.values(Channel.MANIFOLD_PRESSURE)[0] == pytest.approx(35e3)
    without = read(tmp_path, "time_s,vacuum (kPa)\n0,60\n1,60\n")
    assert without.values(Channel.MANIFOLD_PRESSURE)[0] == pytest.approx(101325 - 60e3)
    assert Damage.ASSUMED in kinds(without)


SHAPES: dict[str, Callable[[str], bytes]] = {
    "semicolons and decimal commas": lambda t: t.replace(",", ";").replace(".", ",").encode(),
    "tabs": lambda t: t.replace(",", "\t").encode(),
    "quoted decimal commas": lambda t: "\n".join(
        ",".join('"' + cell.replace(".", ",") + '"' for cell in line.split(",")) for line in t.splitlines()
    ).encode(),
    "quotes": lambda t: "\n".join(
        ",".join(f'"{c}"' for c in line.split(",")) for line in t.splitlines()
    ).encode(),
    "utf-8 with mark": lambda t: t.encode("utf-8-sig"),
    "utf-16": lambda t: t.encode("utf-16"),
    "windows line ends": lambda t: t.replace("\n", "\r\n").encode(),
    "oldest line ends": lambda t: t.replace("\n", "\r").encode(),
    "a preamble": lambda t: ("Recorder 3\nStarted: Monday\n\n" + t).encode(),
    "a row of units": lambda t: t.replace(
        HEADER, "time,rpm,MAP,TPS,coolant,O2,dwell,speed\ns,rpm,kPa,V,C,mV,deg,km/h\n"
    ).encode(),
    "a trailing delimiter": lambda t: t.replace("\n", ",\n").encode(),
    "blanks around cells": lambda t: t.replace(",", " , ").encode(),
    "no last line end": lambda t: t.rstrip("\n").encode(),
    "blank lines at the end": lambda t: (t + "\n\n").encode(),
}


@pytest.mark.parametrize("shape", SHAPES)
def test_shapes_of_text_read_the_same(shape: str, tmp_path: Path) -> None:
    plain = read(tmp_path, HEADER + rows(60)).frame
    other = read(tmp_path, SHAPES[shape](HEADER + rows(60)), "other.csv").frame
    assert other.columns == plain.columns
    assert other.to_numpy() == pytest.approx(plain.to_numpy())


def test_parquet_reads_the_same(tmp_path: Path) -> None:
    text = HEADER + rows(60)
    plain = read(tmp_path, text)
    pl.read_csv(text.encode()).write_parquet(tmp_path / "log.parquet")
    assert read_trace(tmp_path / "log.parquet").frame.equals(plain.frame)


def test_parquet_with_moments(tmp_path: Path) -> None:
    moments = pl.datetime_range(datetime(2024, 5, 5), datetime(2024, 5, 5, 0, 0, 9), "1s", eager=True)
    pl.DataFrame({"time": moments, "rpm": np.full(10, 750.0), "note": ["x"] * 10}).write_parquet(
        tmp_path / "a.parquet"
    )
    trace = read_trace(tmp_path / "a.parquet")
    assert trace.time == pytest.approx(np.arange(10.0))
    assert trace.started == datetime(2024, 5, 5, tzinfo=UTC)


def test_broken_parquet_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputFault, match=r"the Parquet file is damaged \(a.parquet\)"):
        read(tmp_path, b"PAR1" + b"x" * 100, "a.parquet")
    pl.DataFrame({"time_s": [0.0, 1.0], "rpm": ["a", "b"]}).write_parquet(tmp_path / "b.parquet")
    with pytest.raises(InputFault, match=r"the column is not numbers \(b.parquet, row 1, column 'rpm'\)"):
        read_trace(tmp_path / "b.parquet")
    pl.DataFrame({"time_s": ["x", "y"], "rpm": [1.0, 2.0]}).write_parquet(tmp_path / "c.parquet")
    with pytest.raises(InputFault, match=r"the time column is not time"):
        read_trace(tmp_path / "c.parquet")
    pl.DataFrame({"time_s": [], "rpm": []}, schema={"time_s": pl.Float64, "rpm": pl.Float64}).write_parquet(
        tmp_path / "d.parquet"
    )
    with pytest.raises(InputFault, match=r"columns but no rows"):
        read_trace(tmp_path / "d.parquet")


def test_mdf_without_its_reader_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("dwellwright.evidence.trace.columnar.find_spec", lambda _: None)
    with pytest.raises(InputFault, match=r"need the optional asammdf.*Install dwellwright\[mdf\]"):
        read(tmp_path, b"MDF     4.10    " + b"\0" * 100, "log.mf4")


TIMES: dict[str, tuple[str, Callable[[float], str]]] = {
    "seconds": ("time_s", lambda t: f"{t:.2f}"),
    "seconds unsaid": ("time", lambda t: f"{t:.2f}"),
    "milliseconds": ("time (ms)", lambda t: f"{1000 * t:.0f}"),
    "minutes": ("time (min)", lambda t: f"{t / 60:.6f}"),
    "clock": ("time", lambda t: f"00:{int(t // 60):02d}:{t % 60:06.3f}"),
    "minutes and seconds": ("time", lambda t: f"{int(t // 60):02d}:{t % 60:06.3f}"),
    "iso": ("timestamp", lambda t: f"2024-05-05T10:00:{t:06.3f}Z"),
    "iso with blank": ("date time", lambda t: f"2024-05-05 10:00:{t:06.3f}"),
    "epoch": ("timestamp", lambda t: f"{1714900000 + t:.3f}"),
    "epoch in milliseconds": ("timestamp", lambda t: f"{1714900000000 + 1000 * t:.0f}"),
}


@pytest.mark.parametrize("form", TIMES)
def test_times_of_every_form(form: str, tmp_path: Path) -> None:
    name, written = TIMES[form]
    instants = np.arange(0, 59, 0.25)
    text = f"{name},rpm\n" + "".join(f"{written(t)},{750 + i % 3}\n" for i, t in enumerate(instants))
    trace = read(tmp_path, text)
    assert trace.time - trace.time[0] == pytest.approx(instants, abs=1e-3)
    dated = form.startswith(("iso", "epoch"))
    assert (trace.started is not None) == dated
    if trace.started is not None:
        assert trace.started.year == 2024


def test_midnight(tmp_path: Path) -> None:
    text = (
        "time,rpm\n"
        + "".join(f"23:59:{s:02d},7{s}\n" for s in range(50, 60))
        + "00:00:00,750\n00:00:01,751\n"
    )
    trace = read(tmp_path, text)
    assert np.diff(trace.time) == pytest.approx(np.ones(11))
    assert Damage.CLOCK_JUMP in kinds(trace)


def test_a_time_without_unit_is_refused_when_it_could_be_either(tmp_path: Path) -> None:
    text = "time,rpm\n" + "".join(f"{20 * i},750\n" for i in range(20))
    with pytest.raises(
        InputFault, match=r"time column does not say its unit \(log.csv, row 2, column 'time'\)"
    ):
        read(tmp_path, text)
    with pytest.raises(InputFault, match=r"not since 1970"):
        read(tmp_path, text.replace("time", "time (epoch)"))


def test_damage_is_reported_with_its_row(tmp_path: Path) -> None:
    # the header is row 1, so the line after 50 rows is row 52
    blank = read(tmp_path, HEADER + rows(50) + "3.1,,34,0.55,88,,30,0\n" + rows(50, 3.2))
    assert [f.sentence for f in blank.damage] == [
        "Column 'rpm' has 1 blank cell (1.0 %).",
        "Column 'o2_mv' has 1 blank cell (1.0 %).",
    ]
    assert np.isnan(blank.values(Channel.ENGINE_SPEED)[50])
    bad = read(tmp_path, HEADER + rows(50) + "3.1,err,34,0.55,88,450,30,0\n" + rows(50, 3.2))
    assert finding(bad, Damage.BAD_CELL) == (1, 52)
    assert np.isnan(bad.values(Channel.ENGINE_SPEED)[50])
    finite = read(tmp_path, HEADER + rows(50) + "3.1,nan,inf,0.55,88,450,30,0\n" + rows(50, 3.2))
    assert kinds(finite) == {Damage.NOT_FINITE}
    assert np.isnan(finite.values(Channel.MANIFOLD_PRESSURE)[50])
    outside = read(tmp_path, HEADER + rows(50) + "3.1,99999,34,0.55,88,450,30,0\n" + rows(50, 3.2))
    assert finding(outside, Damage.OUT_OF_RANGE) == (1, 52)
    more = read(tmp_path, HEADER + rows(50) + "3.1,750,34,0.55,88,450,30,0,9,9\n" + rows(50, 3.2))
    assert finding(more, Damage.BAD_CELL) == (1, 52)
    assert more.frame.height == 101


def test_a_clock_that_stumbles(tmp_path: Path) -> None:
    gap = read(tmp_path, HEADER + rows(50) + rows(50, 20.0))
    assert finding(gap, Damage.GAP) == (1, 52)
    same = read(tmp_path, HEADER + rows(50) + rows(1, 2.94) + rows(50, 3.2))
    assert finding(same, Damage.DUPLICATE_TIME) == (1, 52)
    assert same.frame.height == 100
    back = read(tmp_path, HEADER + rows(50) + rows(3, 2.5) + rows(50, 3.2))
    assert finding(back, Damage.BACKWARD_TIME) == (3, 52)
    reset = read(tmp_path, HEADER + rows(50, 1000.0) + rows(50, 3.0))
    assert finding(reset, Damage.CLOCK_JUMP) == (1, 52)
    lone = read(tmp_path, HEADER + rows(50) + "99999,750,34,0.55,88,450,30,0\n" + rows(50, 3.2))
    assert finding(lone, Damage.CLOCK_JUMP) == (1, 52)
    for trace in (gap, same, back, reset, lone):
        assert np.all(np.diff(trace.time) > 0)


def test_a_stuck_channel(tmp_path: Path) -> None:
    lines = (HEADER + rows(1000)).splitlines()
    for i in range(301, 701):
        cells = lines[i].split(",")
        cells[5] = "437"
        lines[i] = ",".join(cells)
    trace = read(tmp_path, "\n".join(lines) + "\n")
    stuck = [f for f in trace.damage if f.kind is Damage.STUCK and f.channel is Channel.SENSOR_VOLTAGE]
    assert [(f.count, f.row) for f in stuck] == [(400, 302)]


def test_a_row_cut_in_its_middle_is_left_out(tmp_path: Path) -> None:
    trace = read(tmp_path, (HEADER + rows(50))[:-20])
    assert trace.frame.height == 49
    assert kinds(trace) == {Damage.CUT_SHORT}


def test_bytes_that_are_not_utf_8(tmp_path: Path) -> None:
    header = read(tmp_path, (HEADER.replace("coolant_c", "coolant (°C)") + rows(50)).encode("latin-1"))
    assert kinds(header) == {Damage.ENCODING}
    assert header.values(Channel.COOLANT_TEMPERATURE)[0] == pytest.approx(361.15)
    cell = read(
        tmp_path, (HEADER + rows(9000)).encode() + b"700,\xff\xfe,34,.5,88,450,30,0\n" + rows(9, 701).encode()
    )
    assert finding(cell, Damage.BAD_CELL) == (1, 9002)


def test_a_map_overrules_the_header(tmp_path: Path) -> None:
    text = "a;b;c\n" + "".join(f"{i * 0.1:.1f};{i};{i}\n" for i in range(20))
    columns = ColumnMap(
        (ColumnUse(Channel.TIME, "a", "s"), ColumnUse(Channel.COOLANT_TEMPERATURE, "c", "degC"))
    )
    trace = read(tmp_path, text, columns=columns)
    assert trace.values(Channel.COOLANT_TEMPERATURE)[5] == pytest.approx(278.15)
    other = ColumnMap((ColumnUse(Channel.TIME, "a", "s"), ColumnUse(Channel.DUTY, "dwell", "deg")))
    with pytest.raises(
        InputFault, match=r"names columns the file does not have \(log.csv, row 1\); wanted dwell"
    ):
        read(tmp_path, text, columns=other)
    wrong = ColumnMap((ColumnUse(Channel.TIME, "a", "s"), ColumnUse(Channel.DUTY, "b", "furlong")))
    with pytest.raises(InputFault, match=r"unknown unit"):
        read(tmp_path, text, columns=wrong)


REFUSED: dict[str, tuple[bytes, str]] = {
    "empty": (b"", r"the file is empty \(log.csv\)"),
    "blank": (b" \n\n", r"the file is empty"),
    "header only": (HEADER.encode(), r"header but no rows \(log.csv, row 2\)"),
    "one row": ((HEADER + rows(1)).encode(), r"not two rows with a time \(log.csv, row 2"),
    "no header": (rows(20).encode(), r"the columns have no names \(log.csv, row 1\)"),
    "prose": (b"Dear owner,\nyour car, sadly, is tired.\n", r"no row of names followed by rows of numbers"),
    "words": ((HEADER + "a,b,c,d,e,f,g,h\n" * 20).encode(), r"no row of names followed by rows of numbers"),
    "one wordy column": (
        (HEADER + "".join(f"{i / 10},low,34,.5,88,450,30,0\n" for i in range(40))).encode(),
        r"the column is not numbers \(log.csv, row 2, column 'rpm'\)",
    ),
    "binary": (bytes(range(256)) * 50, r"the file is binary.*row 1"),
    "binary after a good start": (
        (HEADER + rows(5)).encode() + b"\0\0\n",
        r"binary, not a table of text \(log.csv, row 7\)",
    ),
    "backward": (
        (HEADER + "".join(reversed(rows(90).splitlines(True)))).encode(),
        r"time runs backward \(log.csv, row 3",
    ),
    "no time": (b"rpm,dwell\n750,30\n750,30\n", r"no column is the time \(log.csv, row 1\)"),
    "no unit": (b"time_s,map\n0,34\n1,34\n", r"does not say its unit \(log.csv, row 1, column 'map'\)"),
    "two of a name": (b"time_s,rpm,rpm\n0,1,2\n1,1,2\n", r"two columns have the same name \(log.csv, row 1\)"),
    "a line without end": (HEADER.encode() + b"1" * 500_000, r"a line is too long.*row 2"),
    "a workbook": (b"PK\x03\x04" + b"\0" * 99, r"a workbook or zip archive. Save the sheet as CSV"),
    "a dwell beyond its scale": ((HEADER + rows(50).replace("30.5", "75")).encode(), r"beyond what the dwell scale"),
    "millivolts said to be volts": (
        (HEADER.replace("o2_mv", "o2_v") + rows(50)).encode(),
        r"most readings are impossible.*row 2, column 'o2_v'",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", REFUSED)
def test_a_wrong_file_gets_one_fault(case: str, tmp_path: Path) -> None:
    content, message = REFUSED[case]
    with pytest.raises(InputFault, match=message):
        read(tmp_path, content)


def test_a_missing_file_and_a_folder(tmp_path: Path) -> None:
    for path in (tmp_path / "none.csv", tmp_path):
        with pytest.raises(InputFault, match=r"there is no such file"):
            read_trace(path)


def test_an_uneven_clock_is_said_and_an_even_one_is_not(tmp_path: Path) -> None:
    cells = rows(2000).splitlines()
    assert Damage.JITTER not in kinds(read(tmp_path, HEADER + rows(2000)))

    def at(times: np.ndarray) -> str:
        return HEADER + "".join(
            f"{t:.4f},{row.split(',', 1)[1]}\n" for t, row in zip(times, cells, strict=True)
        )

    rng = np.random.default_rng(3)
    even = np.arange(2000) * 0.06
    slightly = read(tmp_path, at(even + rng.uniform(-0.012, 0.012, 2000)))
    assert Damage.JITTER not in kinds(slightly)
    bursts = read(tmp_path, at(even - 0.06 * (np.arange(2000) % 4) + 0.002 * (np.arange(2000) % 4)))
    said = next(f for f in bursts.damage if f.kind is Damage.JITTER)
    assert "usually 2 ms apart" in said.sentence
    random = read(tmp_path, at(np.cumsum(rng.exponential(0.06, 2000) + 1e-3)))
    assert Damage.JITTER in kinds(random)


def test_a_long_pause_may_be_a_clock_set_ahead(tmp_path: Path) -> None:
    trace = read(tmp_path, HEADER + rows(50) + rows(50, 3600.0))
    (said,) = [f.sentence for f in trace.damage if f.kind is Damage.GAP]
    assert said.endswith("a pause, or the clock was set ahead.")
