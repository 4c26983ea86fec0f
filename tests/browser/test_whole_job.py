"""A whole job as a person would do it, on a tablet and on a desktop; every page checked for access and silence."""

from __future__ import annotations

from importlib.resources import as_file, files

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

pytestmark = pytest.mark.browser
DEMO = files("dwellwright.demo").joinpath("data", "as_found")
SIZES = {"tablet": {"width": 800, "height": 1280}, "desktop": {"width": 1280, "height": 900}}
SMALLEST_TARGET = 48
"""Pixels; WCAG 2.2 AA asks for 24."""


def opened(chromium: Browser, size: str, workbench: str) -> tuple[Page, list[str]]:
    """A page of that size, and the addresses elsewhere that it asked for."""
    page = chromium.new_context(viewport=SIZES[size]).new_page()
    elsewhere: list[str] = []
    page.on(
        "request", lambda r: elsewhere.append(r.url) if not r.url.startswith((workbench, "data:")) else None
    )
    return page, elsewhere


def checked(page: Page) -> None:
    """No violation that axe knows of WCAG 2.2 AA, and no target smaller than a thumb."""
    result = Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]})
    assert result.violations_count == 0, result.generate_report()
    small = page.eval_on_selector_all(
        "button, .button, input:not([type=hidden]):not([type=range]), select, summary, nav a",
        f"""all => all.filter(e => e.offsetParent && e.getBoundingClientRect().height < {SMALLEST_TARGET})
            .map(e => e.outerHTML)""",
    )
    assert small == []


@pytest.mark.parametrize("size", SIZES)
def test_a_job_from_arrival_to_handover(chromium: Browser, workbench: str, size: str) -> None:
    page, elsewhere = opened(chromium, size, workbench)
    page.goto(workbench)
    checked(page)
    page.get_by_label("Owner").fill("A. Sample (invented)")
    page.get_by_label("The car, in plain words").fill(f"wagon on a {size} (invented)")
    page.get_by_label("What the customer says").fill("The lamp comes on and it drinks.")
    page.get_by_label("Spec sheet").select_option("two-barrel-v6")
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("heading", name="Evidence")).to_be_visible()
    checked(page)
    with as_file(DEMO) as folder:
        page.get_by_label("Files").set_input_files(
            [folder / name for name in ("log.csv", "gas.csv", "bench.csv")]
        )
        page.get_by_role("button", name="Add", exact=True).click()
    expect(page.get_by_role("region", name="Readings")).to_be_visible(timeout=60_000)
    page.get_by_role("button", name="Weigh the causes").click()
    expect(page.get_by_text("Lean stop set wrong").first).to_be_visible(timeout=60_000)
    checked(page)
    page.get_by_role("link", name="Bench").click()
    page.locator("#lean_stop-found").fill("118 118.4")
    page.locator("#lean_stop-left").fill("70.1 70.0")
    page.locator("#lean_stop-turns").fill("1.5")
    page.locator("#lean_stop").get_by_role("button", name="Write down").click()
    expect(page.locator("#lean_stop")).to_contain_text("118")
    checked(page)
    for station in ("On the car", "Proof", "Handover"):
        page.get_by_role("link", name=station).first.click()
        expect(page.get_by_role("heading", name=station, exact=True)).to_be_visible()
        checked(page)
    page.get_by_role("button", name="Make the handover sheet").click()
    expect(page.get_by_role("link", name="Open the last one (PDF)")).to_be_visible(timeout=60_000)
    assert elsewhere == []
    page.context.close()


@pytest.mark.parametrize("sight", ["light", "dark", "contrast"])
@pytest.mark.parametrize("path", ["/sheets", "/sheets/two-barrel-v6", "/sheets/new", "/what-if", "/help"])
def test_the_other_pages_in_every_look(chromium: Browser, workbench: str, path: str, sight: str) -> None:
    page, elsewhere = opened(chromium, "tablet", workbench)
    page.context.add_cookies([{"name": "sight", "value": sight, "url": workbench}])
    page.goto(workbench + path)
    checked(page)
    assert elsewhere == []
    page.context.close()


def test_what_if_redraws_while_a_knob_moves(chromium: Browser, workbench: str) -> None:
    page, _ = opened(chromium, "desktop", workbench)
    page.goto(f"{workbench}/what-if?sheet=two-barrel-v6")
    cell = page.locator('tr[data-point="3000"] .now')
    before = cell.inner_text()
    page.get_by_label("Lean stop, off by (thou)").fill("38")
    expect(cell).not_to_have_text(before)
    page.context.close()


def test_a_refused_reading_says_so_and_keeps_what_was_typed(chromium: Browser, workbench: str) -> None:
    page, _ = opened(chromium, "tablet", workbench)
    page.goto(f"{workbench}/jobs/1/evidence")
    page.get_by_label("What was read").select_option("dwell")
    page.get_by_label("Values, every repeat").fill("99")
    page.get_by_label("Unit", exact=True).select_option("deg")
    page.get_by_role("button", name="Write it down").click()
    expect(page.get_by_role("alert")).to_contain_text("not believable")
    expect(page.get_by_label("Values, every repeat")).to_have_value("99")
    page.context.close()
