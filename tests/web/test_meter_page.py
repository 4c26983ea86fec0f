"""The meter's page without a browser: the divider's values, and writing a reading down."""

import pytest
from starlette.testclient import TestClient

from dwellwright.errors import InputFault
from dwellwright.service.divider import E24, divider, preferred, resistor_words


@pytest.mark.parametrize("supply", [11.0, 14.5, 28.0])
@pytest.mark.parametrize("spike", [40.0, 100.0, 400.0])
@pytest.mark.parametrize("limit", [0.1, 1.0, 2.0])
@pytest.mark.parametrize("resistance", [2e3, 10e3, 1e6])
def test_the_divider_obeys_ohms_law(supply: float, spike: float, limit: float, resistance: float) -> None:
    """Worked out anew from Kirchhoff's current law at the input: what flows in flows out through both resistors."""
    made = divider(supply, spike, limit, resistance)
    for wire, there in ((supply, made.step), (spike, made.spike)):
        assert (wire - there) / made.upper == pytest.approx(there / made.lower + there / resistance)
    assert made.step <= 0.3 * limit * (1 + 1e-9)
    assert made.current * made.upper == pytest.approx(spike - made.spike)
    assert made.diodes == (made.spike > limit)
    assert made.upper >= 47e3


def test_resistors_can_be_bought() -> None:
    """The series itself: IEC 60063, 24 values in a decade, each about 10 percent above the one before."""
    assert len(E24) == 24
    for value in (1.0, 4.7e3, 10e3, 91e3, 2.2e6):
        assert preferred(value) == pytest.approx(value)
    assert preferred(4.71e3) == pytest.approx(5.1e3)
    assert [resistor_words(one) for one in (4.7, 470e3, 1.2e6)] == ["4.7 Ω", "470 kΩ", "1.2 MΩ"]
    with pytest.raises(ValueError, match="between 1 ohm"):
        preferred(float("nan"))


@pytest.mark.parametrize(
    ("values", "says"),
    [((3.0, 100.0, 1.0, 1e4), "supply"), ((14.0, 5.0, 1.0, 1e4), "release spike"),
     ((14.0, 100.0, 0.0, 1e4), "input voltage"),
     ((14.0, 100.0, 1.0, 0.0), "input resistance"), ((float("nan"), 100.0, 1.0, 1e4), "supply")],
)  # fmt: skip
def test_a_value_that_cannot_be_is_refused(values: tuple[float, ...], says: str) -> None:
    with pytest.raises(InputFault, match=says):
        divider(*values)


def test_the_drawing_carries_the_values(client: TestClient) -> None:
    page = client.get("/meter?supply=28&limit=0.5").text
    made = divider(28.0, 100.0, 0.5, 10e3)
    assert page.count(resistor_words(made.upper)) >= 2
    refused = client.get("/meter?supply=much")
    assert refused.status_code == 422
    assert "this is not a number" in refused.text
    assert 'value="much"' in refused.text


def test_a_reading_is_logged_to_its_job(client: TestClient, job: int) -> None:
    fields = {"job": str(job), "repeats": "22.5 22.6", "scale": "8", "regime": "3000", "side": "as left"}
    page = client.post("/meter", data=fields)
    assert "Written down." in page.text
    (found,) = client.get(f"/jobs/{job}/job.json").json()["readings"]
    assert (found["value"], found["regime"], found["side"]) == (
        pytest.approx(30.07, abs=0.01),
        "3000",
        "as left",
    )


@pytest.mark.parametrize(
    ("change", "says"),
    [({"job": "9"}, "no such job"), ({"job": "x"}, "no such job"), ({"job": ""}, "no such job"),
     ({"repeats": ""}, "no value"),
     ({"repeats": "70"}, "not believable"), ({"scale": "5"}, "no such scale"), ({"regime": "moon"}, "operating range")],
)  # fmt: skip
def test_a_bad_reading_is_refused_in_place(
    client: TestClient, job: int, change: dict[str, str], says: str
) -> None:
    fields = {"job": str(job), "repeats": "30", "scale": "6", **change}
    answer = client.post("/meter", data=fields)
    assert answer.status_code == 422
    assert says in answer.text
    assert client.get(f"/jobs/{job}/job.json").json()["readings"] == []
