"""Shop-made gauges: sizes by hand, drawings read back, and cards that correct."""

import xml.etree.ElementTree as ElementTree
from io import StringIO
from math import sqrt

import ezdxf
import pymupdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.budget import Budget, Component
from dwellwright.evidence.gauge.shop.design import (
    Contribution,
    GaugeForm,
    ShopGauge,
    StackUp,
    make_tolerance,
    shop_gauge,
)
from dwellwright.evidence.gauge.shop.truth import GaugeCard, GaugeTruth, single_reading
from dwellwright.reports.drawings.drawing import Anchor, Line, Text, dimension
from dwellwright.reports.drawings.render import dxf, pdf, png, svg
from dwellwright.reports.drawings.sheets import gauge_sheet, true_size

THOU = 0.0254e-3
LEAN = shop_gauge(GaugeForm.DEPTH, "lean stop (invented) <A & B>", 85 * THOU, 5 * THOU)
PLUG = shop_gauge(GaugeForm.PLUG, "choke pull-off gap (invented)", 4e-3, 0.25e-3)
LEVEL = shop_gauge(GaugeForm.LEVEL, "fuel level (invented)", 9.5e-3, 0.8e-3)


def test_sizes_by_hand() -> None:
    # tolerance .127: make .010, wear .005, bar .005: worst .020; short 2.159-.127+.020, long 2.159+.127-.020
    assert LEAN.make_tolerance == pytest.approx(0.01e-3)
    assert LEAN.stack.worst == pytest.approx(0.02e-3)
    assert LEAN.stack.likely == pytest.approx(sqrt(0.01**2 + 2 * 0.005**2) * 1e-3)
    assert LEAN.short == pytest.approx(2.052e-3)
    assert LEAN.long == pytest.approx(2.266e-3)
    assert LEAN.zone == pytest.approx(1 - 0.02 / 0.127)


def test_make_tolerance_is_a_tenth_on_a_usable_step() -> None:
    assert [make_tolerance(t * 1e-3) for t in (2.0, 1.0, 0.8, 0.25, 0.127, 0.06, 0.01)] == pytest.approx(
        [0.1e-3, 0.1e-3, 0.05e-3, 0.02e-3, 0.01e-3, 0.005e-3, 0.005e-3]
    )


@given(st.floats(1e-3, 20e-3), st.floats(0.03e-3, 0.9e-3), st.floats(-1, 1), st.floats(-1, 1))
def test_worst_gauge_never_accepts_a_wrong_setting(
    nominal: float, tolerance: float, a: float, b: float
) -> None:
    gauge = shop_gauge(GaugeForm.DEPTH, "x", nominal, tolerance)
    short, long = gauge.short + a * gauge.stack.worst, gauge.long + b * gauge.stack.worst
    assert short >= nominal - tolerance - 1e-12
    assert long <= nominal + tolerance + 1e-12
    assert gauge.short < gauge.long


def test_too_tight_and_senseless_are_refused() -> None:
    with pytest.raises(InputFault, match="too tight"):
        shop_gauge(GaugeForm.DEPTH, "x", 2e-3, 0.012e-3)
    with pytest.raises(InputFault, match="too tight"):
        shop_gauge(GaugeForm.PLUG, "x", 2e-3, 0.1e-3, [Contribution("feel", 0.08e-3)])
    with pytest.raises(InputFault, match="no gauge can be made"):
        shop_gauge(GaugeForm.PLUG, "x", 1e-3, 2e-3)


def test_stack_adds_up() -> None:
    stack = StackUp((Contribution("a", 3.0), Contribution("b", 4.0)))
    assert (stack.worst, stack.likely) == (7.0, 5.0)


@pytest.mark.parametrize("gauge", [LEAN, PLUG, LEVEL])
def test_svg_is_wellformed_and_says_the_sizes(gauge: ShopGauge) -> None:
    root = ElementTree.fromstring(svg(gauge_sheet(gauge)))
    assert root.attrib["width"] == "297.0mm"
    words = " ".join(one.text or "" for one in root.iter("{http://www.w3.org/2000/svg}text"))
    assert f"{gauge.short * 1e3:.3f} ±{gauge.make_tolerance * 1e3:.3f}" in words
    assert f"{gauge.long * 1e3:.3f} ±{gauge.make_tolerance * 1e3:.3f}" in words
    assert gauge.setting in words
    assert "style" not in {one.tag.split("}")[1] for one in root.iter()}


def test_dxf_is_sound_and_its_legs_have_the_size() -> None:
    document = ezdxf.read(StringIO(dxf(true_size(LEAN))))
    assert not document.audit().errors
    assert document.units == ezdxf.units.MM
    lines = [(one.dxf.start, one.dxf.end) for one in document.modelspace().query("LINE[layer=='OUTLINE']")]
    lengths = sorted({round(a.distance(b), 4) for a, b in lines})
    assert round(LEAN.short * 1e3, 4) in lengths
    assert round(LEAN.long * 1e3, 4) in lengths
    assert 14.0 in lengths
    texts = {one.dxf.text for one in document.modelspace().query("TEXT[layer=='DIMENSION']")}
    # %%p is the format's own code for plus and minus, which every font of it has
    assert {"2.052 %%p0.010", "2.266 %%p0.010"} <= texts
    shown = {one.plain_text() for one in document.modelspace().query("TEXT[layer=='DIMENSION']")}
    assert {"2.052 ±0.010", "2.266 ±0.010"} <= shown


def test_dxf_sheet_holds_every_text() -> None:
    sheet = gauge_sheet(PLUG)
    document = ezdxf.read(StringIO(dxf(sheet)))
    texts = {one.plain_text().replace("Ø", "⌀") for one in document.modelspace().query("TEXT")}
    assert {one.words for one in sheet.primitives if isinstance(one, Text)} == texts


def test_pdf_is_one_true_size_page_the_same_every_time() -> None:
    first = pdf(gauge_sheet(LEAN))
    assert first == pdf(gauge_sheet(LEAN))
    page = pymupdf.open(stream=first, filetype="pdf")
    assert len(page) == 1
    assert page[0].rect.width / 72 * 25.4 == pytest.approx(297.0, abs=0.01)
    assert page[0].rect.height / 72 * 25.4 == pytest.approx(210.0, abs=0.01)


@pytest.mark.parametrize("gauge", [LEAN, PLUG, LEVEL, shop_gauge(GaugeForm.LEVEL, "y", 45e-3, 0.8e-3)])
def test_everything_stays_on_the_sheet(gauge: ShopGauge) -> None:
    # no ink in the margin outside the frame
    pixels = pymupdf.Pixmap(png(gauge_sheet(gauge), 50.0))
    edge = round(6 / 25.4 * 50)
    for x in range(pixels.width):
        for y in (*range(edge), *range(pixels.height - edge, pixels.height)):
            assert min(pixels.pixel(x, y)[:3]) > 250
    for y in range(pixels.height):
        for x in (*range(edge), *range(pixels.width - edge, pixels.width)):
            assert min(pixels.pixel(x, y)[:3]) > 250


def test_dimension_line_is_as_long_as_what_it_measures() -> None:
    parts = dimension((0.0, 0.0), (30.0, 40.0), 5.0, "50")
    lines = [one for one in parts if isinstance(one, Line)]
    main = lines[-1]
    assert sqrt((main.end[0] - main.start[0]) ** 2 + (main.end[1] - main.start[1]) ** 2) == pytest.approx(
        50.0
    )
    # 5 mm to the left of the direction (0.6, 0.8) is (-0.8, 0.6) * 5
    assert main.start == pytest.approx((-4.0, 3.0))
    outside = dimension((0.0, 0.0), (0.0, 2.0), -5.0, "2", Anchor.START)
    assert next(one for one in outside if isinstance(one, Text)).angle == 0.0


def truth(nominal: float, error: float, doubt: float = 0.002e-3) -> GaugeTruth:
    return GaugeTruth("end", nominal, nominal + error, doubt)


def test_reading_is_corrected_by_the_true_size() -> None:
    budget = Budget(2.160e-3, (Component("repeats", 0.003e-3), Component("calibration", 0.012e-3)))
    fixed = truth(2.0e-3, 0.015e-3, 0.004e-3).corrected(budget)
    assert fixed.value == pytest.approx(2.175e-3)
    # by hand: the unknown gauge error 0.012 leaves, the card's 0.004 enters: sqrt(.003^2+.004^2) = .005
    assert fixed.uncertainty == pytest.approx(0.005e-3)
    single = single_reading(truth(2.0e-3, 0.015e-3, 0.004e-3), 0.003e-3)
    assert (single.value, single.uncertainty) == (pytest.approx(2.015e-3), pytest.approx(0.005e-3))


def test_card_judges_the_gauge_as_made() -> None:
    good = GaugeCard(LEAN, truth(LEAN.short, 0.005e-3), truth(LEAN.long, -0.004e-3))
    assert good.within_drawing
    assert good.words == "accepts 2.057 to 2.262 mm"
    inside = GaugeCard(LEAN, truth(LEAN.short, 0.04e-3), truth(LEAN.long, 0.0))
    assert not inside.within_drawing
    assert "safe to use" in inside.words
    outside = GaugeCard(LEAN, truth(LEAN.short, -0.03e-3), truth(LEAN.long, 0.0))
    assert outside.accepts_wrongly(outside.short) > 0.9
    assert "do not use" in outside.words


def test_card_refusals() -> None:
    with pytest.raises(InputFault, match="wrong way round"):
        GaugeCard(LEAN, truth(LEAN.long, 0.0), truth(LEAN.short, 0.0))
    with pytest.raises(InputFault, match="far from the drawn"):
        GaugeTruth("end", 2e-3, 2.0, 0.0)
    with pytest.raises(InputFault, match="far from the drawn"):
        GaugeTruth("end", 2e-3, float("nan"), 0.0)
    with pytest.raises(ValueError, match="must be positive"):
        GaugeTruth("end", 0.0, 0.0, 0.0)
