"""The page of gauges made in the shop."""

import pytest
from starlette.testclient import TestClient

CARD = {"setting": "lean_stop", "name": "short <stick>", "short": "1,720", "long": "1.838", "doubt": "0.003",
        "unit": "mm", "measured_with": "micrometer"}  # fmt: skip


def test_a_gauge_is_entered_used_and_taken_off(client: TestClient, job: int) -> None:
    before = client.get(f"/jobs/{job}/gauges").text
    assert "None yet." in before
    page = client.post(f"/jobs/{job}/gauges", data=CARD).text
    assert "short &lt;stick&gt;" in page
    assert "(+0.008)" in page
    assert "our gauge: short &lt;stick&gt;" in client.get(f"/jobs/{job}/bench").text
    fit = {"gauge": "short <stick>", "fit": "between", "side": "as found"}
    assert "Written down." in client.post(f"/jobs/{job}/gauges/fit", data=fit).text
    step = {"key": "lean_stop", "left": "67.4", "unit": "thou", "instrument": "gauge:short <stick>"}
    assert client.post(f"/jobs/{job}/steps/bench", data=step).status_code == 200
    sources = [one["source"] for one in client.get(f"/jobs/{job}/job.json").json()["readings"]]
    assert any("by its card of" in one for one in sources)
    assert any("read 67.4 thou, corrected by +0.323 thou" in one for one in sources)
    assert "None yet." in client.post(f"/jobs/{job}/gauges", data={"remove": "short <stick>"}).text


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"short": ""}, "the field is blank (short)"),
        ({"long": "wide"}, "this is not a number (long end)"),
        ({"short": "1.9"}, "not shorter"),
        ({"unit": "ell"}, "unknown unit"),
        ({"setting": "idle_needle"}, "no gauge can be made"),
        ({"doubt": "-1"}, "the doubt of the sizes cannot be"),
    ],
)
def test_a_bad_card_comes_back_as_typed(
    client: TestClient, job: int, changed: dict[str, str], says: str
) -> None:
    page = client.post(f"/jobs/{job}/gauges", data={**CARD, **changed})
    assert page.status_code == 422
    assert says in page.text
    assert 'value="short &lt;stick&gt;"' in page.text
    assert "None yet." in page.text


def test_a_fit_that_cannot_be_is_refused(client: TestClient, job: int) -> None:
    page = client.post(f"/jobs/{job}/gauges/fit", data={"gauge": "nobody", "fit": "between"})
    assert page.status_code == 422
    assert "no such gauge" in page.text


@pytest.mark.parametrize(
    ("form", "kind"),
    [("svg", "image/svg+xml"), ("pdf", "application/pdf"), ("dxf", "application/octet-stream")],
)
def test_a_drawing_is_a_file(client: TestClient, job: int, form: str, kind: str) -> None:
    answer = client.get(f"/jobs/{job}/gauges/lean_stop.{form}")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith(kind)
    assert len(answer.content) > 5000


@pytest.mark.parametrize("name", ["lean_stop.step", "idle_needle.svg", "nothing.pdf"])
def test_a_drawing_that_is_not_is_refused(client: TestClient, job: int, name: str) -> None:
    assert client.get(f"/jobs/{job}/gauges/{name}").status_code in (404, 422)
