"""Columns named once are remembered by the header, in service, command and page."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import polars as pl
import pytest
from starlette.testclient import TestClient

from dwellwright.cli.run import exit_code
from dwellwright.errors import InputFault
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Side
from dwellwright.service.column_maps import columns_for, header_of, keep_columns, proposed_rows
from dwellwright.service.evidence import add_evidence
from dwellwright.service.file_kind import FileKind
from dwellwright.service.jobs import job_view
from dwellwright.service.stretches import recording_of
from dwellwright.service.trace_view import stretch_of
from dwellwright.web.app import build_app

HEADER = ["Zeit", "Kanal 1", "Kanal 2"]
USES = {"time": ("Zeit", "s"), "duty": ("Kanal 1", "deg"), "sensor_voltage": ("Kanal 2", "mV")}


@pytest.fixture
def odd_file(tmp_path: Path) -> Path:
    """Ninety seconds with decimal commas and a header that says nothing."""
    time = np.arange(0.0, 90.0, 0.1)
    swing, sensor = 24 + 4 * np.sin(np.pi * time), np.where(np.sin(np.pi * time - 0.9) > 0, 780, 120)
    rows = [f"{t:.1f};{d:.2f};{s}".replace(".", ",") for t, d, s in zip(time, swing, sensor, strict=True)]
    path = tmp_path / "odd.csv"
    path.write_text(";".join(HEADER) + "\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def test_a_map_made_once_is_used_for_every_file_with_this_header(
    shop: Shop, job: int, odd_file: Path
) -> None:
    with pytest.raises(InputFault, match="column"):
        add_evidence(shop, job, odd_file, Side.AS_FOUND, "tester")
    keep_columns(shop, header_of(odd_file), USES, "tester")
    added = add_evidence(shop, job, odd_file, Side.AS_FOUND, "tester")
    assert added.readings > 0
    record = recording_of(job_view(shop, job), added.record.id, FileKind.TRACE)
    duty = next(one for one in stretch_of(shop, record, None, None, 100).channels if one.name == "duty")
    assert float(np.nanmax(duty.high)) == pytest.approx(28.0, abs=0.1)  # 24 + 4 deg, as written
    other = odd_file.with_name("other.csv")
    other.write_text("a;b\n1;2\n", encoding="utf-8")
    assert columns_for(shop, other) is None


def test_parquet_has_a_header_too(tmp_path: Path, shop: Shop) -> None:
    path = tmp_path / "odd.parquet"
    pl.DataFrame({name: [1.0, 2.0] for name in HEADER}).write_parquet(path)
    assert list(header_of(path)) == HEADER
    assert keep_columns(shop, HEADER, USES, "tester") == columns_for(shop, path)


@pytest.mark.parametrize(
    ("uses", "says"),
    [
        ({}, "no column is the time"),
        ({"time": ("Zeit", "s")}, "beside the time"),
        ({**USES, "duty": ("Kanal 9", "deg")}, "no such column"),
        ({**USES, "duty": ("Kanal 1", "kPa")}, "does not measure this"),
        ({**USES, "speed": ("Kanal 1", "deg")}, "no such channel"),
        ({**USES, "engine_speed": ("Kanal 1", "rpm")}, "used twice"),
    ],
)
def test_a_map_that_cannot_be_is_refused_and_not_kept(
    shop: Shop, uses: dict[str, tuple[str, str]], says: str
) -> None:
    with pytest.raises(InputFault, match=says):
        keep_columns(shop, HEADER, uses, "tester")
    assert not list((shop.folder / "columns").glob("*"))


def test_every_channel_is_offered() -> None:
    rows = {one.channel: one for one in proposed_rows(["time_s", "rpm", "x"])}
    assert rows["engine_speed"].column == "rpm"
    assert rows["duty"].column == ""
    assert "clock" in rows["time"].units


def test_by_command(tmp_path: Path, odd_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    shop = ["--shop", str(tmp_path / "s")]
    assert exit_code([*shop, "evidence", "columns", str(odd_file)]) == 0
    names = [word for key, (column, unit) in USES.items() for word in ("--name", f"{key}={column}:{unit}")]
    assert exit_code([*shop, "evidence", "columns", str(odd_file), *names]) == 0
    assert "Remembered for every recording" in capsys.readouterr().out
    assert exit_code([*shop, "evidence", "columns", str(odd_file), "--name", "duty"]) == 2
    assert "CHANNEL=COLUMN:UNIT" in capsys.readouterr().err


def test_by_page(shop: Shop, job: int, odd_file: Path) -> None:
    app = build_app(shop.folder, who="tester")
    with TestClient(app, base_url="http://127.0.0.1") as client:
        page = client.post(f"/jobs/{job}/columns", files=[("file", ("odd.csv", odd_file.read_bytes()))]).text
        assert "<option>Kanal 1</option>" in page
        fields = {"header": '["Zeit", "Kanal 1", "Kanal 2"]'}
        assert client.post(f"/jobs/{job}/columns", data=fields).status_code == 422
        for channel, (column, unit) in USES.items():
            fields |= {f"column-{channel}": column, f"unit-{channel}": unit}
        assert "remembered" in client.post(f"/jobs/{job}/columns", data=fields).text
        sent = client.post(f"/jobs/{job}/files", files=[("files", ("odd.csv", odd_file.read_bytes()))])
        assert sent.status_code == 200
        assert client.post(f"/jobs/{job}/columns", data={"header": "{"}).status_code == 422
    app.state.shop.close()
