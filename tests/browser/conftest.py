"""A served workbench on an empty shop, and a Chromium that reaches nothing else."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Playwright, sync_playwright
from tools.workbench import served

FLAGS = [
    "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip


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
