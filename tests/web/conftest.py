"""A workbench on an empty shop, one job in it, and the invented evidence of the demonstration."""

import shutil
from collections.abc import Iterator
from importlib.resources import as_file, files
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from dwellwright.records.shop import Shop
from dwellwright.service.shop import open_shop
from dwellwright.web.app import build_app

HERE = "http://127.0.0.1"


@pytest.fixture(scope="session")
def blank(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty shop, made once: every test works on a copy of it."""
    folder = tmp_path_factory.mktemp("blank") / "shop"
    open_shop(folder).close()
    return folder


@pytest.fixture
def client(tmp_path: Path, blank: Path) -> Iterator[TestClient]:
    """The application on a shop of its own."""
    shutil.copytree(blank, tmp_path / "shop")
    app = build_app(tmp_path / "shop", who="tester")
    with TestClient(app, base_url=HERE, follow_redirects=True) as client:
        yield client
    app.state.shop.close()


@pytest.fixture
def shop(client: TestClient) -> Shop:
    """The shop behind the application."""
    found: Shop = client.app.state.shop  # type: ignore[attr-defined]
    return found


@pytest.fixture
def job(client: TestClient) -> int:
    """A job taken in through the form."""
    fields = {
        "owner": "A. Sample",
        "car": "wagon (invented)",
        "complaint": "lamp on",
        "sheet": "two-barrel-v6",
    }
    answer = client.post("/jobs", data=fields)
    assert answer.status_code == 200
    return 1


@pytest.fixture(scope="session")
def demo_folder() -> Iterator[Path]:
    """The demonstration's files as found."""
    with as_file(files("dwellwright.demo").joinpath("data", "as_found")) as folder:
        yield folder


@pytest.fixture
def recorded(client: TestClient, job: int, demo_folder: Path) -> int:
    """The job with a drive recording in it: evidence 1."""
    content = (demo_folder / "log.csv").read_bytes()
    assert client.post(f"/jobs/{job}/files", files=[("files", ("log.csv", content))]).status_code == 200
    return job
