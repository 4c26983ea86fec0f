"""A workbench on an empty shop, and one job in it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from dwellwright.web.app import build_app


@pytest.fixture
def client(tmp_path: Path) -> Iterator[TestClient]:
    """The application on a shop of its own."""
    app = build_app(tmp_path / "shop", who="tester")
    with TestClient(app, base_url="http://127.0.0.1", follow_redirects=True) as client:
        yield client
    app.state.shop.close()


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
