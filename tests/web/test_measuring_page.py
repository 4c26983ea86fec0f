"""The page of makeshift ways."""

import pytest
from starlette.testclient import TestClient


def test_the_bench_leads_to_the_ways_of_the_jobs_sheet(client: TestClient, job: int) -> None:
    assert f'href="/jobs/{job}/measuring"' in client.get(f"/jobs/{job}/bench").text
    page = client.get(f"/jobs/{job}/measuring")
    assert page.status_code == 200
    for words in ("70 ± 3 thou (1.778 ± 0.076 mm)", "Caution: Press with a finger only", "not good enough",
                  "about 1 in 1.2 settings would be wrong", "31.25 thou in a turn"):  # fmt: skip
        assert words in page.text


def test_more_repeats_are_weighed(client: TestClient, job: int) -> None:
    assert "12 readings averaged" in client.get(f"/jobs/{job}/measuring?repeats=12").text


@pytest.mark.parametrize("repeats", ["0", "99999", "many", "2.5", "\u0663"])
def test_repeats_that_cannot_be_are_refused_and_kept(client: TestClient, job: int, repeats: str) -> None:
    page = client.get(f"/jobs/{job}/measuring", params={"repeats": repeats})
    assert page.status_code == 422
    assert f'value="{repeats}"' in page.text
    assert "repeats" in page.text


def test_there_are_no_ways_for_a_job_that_is_not(client: TestClient) -> None:
    assert client.get("/jobs/7/measuring").status_code == 404
