"""Photographs: upright, smaller, and stripped of everything but the picture."""

import io
import zlib

import pytest
from PIL import Image
from starlette.testclient import TestClient

from dwellwright.records.shop import Shop, file_place
from dwellwright.service import photographs as service
from dwellwright.service.jobs import job_view
from dwellwright.service.photographs import photographs

GPS = 0x8825


def photograph(size: tuple[int, int] = (3000, 1500), turned: int = 1) -> bytes:
    """A picture as a tablet makes it: red on the left, with place, camera and time written into it."""
    picture = Image.new("RGB", size, (20, 60, 160))
    picture.paste((200, 30, 30), (0, 0, size[0] // 3, size[1]))
    exif = picture.getexif()
    exif[0x010F], exif[0x0110], exif[0x0112], exif[0x0132] = (
        "some maker",
        "some model",
        turned,
        "2020:01:02 03:04:05",
    )
    exif.get_ifd(GPS)[2] = (51.0, 30.0, 0.0)
    out = io.BytesIO()
    picture.save(out, "JPEG", exif=exif, comment=b"private words")
    return out.getvalue()


def send(client: TestClient, job: int, content: bytes, name: str = "p.jpg", **fields: str) -> object:
    return client.post(f"/jobs/{job}/photographs", files=[("photographs", (name, content))], data=fields)


def test_nothing_but_the_picture_is_kept(client: TestClient, job: int, shop: Shop) -> None:
    sent = photograph()
    assert b"some maker" in sent
    assert b"private words" in sent
    send(client, job, sent, words="as it came", side="as found", step="lean_stop")
    (kept,) = photographs(job_view(shop, job))
    for digest, longest in ((kept.sha256, 2000), (kept.thumbnail, 480)):
        raw = file_place(shop, digest).read_bytes()
        assert b"some" not in raw
        assert b"private" not in raw
        assert b"Exif" not in raw
        with Image.open(io.BytesIO(raw)) as picture:
            assert dict(picture.getexif()) == {}
            assert max(picture.size) == longest
    assert (kept.words, kept.step, kept.side.value) == ("as it came", "lean_stop", "as found")


def test_a_picture_taken_sideways_stands_upright(client: TestClient, job: int) -> None:
    """Orientation 6 says: turn a quarter clockwise. Red was on the left, so it must be on top."""
    send(client, job, photograph((1200, 600), turned=6))
    answer = client.get(f"/jobs/{job}/photographs/1.jpg")
    assert answer.headers["content-type"] == "image/jpeg"
    with Image.open(io.BytesIO(answer.content)) as picture:
        assert picture.size == (600, 1200)
        red, _, blue = picture.convert("RGB").getpixel((300, 60))
        assert red > 150 > blue


def bomb() -> bytes:
    """A small PNG that says it unpacks to a trillion points."""
    size = 1_000_000
    head = size.to_bytes(4, "big") * 2 + bytes([8, 2, 0, 0, 0])

    def chunk(name: bytes, data: bytes) -> bytes:
        return len(data).to_bytes(4, "big") + name + data + zlib.crc32(name + data).to_bytes(4, "big")

    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(bytes(100)))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    "content",
    [b"", b"hello", photograph()[:400], b"<svg xmlns='x'/>", b"GIF89a" + bytes(40), bomb()],
    ids=["empty", "words", "cut", "drawing", "animation", "bomb"],
)
def test_what_is_no_photograph_is_refused(client: TestClient, job: int, content: bytes) -> None:
    before = client.get(f"/jobs/{job}/job.json").json()
    answer = send(client, job, content, words="kept words")
    assert answer.status_code == 422
    assert "this is not a photograph" in answer.text or "the photograph is too large" in answer.text
    assert 'value="kept words"' in answer.text
    assert client.get(f"/jobs/{job}/job.json").json() == before


def test_a_picture_of_too_many_points_is_refused_unopened(
    client: TestClient, job: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(service, "MOST_PIXELS", 1_000_000)
    answer = send(client, job, photograph())
    assert (
        "the photograph is too large (p.jpg); wanted at most 1 million points; got 3000 by 1500 points"
        in answer.text
    )


def test_the_same_picture_twice_is_one(client: TestClient, job: int, shop: Shop) -> None:
    for _ in range(2):
        assert send(client, job, photograph()).status_code == 200
    assert len(photographs(job_view(shop, job))) == 1


def test_a_photograph_belongs_to_its_job(client: TestClient, job: int) -> None:
    send(client, job, photograph())
    client.post("/jobs", data={"owner": "B", "car": "b", "complaint": "b", "sheet": "two-barrel-v6"})
    assert client.get("/jobs/1/photographs/1-small.jpg").status_code == 200
    for path in ("/jobs/2/photographs/1.jpg", "/jobs/1/photographs/2.jpg", "/jobs/1/photographs/x.jpg"):
        assert client.get(path).status_code == 404


def test_a_photograph_is_no_reading(client: TestClient, recorded: int) -> None:
    send(client, recorded, photograph())
    assert client.get(f"/jobs/{recorded}/evidence").status_code == 200
    assert client.post(f"/jobs/{recorded}/handover").status_code == 200
    facts = client.get(f"/jobs/{recorded}/job.json").json()
    assert [one["kind"] for one in facts["evidence"]] == ["trace", "photograph"]
