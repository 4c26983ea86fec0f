"""The proof page: what the car read before beside what it reads now, and what is missing to call it proven."""

import re

from starlette.testclient import TestClient


def typed(client: TestClient, job: int, value: str, side: str) -> None:
    fields = {"item": "dwell", "repeats": value, "side": side, "regime": "idle"}
    assert client.post(f"/jobs/{job}/readings", data=fields).status_code == 200


def row(page: str, title: str) -> list[str]:
    found = re.search(rf'<tr><th scope="row">{title}</th>(.*?)</tr>', page)
    assert found
    return [re.sub(r"<[^>]+>", " ", cell).strip() for cell in re.findall(r"<td[^>]*>(.*?)</td>", found[1])]


def test_before_the_work_there_is_one_column(client: TestClient, job: int) -> None:
    typed(client, job, "41 41.2", "as found")
    page = client.get(f"/jobs/{job}/proof").text
    assert "as left</th>" not in page
    assert "41.1°" in row(page, "dwell at hot idle")[1]


def test_as_found_stands_beside_as_left(client: TestClient, job: int) -> None:
    typed(client, job, "41 41.2 41.1", "as found")
    typed(client, job, "30 30.2 30.1", "as left")
    page = client.get(f"/jobs/{job}/proof").text
    wanted, before, after, _, stands = row(page, "dwell at hot idle")
    assert wanted.startswith("30")
    assert "41.1°" in before
    assert "not met" in before
    assert after == "30.1°"
    assert stands == "met"
    assert "Missing to call it proven" in page
    assert "<h4>A drive recording would show it</h4><p>closed-loop share at hot idle" in page
    assert "<h4>A gas reading would show it</h4>" in page
