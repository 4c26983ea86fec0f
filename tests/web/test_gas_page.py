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


def test_a_record_that_does_not_say_where_is_asked_about(client: TestClient, job: int) -> None:
    rows = "".join(f"{i},0.70,14.5,0.60,150\n" for i in range(40))
    table = ("gas.csv", f"time_s,co_pct,co2_pct,o2_pct,hc_ppm\n{rows}".encode())
    page = client.post(f"/jobs/{job}/files", files=[("files", table)]).text
    assert "all of it is taken as idle" in page
    assert "idle, mean of 40" in page
    assert "Where was it read?" in page
    assert "within the limits" in client.get(f"/jobs/{job}/gas").text
    answered = client.post(f"/jobs/{job}/gas/1", data={"regime": "3000"}).text
    assert "Read again" in answered
    assert "all of it is taken as fast, no load" in answered
    closely = client.get(f"/jobs/{job}/gas").text
    assert "taken as fast, no load, mean of 40, 0 to 39 s" in closely
    assert "Exhaust gas over 39 seconds: taken as fast, no load, lambda 1.0" in closely
    assert (
        closely.count("data-figure=") == 6
    )  # lambda, two and two gases over time; means by place and their gases
    assert "within the limits" not in closely  # the idle limits are for idle
    assert client.post(f"/jobs/{job}/gas/1", data={"regime": "moon"}).status_code == 422
    assert "no such file" in client.post(f"/jobs/{job}/gas/9", data={"regime": "3000"}).text


def test_the_place_can_be_said_with_the_file(client: TestClient, job: int) -> None:
    table = ("gas.csv", b"co_pct,co2_pct,o2_pct,hc_ppm\n0.7,14.5,0.6,150\n")
    page = client.post(f"/jobs/{job}/files", data={"regime": "cruise"}, files=[("files", table)]).text
    assert "all of it is taken as cruise" in page
