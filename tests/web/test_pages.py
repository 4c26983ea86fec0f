"""Every page answers, every bad form comes back with the fault's words and what was typed, and the job is unchanged."""

from importlib.resources import files
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from dwellwright.errors import InputFault
from dwellwright.service.file_kind import file_kind
from dwellwright.web.stations import STATIONS

DEMO = files("dwellwright.demo").joinpath("data", "as_found")
PAGES = [
    "/",
    "/sheets",
    "/sheets/two-barrel-v6",
    "/sheets/new",
    "/sheets/two-barrel-v6/edit",
    "/what-if",
    "/help",
]


@pytest.mark.parametrize("path", PAGES)
def test_a_page_answers_and_loads_nothing_from_elsewhere(client: TestClient, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code == 200
    assert 'lang="en"' in answer.text
    assert "http://" not in answer.text.replace("http://www.w3.org", "")
    assert "https://" not in answer.text
    assert "default-src 'self'" in answer.headers["content-security-policy"]


@pytest.mark.parametrize("station", STATIONS)
def test_every_station_of_a_fresh_job_answers(client: TestClient, job: int, station: str) -> None:
    answer = client.get(f"/jobs/{job}/{station}")
    assert answer.status_code == 200
    assert STATIONS[station] in answer.text


def test_a_job_from_files_to_handover(client: TestClient, job: int) -> None:
    sent = [
        ("files", (name, DEMO.joinpath(name).read_bytes())) for name in ("log.csv", "gas.csv", "bench.csv")
    ]
    page = client.post(f"/jobs/{job}/files", files=sent, data={"side": "as found"})
    assert page.status_code == 200
    assert "log.csv" in page.text
    causes = client.post(f"/jobs/{job}/causes", data={"side": "as found"})
    assert "Lean stop set wrong" in causes.text
    assert "Do this next" in causes.text
    step = {"key": "lean_stop", "found": "118 118.2", "left": "70.1", "unit": "thou", "turns": "1.5", "minutes": "9",
            "instrument": "dial_indicator"}  # fmt: skip
    bench = client.post(f"/jobs/{job}/steps/bench", data=step)
    assert bench.status_code == 200
    assert "118" in bench.text
    made = client.post(f"/jobs/{job}/handover")
    assert made.status_code == 200
    pdf = client.get(f"/jobs/{job}/handover.pdf")
    assert pdf.content.startswith(b"%PDF")
    assert client.get(f"/jobs/{job}/bench-card.pdf").content.startswith(b"%PDF")
    facts = client.get(f"/jobs/{job}/job.json").json()
    assert len(facts["readings"]) > 20
    table = client.get(f"/jobs/{job}/readings.csv").text.splitlines()
    assert len(table) == 1 + len(facts["readings"])


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("log.csv", b""),
        ("log.csv", b"time_s,rpm\n"),
        ("drive.wav", b"RIFF\x10\x00\x00\x00WAVE"),
        ("photo.jpg", b"\xff\xd8\xff\xe0rest"),
        ("all.zip", b"PK\x03\x04rest"),
        ("gas.csv", b"\xff\xfe\x00\x01 not text"),
        ("../../evil.csv", b"no,evidence\n1,2\n"),
    ],
)
def test_a_bad_file_is_refused_and_the_job_stays_as_it_was(
    client: TestClient, job: int, name: str, content: bytes
) -> None:
    before = client.get(f"/jobs/{job}/job.json").json()
    answer = client.post(f"/jobs/{job}/files", files=[("files", (name, content))], data={"side": "as left"})
    assert answer.status_code == 422
    assert "Not done." in answer.text
    assert client.get(f"/jobs/{job}/job.json").json() == before


def test_the_page_says_what_the_reader_says(client: TestClient, job: int, tmp_path: Path) -> None:
    content = b"\x89PNG rest"
    path = tmp_path / "p.png"
    path.write_bytes(content)
    with pytest.raises(InputFault, match="holds no readings") as caught:
        file_kind(path)
    answer = client.post(f"/jobs/{job}/files", files=[("files", ("p.png", content))])
    assert str(caught.value) in answer.text


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"item": "dwell", "repeats": "abc", "unit": "deg"}, "this is not a number"),
        ({"item": "dwell", "repeats": "30", "unit": "mm"}, "the unit does not measure this"),
        ({"item": "dwell", "repeats": "75", "unit": "deg"}, "not believable"),
        ({"item": "dwell", "repeats": "nan", "unit": "deg"}, "finite"),
        ({"item": "nothing", "repeats": "1", "unit": "mm"}, "nothing"),
        ({"item": "dwell", "repeats": "", "unit": "deg"}, "dwell"),
        ({"item": "dwell", "repeats": "30", "unit": "deg", "regime": "nowhere"}, "operating range"),
    ],
)
def test_a_bad_reading_comes_back_as_typed(
    client: TestClient, job: int, fields: dict[str, str], says: str
) -> None:
    before = client.get(f"/jobs/{job}/job.json").json()
    answer = client.post(f"/jobs/{job}/readings", data={"side": "as found", **fields})
    assert answer.status_code == 422
    assert says in answer.text
    if fields["repeats"]:
        assert f'value="{fields["repeats"]}"' in answer.text
    assert client.get(f"/jobs/{job}/job.json").json() == before


def test_a_reading_can_be_taken_back(client: TestClient, job: int) -> None:
    client.post(
        f"/jobs/{job}/readings", data={"item": "dwell", "repeats": "31 32", "unit": "deg", "side": "as found"}
    )
    assert len(client.get(f"/jobs/{job}/job.json").json()["readings"]) == 1
    client.post(f"/jobs/{job}/readings/undo")
    assert client.get(f"/jobs/{job}/job.json").json()["readings"] == []


def test_a_blank_job_is_refused_and_kept_as_typed(client: TestClient) -> None:
    answer = client.post(
        "/jobs", data={"owner": "Someone", "car": " ", "complaint": "x", "sheet": "two-barrel-v6"}
    )
    assert answer.status_code == 422
    assert "the field is blank" in answer.text
    assert 'value="Someone"' in answer.text
    assert client.get("/jobs/1/arrival").status_code == 404


def test_hostile_words_are_shown_as_words(client: TestClient) -> None:
    evil = "<script>alert(1)</script>\"'&"
    client.post("/jobs", data={"owner": evil, "car": evil, "complaint": evil, "sheet": "two-barrel-v6"})
    for path in ("/", "/jobs/1/arrival", "/jobs/1/handover"):
        assert "<script>alert" not in client.get(path).text


def test_a_sheet_is_checked_saved_and_refused_by_line(client: TestClient) -> None:
    text = client.get("/sheets/two-barrel-v6/file").text
    good = client.post("/sheets", data={"name": "mine", "text": text})
    assert good.status_code == 200
    bad = text.replace("primary_barrels = 2", 'primary_barrels = "two"')
    answer = client.post("/sheets", data={"name": "mine", "text": bad})
    assert answer.status_code == 422
    assert "primary_barrels" in answer.text
    assert "Line " in answer.text
    found = client.post("/sheets/check", data={"text": bad}).json()["findings"]
    assert found[0]["key"] == "primary_barrels"
    assert client.post("/sheets", data={"name": "two-barrel-v6", "text": text}).status_code == 422


def test_what_if_moves_the_dwell_and_refuses_words(client: TestClient) -> None:
    query = {"sheet": "two-barrel-v6", "lean_stop": "38"}
    facts = client.get("/what-if/answer", params=query).json()
    base, moved = (facts[k]["points"]["3000"]["dwell_deg"] for k in ("base", "moved"))
    assert moved > base + 10
    assert client.get("/what-if", params={**query, "lean_stop": "much"}).status_code == 422


def test_a_post_from_another_site_is_refused(client: TestClient) -> None:
    answer = client.post("/jobs", data={"owner": "x"}, headers={"origin": "http://elsewhere.example"})
    assert answer.status_code == 403


def test_the_look_is_kept_and_leads_back_only_here(client: TestClient) -> None:
    page = client.post("/sight", data={"sight": "contrast", "back": "/help"})
    assert 'data-sight="contrast"' in page.text
    astray = client.post(
        "/sight", data={"sight": "dark", "back": "//elsewhere.example"}, follow_redirects=False
    )
    assert astray.headers["location"] == "/"


@pytest.mark.parametrize(
    "path", ["/nix", "/jobs/99/arrival", "/jobs/1/nix", "/sheets/none", "/jobs/1/handover.pdf"]
)
def test_what_is_not_there_is_said_plainly(client: TestClient, job: int, path: str) -> None:
    answer = client.get(path)
    assert answer.status_code in (404, 422)
    assert "Traceback" not in answer.text
    assert "<h1>" in answer.text


def test_the_frameworks_own_pages_are_off(client: TestClient) -> None:
    for path in ("/docs", "/redoc", "/openapi.json"):
        assert client.get(path).status_code == 404
