"""Plots: real images, the same bytes for the same data, words for those who cannot see, told apart in gray."""

from __future__ import annotations

import io
from collections.abc import Callable
from xml.etree import ElementTree

import numpy as np
import pytest
from PIL import Image

from dwellwright.reports.plots.causes import CauseBar, cause_bars
from dwellwright.reports.plots.dwell import DwellRow, Spread, before_and_after, predicted_and_observed
from dwellwright.reports.plots.exhaust import GasRow, gas_panels, sensor_histogram
from dwellwright.reports.plots.gas_record import GasRecord, gas_over_time
from dwellwright.reports.plots.look import AFTER, BEFORE, Format, Plot
from dwellwright.reports.plots.recordings import (
    MOST_POINTS,
    Edge,
    Span,
    drive_trace,
    thinned,
    waveform_snippet,
)

from .cases import BARS, NASTY, ROWS

TIME = np.linspace(0, 400, 20_000)
RNG = np.random.default_rng(2)
GAS = GasRow("idle", 0.0094, 0.0065, 0.996, 0.985, 1.007)


def wave(form: Format = Format.SVG) -> Plot:
    time = np.arange(0, 0.25, 1 / 48_000)
    edges = [Edge(0.07, False), Edge(0.1, True), Edge(0.17, False), Edge(0.2, True)]
    return waveform_snippet(time, np.where(time * 10 % 1 < 0.7, -0.4, 0.5), edges, 0.7, form)


def trace(form: Format = Format.SVG) -> Plot:
    spans = [Span(0, 100, "warm-up"), Span(150, 220, "idle"), Span(300, 400, "cruise")]
    dwell = 30 + 5 * np.sin(TIME)
    return drive_trace(TIME, dwell, 0.45 + 0.4 * np.sign(np.sin(TIME)), np.full(TIME.size, 13.0), spans, form)


SETTLED = np.where((TIME > 20) & (TIME < 380), 1.0, 0.2)
RECORD = GasRecord(TIME, np.where(SETTLED < 1, np.nan, 0.99), 0.006 * SETTLED, 0.145 * SETTLED,
                   0.21 - 0.204 * SETTLED, 1e-4 * SETTLED, (Span(20, 380, "idle, lambda 0.990"),))  # fmt: skip

DRAW: dict[str, Callable[[Format], Plot]] = {
    "causes": lambda form: cause_bars(BARS, form),
    "before-after": lambda form: before_and_after(ROWS, form),
    "predicted": lambda form: predicted_and_observed(ROWS, form),
    "waveform": wave,
    "trace": trace,
    "sensor": lambda form: sensor_histogram([("idle", RNG.uniform(0.1, 0.9, 500))], form=form),
    "gas": lambda form: gas_panels([GAS], (0.97, 1.03), form),
    "gas-record": lambda form: gas_over_time(RECORD, (0.97, 1.03), form, "gas-record"),
}


@pytest.mark.parametrize("name", DRAW)
def test_svg_is_xml_without_outside_references(name: str) -> None:
    plot = DRAW[name](Format.SVG)
    root = ElementTree.fromstring(plot.image)
    assert root.tag.endswith("svg")
    assert plot.file_name == f"{name}.svg"
    links = [value for node in root.iter() for key, value in node.attrib.items() if key.endswith("href")]
    assert all(link.startswith(("#", "data:")) for link in links)


@pytest.mark.parametrize("name", DRAW)
def test_png_has_ink_on_white(name: str) -> None:
    image = Image.open(io.BytesIO(DRAW[name](Format.PNG).image)).convert("L")
    gray = np.asarray(image)
    assert gray.shape[1] > 1000
    assert gray.max() == 255
    assert 0.003 < np.mean(gray < 200) < 0.6


@pytest.mark.parametrize("name", ["causes", "before-after", "trace", "gas", "gas-record"])
def test_equal_data_give_equal_bytes(name: str) -> None:
    assert DRAW[name](Format.SVG).image == DRAW[name](Format.SVG).image


def luminance(color: str) -> float:
    """CIE lightness L* of an sRGB color (IEC 61966-2-1, CIE 15)."""
    channels = [int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return 116 * y ** (1 / 3) - 16


def test_the_two_accents_stay_apart_in_gray() -> None:
    assert abs(luminance(BEFORE) - luminance(AFTER)) > 20


def test_words_carry_the_numbers() -> None:
    assert cause_bars(BARS).alt == (
        "Bar chart of how likely each cause is: Rich stop set high 83% (+27 thou (22 to 32)); Healthy 2%."
    )
    assert (
        "Cruise: as found unknown, as left 29.1 degrees (28.3 to 29.9), asked for 22 to 38"
        in before_and_after(ROWS).alt
    )
    assert "predicted 48.0 degrees" in predicted_and_observed(ROWS).alt
    assert "4 switching edges; energized 70.0%" in wave().alt
    assert "idle from 150 to 220 s" in trace().alt
    assert "lambda 0.996 (0.985 to 1.007), CO 0.94%" in gas_panels([GAS]).alt
    assert "mean 500 mV, above 450 mV 50%" in sensor_histogram([("idle", np.array([0.1, 0.9]))]).alt


def test_thinning_keeps_both_extremes_and_leaves_out_what_is_no_number() -> None:
    values = np.sin(TIME)
    values[7777], values[12_345], values[3] = 9.0, -9.0, np.nan
    x, y = thinned(TIME, values)
    assert len(x) <= MOST_POINTS
    assert (y.max(), y.min()) == (9.0, -9.0)
    assert np.isfinite(y).all()
    assert (np.diff(x) > 0).all()


def test_strange_labels_and_ends_of_the_scale_draw() -> None:
    text = NASTY
    cause_bars([CauseBar(text, 1.0, text, (0.9, 1.0)), CauseBar("", 0.0)])
    before_and_after([DwellRow(text, Spread(0, 0, 0), Spread(60, 59, 60), None)])
    gas_panels([GasRow(text, 0.0, 0.0, 1.0, 1.0, 1.0)])
    drive_trace(np.array([0.0, 1.0]), np.zeros(2), np.zeros(2), np.zeros(2), [Span(0, 1, text)])


@pytest.mark.parametrize(
    ("draw", "words"),
    [
        (lambda: cause_bars([]), "at least one cause"),
        (lambda: CauseBar("a", 1.2), "between 0 and 1, got 1.2"),
        (lambda: CauseBar("a", float("nan")), "between 0 and 1"),
        (lambda: before_and_after([]), "at least one regime"),
        (lambda: Spread(5, 6, 7), "within its interval"),
        (lambda: gas_panels([]), "at least one gas reading"),
        (lambda: sensor_histogram([]), "one to four regimes"),
        (lambda: sensor_histogram([("a", np.array([np.nan]))]), "finite voltage"),
        (lambda: waveform_snippet(np.zeros(3), np.zeros(2), [], 0.5), "equal length"),
        (lambda: drive_trace(TIME, TIME[:5], TIME, TIME, []), "equal length"),
    ],
)
def test_what_cannot_be_drawn_is_refused(draw: Callable[[], object], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        draw()
