"""The network goes and comes back: pages that were seen can be read, and what was typed is not lost."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, expect

from dwellwright.web.app import build_app

from .looking import SIZES

pytestmark = pytest.mark.browser


@contextmanager
def on(port: int, folder: Path) -> Iterator[None]:
    """A workbench on that port, gone at the end."""
    app = build_app(folder, who="tester")
    settings = uvicorn.Config(
        app, host="127.0.0.1", port=port, log_level="error", timeout_graceful_shutdown=1
    )
    server = uvicorn.Server(settings)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield
    server.should_exit = True
    thread.join(10)
    app.state.shop.close()


def test_a_page_outlives_its_server_and_resumes(chromium: Browser, tmp_path: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    address, folder = f"http://127.0.0.1:{port}", tmp_path / "shop"
    page = chromium.new_context(viewport=SIZES["tablet"]).new_page()
    with on(port, folder):
        form = {
            "owner": "A. Sample (invented)",
            "car": "wagon",
            "complaint": "lamp",
            "sheet": "two-barrel-v6",
        }
        assert page.request.post(address + "/jobs", form=form).ok
        page.goto(address + "/jobs/1/evidence")
        page.evaluate("navigator.serviceWorker.ready.then(() => new Promise(done => setTimeout(done, 300)))")
        page.reload()
        page.get_by_label("Values, every repeat").fill("31.5 32")
    page.goto(address + "/jobs/1/evidence")
    expect(page.locator("#offline")).to_be_visible()
    expect(page.get_by_label("Values, every repeat")).to_have_value("31.5 32")
    page.goto(address + "/jobs/1/proof")
    expect(page.get_by_role("heading", name="No connection")).to_be_visible()
    with on(port, folder):
        page.goto(address + "/jobs/1/evidence")
        expect(page.locator("#offline")).to_be_hidden()
        expect(page.get_by_text("Not sent yet")).to_be_visible()
        page.get_by_role("button", name="Write it down").click()
        expect(page.get_by_role("cell", name="31.8 deg", exact=True)).to_be_visible()
        expect(page.get_by_label("Values, every repeat")).to_have_value("")
    page.context.close()
