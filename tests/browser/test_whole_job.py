"""A whole job as a person would do it, on a tablet and on a desktop, with and without scripts."""

from __future__ import annotations

from importlib.resources import as_file, files
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, Page, expect

from .looking import SIZES, checked, opened

pytestmark = pytest.mark.browser
DEMO = files("dwellwright.demo").joinpath("data", "as_found")
LONG = 60_000
"""Patience with the first reading of a recording, which compiles. [ms]"""


def take_in(page: Page, address: str, words: str) -> None:
    page.goto(address)
    page.get_by_label("Owner").fill("A. Sample (invented)")
    page.get_by_label("The car, in plain words").fill(f"wagon {words} (invented)")
    page.get_by_label("What the customer says").fill("The lamp comes on and it drinks.")
    page.get_by_label("Spec sheet", exact=True).select_option("two-barrel-v6")
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_role("heading", name="Evidence")).to_be_visible()


def add_the_files(page: Page) -> None:
    with as_file(DEMO) as folder:
        chosen = [folder / name for name in ("log.csv", "gas.csv", "bench.csv", "drive.flac")]
        page.get_by_label("Files", exact=True).set_input_files(chosen)
        page.get_by_role("button", name="Add", exact=True).click()
    expect(page.get_by_text("Read and added.")).to_be_visible(timeout=LONG)


def weigh(page: Page) -> None:
    page.get_by_role("button", name="Weigh the causes").click()
    expect(page.get_by_text("Lean stop set wrong").first).to_be_visible(timeout=LONG)


def set_the_lean_stop(page: Page) -> None:
    page.get_by_role("link", name="Bench", exact=False).first.click()
    step = page.locator("#lean_stop")
    step.get_by_label("As found, every repeat").fill("118 118.4")
    step.get_by_label("As left, every repeat").fill("70.1 70.0")
    step.get_by_label("Turns made").fill("1 1/2")
    step.get_by_label("Read with").select_option("dial_indicator")
    step.get_by_role("button", name="Write down").click()
    expect(page.locator("#lean_stop")).to_contain_text("1 1/2 turns clockwise")


def read_the_needle(page: Page) -> None:
    page.get_by_role("link", name="On the car").first.click()
    expect(page.locator("#idle_needle + .advice")).to_have_text("Read the dwell")
    page.get_by_label("Dwell now, every repeat").fill("41 40 41")
    page.get_by_role("button", name="Write down and advise").click()
    expect(page.locator("#idle_needle + .advice")).to_contain_text("clockwise")
    page.get_by_label("Turned since the last reading").fill("1/2")
    page.get_by_label("Dwell now, every repeat").fill("30 30.5 30")
    page.get_by_role("button", name="Write down and advise").click()
    expect(page.locator("#idle_needle + .advice")).to_have_text("Read the dwell again")
    page.get_by_label("Dwell now, every repeat").fill("30 30.5 30")
    page.get_by_role("button", name="Write down and advise").click()
    expect(page.locator("#idle_needle + .advice")).to_contain_text("Done")


def hand_over(page: Page) -> None:
    page.get_by_role("link", name="Proof").first.click()
    expect(page.get_by_role("heading", name="Missing to call it proven")).to_be_visible()
    page.get_by_role("link", name="Handover").first.click()
    page.get_by_role("button", name="Make the handover sheet").click()
    expect(page.get_by_role("link", name="Open the last one (PDF)")).to_be_visible(timeout=LONG)
    address = page.get_by_role("link", name="Open the last one (PDF)").get_attribute("href") or ""
    pdf = page.request.get(page.url.split("/jobs/")[0] + address)
    assert pdf.body().startswith(b"%PDF")
    page.get_by_label("Lean stop set wrong").check()
    page.get_by_role("button", name="End the job").click()
    expect(page.get_by_text("Confirmed: lean stop")).to_be_visible()


@pytest.mark.parametrize("size", SIZES)
def test_a_job_from_arrival_to_handover(chromium: Browser, workbench: str, size: str) -> None:
    page, elsewhere = opened(chromium, size, workbench)
    take_in(page, workbench, f"on a {size}")
    add_the_files(page)
    weigh(page)
    set_the_lean_stop(page)
    checked(page)
    read_the_needle(page)
    hand_over(page)
    assert elsewhere == []
    page.context.close()


def test_the_same_without_scripts(chromium: Browser, workbench: str) -> None:
    context = chromium.new_context(viewport=SIZES["tablet"], java_script_enabled=False)
    page = context.new_page()
    take_in(page, workbench, "without scripts")
    add_the_files(page)
    weigh(page)
    set_the_lean_stop(page)
    read_the_needle(page)
    hand_over(page)
    context.close()


def test_a_refused_reading_says_so_and_keeps_what_was_typed(chromium: Browser, workbench: str) -> None:
    page, _ = opened(chromium, "tablet", workbench)
    take_in(page, workbench, "with a slip")
    page.get_by_label("Values, every repeat").fill("99")
    page.get_by_role("button", name="Write it down").click()
    expect(page.get_by_role("alert")).to_contain_text("not believable")
    expect(page.get_by_label("Values, every repeat")).to_have_value("99")
    page.get_by_label("Values, every repeat").fill("31 32")
    page.get_by_role("button", name="Write it down").click()
    expect(page.get_by_role("cell", name="31.5 deg", exact=True)).to_be_visible()
    page.get_by_role("button", name="Take the last typed reading back").first.click()
    expect(page.get_by_text("Nothing has been read yet")).to_be_visible()
    page.context.close()


def test_a_photograph_is_kept_and_shown(chromium: Browser, workbench: str, tmp_path: Path) -> None:
    Image.new("RGB", (900, 600), (60, 96, 112)).save(tmp_path / "plate.png")
    page, _ = opened(chromium, "tablet", workbench)
    take_in(page, workbench, "with a photograph")
    page.get_by_role("link", name="Photographs (0)").click()
    page.get_by_label("From the camera, or files").set_input_files(tmp_path / "plate.png")
    page.get_by_label("What it shows").fill("the plugs, untouched")
    page.get_by_role("button", name="Keep it").click()
    picture = page.get_by_role("img", name="the plugs, untouched")
    expect(picture).to_be_visible()
    expect(page.get_by_role("link", name="Photographs (1)")).to_be_visible()
    assert picture.evaluate("one => one.decode().then(() => one.naturalWidth)") == 480
    checked(page)
    page.context.close()
