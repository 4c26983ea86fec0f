"""The page of a job's gas."""

from starlette.testclient import TestClient

FIELDS = {"condition": "idle", "co_pct": "0.7", "co2_pct": "14.5", "o2_pct": "0.6", "hc_ppm": "250"}


def test_the_gas_of_a_job_is_looked_at(client: TestClient, job: int) -> None:
    assert "No gas was read" in client.get(f"/jobs/{job}/gas").text
    client.post(f"/jobs/{job}/gas", data=FIELDS)
    page = client.get(f"/jobs/{job}/gas?factor=12").text
    for words in (
        "points to",
        "healthy",
        "false air",
        "above a limit",
        "not a legal test",
        "data:image/svg+xml",
    ):
        assert words in page
    assert '<option value="12" selected>' in page
    assert f'href="/jobs/{job}/gas"' in client.get(f"/jobs/{job}/evidence").text


def test_an_option_that_is_none_is_refused(client: TestClient, job: int) -> None:
    page = client.get(f"/jobs/{job}/gas?fuel=coal")
    assert page.status_code == 422
    assert "unknown fuel" in page.text
