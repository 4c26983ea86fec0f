"""Only this machine's own pages may post here, nothing is too large for the disk, and nothing leaves."""

import socket
from pathlib import Path
from typing import Any

import pytest
import uvicorn
from starlette.testclient import TestClient

from dwellwright.web import serving, uploads
from dwellwright.web.app import SILENT
from dwellwright.web.guard import HEADERS, Guard, is_own_name
from dwellwright.web.uploads import plain_name


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://elsewhere.example"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:9"},
        {"referer": "http://elsewhere.example/page"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
    ],
)
def test_a_post_from_another_site_is_refused(client: TestClient, headers: dict[str, str]) -> None:
    fields = {"owner": "x", "car": "x", "complaint": "x", "sheet": "two-barrel-v6"}
    answer = client.post("/jobs", data=fields, headers=headers)
    assert answer.status_code == 403
    assert "this form was sent from another site" in answer.text
    assert client.get("/jobs/1/arrival").status_code == 404


@pytest.mark.parametrize("headers", [{"origin": "http://127.0.0.1"}, {"sec-fetch-site": "same-origin"}, {}])
def test_a_post_of_its_own_is_taken(client: TestClient, headers: dict[str, str]) -> None:
    assert client.post("/sight", data={"sight": "dark"}, headers=headers).status_code == 200


@pytest.mark.parametrize(
    "host", ["elsewhere.example", "localhost.elsewhere.example", "", "[", "127.0.0.1.example:80"]
)
def test_a_name_that_only_points_here_is_refused(client: TestClient, host: str) -> None:
    answer = client.get("/", headers={"host": host})
    assert answer.status_code == 403
    assert "not an address of this machine" in answer.text
    assert not is_own_name(host)


@pytest.mark.parametrize(
    "host",
    ["localhost:8321", "127.0.0.1", "192.168.1.20:8321", "[::1]:8321", "[fe80::1]", socket.gethostname()],
)
def test_numbers_and_the_machines_own_name_are_answered(client: TestClient, host: str) -> None:
    assert client.get("/help", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "path", ["/", "/nix", "/static/bench.css", "/worker.js", "/sheets/schema.json", "/jobs/77/arrival"]
)
def test_every_answer_has_the_headers(client: TestClient, path: str) -> None:
    answer = client.get(path)
    for name, value in HEADERS.items():
        assert answer.headers[name] == value
    assert "unsafe-inline" not in answer.headers["content-security-policy"]


def test_a_body_that_is_too_large_is_refused_before_it_is_read(client: TestClient) -> None:
    app = Guard(client.app, largest=1000)
    with TestClient(app, base_url="http://127.0.0.1") as small:
        answer = small.post("/jobs", data={"owner": "x" * 2000})
    assert answer.status_code == 413
    assert "the file is too large (what was sent)" in answer.text


def test_a_recording_over_its_limit_is_refused_and_the_job_stays(
    client: TestClient, job: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(uploads, "LARGEST_RECORDING", 3_000_000)
    before = client.get(f"/jobs/{job}/job.json").json()
    answer = client.post(f"/jobs/{job}/files", files=[("files", ("long.wav", b"RIFF" + bytes(4_000_000)))])
    assert answer.status_code == 422
    assert "the file is too large (long.wav); wanted at most 3 MB; got 4.0 MB" in answer.text
    assert client.get(f"/jobs/{job}/job.json").json() == before


def test_a_gas_table_has_a_smaller_limit(
    client: TestClient, job: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(uploads, "LARGEST_TABLE", 1_000)
    table = b"condition,co_pct,co2_pct,o2_pct,hc_ppm\n" + b"idle,0.6,14.6,0.6,250\n" * 100
    answer = client.post(f"/jobs/{job}/files", files=[("files", ("gas.csv", table))])
    assert answer.status_code == 422
    assert "the file is too large (gas.csv)" in answer.text


@pytest.mark.parametrize(
    ("claimed", "plain"),
    [
        ("../../etc/passwd", "passwd"), ("C:\\temp\\drive.wav", "drive.wav"), ("/", "file"), ("", "file"),
        (None, "file"), (".hidden", "hidden"), ("a\x00b\n.csv", "ab.csv"), ("a:b?.wav", "a_b_.wav"),
        ("x" * 300 + ".csv", "x" * 116 + ".csv"),
        ("\u202etxt.exe", "txt.exe"), ("..", "file"),
    ],
)  # fmt: skip
def test_a_files_name_is_only_a_name(claimed: str | None, plain: str) -> None:
    assert plain_name(claimed) == plain


@pytest.mark.parametrize("lan", [False, True])
def test_it_listens_to_this_machine_alone_unless_asked(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, lan: bool
) -> None:
    asked: dict[str, Any] = {}
    monkeypatch.setattr(uvicorn, "run", lambda app, **how: asked.update(how, app=app))
    serving.run(tmp_path / "shop", None, "tester", port=1234, lan=lan)
    assert asked["host"] == ("0.0.0.0" if lan else "127.0.0.1")
    assert asked["port"] == 1234
    asked["app"].state.shop.close()


def test_nothing_is_sent_to_another_machine(
    client: TestClient, job: int, demo_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every way out of this process is watched while a job is worked on."""
    tried: list[object] = []
    real = socket.socket.connect

    def connect(self: socket.socket, address: Any) -> None:
        if self.family != socket.AF_UNIX and not str(address[0]).startswith("127."):
            tried.append(address)
            raise OSError("refused by the test")
        real(self, address)

    monkeypatch.setattr(socket.socket, "connect", connect)
    monkeypatch.setattr(socket, "getaddrinfo", lambda *asked, **_: tried.append(asked) or [])
    content = (demo_folder / "gas.csv").read_bytes()
    client.post(f"/jobs/{job}/files", files=[("files", ("gas.csv", content))])
    for path in ("/", "/help", "/what-if", f"/jobs/{job}/evidence", f"/jobs/{job}/proof"):
        assert client.get(path).status_code == 200
    assert tried == []
    assert not any(SILENT.values())
