"""The pages of a case: shown in a box of its own, taken along, refused in place."""

from __future__ import annotations

from starlette.testclient import TestClient


def test_the_write_up_is_shown_apart_from_the_workbench(client: TestClient, recorded: int) -> None:
    assert "Case write-up" in client.get(f"/jobs/{recorded}/case").text
    shown = client.get(f"/jobs/{recorded}/case.html")
    assert shown.headers["content-security-policy"].startswith("sandbox allow-scripts; default-src 'none'")
    assert "A. Sample" not in shown.text
    taken = client.get(f"/jobs/{recorded}/case.html", params={"take": "yes"})
    assert "attachment" in taken.headers["content-disposition"]


def test_a_photograph_that_is_not_there_is_said(client: TestClient, job: int) -> None:
    assert client.get(f"/jobs/{job}/case.html", params={"photo": "7"}).status_code == 404
    assert client.get(f"/jobs/{job}/case.html", params={"photo": "x"}).status_code == 200
    for name in ("case", "case.html", "case.zip"):
        assert client.get(f"/jobs/99/{name}").status_code == 404


def test_the_preview_lists_what_goes_and_what_may_have_to(client: TestClient) -> None:
    words = {"owner": "A. Sample", "car": "wagon KX-41 903 <b>", "sheet": "two-barrel-v6",
             "complaint": "Sample says kx41903 hunts. Ask for Maria, ab12cde"}  # fmt: skip
    client.post("/jobs", data=words)
    page = client.get("/jobs/1/case").text
    taken, stays = page.split("What is taken out of your words")[1].split("Stays, but looks like a name")
    for word in ("KX-41 903", "kx41903", "Sample"):
        assert f"<kbd>{word}</kbd>" in taken
    for word in ("Maria", "ab12cde"):
        assert f"<kbd>{word}</kbd>" in stays
    written = client.get("/jobs/1/case.html").text
    assert "kx41903" not in written
