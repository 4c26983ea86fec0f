"""What every test gets: a data folder of its own, and for browser tests a Chromium or an honest skip.

With DWELLWRIGHT_REQUIRE_BROWSER=1 (the CI) a skipped browser test is a failure, and so is a run with none.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Generator, Iterator

import pytest
from hypothesis import settings

settings.register_profile("steady", derandomize=True, deadline=None, print_blob=True)
settings.register_profile("explore", deadline=None, print_blob=True)
settings.load_profile("explore" if os.environ.get("DWELLWRIGHT_EXPLORE") == "1" else "steady")
"""Examples are the same in every run, so that a green run stays green; DWELLWRIGHT_EXPLORE=1 looks for new ones."""

BROWSERS = ("chromium", "chromium-browser")


def browser_required() -> bool:
    """Whether a missing browser must fail the run."""
    return os.environ.get("DWELLWRIGHT_REQUIRE_BROWSER") == "1"


@pytest.fixture(autouse=True, scope="session")
def own_data_folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """No test, and no program that a test starts, writes into the data folder of the person who runs it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_DATA_HOME", str(tmp_path_factory.mktemp("data")))
        for name in ("DWELLWRIGHT_SHOP", "DWELLWRIGHT_DATABASE", "DWELLWRIGHT_WHO"):
            patch.delenv(name, raising=False)
        yield


@pytest.fixture(scope="session")
def chromium_path() -> str:
    """Path of the Chromium that the browser tests drive (dev.py names it; the search path otherwise)."""
    named = os.environ.get("DWELLWRIGHT_CHROMIUM") or ""
    found = next((path for name in (named, *BROWSERS) if name and (path := shutil.which(name))), None)
    if found is None:
        pytest.skip("no chromium on this machine: set CHROMIUM or install it")
    return found


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item, call: pytest.CallInfo[None]
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    """Turn the skip of a browser test into a failure where a browser is required."""
    report = yield
    if report.skipped and browser_required() and item.get_closest_marker("browser"):
        report.outcome = "failed"
        report.longrepr = f"a browser test was skipped although the browser is required: {call.excinfo}"
    return report


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    """Say how many browser tests really ran."""
    passed = terminalreporter.stats.get("passed", [])
    count = sum("browser" in report.keywords for report in passed)
    if browser_required() and (count or not config.option.markexpr):
        terminalreporter.write_line(f"browser tests passed: {count}")


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """A complete run that must have a browser fails without a single browser test."""
    options = session.config.option
    complete = not (options.file_or_dir or options.keyword or options.markexpr)
    if not (browser_required() and complete and exitstatus == 0) or hasattr(session.config, "workerinput"):
        return
    told = session.config.pluginmanager.get_plugin("terminalreporter").stats.values()
    if not any("browser" in getattr(report, "keywords", ()) for reports in told for report in reports):
        session.exitstatus = pytest.ExitCode.NO_TESTS_COLLECTED
