"""The page of time and parts, and the shop's prices."""

from __future__ import annotations

from starlette.testclient import TestClient


def test_a_part_is_added_summed_exported_and_taken_back(client: TestClient, job: int) -> None:
    client.post("/shop/prices", data={"currency": "$", "hourly": "60"})
    answer = client.post(
        f"/jobs/{job}/costs", data={"kind": "part", "words": "needle <b>", "count": "2", "price": "4,25"}
    )
    assert "$ 8.50" in answer.text
    assert "needle &lt;b&gt;" in answer.text
    assert "needle <b>,,2,4.25,8.50,$" in client.get(f"/jobs/{job}/costs.csv").text.replace(
        ",,needle", "needle"
    )
    assert client.get(f"/jobs/{job}/job.json").json()["costs"][0]["price_smallest_coin"] == 425
    gone = client.post(f"/jobs/{job}/costs", data={"remove": "1"})
    assert "No part yet." in gone.text


def test_a_slip_comes_back_as_typed(client: TestClient, job: int) -> None:
    answer = client.post(f"/jobs/{job}/costs", data={"kind": "part", "words": "needle", "price": "cheap"})
    assert answer.status_code == 422
    assert "this is no price" in answer.text
    assert 'value="needle"' in answer.text
    assert 'value="cheap"' in answer.text
    for odd in ("x", "-1", "9" * 40, "²"):
        assert client.post(f"/jobs/{job}/costs", data={"remove": odd}).status_code == 422


def test_the_hour_is_refused_where_it_is_no_price(client: TestClient) -> None:
    answer = client.post("/shop/prices", data={"currency": "$", "hourly": "much"})
    assert answer.status_code == 422
    assert 'value="much"' in answer.text
