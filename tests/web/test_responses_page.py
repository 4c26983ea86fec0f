"""The page of tests with a response."""

import pytest
from starlette.testclient import TestClient

from dwellwright.catalogue.response_tests import response_tests


def test_hazards_stand_before_the_steps(client: TestClient, job: int) -> None:
    assert f'href="/jobs/{job}/responses"' in client.get(f"/jobs/{job}/evidence").text
    page = client.get(f"/jobs/{job}/responses").text
    for one in response_tests().values():
        section = page.split(f'id="{one.name}"')[1]
        assert section.index("Hazard:") < section.index("<ol>")


def test_an_answer_is_written_down(client: TestClient, job: int) -> None:
    fields = {"test": "enrichment", "before": "30 31", "during": "41; 42", "unit": "deg"}
    page = client.post(f"/jobs/{job}/responses", data=fields).text
    assert "Written down." in page
    assert "The loop sees rich and takes fuel away" in page
    assert "test with a response" in client.get(f"/jobs/{job}/evidence").text
    readings = client.get(f"/jobs/{job}/job.json").json()["readings"]
    assert [one["measured"] for one in readings] == ["response_enrichment"]


def test_another_scale_of_the_meter(client: TestClient, job: int) -> None:
    fields = {"test": "enrichment", "before": "22.5", "during": "33.75", "unit": "deg", "scale": "8"}
    page = client.post(f"/jobs/{job}/responses", data=fields).text
    assert "<strong>45 deg</strong>" in page  # 33.75/45 of 60


@pytest.mark.parametrize(
    ("changed", "says"),
    [({"before": ""}, "has no value"), ({"during": "much"}, "not a number"), ({"test": "x"}, "unknown test"),
     ({"during": "99"}, "not believable"), ({"scale": "5"}, "no such scale")],
)  # fmt: skip
def test_a_bad_answer_comes_back_as_typed(
    client: TestClient, job: int, changed: dict[str, str], says: str
) -> None:
    fields = {"test": "enrichment", "before": "30", "during": "41", "unit": "deg", **changed}
    page = client.post(f"/jobs/{job}/responses", data=fields)
    assert page.status_code == 422
    assert says in page.text
    if fields["test"] == "enrichment" and fields["before"]:
        assert f'name="before" value="{fields["before"]}"' in page.text
