"""The shop's page: people, instruments with their calibration, papers, and a backup that can be put back."""

import io
import zipfile
from datetime import date
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from dwellwright.errors import InputFault
from dwellwright.records.shop import Shop
from dwellwright.service.backups import write_backup
from dwellwright.service.jobs import list_jobs
from dwellwright.service.shop import open_shop
from dwellwright.service.shop_profile import PROFILE, OwnInstrument, shop_profile


def test_who_is_at_work_stands_in_the_history(client: TestClient, job: int) -> None:
    client.post("/shop/people", data={"person": "R. Example"})
    client.post("/shop/who", data={"who": "R. Example"})
    client.post(f"/jobs/{job}/readings", data={"item": "dwell", "repeats": "30"})
    assert client.get(f"/jobs/{job}/job.json").json()["history"][-1]["who"] == "R. Example"
    client.post("/shop/people", data={"remove": "R. Example"})
    client.post(f"/jobs/{job}/readings", data={"item": "dwell", "repeats": "31"})
    assert client.get(f"/jobs/{job}/job.json").json()["history"][-1]["who"] == "tester"


def test_a_name_that_nobody_gave_is_not_believed(client: TestClient, job: int) -> None:
    client.cookies.set("who", "Somebody%20else")
    client.post(f"/jobs/{job}/readings", data={"item": "dwell", "repeats": "30"})
    assert client.get(f"/jobs/{job}/job.json").json()["history"][-1]["who"] == "tester"


@pytest.mark.parametrize(
    ("calibrated", "months", "due"),
    [
        (date(2024, 1, 31), 1, date(2024, 2, 29)), (date(2023, 1, 31), 1, date(2023, 2, 28)),
        (date(2024, 2, 29), 12, date(2025, 2, 28)), (date(2024, 11, 15), 3, date(2025, 2, 15)),
        (date(2024, 12, 1), 12, date(2025, 12, 1)), (None, 12, None), (date(2024, 1, 1), None, None),
    ],
)  # fmt: skip
def test_a_calibration_runs_out_on_the_same_day_of_the_month(
    calibrated: date | None, months: int | None, due: date | None
) -> None:
    """By the calendar; the last day of a shorter month where it has no such day."""
    assert OwnInstrument("dial_indicator", "A1", calibrated, months).due == due


@pytest.mark.parametrize(
    ("today", "standing"),
    [
        (date(2025, 1, 1), "in date"),
        (date(2025, 5, 10), "due soon"),
        (date(2025, 6, 1), "due soon"),
        (date(2025, 6, 2), "overdue"),
    ],
)
def test_how_a_calibration_stands(today: date, standing: str) -> None:
    assert OwnInstrument("dial_indicator", "A1", date(2024, 6, 1), 12).standing(today) == standing


def test_instruments_are_listed_and_renewed(client: TestClient, shop: Shop) -> None:
    fields = {"kind": "dial_indicator", "mark": "A-17", "calibrated": "2020-05-01", "months": "12"}
    page = client.post("/shop/instruments", data=fields)
    assert "overdue" in page.text
    client.post("/shop/instruments", data={**fields, "calibrated": date.today().isoformat()})
    (own,) = shop_profile(shop).instruments
    assert own.standing(date.today()) == "in date"
    client.post("/shop/instruments", data={"kind": "dial_indicator", "remove": "A-17"})
    assert shop_profile(shop).instruments == ()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"kind": "crystal_ball"}, "unknown instrument"), ({"mark": " "}, "the field is blank (mark)"),
        ({"calibrated": "31/12/2020"}, "this is not a day"), ({"calibrated": "2999-01-01"}, "a day in the past"),
        ({"months": "1.5"}, "whole months"), ({"months": "0"}, "whole months"),
        ({"months": "x"}, "this is not a number"),
        ({"mark": "m" * 121}, "the words are too long"),
    ],
)  # fmt: skip
def test_a_bad_instrument_comes_back_as_typed(
    client: TestClient, shop: Shop, change: dict[str, str], says: str
) -> None:
    fields = {"kind": "dial_indicator", "mark": "A-17", "calibrated": "2020-05-01", "months": "12", **change}
    answer = client.post("/shop/instruments", data=fields)
    assert answer.status_code == 422
    assert says in answer.text
    if fields["mark"].strip():
        assert f'value="{fields["mark"]}"' in answer.text
    assert shop_profile(shop).instruments == ()


def test_papers_carry_the_shops_name(client: TestClient, job: int, shop: Shop) -> None:
    client.post(
        "/shop",
        data={"name": "The invented garage", "lines": "1 Example Road\n\nno such town", "paper": "a4"},
    )
    profile = shop_profile(shop)
    assert (profile.name, profile.lines, profile.a4) == (
        "The invented garage",
        ("1 Example Road", "no such town"),
        True,
    )
    assert client.post("/shop", data={"name": "", "lines": ""}).status_code == 422
    assert client.post("/shop", data={"name": "x", "lines": "\n".join("abcdefg")}).status_code == 422
    client.post(f"/jobs/{job}/handover")
    import pymupdf

    with pymupdf.open(stream=client.get(f"/jobs/{job}/handover.pdf").content) as paper:
        assert "The invented garage" in paper[0].get_text()
        assert paper[0].rect.width == pytest.approx(595.3, abs=0.5)  # A4: 210 mm, ISO 216


def test_a_backup_can_be_put_back(client: TestClient, job: int, demo_folder: Path, tmp_path: Path) -> None:
    content = (demo_folder / "gas.csv").read_bytes()
    client.post(f"/jobs/{job}/files", files=[("files", ("gas.csv", content))])
    client.post("/shop/people", data={"person": "R. Example"})
    answer = client.post("/shop/backup")
    assert answer.headers["content-type"] == "application/zip"
    place = tmp_path / "elsewhere"
    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert archive.testzip() is None
        archive.extractall(place)
    again = open_shop(place)
    try:
        assert [one.car for one in list_jobs(again)] == ["wagon (invented)"]
        assert shop_profile(again).people == ("R. Example",)
        kept = [path.read_bytes() for path in (place / "files").glob("??/*")]
        assert kept == [content]
    finally:
        again.close()


def test_a_backup_that_cannot_be_written_is_said(shop: Shop, tmp_path: Path) -> None:
    with pytest.raises(InputFault, match="the backup cannot be written"):
        write_backup(shop, tmp_path / "nowhere" / "b.zip")
    assert list((shop.folder / "backups").glob("*.db")) == []


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '{"instruments": [{"kind": "x"}]}', '{"instruments": 3}', "\x00"]
)
def test_a_damaged_file_of_the_shop_is_said_plainly(client: TestClient, shop: Shop, text: str) -> None:
    (shop.folder / PROFILE).write_text(text, encoding="utf-8")
    answer = client.get("/shop")
    assert answer.status_code == 422
    assert "own file cannot be read" in answer.text
    assert client.get("/").status_code == 200
