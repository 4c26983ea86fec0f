"""Plots to move along in a real browser: they stand, tell their numbers when pointed at, and move by buttons."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page

from .looking import checked, opened

pytestmark = pytest.mark.browser

NASTY = "<img src=x onerror=alert(1)>"
STUDY = "part,hand,unit,reading_1,reading_2\n" + "".join(
    f"{part},{hand},thou,{80 + 4 * part},{80 + 4 * part + step}\n"
    for part in range(1, 5)
    for hand, step in ((NASTY, 1), ("Bo", 2))
)


def studied(page: Page, workbench: str) -> list[str]:
    """The page with a study worked out; what its console complained of."""
    complaints: list[str] = []
    page.on(
        "console", lambda told: complaints.append(told.text) if told.type in ("error", "warning") else None
    )
    page.goto(f"{workbench}/gauges")
    page.fill("#study-table", STUDY)
    page.click("#study button.main")
    page.wait_for_selector(".moving-figure >> nth=0 >> canvas")
    page.wait_for_selector("[data-still]", state="hidden")
    return complaints


def told(page: Page) -> str:
    """What the tooltip says, through every shadow."""
    return page.evaluate(
        """() => {
            const walk = (node) => [...node.querySelectorAll("*")].flatMap((e) =>
                [...(e.classList.contains("bk-Tooltip") ? [e.shadowRoot.textContent] : []),
                 ...(e.shadowRoot ? walk(e.shadowRoot) : [])]);
            return walk(document).join(" ");
        }"""
    )


def test_figures_stand_without_a_complaint_and_pass_every_rule(chromium: Browser, workbench: str) -> None:
    page, elsewhere = opened(chromium, "tablet", workbench)
    assert studied(page, workbench) == []
    assert page.locator(".moving-figure canvas").count() >= 2
    checked(page)
    assert elsewhere == []
    page.context.close()


def test_a_mark_that_is_pointed_at_tells_its_numbers_as_plain_words(
    chromium: Browser, workbench: str
) -> None:
    page, elsewhere = opened(chromium, "desktop", workbench)
    studied(page, workbench)
    page.locator(".moving-figure").first.scroll_into_view_if_needed()
    box = page.locator(".moving-figure").first.bounding_box()
    across, down = page.evaluate(
        """() => { const view = [...Bokeh.index.roots][0];
                   return [view.frame.x_scale.compute(-0.09), view.frame.y_scale.compute(84)]; }"""
    )
    assert box
    page.mouse.move(box["x"] + across - 3, box["y"] + down)
    page.mouse.move(box["x"] + across, box["y"] + down)
    page.wait_for_timeout(300)
    assert "part 1: 84 thou" in told(page)
    assert page.locator("img[src=x]").count() == 0
    assert elsewhere == []
    page.context.close()


def test_buttons_move_along_and_back(chromium: Browser, workbench: str) -> None:
    page, _ = opened(chromium, "tablet", workbench)
    studied(page, workbench)
    ends = "() => { const r = Bokeh.documents[0].roots()[0].x_range; return [r.start, r.end]; }"
    first = page.evaluate(ends)
    page.click("[data-go=in]")
    closer = page.evaluate(ends)
    assert closer[1] - closer[0] == pytest.approx((first[1] - first[0]) / 2)
    page.click("[data-go=right]")
    assert page.evaluate(ends)[0] > closer[0]
    page.click("[data-go=all]")
    assert page.evaluate(ends) == pytest.approx(first)
    page.context.close()
