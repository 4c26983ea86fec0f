"""A served workbench on an empty shop, and a Chromium that reaches nothing else."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, Playwright, sync_playwright

from dwellwright.web.app import build_app

FLAGS = [
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """Address of a workbench on that shop folder."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    app = build_app(folder, who="tester")
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=port, log_level="error"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(10)
    app.state.shop.close()


@pytest.fixture(scope="session")
def workbench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a workbench on an empty shop."""
    with served(tmp_path_factory.mktemp("browser") / "shop") as address:
        yield address


@pytest.fixture(scope="session")
def player(chromium_path: str) -> Iterator[Playwright]:
    """What starts browsers; only where there is one to start."""
    with sync_playwright() as playwright:
        yield playwright


@pytest.fixture(scope="session")
def chromium(player: Playwright, chromium_path: str) -> Iterator[Browser]:
    """One Chromium for most browser tests."""
    browser = player.chromium.launch(executable_path=chromium_path, args=FLAGS)
    yield browser
    browser.close()
