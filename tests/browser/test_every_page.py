"""Every page of a shop with the whole demonstration in it: access in every look, and what scripts add."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from dwellwright.service.demo import run_demo
from dwellwright.service.shop import open_shop

from .conftest import served
from .looking import checked, opened

pytestmark = pytest.mark.browser
STATIONS = ("arrival", "evidence", "causes", "bench", "car", "proof", "handover", "photographs", "trace/4", "sound/3",
            "measuring", "gauges", "responses", "gas", "columns")  # fmt: skip
OTHERS = ("/", "/meter", "/sheets", "/sheets/two-barrel-v6", "/sheets/new", "/gauges", "/what-if", "/shop", "/help",
          "/offline", "/nix")  # fmt: skip
EVERY = [f"/jobs/1/{name}" for name in STATIONS] + list(OTHERS)
SOME = ["/jobs/1/causes", "/jobs/1/bench", "/jobs/1/proof", "/meter", "/what-if", "/shop"]
"""Where every kind of sign and color stands; enough for the other looks."""


@pytest.fixture(scope="module")
def demonstration(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a workbench on a shop in which the demonstration was run."""
    folder: Path = tmp_path_factory.mktemp("demonstration") / "shop"
    shop = open_shop(folder)
    run_demo(shop, folder)
    shop.close()
    with served(folder) as address:
        yield address


@pytest.mark.parametrize(
    ("size", "sight"), [("tablet", "light"), ("desktop", "dark"), ("tablet", "contrast")]
)
def test_every_page_can_be_used_by_everyone(
    chromium: Browser, demonstration: str, size: str, sight: str
) -> None:
    page, elsewhere = opened(chromium, size, demonstration, sight)
    for path in EVERY if sight == "light" else SOME:
        page.goto(demonstration + path)
        page.eval_on_selector_all("details", "all => all.slice(0, 4).forEach(one => one.open = true)")
        checked(page)
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
    field = page.get_by_role("spinbutton", name="Lean stop, off by")
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


def test_it_prints_without_its_buttons(chromium: Browser, demonstration: str) -> None:
    page, _ = opened(chromium, "desktop", demonstration)
    page.goto(demonstration + "/jobs/1/proof")
    page.emulate_media(media="print")
    assert page.locator(".top").is_hidden()
    assert page.locator(".stations").is_hidden()
    assert page.get_by_role("region", name="Criteria").is_visible()
    assert page.pdf()[:4] == b"%PDF"
    page.context.close()
