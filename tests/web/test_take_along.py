"""What can be taken along from the handover page: archives and the code."""

from __future__ import annotations

import io
import zipfile

from starlette.testclient import TestClient


def test_archives_and_the_code_are_served(client: TestClient, job: int) -> None:
    answer = client.get(f"/jobs/{job}/job.zip")
    assert "job.json" in zipfile.ZipFile(io.BytesIO(answer.content)).namelist()
    whole = client.get("/shop/everything.zip")
    assert f"job-{job}/job.json" in zipfile.ZipFile(io.BytesIO(whole.content)).namelist()
    code = client.get(f"/jobs/{job}/code.svg", params={"link": "http://bench.example/jobs/1"})
    assert code.headers["content-type"] == "image/svg+xml"
    assert client.get("/jobs/9/code.svg").status_code == 404
    assert client.get("/jobs/9/job.zip").status_code == 404


def test_a_link_that_is_none_is_refused_in_place(client: TestClient, job: int) -> None:
    answer = client.post(f"/jobs/{job}/handover", data={"link": "javascript:alert(1)"})
    assert answer.status_code == 422
    assert 'value="javascript:alert(1)"' in answer.text
    assert "no address of a page" in answer.text
