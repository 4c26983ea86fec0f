"""Everything a job holds as tables and JSON, and the code that opens it."""

from __future__ import annotations

import csv
import io
import json
import zipfile
from datetime import datetime
from pathlib import Path

import pytest

from dwellwright.errors import InputFault
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Phase, Side
from dwellwright.service.costs import add_cost
from dwellwright.service.job_link import checked_link, job_link, link_code
from dwellwright.service.plans import StepEntry, record_step
from dwellwright.service.readings import add_reading
from dwellwright.service.tables import job_archive, shop_archive, write_job_files


@pytest.fixture
def filled(shop: Shop, job: int) -> int:
    add_reading(shop, job, "dwell", [31.5, 32.0], "deg", Side.AS_FOUND, "t")
    record_step(shop, job, Phase.BENCH, "choke", StepEntry(passed=True, minutes=5, note='=SUM("x")'), "t")
    add_cost(shop, job, "part", "clip", "2", "0.5", "t")
    return job


def test_the_tables_hold_what_the_json_holds(shop: Shop, filled: int) -> None:
    with zipfile.ZipFile(io.BytesIO(job_archive(shop, filled))) as archive:
        facts = json.loads(archive.read("job.json"))
        tables = {name: list(csv.DictReader(io.StringIO(archive.read(name).decode())))
                  for name in archive.namelist() if name.endswith(".csv")}  # fmt: skip
        assert archive.read("two-barrel-v6.toml").decode() == facts["sheet"]["toml"]
    for name in ("readings", "steps", "costs", "history"):
        assert len(tables[f"{name}.csv"]) == len(facts[name]) > 0
    [reading] = tables["readings.csv"]
    assert (float(reading["value"]), reading["unit"]) == (31.75, "deg")
    assert datetime.fromisoformat(reading["time"]) <= datetime.fromisoformat(reading["added"])
    assert json.loads(reading["si"])["value"] == facts["readings"][0]["si"]["value"]
    assert tables["steps.csv"][0]["note"] == '\'=SUM("x")'  # no spreadsheet takes it for a formula
    assert tables["job.csv"][0]["complaint"] == "it hunts"


def test_the_whole_shop_has_a_folder_for_each_job(shop: Shop, filled: int) -> None:
    with zipfile.ZipFile(io.BytesIO(shop_archive(shop))) as archive:
        assert f"job-{filled}/readings.csv" in archive.namelist()
        assert archive.testzip() is None


def test_the_files_are_written_into_a_folder_or_said_why_not(shop: Shop, filled: int, tmp_path: Path) -> None:
    paths = write_job_files(shop, filled, tmp_path / "out")
    assert all(path.stat().st_size for path in paths)
    (tmp_path / "file").write_text("x")
    with pytest.raises(InputFault, match="cannot be written"):
        write_job_files(shop, filled, tmp_path / "file" / "below")


def test_a_link_names_a_machine_that_others_reach() -> None:
    assert job_link(7, "http://bench.example:8321/") == "http://bench.example:8321/jobs/7"
    assert job_link(7, "http://[fe80::1]:8321/") == "http://[fe80::1]:8321/jobs/7"
    assert "127.0.0.1" not in job_link(7, "http://127.0.0.1:8321/")


@pytest.mark.parametrize(
    "link",
    [
        "javascript:alert(1)",
        "jobs/7",
        "http://",
        "http://bench.example/a b",
        "http://bench.example/" + "y" * 400,
        "http://[",
    ],
)
def test_what_is_no_address_is_refused(link: str) -> None:
    with pytest.raises(InputFault, match="no address of a page"):
        checked_link(link)


def test_the_code_is_a_drawing() -> None:
    assert link_code("http://bench.example:8321/jobs/7").startswith(b"<svg")
    with pytest.raises(InputFault, match="too long for a QR code"):
        link_code("x" * 1300)
