"""The live meter end to end: a wire of known duty played into Chromium's sound input, read, held and logged."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile
from benchmarks.web.wire import PULSES, RATE, wire
from playwright.sync_api import Browser, Page, Playwright, expect
from tools.workbench import served

from .conftest import FLAGS

pytestmark = pytest.mark.browser
DUTY = 0.4375
"""Of the file, by construction: 26.25 deg on the six-cylinder scale."""

LIMIT = 0.2
"""Largest error of the dwell shown. [deg]"""


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wire as a file."""
    path = tmp_path_factory.mktemp("sound") / "wire.wav"
    soundfile.write(path, wire(DUTY), RATE, subtype="PCM_16")
    return path


@pytest.fixture(scope="module")
def listening(player: Playwright, chromium_path: str, sound: Path) -> Iterator[Browser]:
    """A Chromium whose sound input is that file."""
    fake = ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream",
            f"--use-file-for-fake-audio-capture={sound}"]  # fmt: skip
    browser = player.chromium.launch(executable_path=chromium_path, args=[*FLAGS, *fake])
    yield browser
    browser.close()


@pytest.fixture
def bench(listening: Browser, tmp_path: Path) -> Iterator[tuple[Page, str]]:
    """The meter's page on a shop with one job, and the workbench's address."""
    with served(tmp_path / "shop") as address:
        page = listening.new_context(viewport={"width": 800, "height": 1280}).new_page()
        answer = page.request.post(address + "/jobs", form={"owner": "A. Sample (invented)", "car": "wagon (invented)",
                                   "complaint": "lamp", "sheet": "two-barrel-v6"})  # fmt: skip
        assert answer.ok
        page.goto(address + "/meter?job=1")
        yield page, address
        page.context.close()


def held_reading(page: Page, degrees: float) -> str:
    """Hold the dwell of the file and give the words shown.

    A busy machine drops sound now and then, which a mean over some seconds remembers for so long; a meter that reads
    wrong never gets there.
    """
    for _ in range(8):
        page.wait_for_timeout(2_500)
        page.get_by_role("button", name="Hold").click()
        shown = float(page.locator("#meter-dwell").get_attribute("data-value") or "nan")
        if abs(shown - degrees) <= LIMIT:
            break
        page.get_by_role("button", name="Go on").click()
    assert shown == pytest.approx(degrees, abs=LIMIT)
    return page.locator("#meter-dwell").inner_text()


def test_the_meter_reads_the_wire_and_logs_it(bench: tuple[Page, str]) -> None:
    page, address = bench
    page.get_by_label("Mean over").select_option("2")
    page.get_by_role("button", name="Listen").click()
    expect(page.locator("#meter-state")).to_contain_text("Reading, normal", timeout=10_000)
    page.wait_for_timeout(2_500)
    before = int(page.locator("#meter-count").inner_text())
    page.wait_for_timeout(1_500)
    updates = (int(page.locator("#meter-count").inner_text()) - before) / 1.5
    assert updates >= 5.0
    held = held_reading(page, 60 * DUTY)
    assert float(page.locator("#meter-rate").inner_text().split()[0]) == pytest.approx(PULSES, abs=0.05)
    page.wait_for_timeout(400)
    assert page.locator("#meter-dwell").inner_text() == held
    page.get_by_role("button", name="Take this reading").click()
    page.get_by_role("button", name="Log this as a reading").click()
    expect(page.get_by_role("status").filter(has_text="Written down")).to_be_visible()
    reading = page.request.get(address + "/jobs/1/job.json").json()["readings"][0]
    assert reading["measured"] == "duty"
    assert reading["value"] == pytest.approx(60 * DUTY, abs=LIMIT)


def test_another_scale_is_logged_as_the_same_duty(bench: tuple[Page, str]) -> None:
    page, address = bench
    page.locator("#meter-scale").select_option("8")
    page.get_by_role("button", name="Listen").click()
    expect(page.locator("#meter-state")).to_contain_text("Reading", timeout=10_000)
    held_reading(page, 45 * DUTY)
    page.get_by_role("button", name="Take this reading").click()
    page.get_by_role("button", name="Log this as a reading").click()
    page.wait_for_url("**/evidence?*")
    reading = page.request.get(address + "/jobs/1/job.json").json()["readings"][0]
    assert reading["value"] == pytest.approx(60 * DUTY, abs=LIMIT)


def test_sound_that_the_browser_changes_is_refused(bench: tuple[Page, str]) -> None:
    page, _ = bench
    page.evaluate(
        """() => { const real = MediaStreamTrack.prototype.getSettings;
            MediaStreamTrack.prototype.getSettings =
              function () { return { ...real.call(this), noiseSuppression: true }; }; }"""
    )
    page.get_by_role("button", name="Listen").click()
    expect(page.locator("#meter-state")).to_contain_text("keeps changing the sound (noiseSuppression)")
    assert page.locator("#meter-dwell").inner_text() == "–"


def measured(
    page: Page, samples: np.ndarray[tuple[int], np.dtype[np.float64]], polarity: str = "auto"
) -> dict[str, object]:
    """What the meter says of samples, without any sound input."""
    reading: dict[str, object] = page.evaluate(
        """async ([samples, rate, polarity]) => { const { PulseMeter } = await import("/static/pulse_meter.js");
            const meter = new PulseMeter(rate, polarity);
            meter.push(new Float32Array(Uint8Array.from(atob(samples), one => one.charCodeAt(0)).buffer));
            return meter.reading(3); }""",
        [b64encode(samples.astype("<f4").tobytes()).decode(), RATE, polarity],
    )
    return reading


@pytest.mark.parametrize("duty", [0.05, 0.25, 0.5, 0.75, 0.93])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_any_duty_is_read_either_way_up(chromium: Browser, workbench: str, duty: float, sign: float) -> None:
    page = chromium.new_page()
    page.goto(workbench + "/meter")
    found = measured(page, sign * wire(duty)[: 4 * RATE])
    assert 60 * float(str(found["duty"])) == pytest.approx(60 * duty, abs=LIMIT)
    assert found["polarity"] == ("normal" if sign > 0 else "reversed")
    page.close()


def test_what_is_no_pulse_is_no_reading(chromium: Browser, workbench: str) -> None:
    page = chromium.new_page()
    page.goto(workbench + "/meter")
    rng = np.random.default_rng(3)
    faint = rng.normal(0.0, 2e-4, 2 * RATE)
    for samples, why in (
        (faint, "silent"),
        (np.zeros(2 * RATE), "silent"),
        (np.where(np.arange(2 * RATE) < RATE, 0.2, -0.1) + faint, "held"),
        (0.2 * np.sign(np.sin(2 * np.pi * 10 * np.arange(2 * RATE) / RATE)), "unsure"),
    ):
        found = measured(page, samples)
        assert found["duty"] is None
        assert found["why"] == why
    told = measured(page, 0.2 * np.sign(np.sin(2 * np.pi * 10 * np.arange(2 * RATE) / RATE)), "normal")
    assert float(str(told["duty"])) == pytest.approx(0.5, abs=0.003)
    page.close()
