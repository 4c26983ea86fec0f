"""Evidence through the pages: files, readings, gas; the same words as the readers and the command line."""

import json
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from starlette.testclient import TestClient

from dwellwright.errors import InputFault
from dwellwright.service.files import read_file
from dwellwright.service.readings import known_items
from dwellwright.service.typed_items import typed_items, usual_unit

BAD_FILES = [
    ("log.csv", b""), ("log.csv", b"time_s,rpm\n"), ("drive.wav", b"RIFF\x10\x00\x00\x00WAVE"),
    ("photo.jpg", b"\xff\xd8\xff\xe0rest"), ("all.zip", b"PK\x03\x04" + bytes(200)),
    ("deep.gz", b"\x1f\x8b" + bytes(99)),
    ("gas.csv", b"condition,co_pct,co2_pct,o2_pct,hc_ppm\nidle,nan,14,0.5,200\n"),
    ("gas.csv", b"condition,co_pct,co2_pct,o2_pct,hc_ppm\nidle,inf,14,0.5,200\n"),
    ("gas.csv", b"condition,co,co2,o2,hc\nidle,0.6,14.6,0.6,250\n"),
    ("bench.csv", b"item,value,unit\nrod_lean_gauge,abc,thou\n"), ("text.csv", b"\xff\xfe\x00\x01 not text"),
    ("drive.flac", b"fLaC" + bytes(64)), ("nothing.csv", b"no,evidence\n1,2\n"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "content"), BAD_FILES)
def test_a_bad_file_is_refused_in_the_readers_own_words(
    client: TestClient, job: int, tmp_path: Path, name: str, content: bytes
) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(InputFault, match=r"\w") as caught:
        read_file(path)
    before = client.get(f"/jobs/{job}/job.json").json()
    answer = client.post(f"/jobs/{job}/files", files=[("files", (name, content))], data={"side": "as left"})
    assert answer.status_code == 422
    assert shown(str(caught.value)) in answer.text
    assert '<option value="as left" selected>' in answer.text
    assert client.get(f"/jobs/{job}/job.json").json() == before


def shown(words: str) -> str:
    """Words as a page escapes them."""
    from markupsafe import escape

    return str(escape(words))


def test_page_and_command_line_say_the_same(client: TestClient, job: int, tmp_path: Path) -> None:
    path = tmp_path / "p.zip"
    path.write_bytes(b"PK\x03\x04" + bytes(50))
    code = "from dwellwright.cli import main; main()"
    told = subprocess.run([sys.executable, "-c", code, "read", str(path)], capture_output=True, text=True)
    assert told.returncode == 2
    answer = client.post(f"/jobs/{job}/files", files=[("files", ("p.zip", path.read_bytes()))])
    said = " ".join(told.stderr.split()).removeprefix("dwellwright: ").rstrip(".")
    assert "this file holds no readings" in said
    assert shown(said) in answer.text


def test_good_files_beside_a_bad_one_are_taken(client: TestClient, job: int, demo_folder: Path) -> None:
    good = ("files", ("gas.csv", (demo_folder / "gas.csv").read_bytes()))
    answer = client.post(f"/jobs/{job}/files", files=[good, ("files", ("bad.csv", b""))])
    assert answer.status_code == 422
    assert "the file is empty (bad.csv)" in answer.text
    assert [one["name"] for one in client.get(f"/jobs/{job}/job.json").json()["evidence"]] == ["gas.csv"]


def test_no_file_chosen_is_said(client: TestClient, job: int) -> None:
    answer = client.post(f"/jobs/{job}/files", data={"side": "as found"})
    assert answer.status_code == 422
    assert "no file was chosen" in answer.text


def test_what_a_file_said_stands_on_its_card(client: TestClient, job: int, demo_folder: Path) -> None:
    names = ("drive.flac", "log.csv", "gas.csv", "bench.csv")
    sent = [("files", (name, (demo_folder / name).read_bytes())) for name in names]
    page = client.post(f"/jobs/{job}/files", files=sent).text
    for words in ("Read and added.", "sound of the drive", "10.00 Hz", "0 missing", "first closed loop", "cruise",
                  "14.6 %", "3.30 l", "Look closer"):  # fmt: skip
        assert words in page
    again = client.post(f"/jobs/{job}/files", files=sent).text
    assert "nothing changed" in again


def test_gas_is_typed_and_read_by_the_same_reader(client: TestClient, job: int) -> None:
    gas = {"condition": "idle", "co_pct": "0,62", "co2_pct": "14.6", "o2_pct": "0.63", "hc_ppm": "253"}
    page = client.post(f"/jobs/{job}/gas", data=gas)
    assert page.status_code == 200
    found = {one["measured"]: one["value"] for one in client.get(f"/jobs/{job}/job.json").json()["readings"]}
    assert found["co"] == pytest.approx(0.62)
    assert 0.9 < found["gas_lambda"] < 1.1


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"co_pct": "much"}, "much"),
        ({"co_pct": "55"}, "55"),
        ({"o2_pct": ""}, "o2"),
        ({"condition": "sometimes"}, "sometimes"),
    ],
)
def test_bad_gas_is_refused_as_typed(client: TestClient, job: int, change: dict[str, str], says: str) -> None:
    gas = {
        "condition": "idle",
        "co_pct": "0.6",
        "co2_pct": "14.6",
        "o2_pct": "0.6",
        "hc_ppm": "250",
        **change,
    }
    answer = client.post(f"/jobs/{job}/gas", data=gas)
    assert answer.status_code == 422
    assert says in answer.text
    assert f'value="{gas["hc_ppm"]}"' in answer.text
    assert client.get(f"/jobs/{job}/job.json").json()["readings"] == []


def test_no_gas_at_all_is_said(client: TestClient, job: int) -> None:
    assert (
        "the reading has no value (exhaust gas)"
        in client.post(f"/jobs/{job}/gas", data={"condition": "idle"}).text
    )


@pytest.mark.parametrize(
    ("scale", "read", "dwell"), [("6", "30", 30.0), ("8", "22.5", 30.0), ("4", "45", 30.0)]
)
def test_dwell_on_another_scale_is_the_same_duty(
    client: TestClient, job: int, scale: str, read: str, dwell: float
) -> None:
    """Half duty is 45, 30 and 22.5 degrees of 90, 60 and 45: 360 over the cylinders, by definition."""
    client.post(
        f"/jobs/{job}/readings", data={"item": "dwell", "repeats": read, "unit": "deg", "scale": scale}
    )
    (found,) = client.get(f"/jobs/{job}/job.json").json()["readings"]
    assert found["value"] == pytest.approx(dwell)


def test_a_scale_that_no_meter_has_is_refused(client: TestClient, job: int) -> None:
    answer = client.post(f"/jobs/{job}/readings", data={"item": "dwell", "repeats": "3", "scale": "7"})
    assert "no such scale of a dwell meter" in answer.text


def test_an_item_without_a_unit_is_read_in_its_usual_one(client: TestClient, job: int) -> None:
    client.post(f"/jobs/{job}/readings", data={"item": "rod_lean_gauge", "repeats": "118 119", "unit": ""})
    (found,) = client.get(f"/jobs/{job}/job.json").json()["readings"]
    assert (found["value"], found["unit"]) == (pytest.approx(118.5), "thou")


def test_everything_that_can_be_read_can_be_typed() -> None:
    """The list on the page leaves out only other names of the same thing."""
    from dwellwright.catalogue.gauge_items import gauge_items

    offered = {one.name for one in typed_items()}
    aliases = {name for name, item in gauge_items().items() if name != item.name}
    assert set(known_items()) - aliases == offered
    assert all(usual_unit(name) for name in offered)
    assert typed_items()[0].name == "dwell"


@pytest.mark.parametrize("typed", ["1e400", "nan", "-inf", "0x10", "1_0", "--1", "1.2.3", "٣٣"])
def test_odd_numbers_never_become_readings(client: TestClient, job: int, typed: str) -> None:
    answer = client.post(f"/jobs/{job}/readings", data={"item": "dwell", "repeats": typed, "unit": "deg"})
    found = client.get(f"/jobs/{job}/job.json").json()["readings"]
    assert (answer.status_code, found) == (422, [])


def test_control_characters_are_left_out_of_words(client: TestClient) -> None:
    fields = {
        "owner": "A\x00. S\x1bample",
        "car": "wagon",
        "complaint": "two\nlines",
        "sheet": "two-barrel-v6",
    }
    client.post("/jobs", data=fields)
    told = client.get("/jobs/1/job.json").json()["job"]
    assert (told["owner"], told["complaint"]) == ("A. Sample", "two\nlines")


def test_volts_without_time_ask_for_their_rate_and_take_it(client: TestClient, job: int) -> None:
    rate = 10_000
    phase = np.arange(6 * rate) / rate * 10.0 % 1.0
    volts = np.where(phase < 0.4, 0.6, np.where(phase < 0.41, 45.0, 13.8))
    table = ("volts.csv", ("CH1 (V)\n" + "".join(f"{one:.2f}\n" for one in volts)).encode())
    refused = client.post(f"/jobs/{job}/files", files=[("files", table)])
    assert refused.status_code == 422
    assert "how many rows there are in a second" in refused.text
    page = client.post(
        f"/jobs/{job}/files", data={"sample_rate": "10 000".replace(" ", "")}, files=[("files", table)]
    )
    assert "10.00 Hz" in page.text
    assert "10000 rows a second, as was told" in page.text
    assert client.get(f"/jobs/{job}/sound/1").text.count('<svg class="chart"') == 2
    again = client.post(f"/jobs/{job}/sound/1", data={"polarity": "reversed"}).text
    assert "Read again" in again
    wrong = client.post(f"/jobs/{job}/files", data={"sample_rate": "fast"}, files=[("files", table)])
    assert "this is not a number" in wrong.text


def test_columns_named_otherwise_change_the_picture_and_the_readings(client: TestClient, job: int) -> None:
    rows = "\n".join(
        f"{k / 10:.1f},{700 + k % 7},{450 + 300 * (k // 10 % 2)},{30 + k // 10 % 2},{40 + k // 10 % 2}"
        for k in range(900)
    )
    header = ["time_s", "rpm", "o2_mv", "A", "B"]
    content = ("log.csv", f"{','.join(header)}\n{rows}\n".encode())
    client.post(f"/jobs/{job}/files", files=[("files", content)])

    def named(dwell: str) -> str:
        uses = {"time": ("time_s", "s"), "engine_speed": ("rpm", "rpm"), "sensor_voltage": ("o2_mv", "mV"),
                "duty": (dwell, "deg")}  # fmt: skip
        typed = {f"{part}-{name}": word for name, pair in uses.items()
                 for part, word in zip(("column", "unit"), pair, strict=True)}  # fmt: skip
        return client.post(f"/jobs/{job}/columns", data={"header": json.dumps(header), **typed}).text

    first, second = named("A"), named("B")
    assert "read again with them" in first
    pictures = [re.findall(r"data:image/svg\+xml;base64,[^\"]+", page) for page in (first, second)]
    assert pictures[0]
    assert pictures[0] != pictures[1]
    assert "30.5 ±" in first
    assert "40.5 ±" in second
