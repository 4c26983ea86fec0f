"""Identifying a unit and signing a sheet off, on the pages."""

from __future__ import annotations

import re

from starlette.testclient import TestClient

from dwellwright.catalogue.sheet_file import archetype_texts


def own_sheet() -> str:
    text = re.sub("invented", "manual 1-1", archetype_texts()["two-barrel-v6"]).replace(
        "manual 1-1 = true", "invented = false"
    )
    return text.replace("INVENTED-6", "17059021")


def test_a_stamp_leads_to_the_sheet_and_the_sheet_into_a_job(client: TestClient, job: int) -> None:
    client.post("/sheets", data={"name": "mine", "text": own_sheet()})
    answer = client.get("/sheets/identify", params={"stamped": "17O59O21", "job": str(job)})
    assert f"/jobs/{job}/arrival?sheet=mine" in answer.text
    assert '<option value="mine" selected>' in client.get(f"/jobs/{job}/arrival?sheet=mine").text
    assert '<option value="mine" selected>' in client.get("/?sheet=mine").text
    assert "No sheet fits" in client.get("/sheets/identify", params={"stamped": "99999999"}).text


def test_a_stamp_that_is_none_comes_back_as_typed(client: TestClient) -> None:
    answer = client.get("/sheets/identify", params={"stamped": "<a"})
    assert answer.status_code == 422
    assert 'value="&lt;a"' in answer.text


def test_a_sheet_is_signed_and_taken_in_elsewhere(client: TestClient) -> None:
    client.post("/sheets", data={"name": "mine", "text": own_sheet()})
    signed = client.post("/sheets/mine/sign", data={"by": "A. Sample", "remark": "as printed"})
    assert "attachment" in signed.headers["content-disposition"]
    shown = client.get("/sheets/mine").text
    assert "Signed off by A. Sample" in shown
    assert "--- signed off ---" not in client.get("/sheets/mine/edit").text
    changed = signed.text.replace("value = 70", "value = 71")
    refused = client.post("/sheets", files={"file": ("x.toml", changed.encode())}, data={"name": "other"})
    assert refused.status_code == 422
    assert "changed after it was signed off" in refused.text
    taken = client.post("/sheets", files={"file": ("x.toml", signed.content)}, data={"name": "other"})
    assert "Signed off by A. Sample" in taken.text


def test_an_archetype_is_not_signed(client: TestClient) -> None:
    answer = client.post("/sheets/two-barrel-v6/sign", data={"by": "A"})
    assert answer.status_code == 422
    assert "signed off by nobody" in answer.text
    assert client.post("/sheets/nothing/sign", data={"by": "A"}).status_code == 404
