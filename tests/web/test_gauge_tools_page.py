"""The page of studies, calibrations, drifts and sums."""

import pytest
from starlette.testclient import TestClient

SIZES = "truth,reading,unit\n60,61.2,thou\n70,71.1,thou\n80,81.6,thou\n90,91.3,thou\n100,101.7,thou\n"
STUDY = "part,hand,unit,r1,r2\n1,A,thou,81,82\n1,B,thou,82,82\n2,A,thou,90,91\n2,B,thou,92,91\n"


def test_a_study_is_told_and_drawn(client: TestClient) -> None:
    page = client.post("/gauges/check", data={"kind": "study", "table": STUDY, "tolerance": "20"}).text
    assert "gauge and hands together" in page
    assert "six gauge spreads over the whole tolerance" in page
    assert "data:image/svg+xml;base64," in page


def test_a_table_may_come_as_a_file(client: TestClient) -> None:
    files = [("file", ("sizes.csv", SIZES.encode()))]
    page = client.post("/gauges/check", data={"kind": "calibration", "reading": "85"}, files=files).text
    assert "Correct its readings by the line" in page
    assert "behind a reading of 85 thou" in page
    drift = client.post("/gauges/check", data={"kind": "drift", "table": SIZES, "repeatability": "0,3"}).text
    assert "It drifted: from check" in drift


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"kind": "study", "table": "a,b\n1,2\n"}, "lacks `part`"),
        ({"kind": "study", "table": ""}, "there is no table"),
        ({"kind": "nothing", "table": "x"}, "no such check"),
        ({"kind": "drift", "table": SIZES, "repeatability": ""}, "no drift can be seen"),
        ({"kind": "calibration", "table": SIZES, "reading": "wide"}, "not a number"),
    ],
)
def test_a_bad_table_comes_back_as_typed(client: TestClient, fields: dict[str, str], says: str) -> None:
    page = client.post("/gauges/check", data=fields)
    assert page.status_code == 422
    assert says in page.text
    if fields["table"] and fields["kind"] != "nothing":
        assert fields["table"].split("\n")[0] in page.text.split(f'id="{fields["kind"]}-table"')[1]


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"kind": "choke", "bore": "40", "plug": "4", "unit": "mm"}, "opens the choke by 36.87 deg"),
        ({"kind": "choke", "bore": "40", "angle": "36.87", "unit": "mm"}, "a plug of 4 mm just passes"),
        ({"kind": "float", "float_arm": "30", "gauge_arm": "60", "height": "2"}, "moves by -1 mm"),
        ({"kind": "float", "float_arm": "30", "gauge_arm": "60", "level": "1", "higher": "richer"}, "height by +2 mm"),
        ({"kind": "screw", "thread": "10-32", "value": "3.776", "unit": "turns"}, "2.997 mm, 118 thou"),
        ({"kind": "vacuum", "value": "18", "unit": "inHg", "barometer": "29.92", "barometer_unit": "inHg"},
         "11.92 inHg"),
        ({"kind": "convert", "value": "70", "unit": "degF", "other": "degC"}, "70 degF = 21.11111 degC"),
    ],
)  # fmt: skip
def test_a_sum_is_worked_out(client: TestClient, fields: dict[str, str], says: str) -> None:
    assert says in client.post("/gauges/sum", data=fields).text


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"kind": "choke", "bore": "40"}, "one of the two must be given"),
        ({"kind": "choke", "bore": "40", "plug": "99"}, "does not fit"),
        ({"kind": "screw", "thread": "10:32", "value": "1"}, "thread is not one"),
        ({"kind": "convert", "value": "70", "unit": "degF", "other": "kPa"}, "does not measure this"),
        ({"kind": "convert", "value": "", "unit": "degF", "other": "kPa"}, "the field is blank"),
        ({"kind": "vacuum", "value": "1e9", "barometer": "101"}, "cannot be right"),
    ],
)
def test_a_sum_that_cannot_be_is_refused(client: TestClient, fields: dict[str, str], says: str) -> None:
    page = client.post("/gauges/sum", data=fields)
    assert page.status_code == 422
    assert says in page.text


def test_a_calibration_is_kept_for_an_instrument_and_corrects_its_readings(
    client: TestClient, job: int
) -> None:
    assert "put the instrument on" in client.get("/gauges").text
    client.post("/shop/instruments", data={"kind": "depth_micrometer", "mark": "DM <3>", "months": "12"})
    tool = "depth_micrometer:DM <3>"
    fields = {"kind": "calibration", "table": SIZES, "keep": tool, "day": "2026-03-01"}
    refused = client.post("/gauges/check", data=fields)
    assert refused.status_code == 422
    assert "standard uncertainty in thou" in refused.text
    page = client.post("/gauges/check", data={**fields, "doubt": "0,02"}).text
    assert "Kept for our depth micrometer DM &lt;3&gt;." in page
    shop = client.get("/shop").text
    assert "corrected by it" in shop
    assert "2026-03-01" in shop
    typed = {
        "item": "rod_lean_gauge",
        "repeats": "81 81",
        "unit": "thou",
        "instrument": tool,
        "side": "as found",
    }
    seen = client.post(f"/jobs/{job}/readings", data=typed).text
    assert "read 81 thou with our depth micrometer DM &lt;3&gt;, corrected by -1.3" in seen
    gone = client.post("/shop/calibrations/undo", data={"tool": tool}).text
    assert "No calibration line kept" in gone
    assert "taken back" in gone
    assert "corrected by -1.3" in client.get(f"/jobs/{job}/evidence").text
    assert (
        "there is no calibration to take back"
        in client.post("/shop/calibrations/undo", data={"tool": tool}).text
    )
