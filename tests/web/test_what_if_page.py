"""What if: the page, its numbers against the model's own, and what it refuses."""

import numpy as np
import pytest
from starlette.testclient import TestClient

from dwellwright.carburetor.prediction import predicted
from dwellwright.carburetor.state import CarState
from dwellwright.catalogue.sheet_file import archetype, archetype_texts
from dwellwright.errors import InputFault
from dwellwright.service.loop_preview import dwell_lines, loop_stretch
from dwellwright.service.prediction import changed_state
from dwellwright.units import from_si
from dwellwright.web.what_if_pages import AIR, FUEL, KNOBS, changes_of

ALL = [knob for group in KNOBS.values() for knob in group]


@pytest.mark.parametrize("name", sorted(archetype_texts()))
def test_both_lines_pass_through_the_sheets_own_cruise(name: str) -> None:
    """Two routes agree: the curve, and the prediction at the operating point."""
    sheet = archetype(name)
    cruise = next(one for one in predicted(sheet) if one.name == "cruise")
    point = sheet.operating["cruise"]
    for line, at in zip(
        dwell_lines(sheet, []),
        (from_si(point.engine_speed.si, "rpm"), 1e-3 * point.manifold_pressure.si),
        strict=True,
    ):
        assert np.interp(at, line.at, line.base) == pytest.approx(60 * cruise.duty, abs=0.1)
        assert line.base == pytest.approx(line.moved)


@pytest.mark.parametrize("point", ["idle", "3000", "cruise"])
def test_the_loop_swings_about_the_models_mean(point: str) -> None:
    """The simulator against the steady model; a few degrees apart, since the switch leans the mean."""
    sheet = archetype("two-barrel-v6")
    found = loop_stretch(sheet, ["lean_stop=12thou"], point)
    steady = next(one for one in predicted(sheet, changed_state(["lean_stop=12thou"])) if one.name == point)
    assert found.dwell.mean() == pytest.approx(60 * steady.duty, abs=2.5)
    assert found.sensor.min() < 0.3 < 0.6 < found.sensor.max()


def test_no_such_point_is_refused() -> None:
    with pytest.raises(InputFault, match="no such operating point"):
        loop_stretch(archetype("two-barrel-v6"), [], "moon")


def test_every_knob_is_understood_by_the_model_over_its_whole_range() -> None:
    for knob in ALL:
        for value in (knob.low, knob.high):
            assert changed_state(changes_of({knob.name: f"{value:g}"})) is not None


def test_knobs_start_where_the_sheets_own_car_stands() -> None:
    plain = CarState()
    assert (plain.air_temperature - 273.15, plain.fuel_temperature - 273.15) == pytest.approx((AIR, FUEL))
    assert changes_of({knob.name: f"{knob.start:g}" for knob in ALL}) == []


def test_the_numbers_move_and_the_screws_are_told(client: TestClient) -> None:
    query = {"sheet": "two-barrel-v6", "lean_stop": "38"}
    facts = client.get("/what-if/answer", params=query).json()
    base, moved = (facts[key]["points"]["3000"]["dwell_deg"] for key in ("base", "moved"))
    assert moved > base + 10
    assert len(facts["curves"]) == 2
    page = client.get("/what-if", params=query).text
    assert page.count("<svg") == 4
    assert f"{moved:.1f} deg" in page
    part = client.get("/what-if/shown", params=query).text
    assert f"{moved:.1f} deg" in part
    assert "<html" not in part


@pytest.mark.parametrize(
    ("query", "says"),
    [
        ({"lean_stop": "much"}, "this is not a number (Lean stop, off by)"),
        ({"lean_stop": "nan"}, "the value is not a finite number"),
        ({"lean_stop": "61"}, "the model was not made for this"),
        ({"point": "moon"}, "no such operating point"),
    ],
)  # fmt: skip
def test_what_is_no_number_comes_back_as_typed(client: TestClient, query: dict[str, str], says: str) -> None:
    answer = client.get("/what-if", params={"sheet": "two-barrel-v6", **query})
    assert answer.status_code == 422
    assert says in answer.text
    if "lean_stop" in query:
        assert f'value="{query["lean_stop"]}"' in answer.text
        assert client.get("/what-if/shown", params=query).json()["fault"].startswith(says.split(" (")[0][:20])


@pytest.mark.parametrize("value", ["1e6", "-1e6", "1e-30", "95", "-200"])
@pytest.mark.parametrize("name", [knob.name for knob in ALL])
def test_no_value_breaks_the_page(client: TestClient, name: str, value: str) -> None:
    """Whatever is typed is worked out or refused in words; nothing fails."""
    answer = client.get("/what-if/shown", params={"sheet": "one-barrel-four", name: value})
    assert answer.status_code in (200, 422)


def test_an_unknown_sheet_is_not_there(client: TestClient) -> None:
    assert client.get("/what-if?sheet=nothing").status_code == 404
