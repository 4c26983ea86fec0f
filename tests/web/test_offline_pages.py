"""What a device keeps for when the network goes."""

import re
from pathlib import Path

from starlette.testclient import TestClient

from dwellwright.web.moving_plots import ADDRESS
from dwellwright.web.offline_pages import STATIC


def test_the_worker_keeps_every_static_file_and_each_is_there(client: TestClient) -> None:
    answer = client.get("/worker.js")
    assert answer.headers["content-type"].startswith("text/javascript")
    kept = re.findall(r'"(/[^"]+)"', answer.text.splitlines()[1])
    assert {Path(one).name for one in kept if one.startswith("/static/")} == {
        *(one.name for one in STATIC.iterdir() if one.name != "worker.js"),
        Path(ADDRESS).name,
    }
    for path in kept:
        assert client.get(path).status_code == 200


def test_the_shell_changes_its_name_with_its_content(client: TestClient) -> None:
    assert re.fullmatch(r'const VERSION = "[0-9a-f]{12}";', client.get("/worker.js").text.splitlines()[0])


def test_the_app_can_be_kept_on_a_device(client: TestClient) -> None:
    facts = client.get("/manifest.webmanifest").json()
    assert facts["start_url"] == "/"
    for icon in facts["icons"]:
        assert client.get(icon["src"]).status_code == 200


def test_no_script_or_style_stands_inside_a_page(client: TestClient, job: int) -> None:
    """The content security policy would refuse it; better not to need the refusal."""
    for path in (
        "/",
        "/meter",
        "/what-if",
        "/shop",
        "/help",
        "/sheets/new",
        f"/jobs/{job}/evidence",
        f"/jobs/{job}/car",
    ):
        text = client.get(path).text
        assert not re.search(r"<script(?![^>]*\bsrc=)", text)
        assert "<style" not in text
        assert " style=" not in text
        assert not re.search(r"\son[a-z]+=", text)
        assert not re.search(r"""(src|href|action)=["'](https?:)?//""", text)
