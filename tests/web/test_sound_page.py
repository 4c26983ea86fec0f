"""A sound of the wire looked at closely: its mean pulse, and dwell over a stretch of it."""

from pathlib import Path

import numpy as np
import pytest
import soundfile
from starlette.testclient import TestClient

from dwellwright.records.shop import Shop
from dwellwright.service.file_kind import FileKind
from dwellwright.service.jobs import job_view
from dwellwright.service.sound_view import sound_stretch
from dwellwright.service.stretches import recording_of


@pytest.fixture
def added(client: TestClient, job: int, demo_folder: Path) -> int:
    with open(demo_folder / "drive.flac", "rb") as file:
        client.post(f"/jobs/{job}/files", files=[("files", ("drive.flac", file))])
    return 1


def test_it_is_shown_with_its_pulse_and_its_dwell(client: TestClient, job: int, added: int) -> None:
    assert f"/jobs/{job}/sound/{added}" in client.get(f"/jobs/{job}/evidence").text
    page = client.get(f"/jobs/{job}/sound/{added}").text
    assert page.count('<svg class="chart"') == 2
    assert "single pulses" in page
    part = client.get(f"/jobs/{job}/sound/{added}/pictures?from=3&to=6")
    assert (part.headers["X-From"], part.headers["X-To"]) == ("3", "6")
    assert part.text.count("<svg") == 1


def test_a_stretch_holds_what_was_read(job: int, added: int, shop: Shop) -> None:
    view = job_view(shop, job)
    record = recording_of(view, added, FileKind.WAVEFORM)
    whole, part = (sound_stretch(shop, record, *ends) for ends in ((None, None), (4.0, 8.0)))
    assert part.samples < whole.samples
    assert part.time.min() >= 4.0
    assert part.time.max() <= 8.0
    kept = record.summary["facts"]["dwell_deg"]["value"]
    assert whole.dwell.mean() == pytest.approx(kept, abs=0.3)
    assert (
        sound_stretch(shop, record, 1e6, 2e6).samples == whole.samples
    )  # nothing there: everything is shown


def test_what_is_no_sound_is_refused(client: TestClient, job: int, added: int) -> None:
    assert "no such file" in client.get(f"/jobs/{job}/sound/99").text
    for words in ("from=x&to=nan", "from=-5&to=-1", "from=9&to=2"):
        assert client.get(f"/jobs/{job}/sound/{added}?{words}").status_code == 200


def test_a_polarity_that_did_not_show_is_asked_and_answered(
    client: TestClient, job: int, tmp_path: Path
) -> None:
    rate = 16000
    phase = np.arange(20 * rate) / rate * 10.0 % 1.0
    wave = np.where(phase < 0.42, -0.29, 0.21) + 0.002 * np.random.default_rng(1).standard_normal(phase.size)
    soundfile.write(tmp_path / "square.wav", wave.astype(np.float32), rate)
    with open(tmp_path / "square.wav", "rb") as file:
        page = client.post(f"/jobs/{job}/files", files=[("files", ("square.wav", file))]).text
    assert "low is energized: 25.2 deg" in page
    assert "high is energized: 34.8 deg" in page
    assert "once the polarity is known" in client.get(f"/jobs/{job}/sound/1").text
    assert client.post(f"/jobs/{job}/sound/1", data={"polarity": "sideways"}).status_code == 422
    answered = client.post(f"/jobs/{job}/sound/1", data={"polarity": "reversed"}).text
    assert "Read again" in answered
    assert "34.8 deg" in answered
    assert "Which way up" not in answered
