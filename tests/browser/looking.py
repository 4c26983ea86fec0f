"""What every page is held to in a real browser: access, targets for a thumb, and silence towards other machines."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

SIZES = {"tablet": {"width": 800, "height": 1280}, "desktop": {"width": 1440, "height": 900}}
SMALLEST_TARGET = 48
"""Pixels; WCAG 2.2 AA asks for 24. Links inside a sentence are excepted there and here."""

RULES: dict[str, object] = {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
}
LOOK: dict[str, object] = {"runOnly": ["color-contrast", "target-size", "scrollable-region-focusable"]}
"""The rules whose answer hangs on the look and the size; the others see the same page."""


def opened(chromium: Browser, size: str, workbench: str, sight: str = "auto") -> tuple[Page, list[str]]:
    """A page of that size and look, and a list that fills with the addresses elsewhere that it asks for."""
    context = chromium.new_context(viewport=SIZES[size])
    context.add_cookies([{"name": "sight", "value": sight, "url": workbench}])
    page = context.new_page()
    elsewhere: list[str] = []
    own = (workbench, "data:", "blob:")
    page.on("request", lambda r: elsewhere.append(r.url) if not r.url.startswith(own) else None)
    page.on("pageerror", lambda fault: elsewhere.append(f"script: {fault}"))
    return page, elsewhere


def checked(page: Page, rules: dict[str, object] = RULES) -> None:
    """No violation that axe knows of WCAG 2.2 AA, no target smaller than a thumb, nothing wider than the screen."""
    result = Axe().run(page, options=rules)
    assert result.violations_count == 0, f"{page.url}\n{result.generate_report()}"
    small = page.eval_on_selector_all(
        "button, .button, input:not([type=hidden], [type=checkbox]), select, summary, nav a, label.tick, .jobs a",
        f"""all => all.filter(e => e.offsetParent && e.getBoundingClientRect().height < {SMALLEST_TARGET - 0.5})
            .map(e => e.outerHTML.slice(0, 200))""",
    )
    assert small == [], page.url
    spill = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert spill <= 0, f"{page.url} is {spill} pixels wider than the screen"
