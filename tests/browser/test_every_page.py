"""Every page of a shop with the whole demonstration in it: access in every look, and what scripts add."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from httpx2 import Response
from playwright.sync_api import Browser, expect
from starlette.testclient import TestClient
from tools.workbench import STATES, addresses, furnish, served

from dwellwright.service.simulated_instrument import simulated, simulated_description
from dwellwright.web.app import build_app
from dwellwright.web.stations import STATIONS

from .looking import LOOK, RULES, checked, opened

pytestmark = pytest.mark.browser
LIVE = "/jobs/2/live"
"""The page of a recording that runs; `furnish` cannot leave one running."""


@pytest.fixture(scope="module")
def furnished(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, list[str]]]:
    """Address of a workbench in which every page has something to show, and every address that is a whole page."""
    folder: Path = tmp_path_factory.mktemp("furnished") / "shop"
    furnish(folder)
    app = build_app(folder, who="tester")
    with TestClient(app, base_url="http://127.0.0.1", follow_redirects=False) as client:
        pages = [path for path in (*addresses(app), *STATES) if is_page(client.get(path))]
    app.state.shop.close()
    with served(folder) as address:
        yield address, pages


@pytest.fixture(scope="module")
def demonstration(furnished: tuple[str, list[str]]) -> str:
    """Only the address."""
    return furnished[0]


def is_page(answer: Response) -> bool:
    """Whether an answer is a whole page of the workbench: no file, no part of a page, no document to take away."""
    return "<nav" in answer.text if answer.headers.get("content-type", "").startswith("text/html") else False


def test_the_pages_are_those_of_the_application(furnished: tuple[str, list[str]]) -> None:
    _, pages = furnished
    assert len(pages) > 38
    wanted = {f"/jobs/1/{name}" for name in (*STATIONS, "measuring", "gauges", "responses", "gas", "columns", "costs",
                                             "live", "case", "photographs")}  # fmt: skip
    assert wanted | {"/gauges", "/instruments", "/sheets/identify", "/meter", "/shop"} <= set(pages)


@pytest.mark.parametrize(
    ("size", "sight", "rules"),
    [
        ("tablet", "light", RULES),
        ("desktop", "dark", LOOK),
        ("tablet", "contrast", LOOK),
    ],
)
def test_every_page_can_be_used_by_everyone(
    chromium: Browser, furnished: tuple[str, list[str]], size: str, sight: str, rules: dict[str, object]
) -> None:
    address, pages = furnished
    page, elsewhere = opened(chromium, size, address, sight)
    for path in pages:
        page.goto(address + path)
        page.eval_on_selector_all("details", "all => all.slice(0, 4).forEach(one => one.open = true)")
        checked(page, rules)
    assert elsewhere == []
    page.context.close()


def test_every_page_prints_without_bars_and_buttons(
    chromium: Browser, furnished: tuple[str, list[str]]
) -> None:
    address, pages = furnished
    page, _ = opened(chromium, "desktop", address, "dark")
    page.emulate_media(media="print")
    for path in pages:
        page.goto(address + path)
        shown = page.eval_on_selector_all(
            ".top, footer, button, .button, .stations",
            "all => all.filter(one => one.offsetParent).map(one => one.outerHTML.slice(0, 80))",
        )
        assert shown == [], path
        dark = page.evaluate("getComputedStyle(document.body).backgroundColor")
        assert dark == "rgb(255, 255, 255)", path
        spill = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert spill <= 0, path
    page.context.close()


def test_a_running_recording_can_be_used_by_everyone(chromium: Browser, demonstration: str) -> None:
    page, elsewhere = opened(chromium, "tablet", demonstration)
    with simulated("as_found", 4.0, 0) as where:
        page.request.post(
            demonstration + "/instruments", form={"name": "sim", "text": simulated_description()}
        )
        form = {"do": "begin", "name": "sim", "address": where}
        assert page.request.post(demonstration + LIVE, form=form).ok
        page.goto(demonstration + LIVE)
        expect(page.locator("#live-values dd").first).to_be_visible()
        checked(page)
        page.get_by_role("button", name="End, and put it into the job").click()
        expect(page.get_by_text("Read and added.")).to_be_visible(timeout=60_000)
    assert elsewhere == []
    page.context.close()


def test_the_keyboard_reaches_the_work_first(chromium: Browser, demonstration: str) -> None:
    page, _ = opened(chromium, "desktop", demonstration)
    page.goto(demonstration + "/jobs/1/bench")
    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the work")).to_be_focused()
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    inside = page.evaluate("document.querySelector('main').contains(document.activeElement)")
    assert inside
    outline = page.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    page.context.close()


def test_what_if_redraws_while_a_knob_moves(chromium: Browser, demonstration: str) -> None:
    page, _ = opened(chromium, "desktop", demonstration)
    page.goto(f"{demonstration}/what-if?sheet=two-barrel-v6")
    cell = page.locator('tr[data-point="3000"] .now')
    before = cell.inner_text()
    field = page.get_by_role("textbox", name="Lean stop, off by")
    field.fill("38")
    expect(cell).not_to_have_text(before)
    taken = page.evaluate(
        """async () => { const shown = document.getElementById("shown"); const times = [];
            const field = document.getElementById("k-lean_stop");
            for (const value of [1, 5, 9, 13, 17, 21, 25, 29]) { const begin = performance.now();
              const drawn = new Promise(done => {
                const seen = new MutationObserver(() => { seen.disconnect(); done(); });
                seen.observe(shown, { childList: true }); });
              field.value = value; field.dispatchEvent(new Event("input")); await drawn;
              times.push(performance.now() - begin); } return times.sort((a, b) => a - b)[4]; }"""
    )
    assert taken < 100.0
    page.context.close()


def test_a_recording_is_looked_at_closer_by_key_and_button(chromium: Browser, demonstration: str) -> None:
    page, _ = opened(chromium, "tablet", demonstration)
    page.goto(demonstration + "/jobs/1/trace/4")
    whole = int(page.locator("#samples").inner_text())
    page.get_by_role("button", name="Closer").click()
    expect(page.locator("#samples")).not_to_have_text(str(whole))
    half = int(page.locator("#samples").inner_text())
    assert half == pytest.approx(whole / 2, rel=0.01)
    page.locator("#pictures").focus()
    page.keyboard.press("Home")
    expect(page.locator("#samples")).to_have_text(str(whole))
    box = page.locator("#pictures svg").first.bounding_box()
    assert box is not None
    page.mouse.move(box["x"] + 0.3 * box["width"], box["y"] + 60)
    page.mouse.down()
    page.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 60)
    page.mouse.up()
    expect(page.locator("#samples")).not_to_have_text(str(whole))
    page.context.close()


def test_a_sheet_is_checked_while_it_is_typed(chromium: Browser, demonstration: str) -> None:
    page, _ = opened(chromium, "desktop", demonstration)
    page.goto(demonstration + "/sheets/new")
    text = page.get_by_label("The sheet (TOML)")
    text.fill(text.input_value().replace("primary_barrels = 2", 'primary_barrels = "two"'))
    expect(page.locator("#findings")).to_contain_text("primary_barrels")
    page.locator("#findings button").first.click()
    assert "primary_barrels" in page.evaluate("getSelection().toString()")
    page.context.close()
