"""Plots to move along in pages: figures beside the still picture, and a policy that lets only their styles in."""

from __future__ import annotations

import json
import re
from html import unescape

import pytest
from starlette.testclient import TestClient

from dwellwright.web.moving_plots import ADDRESS, moving, moving_later

STUDY = "part,hand,unit,reading_1,reading_2\n" + "".join(
    f"{part},{hand},thou,{80 + 4 * part},{80 + 4 * part + step}\n"
    for part in range(1, 5)
    for hand, step in (("A", 1), ("B", 2))
)


def figures(text: str) -> list[dict[str, object]]:
    """The figures that a page holds."""
    return [json.loads(unescape(one)) for one in re.findall(r'data-figure="([^"]*)"', text)]


def test_a_study_comes_as_picture_and_as_figures(client: TestClient) -> None:
    answer = client.post("/gauges/check", data={"kind": "study", "table": STUDY})
    assert len(figures(answer.text)) == 2
    assert 'data-still><img class="plot"' in answer.text
    nonce = re.search(r'moving\.js" nonce="([^"]+)"', answer.text)
    assert nonce
    assert f"style-src 'self' 'nonce-{nonce[1]}'" in answer.headers["content-security-policy"]
    again = client.get("/gauges").headers["content-security-policy"]
    assert nonce[1] not in again


@pytest.mark.parametrize("path", ["/", "/meter", "/what-if"])
def test_pages_without_such_plots_let_no_style_in(client: TestClient, path: str) -> None:
    answer = client.get(path)
    assert "style-src" not in answer.headers["content-security-policy"]
    assert "moving.js" not in answer.text


def test_the_ways_for_each_setting_come_when_they_are_asked_for(client: TestClient, job: int) -> None:
    text = client.get(f"/jobs/{job}/measuring").text
    places = re.findall(r'data-source="([^"]+)"', text)
    assert len(places) >= 5
    assert not figures(text)
    for place in places[:2]:
        assert len(figures(client.get(unescape(place)).text)) == 2
        still = client.get(unescape(place).replace("/figures", ".svg"))
        assert still.headers["content-type"].startswith("image/svg+xml")
    for path in ("horn.svg", "horn/figures", "lean_stop.svg?repeats=x"):
        assert client.get(f"/jobs/{job}/measuring/{path}").status_code == 422


def test_a_bench_sheet_is_looked_at_closely(client: TestClient, job: int) -> None:
    sheet = (
        b"item,unit,spec,tolerance,r1,r2\nrod_lean_gauge,thou,85,5,86,87\ntps_closed,V,0.52,0.05,0.53,0.52\n"
    )
    client.post(f"/jobs/{job}/files", files={"files": ("bench.csv", sheet, "text/csv")})
    place = re.search(rf"/jobs/{job}/bench-sheet/\d+", client.get(f"/jobs/{job}/evidence").text)
    assert place
    text = client.get(place[0]).text
    assert len(figures(text)) == 2
    assert "what makes it doubtful" in text
    assert client.get(f"/jobs/{job}/bench-sheet/999").status_code == 404


def test_a_response_and_gas_are_drawn(client: TestClient, job: int) -> None:
    client.post(f"/jobs/{job}/responses", data={"test": "enrichment", "before": "30 31", "during": "41 42"})
    assert len(figures(client.get(f"/jobs/{job}/responses").text)) == 1
    gas = {"condition": "idle", "co_pct": "0.6", "co2_pct": "14.6", "o2_pct": "0.6", "hc_ppm": "200"}
    client.post(f"/jobs/{job}/gas", data=gas)
    assert len(figures(client.get(f"/jobs/{job}/gas").text)) == 2


def test_the_library_is_served_from_its_own_package(client: TestClient) -> None:
    answer = client.get(ADDRESS)
    assert answer.headers["content-type"].startswith("text/javascript")
    assert len(answer.content) > 1_000_000


def test_what_has_no_figures_is_only_the_picture() -> None:
    assert moving(None, ()) == ""
    assert 'alt="a &lt;b&gt;"' in moving_later("/x.svg", "/x", "a <b>")
