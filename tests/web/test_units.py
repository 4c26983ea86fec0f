"""Units chosen on a device: numbers are shown in them, no digit is lost, and back is the very same page."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pint import UnitRegistry
from starlette.testclient import TestClient

from dwellwright.web.unit_choice import CHOICES, UnitChoice, in_unit, unit_choice
from dwellwright.web.unit_layer import converted

PINT = UnitRegistry()
PINT_NAMES = {"thou": "thou", "mm": "mm", "in": "inch", "kPa": "kPa", "inHg": "inch_Hg", "psi": "psi",
              "degC": "degC", "degF": "degF"}  # fmt: skip
PAIRS = [
    (one, other)
    for units in CHOICES.values()
    for one in units
    for other in units
    if one != other and one in PINT_NAMES
]
MM = unit_choice("length-mm")


@given(st.sampled_from(PAIRS), st.integers(-99_999, 99_999), st.integers(0, 3))
def test_numbers_are_those_of_an_independent_library(
    pair: tuple[str, str], digits: int, decimals: int
) -> None:
    """Source of the expected values: Pint, an independent library of units."""
    text = f"{digits / 10**decimals:.{decimals}f}"
    found = in_unit(text, *pair)
    expected = PINT.Quantity(float(text), PINT_NAMES[pair[0]]).to(PINT_NAMES[pair[1]]).magnitude
    last = 10.0 ** -len(found.partition(".")[2])
    assert float(found) == pytest.approx(expected, abs=0.5 * last + 1e-5 * abs(expected))


@given(st.sampled_from(PAIRS), st.integers(-9_999, 9_999), st.integers(0, 2))
def test_no_digit_is_lost(pair: tuple[str, str], digits: int, decimals: int) -> None:
    text = f"{digits / 10**decimals:.{decimals}f}"
    back = in_unit(in_unit(text, *pair), pair[1], pair[0])
    assert round(float(back), decimals) == pytest.approx(float(text), abs=1e-9)


@pytest.mark.parametrize(
    ("choice", "words", "shown"),
    [
        ("length-mm", "70.0 ± 2.0 thou", "1.778 ± 0.051 mm"),
        ("length-mm", "wanted 0.070 in.", "wanted 1.78 mm."),
        ("length-mm", "3 in the box, done in 20 s, 12 mm2", "3 in the box, done in 20 s, 12 mm2"),
        ("dwell-pct", "30.1 deg (29.8 to 30.4)", "50.2 % (49.7 to 50.7)"),
        ("dwell-pct", "change +3.2 deg (+2.0 to +4.4)", "change +5.3 % (+3.3 to +7.3)"),
        ("temperature-degF", "88 °C, 5 to 20 degC, 20 ± 5 °C", "190 °F, 41 to 68 °F, 68 ± 9 °F"),
        ("pressure-inHg", "67.7 kPa", "19.99 inHg"),
        ("pressure-inHg", "\u22125.0 kPa", "\u22121.48 inHg"),
        ("pressure-psi.length-in", "35.0 kPa and 118.2 thou", "5.08 psi and 0.1182 in"),
        ("dwell-pct", "41.1°, 30 ± 5°, 88°C, 7degrees", "68.5 %, 50 ± 8 %, 88°C, 7degrees"),
        ("length-mm.dwell-pct", "70.0 ± 2.0 milésimas, 29 a 31 grados", "1.778 ± 0.051 mm, 48 a 52 %"),
        ("", "70.0 thou", "70.0 thou"),
    ],
)
def test_words_in_other_units(choice: str, words: str, shown: str) -> None:
    assert unit_choice(choice).applied(words) == shown


def test_what_a_person_typed_stays_as_written() -> None:
    page = (
        '<p title="3 thou">3 thou</p><h1 data-as-written><b>3 thou</b><h1>x</h1> 3 thou</h1><q>3 thou</q>'
        '<b translate="no">3 thou</b>'
        '<select><option>3 thou</option></select><textarea>3 thou</textarea><input value="3 thou"><p>3 thou</p>'
    )
    shown = converted(page, MM)
    assert shown.count("0.08 mm") == 2
    assert shown == page.replace('<p title="3 thou">3 thou', '<p title="3 thou">0.08 mm').replace(
        "<p>3 thou", "<p>0.08 mm"
    )


@pytest.mark.parametrize(
    "odd", ["", "x", "length-", "length-stone", "--", "length-mm-mm", "\u2603-\u2603", "a" * 5000]
)
def test_an_odd_choice_is_no_choice(odd: str) -> None:
    assert unit_choice(odd).chosen == {}


def test_a_choice_survives_being_kept() -> None:
    for kind, units in CHOICES.items():
        for unit in units:
            assert unit_choice(UnitChoice({kind: unit}).text).chosen == {kind: unit}


def typed(client: TestClient, job: int, **fields: str) -> None:
    assert client.post(f"/jobs/{job}/readings", data={"side": "as found", **fields}).status_code == 200


def test_there_and_back_is_the_very_same_page(client: TestClient, job: int) -> None:
    typed(client, job, item="rod_lean_gauge", repeats="118 118.4")
    typed(client, job, item="dwell", repeats="31.5")
    pages = (
        f"/jobs/{job}/evidence",
        f"/jobs/{job}/bench",
        "/sheets/two-barrel-v6",
        f"/jobs/{job}/proof",
        "/",
    )
    before = {path: client.get(path).text for path in pages}
    assert "118.2 thou" in before[pages[0]]
    client.post("/units", data={"length": "mm", "dwell": "%", "pressure": "inHg", "temperature": "degF"})
    evidence = client.get(pages[0]).text
    assert "3.002 mm" in evidence
    assert "52.5 %" in evidence
    assert "118.2 thou" not in evidence
    client.post("/units", data={})
    for path in pages:
        assert client.get(path).text == before[path]


def test_a_form_begins_in_the_chosen_unit_and_means_what_it_said(client: TestClient, job: int) -> None:
    client.post("/units", data={"length": "mm", "dwell": "%"})
    page = client.get(f"/jobs/{job}/evidence").text
    assert "lean stop height [mm]" in page.lower() or 'data-unit="mm"' in page
    client.cookies.clear()  # the page was open before the choice was taken back
    typed(client, job, item="rod_lean_gauge", repeats="3.00", units="dwell-pct.length-mm")
    typed(client, job, item="dwell", repeats="50", units="dwell-pct.length-mm")
    found = {one["measured"]: one["value"] for one in client.get(f"/jobs/{job}/job.json").json()["readings"]}
    assert found["lean_stop"] == pytest.approx(3.0 / 0.0254)
    assert found["duty"] == pytest.approx(30.0)


def test_duty_in_percent_is_a_scale_of_the_meter(client: TestClient, job: int) -> None:
    answer = client.post(
        "/meter", data={"job": str(job), "repeats": "52.5 52.5", "scale": "duty", "side": "as found"}
    )
    assert "31.5 deg" in answer.text


def test_a_refused_form_keeps_text_and_unit(client: TestClient, job: int) -> None:
    client.post("/units", data={"length": "mm"})
    fields = {"item": "rod_lean_gauge", "repeats": "3.0o 2", "unit": "in", "side": "as found"}
    answer = client.post(f"/jobs/{job}/readings", data=fields)
    assert answer.status_code == 422
    assert 'value="3.0o 2"' in answer.text
    assert '<option value="in" selected>' in answer.text
