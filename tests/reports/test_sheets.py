"""The handover sheet and the bench card as PDF: read back, page by page."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import UTC, datetime

import pymupdf
import pytest
from PIL import Image

from dwellwright.catalogue.sheet_file import archetype, archetype_texts
from dwellwright.errors import InputFault
from dwellwright.languages.language import speaking
from dwellwright.procedure.proof import ProofVerdict
from dwellwright.reports.bench_card import bench_card
from dwellwright.reports.facts import (
    Finding,
    HandoverFacts,
    Pair,
    Paper,
    Party,
    Photo,
    ReadingLine,
    SettingLine,
    TurnLine,
    Work,
)
from dwellwright.reports.handover import handover_sheet, words
from dwellwright.reports.printable import BREAK
from dwellwright.reports.typeset import STANDARDS, Document, typeset

from .cases import NASTY, SHEET, facts

WHEN = datetime(2026, 3, 4, 16, 5, tzinfo=UTC)
EMPTY = HandoverFacts(
    job="", shop=Party(""), owner=Party(""), vehicle=(), unit=(), arrived=None, finished=None, complaint="",
    summary="", found=(), done=(), verdict=ProofVerdict.NOT_YET_SHOWN, criteria=(), printed=WHEN,
)  # fmt: skip
ALL_NASTY = facts(
    job=NASTY, complaint=NASTY * 6, summary=NASTY, found=(Finding(NASTY, 0.5, NASTY, NASTY),),
    done=(Work(NASTY, NASTY, NASTY),), shop=Party(NASTY, (NASTY,)), owner=Party(NASTY, (NASTY,)),
    vehicle=(Pair(NASTY, NASTY), Pair("", "")), unit=(Pair(NASTY, NASTY),), cautions=(NASTY,), not_tested=(NASTY,),
    turns=(TurnLine(NASTY, NASTY, NASTY, NASTY),), readings=(ReadingLine(*(NASTY,) * 5),),
    settings=(SettingLine(*(NASTY,) * 5, "in"),), sources=(NASTY,), program=NASTY, missing=(NASTY,),
)  # fmt: skip


def pages(document: Document) -> list[str]:
    """Text of each page, one space between words, without break marks."""
    with pymupdf.open(stream=document.pdf) as pdf:
        return [" ".join(page.get_text().replace(BREAK, "").split()) for page in pdf]


def outside(document: Document) -> list[str]:
    """Words that leave the paper's printable width."""
    with pymupdf.open(stream=document.pdf) as pdf:
        return [
            word[4]
            for page in pdf
            for word in page.get_text("words")
            if word[0] < 30 or word[2] > page.rect.width - 30 or word[3] > page.rect.height - 15
        ]


@pytest.fixture(scope="module", name="sheet")
def _sheet() -> Document:
    return handover_sheet(facts())


def test_two_pages_for_the_owner_then_the_appendix(sheet: Document) -> None:
    text = pages(sheet)
    assert "For the next mechanic" in text[2]
    assert "For the next mechanic" not in text[0] + text[1]
    for part in (
        "Why it came in",
        "idle hunts when warm",
        "Rich stop set high",
        "83 % likely",
        "Set both stops",
        "38.00",
        "Proven",
    ):
        assert part in text[0] + text[1], part
    for part in ("dwell at hot idle", "30 ± 5°", "30.8°", "30.0 to 31.6°", "met", "Catalyst efficiency"):
        assert part in text[0] + text[1], part
    for part in (
        "197.0 thou",
        "170.6 thou",
        "13/16 turn clockwise",
        "bench.csv, row 5",
        "Spec sheet: invented",
    ):
        assert part in "".join(text[2:]), part


def test_invented_data_are_marked_on_every_page(sheet: Document) -> None:
    assert all(words()["invented"] in text for text in pages(sheet))
    assert not any("INVENTED DATA" in text for text in pages(handover_sheet(facts(invented=False))))


def test_tagged_titled_with_language_fonts_and_described_images(sheet: Document) -> None:
    assert sheet.standards == STANDARDS
    assert sheet.findings == ()
    with pymupdf.open(stream=sheet.pdf) as pdf:
        catalog = pdf.pdf_catalog()
        assert "true" in pdf.xref_get_key(catalog, "MarkInfo")[1]
        assert pdf.xref_get_key(catalog, "StructTreeRoot")[0] == "xref"
        assert "en" in pdf.xref_get_key(catalog, "Lang")[1]
        assert pdf.metadata["title"] == "Handover 1042"
        xmp = pdf.get_xml_metadata()
        assert re.search(r"pdfaid:part>2<", xmp)
        assert re.search(r"pdfaid:conformance>A<", xmp)
        assert re.search(r"pdfuaid:part>1<", xmp)
        assert all(
            pdf.extract_font(font[0])[3] for number in range(len(pdf)) for font in pdf.get_page_fonts(number)
        )
        objects = [pdf.xref_object(number) for number in range(1, pdf.xref_length())]
    alts = [found for text in objects for found in re.findall(r"/Alt[ <(]", text)]
    assert len(alts) >= 3  # before and after, causes, QR code


def test_equal_facts_give_equal_bytes(sheet: Document) -> None:
    assert handover_sheet(facts()).pdf == sheet.pdf


def test_nothing_known_still_makes_a_sheet() -> None:
    text = pages(handover_sheet(EMPTY))
    assert "Not yet shown" in text[0]
    assert "Nothing was written down." in text[0]


def test_any_text_is_printed_as_text_and_stays_on_the_paper() -> None:
    document = handover_sheet(ALL_NASTY)
    assert document.standards == STANDARDS
    text = " ".join(pages(document))
    assert "<b>#let x=1</b> $x^2$ *bold* _it_ \\ \" '" in text
    assert outside(document) == []
    assert len(pages(document)) <= 9


def test_a_long_complaint_is_cut_in_front_and_whole_behind() -> None:
    long = " ".join(f"word{number}" for number in range(300))
    text = pages(handover_sheet(facts(complaint=long)))
    assert "word299" not in text[0]
    assert "…" in text[0]
    assert "word299" in "".join(text[2:])


@pytest.mark.parametrize("verdict", list(ProofVerdict))
def test_every_verdict_in_words(verdict: ProofVerdict) -> None:
    text = pages(handover_sheet(replace(EMPTY, verdict=verdict, missing=("cruise: not measured",))))[0]
    assert words()["verdicts"][verdict.value] in text
    assert "To call it proven, these are missing: cruise: not measured." in text


@pytest.mark.parametrize(("paper", "size"), [(Paper.LETTER, (612, 792)), (Paper.A4, (595, 842))])
def test_paper(paper: Paper, size: tuple[int, int]) -> None:
    """Letter 8.5 x 11 in, A4 210 x 297 mm (ISO 216), in points."""
    with pymupdf.open(stream=handover_sheet(replace(EMPTY, paper=paper)).pdf) as pdf:
        assert (round(pdf[0].rect.width), round(pdf[0].rect.height)) == size


def test_photographs_are_shown_and_others_refused() -> None:
    shots = []
    for color in ("gray", "navy"):
        sink = io.BytesIO()
        Image.new("RGB", (60, 40), color).save(sink, "JPEG")
        shots.append(sink.getvalue())
    document = handover_sheet(replace(EMPTY, photos=(Photo(shots[0], "as found"), Photo(shots[1], ""))))
    assert "as found" in " ".join(pages(document))
    with pymupdf.open(stream=document.pdf) as pdf:
        assert sum(len(page.get_images()) for page in pdf) == 2
    with pytest.raises(InputFault, match=r"cannot be printed \(photograph 1\); wanted PNG or JPEG"):
        handover_sheet(replace(EMPTY, photos=(Photo(b"GIF89a", "x"),)))


def test_a_link_too_long_for_a_code_is_refused() -> None:
    with pytest.raises(InputFault, match=r"too long for a QR code.*at most 1200"):
        handover_sheet(replace(EMPTY, link="http://localhost/" + "x" * 2000))


def test_an_image_name_cannot_leave_the_folder() -> None:
    with pytest.raises(ValueError, match="must not be a path"):
        typeset("handover", {}, {"../x.svg": b""}, WHEN)


def test_facts_that_are_not_numbers_are_refused() -> None:
    with pytest.raises(ValueError, match="Out of range float"):
        typeset("handover", {"a": float("nan")}, {}, WHEN)


def test_a_sheet_speaks_the_language_around_it_and_leaves_what_was_typed() -> None:
    facts = replace(EMPTY, complaint="Nothing was written down.")
    with speaking("es"):
        document = handover_sheet(facts)
    text = pages(document)[0]
    assert "Por qué vino" in text
    assert "Nothing was written down." in text
    with pymupdf.open(stream=document.pdf) as pdf:
        assert "es" in pdf.xref_get_key(pdf.pdf_catalog(), "Lang")[1]


@pytest.mark.parametrize("name", archetype_texts())
def test_bench_card_is_one_page_with_every_figure(name: str) -> None:
    sheet = archetype(name)
    document = bench_card(sheet, WHEN, shop="Millbrook Works (invented)")
    (text,) = pages(document)
    assert document.standards == STANDARDS
    assert "no such unit exists" in text
    for key, setting in sheet.settings.items():
        if key not in ("fuel_pressure", "solenoid_resistance"):
            shown = f"{setting.wanted.value:g} ± {setting.wanted.tolerance:g} {setting.wanted.unit}"
            assert shown in text, key
    assert "Do not leave the solenoid on battery voltage" in text


def test_bench_card_turns_come_from_the_thread() -> None:
    """32 threads per inch: 31.25 thou a turn; 3 and 4 thou are nearest to an eighth of it (ASME B1.1)."""
    (text,) = pages(bench_card(SHEET, WHEN))
    assert text.count("31.25 thou") == 2
    assert text.count("1/8 turn = 3.91 thou") == 2


def test_bench_card_with_nasty_text_stays_one_page() -> None:
    settings = {
        k: s.model_copy(update={"note": NASTY, "gauge": NASTY, "title": NASTY})
        for k, s in SHEET.settings.items()
    }
    nasty = SHEET.model_copy(update={"title": NASTY, "stamped": [NASTY], "settings": settings})
    document = bench_card(nasty, WHEN, shop=NASTY, paper=Paper.A4)
    assert len(pages(document)) == 1
    assert outside(document) == []
