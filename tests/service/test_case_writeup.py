"""The write-up of a case: it tells the story, and nobody in it can be told."""

from __future__ import annotations

import io
import json
import re
import zipfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from dwellwright.errors import InputFault
from dwellwright.records.engine import writing
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Phase, Side
from dwellwright.records.verdicts import store_verdict
from dwellwright.service.case_writeup import loop_piece, write_up, write_up_archive
from dwellwright.service.evidence import add_evidence
from dwellwright.service.jobs import job_view, take_in_job
from dwellwright.service.photographs import add_photograph, photographs
from dwellwright.service.plans import StepEntry, record_step
from dwellwright.service.redaction import GONE, Redactor, doubtful, plates_in
from dwellwright.service.shop_profile import add_person, save_shop

VERDICT = {
    "healthy_probability": 0.01,
    "causes": [{"id": "lean_stop", "title": "Lean stop high", "probability": 0.9, "magnitude": 12.3, "low": 9.0,
                "high": 15.5, "unit": "thou"}],
    "predictions": {},
}  # fmt: skip
SECRETS = ("Quimby", "Ortrud", "Zeb", "KX-41", "Lantern", "1234567", "quimby@", "owner-quimby")


@pytest.fixture
def told(shop: Shop, log_file: Path) -> int:
    """A job with secrets in every free word."""
    save_shop(shop, "Lantern Garage", ["12 Lantern Road"], a4=False)
    add_person(shop, "Zeb Hand")
    view = take_in_job(
        shop, owner="Ortrud Quimby", car="blue wagon, plate KX-41 903, 3.3 l V6", sheet="two-barrel-v6", who="Zeb Hand",
        complaint="Mrs. Quimby says it hunts at 700 rpm since 2024-05-01; call +1 555 1234567 or quimby@mail.example.",
    )  # fmt: skip
    named = log_file.with_name("owner-quimby.csv")
    log_file.rename(named)
    add_evidence(shop, view.job.number, named, Side.AS_FOUND, "Zeb Hand")
    with writing(shop.engine) as connection:
        store_verdict(connection, view.job.number, Side.AS_FOUND, VERDICT, "Zeb Hand")
    entry = StepEntry(
        [82], [70], "thou", "dial_indicator", turns=0.375, minutes=6, note="Ortrud had glued it <b>"
    )
    record_step(shop, view.job.number, Phase.BENCH, "lean_stop", entry, "Zeb Hand")
    return view.job.number


def test_the_page_tells_the_story_and_names_nobody(shop: Shop, told: int) -> None:
    page = write_up(shop, told)
    words = re.sub(r"data:image/[^\"]*", "", page)
    for secret in SECRETS:
        assert secret.lower() not in words.lower()
    story = (
        "The symptom", "The evidence", "The cause", "The adjustment", "The proof",
        "Lean stop high", "700 rpm", "3.3 l V6", "had glued it &lt;b&gt;", "3/8 turn clockwise",
        "no such car exists", "6 min",
    )  # fmt: skip
    for part in story:
        assert part in words, part
    assert f"hunts at 700 rpm since {GONE}" in words


def test_the_page_asks_nobody_for_anything(shop: Shop, told: int) -> None:
    page = write_up(shop, told)
    assert "default-src 'none'" in page
    assert not re.findall(r"(?:src|href)=\"(?!data:|#)[^\"]*\"", page)
    assert "fetch(" not in page
    assert "://" not in re.sub(r"data:image/[^\"]*", "", page).replace("://www.w3.org/2000/svg", "")


def test_the_loop_is_the_cars_own(shop: Shop, told: int) -> None:
    piece = loop_piece(shop, job_view(shop, told), Side.AS_FOUND)
    assert piece is not None
    # as the recording of the fixture was made: 24 deg, 4 deg up and down, once in two seconds
    assert piece.mean == pytest.approx(24.0, abs=0.3)
    assert min(piece.dwell) == pytest.approx(20.0, abs=0.3)
    assert piece.crossings == pytest.approx(24, abs=1)
    inside = json.loads(re.search(r'id="pieces">(.*?)</script>', write_up(shop, told), re.DOTALL)[1])  # type: ignore[index]
    assert inside[0]["dwell"][5] == pytest.approx(piece.dwell[5], abs=0.06)


def test_photographs_are_shown_only_where_chosen(shop: Shop, told: int, tmp_path: Path) -> None:
    Image.new("RGB", (60, 40), (9, 90, 9)).save(tmp_path / "p.jpg")
    add_photograph(shop, told, tmp_path / "p.jpg", Side.AS_FOUND, "Zeb Hand", "the stop, Quimby's glue")
    [one] = photographs(job_view(shop, told))
    assert "image/jpeg" not in write_up(shop, told)
    shown = write_up(shop, told, [one.id])
    assert "image/jpeg" in shown
    assert f"the stop, {GONE}&#39;s glue" in shown
    with pytest.raises(InputFault, match="no such file"):
        write_up(shop, told, [999])


def test_the_archive_has_every_plot_twice(shop: Shop, told: int) -> None:
    with zipfile.ZipFile(io.BytesIO(write_up_archive(shop, told))) as archive:
        names = archive.namelist()
        assert archive.read("case.html").startswith(b"<!doctype html>")
        plots = {name.rsplit(".", 1)[0] for name in names if name.startswith("plots/")}
        assert "plots/drive-as-found" in plots
        assert all(f"{name}.svg" in names and f"{name}.png" in names for name in plots)


def test_a_job_with_nothing_in_it_is_still_written_up(shop: Shop, job: int) -> None:
    page = write_up(shop, job)
    assert "cannot be shown" in page
    assert "<script" not in page


@pytest.mark.parametrize(
    "plate",
    [
        "B-XY 1234",
        "KX-41 903",
        "plate kx41 903",
        "7ABC123",
        "AB12 CDE",
        "123-ABC",
        "ABC 1234",
        "HH AB 123",
        "XYZ987",
    ],
)
def test_plates_go(plate: str) -> None:
    """Shapes of plates in common use; from memory."""
    word = "plate " if plate.startswith("plate") else ""
    assert (
        Redactor([])(f"wagon ({plate}) hunts").replace(f"{GONE} hunts", f"{GONE}) hunts")
        == f"wagon ({word}{GONE}) hunts"
    )


@pytest.mark.parametrize(
    "words",
    ["idles at 700 rpm on E10", "3.3 l V6", "CO 0.62 %", "50 deg at 3000", "HC 275 ppm", "1500 m above the sea",
     "turned 1 3/8", "at RPM 3000", "the 1984 wagon", "TPS 0.52 V", "14.6 CO2"],
)  # fmt: skip
def test_what_the_trade_says_stays(words: str) -> None:
    assert Redactor([])(words) == words


@given(st.text(max_size=200), st.text(min_size=3, max_size=20))
def test_a_name_never_stays(around: str, name: str) -> None:
    plain = Redactor([name])
    if (
        name.strip() == name
        and re.fullmatch(r"[A-Za-z]{4,20}", name)
        and name.lower() not in ("shop", "cars", "auto")
    ):
        found = plain(f"{around} {name} {around}")
        assert not re.search(rf"(?<!\w){name}(?!\w)", found, re.IGNORECASE) or name.lower() in (
            "owner",
            "with",
        )
    assert isinstance(plain(around), str)


@pytest.mark.parametrize("written", ["kx41903", "Kx41 903", "kx-41-903", "KX41903"])
def test_the_jobs_own_plate_goes_however_it_is_written(written: str) -> None:
    plain = Redactor([], ["wagon, KX-41 903", f"the {written} hunts at 700 rpm"])
    assert plain(f"the {written} hunts at 700 rpm") == f"the {GONE} hunts at 700 rpm"
    assert plain.taken == [written]
    assert plates_in("wagon, KX-41 903") == ["KX41903"]


def test_a_plate_that_was_only_told_in_small_letters_goes_everywhere() -> None:
    words = ["plate kx41 903 on the card", "kx41903 came back"]
    plain = Redactor([], words)
    assert [plain(one) for one in words] == [f"plate {GONE} on the card", f"{GONE} came back"]


def test_what_stays_but_may_be_a_name_or_a_plate_is_told() -> None:
    words = "It idles rough. Brought by Maria; ab12cde on the back, 0.62V at idle, v6 and E10, 3000rpm"
    assert doubtful(Redactor([])(words)) == ["Maria", "ab12cde"]
