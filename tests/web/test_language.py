"""The workbench in another language: every page of the demonstration, none left in English, nothing typed touched."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from dwellwright.languages.catalogue import catalogue
from dwellwright.service.demo import run_demo
from dwellwright.service.shop import open_shop
from dwellwright.web.app import build_app

from .conftest import HERE

STATIONS = ("arrival", "evidence", "causes", "bench", "car", "proof", "handover", "photographs", "trace/4",
            "bench-sheet/1", "measuring", "gauges", "responses", "gas", "columns", "costs", "live", "case",
            "case.html")  # fmt: skip
OTHERS = ("/", "/meter", "/sheets", "/sheets/two-barrel-v6", "/sheets/two-barrel-v6/edit", "/sheets/identify",
          "/gauges", "/instruments", "/what-if?sheet=two-barrel-v6", "/shop", "/help", "/offline", "/nix")  # fmt: skip
EVERY = [f"/jobs/1/{name}" for name in STATIONS] + list(OTHERS)


@pytest.fixture(scope="module")
def workbench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """The demonstration's shop, asked for in Spanish."""
    folder: Path = tmp_path_factory.mktemp("spanish") / "shop"
    shop = open_shop(folder)
    run_demo(shop, folder)
    shop.close()
    app = build_app(folder, who="tester")
    with TestClient(app, base_url=HERE, headers={"Accept-Language": "es-MX,es;q=0.9"}) as client:
        yield client
    app.state.shop.close()


@pytest.mark.parametrize("path", EVERY)
def test_every_page_is_whole(workbench: TestClient, path: str) -> None:
    book = catalogue("es")
    book.unlisted = set()
    try:
        answer = workbench.get(path)
        assert answer.status_code in (200, 404)
        assert '<html lang="es"' in answer.text
        assert book.unlisted == set()
    finally:
        book.unlisted = None


def test_the_papers_are_whole(workbench: TestClient) -> None:
    book = catalogue("es")
    book.unlisted = set()
    try:
        assert workbench.get("/jobs/1/bench-card.pdf").content.startswith(b"%PDF")
        made = workbench.post("/jobs/1/handover", data={}, headers={"origin": HERE})
        assert made.status_code in (200, 303), made.text
        assert book.unlisted == set()
    finally:
        book.unlisted = None


def test_what_was_typed_is_not_translated(workbench: TestClient) -> None:
    fields = {"owner": "Idle", "car": "Float level", "complaint": "Lean stop", "sheet": "two-barrel-v6"}
    page = workbench.post("/jobs", data=fields, headers={"origin": HERE}).text
    assert '<span translate="no">Float level</span></h1>' in page
    assert '<p><span translate="no">Idle</span> ·' in page
    listed = workbench.get("/").text
    assert '<strong translate="no">Float level</strong>' in listed
    assert ">Lean stop</q>" in listed


def test_the_choice_of_this_device_comes_before_the_browsers(workbench: TestClient) -> None:
    answer = workbench.post(
        "/sight", data={"language": "en", "sight": "auto", "back": "/help"}, headers={"origin": HERE}
    )
    try:
        assert '<html lang="en"' in answer.text
        assert '<html lang="en"' in workbench.get("/").text
    finally:
        workbench.cookies.clear()
    assert '<html lang="es"' in workbench.get("/").text


def test_a_language_that_is_none_changes_nothing(workbench: TestClient) -> None:
    workbench.post("/sight", data={"language": "../en", "sight": "dark"}, headers={"origin": HERE})
    assert "language" not in workbench.cookies
    workbench.cookies.clear()


def test_scripts_get_their_words(workbench: TestClient) -> None:
    page = workbench.get("/meter").text
    table = re.search(r'<script type="application/json" id="script-words">(.*?)</script>', page)
    assert table
    assert '"Stopped.":' in table[1]
    assert 'id="script-words"' not in workbench.get("/meter", headers={"Accept-Language": "en"}).text
