"""Pages of line instruments: describing one, recording with it, taking a reading, and being refused."""

from __future__ import annotations

import time

from starlette.testclient import TestClient

from dwellwright.demo.instrument import DESCRIPTION, simulated_instrument, simulated_lines
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Side
from dwellwright.service.jobs import job_view


def described(client: TestClient) -> None:
    answer = client.post("/instruments", data={"name": "simulated", "text": DESCRIPTION})
    assert answer.status_code == 200
    assert "simulated logger (invented)" in answer.text


def test_an_instrument_is_recorded_into_the_job(client: TestClient, job: int, shop: Shop) -> None:
    described(client)
    lines = simulated_lines(start=280.0)[:900]
    with simulated_instrument(lines, speed=1e6) as address:
        begun = client.post(
            f"/jobs/{job}/live", data={"do": "begin", "name": "simulated", "address": address}
        )
        assert "Listening." in begun.text
        until = time.monotonic() + 60
        while client.get(f"/jobs/{job}/live/now").json()["rows"] < len(lines) and time.monotonic() < until:
            time.sleep(0.02)
        facts = client.get(f"/jobs/{job}/live/now").json()
        assert {"engine speed", "duty"} <= {one["label"] for one in facts["values"]}
        again = client.post(
            f"/jobs/{job}/live", data={"do": "begin", "name": "simulated", "address": address}
        )
        assert again.status_code == 422
        assert "recorded already" in again.text
        taken = client.post(f"/jobs/{job}/live", data={"do": "take", "channel": "duty", "regime": "idle"})
        assert "Written down." in taken.text
        ended = client.post(f"/jobs/{job}/live", data={"do": "end", "side": "as found"})
    assert ended.url.path == f"/jobs/{job}/evidence"
    assert "drive recording" in ended.text
    assert [one.kind for one in job_view(shop, job).evidence] == ["trace"]
    assert len(job_view(shop, job).observations(Side.AS_FOUND)) > 1


def test_a_refused_description_comes_back_as_typed(client: TestClient) -> None:
    answer = client.post("/instruments", data={"name": "mine", "text": "format = 1 # <mine>"})
    assert answer.status_code == 422
    assert "# &lt;mine&gt;" in answer.text
    assert "title" in answer.text


def test_nothing_begins_at_an_address_elsewhere(client: TestClient, job: int) -> None:
    described(client)
    for address in ("8.8.8.8:53", "/etc/passwd", ""):
        answer = client.post(
            f"/jobs/{job}/live", data={"do": "begin", "name": "simulated", "address": address}
        )
        assert answer.status_code == 422
        assert "no address of an instrument" in answer.text
    for deed, words in (("take", "nothing is being recorded"), ("end", "nothing is being recorded"), ("", "no button"),
                        ("drop", "no such file"), ("draft", "no such file")):  # fmt: skip
        answer = client.post(f"/jobs/{job}/live", data={"do": deed, "name": "../shop.json"})
        assert answer.status_code == 422
        assert words in answer.text


def test_what_was_recorded_before_the_power_went_waits(client: TestClient, job: int, shop: Shop) -> None:
    place = shop.folder / "live"
    place.mkdir()
    (place / f"job-{job}-meter-1.csv").write_text(
        "time_s,dwell_deg\n" + "\n".join(f"{k / 10},30" for k in range(400))
    )
    assert "not in the job yet" in client.get(f"/jobs/{job}/live").text
    name = f"job-{job}-meter-1.csv"
    assert "drive recording" in client.post(f"/jobs/{job}/live", data={"do": "draft", "name": name}).text
    assert not (place / name).exists()


def test_an_instrument_can_be_taken_away(client: TestClient) -> None:
    described(client)
    assert "<strong>simulated</strong>" not in client.post("/instruments", data={"remove": "simulated"}).text
    assert client.post("/instruments", data={"remove": "../x"}).status_code == 422
