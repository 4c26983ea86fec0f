"""The network goes and comes back: pages that were seen can be read, and what was typed is not lost."""

from __future__ import annotations

import socket
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect
from tools.workbench import served

from .looking import SIZES

pytestmark = pytest.mark.browser


def test_a_page_outlives_its_server_and_resumes(chromium: Browser, tmp_path: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    address, folder = f"http://127.0.0.1:{port}", tmp_path / "shop"
    page = chromium.new_context(viewport=SIZES["tablet"]).new_page()
    with served(folder, port):
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
    with served(folder, port):
        page.goto(address + "/jobs/1/evidence")
        expect(page.locator("#offline")).to_be_hidden()
        expect(page.get_by_text("Not sent yet")).to_be_visible()
        page.get_by_role("button", name="Write it down").click()
        expect(page.get_by_role("cell", name="31.8 deg", exact=True)).to_be_visible()
        expect(page.get_by_label("Values, every repeat")).to_have_value("")
    page.context.close()
