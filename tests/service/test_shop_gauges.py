"""Gauges made in the shop: drawings by sheet, cards kept and applied, fits as readings."""

from __future__ import annotations

import zipfile
from dataclasses import replace
from itertools import combinations
from math import sqrt
from pathlib import Path

import pytest
from matplotlib.textpath import TextPath
from matplotlib.transforms import Affine2D

from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.catalogue.sheet_file import archetype_texts, parsed_sheet
from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.judgement import Verdict
from dwellwright.evidence.gauge.shop.design import ShopGauge
from dwellwright.evidence.observation import Measured
from dwellwright.languages.catalogue import catalogue, translated
from dwellwright.languages.language import speaking
from dwellwright.records.readings import ReadingRecord
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Phase, Side
from dwellwright.reports.drawings.drawing import Text
from dwellwright.reports.drawings.render import CAPITAL_SHARE
from dwellwright.reports.drawings.sheets import gauge_sheet, true_size
from dwellwright.service.backups import write_backup
from dwellwright.service.gauge_cards import (
    CARDS,
    MadeSizes,
    OwnGauge,
    enter_card,
    gauge_labels,
    own_gauges,
    remove_card,
)
from dwellwright.service.gauge_fit import Fit, add_fit, fit_budget, tried, tried_with
from dwellwright.service.jobs import job_view
from dwellwright.service.plans import StepEntry, record_step
from dwellwright.service.readings import add_reading
from dwellwright.service.shop_gauges import gauge_drawing, gauge_for, gauges_for, source_of, write_drawing

WHO = "tester"
SHEET = parsed_sheet(archetype_texts()["two-barrel-v6"], "two-barrel-v6")
THOU = 0.0254e-3


@pytest.fixture
def stick(shop: Shop) -> OwnGauge:
    """A stick for the lean stop: drawn 1.7118 and 1.8442 mm, made 1.720 and 1.838."""
    return enter_card(
        shop, SHEET, "lean_stop", " short  stick ", MadeSizes(1.720, 1.838, 0.003, "mm", "micrometer"), WHO
    )


def with_setting(key: str, **wanted: object) -> SpecSheet:
    setting = SHEET.settings[key]
    changed = setting.model_copy(update={"wanted": setting.wanted.model_copy(update=wanted)})
    return SHEET.model_copy(update={"settings": {**SHEET.settings, key: changed}})


def test_a_gauge_is_drawn_for_each_length_of_the_sheet() -> None:
    found = gauges_for(SHEET)
    assert set(found) == {
        "lean_stop",
        "rich_stop",
        "float_level",
        "rod_travel",
        "choke_opening",
        "pull_off_gap",
    }
    assert all(isinstance(one, ShopGauge) for one in found.values())


def test_a_setting_too_tight_says_why_in_its_place() -> None:
    found = gauges_for(with_setting("lean_stop", tolerance=0.4))
    assert isinstance(found["lean_stop"], InputFault)
    assert "too tight" in str(found["lean_stop"])
    assert isinstance(found["rich_stop"], ShopGauge)


@pytest.mark.parametrize(
    ("form", "begins"), [("svg", b"<svg"), ("pdf", b"%PDF"), ("png", b"\x89PNG"), ("dxf", b"  0")]
)
def test_a_drawing_is_what_its_ending_says(tmp_path: Path, form: str, begins: bytes) -> None:
    path = tmp_path / f"stick.{form}"
    write_drawing(SHEET, "lean_stop", path)
    assert path.read_bytes().startswith(begins)
    with pytest.raises(InputFault, match="cannot be written"):
        write_drawing(SHEET, "lean_stop", path)


def text_box(text: Text) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of a text as the drawing library of the PDF sets it. [mm]"""
    turn = Affine2D().rotate_deg(text.angle)
    box = TextPath((0, 0), text.words, size=text.height / CAPITAL_SHARE).get_extents()
    shift = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.anchor.value] * box.width
    (x0, y0), (x1, y1) = turn.transform([(box.x0 - shift, box.y0), (box.x1 - shift, box.y1)])
    x, y = text.at
    return x + min(x0, x1), y + min(y0, y1), x + max(x0, x1), y + max(y0, y1)


MUST_SAY = {
    "en": ("INVENTED FIGURES: no such unit exists", "Keep filings out of the carburetor.", "no spark, no flame"),
    "es": ("CIFRAS INVENTADAS: esta unidad no existe", "Que no entren limaduras en el carburador.",
           "sin chispas ni llamas"),
}  # fmt: skip


@pytest.mark.parametrize("language", MUST_SAY)
@pytest.mark.parametrize("name", sorted(archetype_texts()))
def test_no_words_of_any_drawing_lie_over_others_and_the_cautions_stand_on_it(
    name: str, language: str
) -> None:
    sheet = parsed_sheet(archetype_texts()[name], name)
    invented, filings, flame = MUST_SAY[language]
    for key, gauge in gauges_for(sheet).items():
        assert isinstance(gauge, ShopGauge)
        with speaking(language):
            drawings = gauge_sheet(gauge, source_of(sheet)), true_size(gauge, source_of(sheet))
            title = translated(sheet.title)
        for drawing in drawings:
            texts = [one for one in drawing.primitives if isinstance(one, Text)]
            boxes = [text_box(one) for one in texts]
            for (one, a), (other, b) in combinations(zip(texts, boxes, strict=True), 2):
                apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
                assert apart, (key, one.words, other.words)
            words = " ".join(one.words for one in texts)
            assert invented in words
            assert filings in words
            assert (flame in words) is (key == "float_level")
            assert title in words
        assert max(text_box(one)[2] for one in drawings[0].primitives if isinstance(one, Text)) < 297 - 8


def test_every_word_of_a_drawing_is_in_the_catalogue() -> None:
    book = catalogue("es")
    book.unlisted = set()
    try:
        with speaking("es"):
            for name in archetype_texts():
                sheet = parsed_sheet(archetype_texts()[name], name)
                for gauge in gauges_for(sheet).values():
                    assert isinstance(gauge, ShopGauge)
                    gauge_sheet(gauge, source_of(sheet))
                    true_size(gauge, source_of(sheet))
        assert book.unlisted == set()
    finally:
        book.unlisted = None


def test_a_drawing_of_own_figures_bears_no_mark_of_invented_ones() -> None:
    own = SHEET.model_copy(update={"invented": False})
    assert b"INVENTED" not in gauge_drawing(own, "lean_stop", "svg")
    assert b"INVENTED" in gauge_drawing(SHEET, "lean_stop", "svg")


def test_what_no_gauge_is_made_for_is_refused() -> None:
    with pytest.raises(InputFault, match="no gauge can be made for this setting; wanted lean_stop"):
        gauge_for(SHEET, "idle_needle")
    with pytest.raises(InputFault, match="made for a length"):
        gauge_for(with_setting("choke_opening", unit="deg"), "choke_opening")
    with pytest.raises(InputFault, match="no such form"):
        gauge_drawing(SHEET, "lean_stop", "step")


def test_a_reading_is_corrected_by_the_end_that_was_used(shop: Shop, job: int, stick: OwnGauge) -> None:
    # the reading takes the short end at its drawn 1.7118 mm; it is 1.720: 8.2 um more (closed form)
    drawn = gauge_for(SHEET, "lean_stop").short / THOU
    seen = add_reading(
        shop, job, "rod_lean_gauge", [drawn], "thou", Side.AS_FOUND, WHO, tool="gauge:short stick"
    ).observation
    assert seen.value == pytest.approx(1.720e-3, abs=1e-9)
    assert "corrected by +0.323 thou, the card of short stick, short end" in seen.source
    plain = add_reading(shop, job, "rod_lean_gauge", [drawn], "thou", Side.AS_FOUND, WHO).observation
    # the card takes the place of the usual gauge's 2 thou limit of error; a tenth for the freedom of t
    assert plain.uncertainty**2 - seen.uncertainty**2 == pytest.approx(
        (2 * THOU) ** 2 / 3 - 0.003e-3**2, rel=0.1
    )


def test_a_step_is_corrected_too(shop: Shop, job: int, stick: OwnGauge) -> None:
    drawn = gauge_for(SHEET, "lean_stop").long / THOU
    entry = StepEntry(as_left=[drawn], unit="thou", instrument="gauge:short stick")
    done = record_step(shop, job, Phase.BENCH, "lean_stop", entry, WHO)
    assert done.done.as_left == pytest.approx(1.838e-3, abs=1e-9)
    assert "long end" in job_view(shop, job).readings[-1].observation.source


def test_a_gauge_is_not_used_for_what_it_was_not_made_for(shop: Shop, job: int, stick: OwnGauge) -> None:
    with pytest.raises(InputFault, match="not made for that"):
        add_reading(shop, job, "rod_rich_gauge", [90], "thou", Side.AS_FOUND, WHO, tool="gauge:short stick")
    with pytest.raises(InputFault, match="no such gauge; wanted short stick"):
        add_reading(shop, job, "rod_lean_gauge", [90], "thou", Side.AS_FOUND, WHO, tool="gauge:long stick")
    assert job_view(shop, job).readings == []


def test_a_fit_between_the_ends_is_the_middle_with_a_rectangular_doubt(
    shop: Shop, job: int, stick: OwnGauge
) -> None:
    seen = add_fit(shop, job, "short stick", "between", Side.AS_FOUND, WHO).observation
    assert (seen.measured, seen.wanted) == (Measured.LEAN_STOP, pytest.approx(70 * THOU))
    assert seen.value == pytest.approx((1.720e-3 + 1.838e-3) / 2)
    # half the distance over root three, size 3 um, feel half of (stack - make): (2.5 + 2.5)/2 um (closed form)
    expected = sqrt((0.118e-3 / 2) ** 2 / 3 + 0.003e-3**2 + 0.0025e-3**2)
    assert seen.uncertainty == pytest.approx(expected, rel=1e-6)


def test_a_fit_is_judged_with_its_guard_band(shop: Shop, job: int, stick: OwnGauge) -> None:
    # an end that only just fits: doubt of the size .003 mm, of the feel half of what the stack-up holds beside making;
    # one-sided 95 % is 1.645 standard deviations (normal tables), 3 thou are .0762 mm
    record = add_fit(shop, job, "short stick", "short", Side.AS_FOUND, WHO)
    doubt = sqrt(0.003**2 + ((stick.drawn.stack.worst - stick.drawn.make_tolerance) * 1e3 / 2) ** 2)
    band = 1.6449 * doubt
    (said,) = tried_with(job_view(shop, job), stick)
    assert said == tried(record, stick)
    low, high = 1.778 - 0.0762 + band, 1.778 + 0.0762 - band
    assert said.band.startswith(f"in from {low:.3f} to {high:.3f} mm, a guard band of {band:.3f} mm")
    # 1.720 lies inside 1.7018 + band, so it is in
    assert said.verdict is Verdict.IN
    coarse = replace(stick, short_made=1.703)
    assert tried(record_at(record, 1.703e-3), coarse).verdict is Verdict.CANNOT_TELL
    wide = replace(record.observation, uncertainty=0.06e-3)
    assert tried(replace(record, observation=wide), stick).band == "no reading with this doubt can be in"


def record_at(record: ReadingRecord, value: float) -> ReadingRecord:
    """The record with another value."""
    return replace(record, observation=replace(record.observation, value=value))


@pytest.mark.parametrize(("fit", "size"), [(Fit.SHORT, 1.720e-3), (Fit.LONG, 1.838e-3)])
def test_an_end_that_only_just_fits_is_the_setting(stick: OwnGauge, fit: Fit, size: float) -> None:
    budget = fit_budget(stick, fit)
    assert budget.value == pytest.approx(size)
    assert budget.uncertainty == pytest.approx(sqrt(0.003**2 + 0.0025**2) * 1e-3)


def test_a_fit_at_neither_end_and_a_gap_no_cause_uses_are_refused(
    shop: Shop, job: int, stick: OwnGauge
) -> None:
    with pytest.raises(InputFault, match=r"only which way to turn.*wanted between, short, long"):
        add_fit(shop, job, "short stick", "below", Side.AS_FOUND, WHO)
    enter_card(shop, SHEET, "pull_off_gap", "pin", MadeSizes(4.13, 4.87, 0.01, "mm"), WHO)
    with pytest.raises(InputFault, match="no cause uses"):
        add_fit(shop, job, "pin", "between", Side.AS_FOUND, WHO)
    assert job_view(shop, job).readings == []


@pytest.mark.parametrize(
    ("name", "made", "says"),
    [
        ("", MadeSizes(1.72, 1.838, 0.003, "mm"), "needs a name"),
        ("x" * 61, MadeSizes(1.72, 1.838, 0.003, "mm"), "needs a name"),
        ("a", MadeSizes(1.838, 1.72, 0.003, "mm"), "not shorter"),
        ("a", MadeSizes(17.2, 18.4, 0.003, "mm"), "far from the drawn"),
        ("a", MadeSizes(1.72, 1.838, 0.0, "mm"), "doubt of the sizes"),
        ("a", MadeSizes(1.72, 1.838, 3.0, "mm"), "doubt of the sizes"),
        ("a", MadeSizes(float("nan"), 1.838, 0.003, "mm"), "finite"),
        ("a", MadeSizes(1.72, 1.838, 0.003, "furlong"), "unknown unit"),
        ("a", MadeSizes(1.72, 1.838, 0.003, "kPa"), "measures no length"),
    ],
)
def test_a_card_that_cannot_be_is_refused_and_nothing_kept(
    shop: Shop, name: str, made: MadeSizes, says: str
) -> None:
    with pytest.raises(InputFault, match=says):
        enter_card(shop, SHEET, "lean_stop", name, made, WHO)
    assert own_gauges(shop) == ()


def test_a_new_card_replaces_the_old_one_and_a_backup_holds_it(
    shop: Shop, stick: OwnGauge, tmp_path: Path
) -> None:
    enter_card(shop, SHEET, "lean_stop", "short stick", MadeSizes(1.715, 1.840, 0.003, "mm"), WHO)
    assert [one.short_made for one in own_gauges(shop)] == [pytest.approx(1.715e-3)]
    write_backup(shop, tmp_path / "all.zip")
    assert CARDS in zipfile.ZipFile(tmp_path / "all.zip").namelist()
    remove_card(shop, "short stick", WHO)
    assert own_gauges(shop) == ()
    with pytest.raises(InputFault, match="no such gauge"):
        remove_card(shop, "short stick", WHO)


@pytest.mark.parametrize("text", ["", "{", "[1]", '[{"name": "a"}]', '{"a": 1}', "[" * 100_000])
def test_a_damaged_file_is_said_and_does_not_stop_the_bench(shop: Shop, text: str) -> None:
    (shop.folder / CARDS).write_text(text, encoding="utf-8")
    with pytest.raises(InputFault, match="a file of the shop cannot be read"):
        own_gauges(shop)
    assert gauge_labels(shop) == {}
