"""Steps and the needle advisor through the pages."""

import pytest
from starlette.testclient import TestClient

from dwellwright.errors import InputFault
from dwellwright.records.shop import Shop
from dwellwright.service.car_advisor import screw_advice
from dwellwright.service.jobs import job_view
from dwellwright.web.step_pages import turns_of


@pytest.mark.parametrize(
    ("text", "turns"),
    [("1 1/2", 1.5), ("3/8", 0.375), ("-1/4", -0.25), ("\u22122 1/16", -2.0625), ("0/4", 0.0)],
)
def test_a_fraction_is_understood(text: str, turns: float) -> None:
    assert turns_of(text) == turns


@pytest.mark.parametrize("text", ["1/0", "a/b", "1 2 3/4", "1//2", "/", "1 -1/2", "-1 -1/2"])
def test_what_is_no_fraction_is_refused(text: str) -> None:
    with pytest.raises(InputFault, match="not a number of turns"):
        turns_of(text)


def test_a_turn_is_written_down_as_a_hand_counts_it(client: TestClient, job: int) -> None:
    step = {
        "key": "lean_stop",
        "found": "118",
        "left": "70",
        "unit": "thou",
        "turns": "1 3/8",
        "way": "counterclockwise",
    }
    assert client.post(f"/jobs/{job}/steps/bench", data=step).status_code == 200
    (done,) = client.get(f"/jobs/{job}/job.json").json()["steps"]
    assert done["turns"] == -1.375


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"key": "lean_stop"}, "there is nothing to write down"),
        ({"key": "lean_stop", "found": "70", "unit": "kPa"}, "the unit does not measure this"),
        ({"key": "lean_stop", "found": "seventy", "unit": "thou"}, "this is not a number (as found)"),
        ({"key": "lean_stop", "found": "70", "unit": "thou", "turns": "99"}, "the turns cannot be"),
        ({"key": "lean_stop", "found": "70", "unit": "thou", "turns": "1/0"}, "not a number of turns"),
        ({"key": "lean_stop", "found": "70", "unit": "thou", "minutes": "-3"}, "the minutes cannot be"),
        (
            {"key": "lean_stop", "found": "70", "unit": "thou", "instrument": "crystal_ball"},
            "unknown instrument",
        ),
        ({"key": "nothing", "note": "x"}, "no such step"),
    ],
)
def test_a_bad_step_comes_back_as_typed(
    client: TestClient, job: int, fields: dict[str, str], says: str
) -> None:
    before = client.get(f"/jobs/{job}/job.json").json()
    answer = client.post(
        f"/jobs/{job}/steps/bench", data={"note": "kept note", **fields} if len(fields) > 1 else fields
    )
    assert answer.status_code == 422
    assert says in answer.text
    if len(fields) > 1 and fields["key"] != "nothing":
        assert 'value="kept note"' in answer.text
    assert client.get(f"/jobs/{job}/job.json").json() == before


def test_a_sequence_that_is_none_is_refused(client: TestClient, job: int) -> None:
    assert client.post(f"/jobs/{job}/steps/attic", data={"key": "x"}).status_code == 422


def test_the_needle_is_led_to_its_dwell(client: TestClient, job: int, shop: Shop) -> None:
    """Dwell too high is too rich, and a needle turned in is leaner: the first advice must be clockwise."""
    first = screw_advice(shop, job_view(shop, job))
    assert (first.lines, first.words) == ((), "read the dwell")
    client.post(f"/jobs/{job}/screws/idle_needle", data={"dwell": "44 44.5 44"})
    rich = screw_advice(shop, job_view(shop, job))
    assert rich.advice.turns[0].turns > 0
    assert "clockwise, leaner" in rich.words
    client.post(
        f"/jobs/{job}/screws/idle_needle", data={"dwell": "29.5 30 30", "turns": "5/8", "way": "clockwise"}
    )
    inside = screw_advice(shop, job_view(shop, job))
    assert [line.turned for line in inside.lines] == [(), pytest.approx((0.625, 0.625))]
    assert inside.words == "read the dwell again"
    assert inside.advice.why == "see whether it holds still while nothing is turned"
    client.post(f"/jobs/{job}/screws/idle_needle", data={"dwell": "30"})
    assert screw_advice(shop, job_view(shop, job)).words == "done"
    page = client.get(f"/jobs/{job}/car").text
    assert "0.625 turns clockwise" in page


def test_a_turn_on_the_bench_makes_earlier_needle_readings_stale(
    client: TestClient, job: int, shop: Shop
) -> None:
    client.post(f"/jobs/{job}/screws/idle_needle", data={"dwell": "44"})
    step = {"key": "lean_stop", "found": "118", "left": "70", "unit": "thou", "turns": "1.5"}
    client.post(f"/jobs/{job}/steps/bench", data=step)
    assert screw_advice(shop, job_view(shop, job)).lines == ()


def test_reading_again_without_a_turn_keeps_the_turns_before(
    client: TestClient, job: int, shop: Shop
) -> None:
    client.post(f"/jobs/{job}/screws/idle_needle", data={"dwell": "44"})
    client.post(f"/jobs/{job}/screws/idle_needle", data={"dwell": "38", "turns": "0.25"})
    client.post(f"/jobs/{job}/screws/idle_needle", data={"dwell": "37.5"})
    lines = screw_advice(shop, job_view(shop, job)).lines
    assert [line.turned for line in lines] == [(), pytest.approx((0.25, 0.25)), ()]
    assert [line.value for line in lines] == pytest.approx([44.0, 38.0, 37.5])


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"dwell": ""}, "no value"),
        ({"dwell": "75"}, "not believable"),
        ({"dwell": "", "turns": "1"}, "no value"),
    ],
)
def test_a_bad_needle_reading_is_refused(
    client: TestClient, job: int, fields: dict[str, str], says: str
) -> None:
    answer = client.post(f"/jobs/{job}/screws/idle_needle", data=fields)
    assert answer.status_code == 422
    assert says in answer.text


def test_a_job_is_ended_with_what_was_confirmed(client: TestClient, job: int, demo_folder: object) -> None:
    client.post(
        f"/jobs/{job}/readings",
        data={"item": "rod_lean_gauge", "repeats": "118 118", "unit": "thou", "wanted": "70"},
    )
    client.post(f"/jobs/{job}/causes", data={"side": "as found"})
    page = client.post(f"/jobs/{job}/close", data={"cause-lean_stop": "yes", "cause-nonsense": "yes"})
    assert page.status_code == 200
    found = client.get(f"/jobs/{job}/job.json").json()["job"]["found"]
    assert [one["id"] for one in found] == ["lean_stop"]
    again = client.post(f"/jobs/{job}/close")
    assert again.status_code == 422
    assert "the job is closed already" in again.text
    assert "ended" in client.get("/").text


def test_nothing_to_diagnose_is_said_in_place(client: TestClient, job: int) -> None:
    answer = client.post(f"/jobs/{job}/causes", data={"side": "as found"})
    assert answer.status_code == 422
    assert "there is nothing to diagnose yet" in answer.text


def test_two_needles_are_balanced_each_apart(client: TestClient, job: int, shop: Shop) -> None:
    address = f"/jobs/{job}/screws/idle_needle"
    client.post(address, data={"dwell": "30 30.2 30", "feels": "2"})
    rough = screw_advice(shop, job_view(shop, job))
    assert rough.words == "balance: first needle 1/8 turn counterclockwise; second needle 1/8 turn clockwise"
    client.post(address, data={"dwell": "30.1", "feels": "0", "turns": "1/8", "way": "counterclockwise",
                               "second": "1/8", "second_way": "clockwise"})  # fmt: skip
    client.post(address, data={"dwell": "30"})
    smooth = screw_advice(shop, job_view(shop, job))
    assert smooth.words == "done"
    assert smooth.lines[1].turned == pytest.approx((-0.125, 0.125))
    assert [line.roughness for line in smooth.lines] == [2.0, 0.0, None]
    page = client.get(f"/jobs/{job}/car").text
    assert "first 0.125 turns counterclockwise; second 0.125 turns clockwise" in page
    assert "smooth" in page


def test_a_bleed_goes_the_other_way_and_voids_earlier_needle_readings(
    client: TestClient, job: int, shop: Shop
) -> None:
    """Out is leaner for a bleed: dwell too high is turned out, counterclockwise."""
    client.post(f"/jobs/{job}/screws/idle_needle", data={"dwell": "44"})
    bleed = screw_advice(shop, job_view(shop, job), "idle_bleed")
    assert bleed.words.endswith("counterclockwise, leaner")
    client.post(
        f"/jobs/{job}/screws/idle_bleed", data={"dwell": "36", "turns": "1/2", "way": "counterclockwise"}
    )
    assert len(screw_advice(shop, job_view(shop, job), "idle_bleed").lines) == 2
    needle = screw_advice(shop, job_view(shop, job))
    assert [line.value for line in needle.lines] == pytest.approx([36.0])
    assert needle.lines[0].turned == ()


def test_a_throttle_sensor_is_led_to_its_voltage(client: TestClient, job: int, shop: Shop) -> None:
    address = f"/jobs/{job}/screws/throttle_sensor"
    client.post(address, data={"dwell": "0.90"})
    first = screw_advice(shop, job_view(shop, job), "throttle_sensor")
    assert first.advice.turns[0].turns < 0, "clockwise raises where the sheet says nothing else"
    assert first.target == pytest.approx(0.52)
    client.post(address, data={"dwell": "0.53", "turns": "1.5", "way": "counterclockwise"})
    for _ in range(
        2
    ):  # the voltage must show that it holds still, and half its tolerance is the doubt of a reading
        client.post(address, data={"dwell": "0.53"})
    done = screw_advice(shop, job_view(shop, job), "throttle_sensor")
    assert done.words == "done"
    assert done.sensitivity[0] == pytest.approx(-0.37 / -1.5 * -1, rel=0.2)


def test_an_idle_that_does_not_hold_still_is_named_before_more_is_turned(
    client: TestClient, job: int, shop: Shop
) -> None:
    for dwell in ("15", "27", "16", "28"):
        client.post(f"/jobs/{job}/screws/idle_needle", data={"dwell": dwell})
    stopped = screw_advice(shop, job_view(shop, job))
    assert stopped.advice.why.startswith("this idle does not hold still: untouched, it moves by about 2.")
    assert "ignition" in stopped.points_to
    page = client.get(f"/jobs/{job}/car").text
    assert "find out why before turning" in page
    assert "Look first at" in page


def test_what_no_needle_can_reach_names_where_to_look(client: TestClient, job: int, shop: Shop) -> None:
    """Dwell stuck low through turns out that should have crossed the scale: something makes it lean."""
    address = f"/jobs/{job}/screws/idle_needle"
    client.post(address, data={"dwell": "4"})
    for _ in range(2):
        client.post(address, data={"dwell": "4", "turns": "2", "way": "counterclockwise"})
    stopped = screw_advice(shop, job_view(shop, job))
    assert stopped.points_to.startswith("something makes it lean")
    assert "Air leak below the throttle" in stopped.suspects
    assert "Look first at: Air leak below the throttle" in client.get(f"/jobs/{job}/car").text


@pytest.mark.parametrize(
    ("name", "fields", "says"),
    [
        ("attic", {"dwell": "30"}, "no such screw"),
        ("idle_needle", {"dwell": "30", "turns": "99"}, "turns cannot be"),
        ("idle_bleed", {"dwell": "30", "turns": "1", "second": "1"}, "only one such screw"),
        ("idle_needle", {"dwell": "30", "feels": "7"}, "not believable"),
        ("throttle_sensor", {"dwell": "30"}, "not believable"),
    ],
)
def test_an_impossible_move_is_refused(
    client: TestClient, job: int, name: str, fields: dict[str, str], says: str
) -> None:
    before = client.get(f"/jobs/{job}/job.json").json()
    answer = client.post(f"/jobs/{job}/screws/{name}", data=fields)
    assert answer.status_code == 422
    assert says in answer.text
    assert client.get(f"/jobs/{job}/job.json").json() == before
