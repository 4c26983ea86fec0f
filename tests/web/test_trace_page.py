"""A recording looked at closely keeps its extremes exactly, whatever the width of the picture."""

from pathlib import Path

import numpy as np
import pytest
from starlette.testclient import TestClient

from dwellwright.errors import InputFault
from dwellwright.records.shop import Shop
from dwellwright.service import trace_view
from dwellwright.service.column_maps import keep_columns
from dwellwright.service.file_kind import FileKind
from dwellwright.service.jobs import job_view
from dwellwright.service.stretches import recording_of
from dwellwright.service.trace_view import CACHE, CHANNELS, stretch_of, unpacked
from dwellwright.web.charts import Chart, Line, drawn, ticks


def test_every_extreme_of_the_rows_is_in_the_columns(recorded: int, shop: Shop) -> None:
    """Held against a plain loop over the rows of each column."""
    record = recording_of(job_view(shop, recorded), 1, FileKind.TRACE)
    names, table = unpacked(shop, record)
    for begin, end, columns in (
        (None, None, 680),
        (100.0, 200.0, 60),
        (300.0, 301.0, 680),
        (-50.0, 5000.0, 51),
    ):
        found = stretch_of(shop, record, begin, end, columns)
        inside = (table[0] >= found.begin) & (table[0] <= found.end)
        for one in found.channels:
            shown = CHANNELS[one.name]
            rows = table[names.index(one.name), inside] * shown.factor + shown.offset
            assert np.nanmin(one.low) <= np.nanmin(rows)
            assert np.nanmax(one.high) >= np.nanmax(rows)
            everything = table[names.index(one.name)] * shown.factor + shown.offset
            assert np.isin(np.round(one.low, 9), np.round(everything, 9)).all()
        assert found.time.size <= columns
        assert (np.diff(found.time) > 0).all()


def test_a_single_spike_is_never_lost(client: TestClient, job: int, shop: Shop) -> None:
    time = np.arange(20_000) / 10.0
    dwell = np.full(time.size, 30.0)
    dwell[12_345] = 57.5
    rows = "\n".join(f"{t:.1f},700,450,{d:.1f}" for t, d in zip(time, dwell, strict=True))
    content = f"time_s,rpm,o2_mv,dwell_deg\n{rows}\n".encode()
    client.post(f"/jobs/{job}/files", files=[("files", ("log.csv", content))])
    found = stretch_of(shop, recording_of(job_view(shop, job), 1, FileKind.TRACE), None, None, 100)
    duty = next(one for one in found.channels if one.name == "duty")
    assert duty.high.max() == pytest.approx(57.5)


def test_the_unpacked_columns_can_be_thrown_away(client: TestClient, recorded: int, shop: Shop) -> None:
    first = client.get(f"/jobs/{recorded}/trace/1").text
    for path in (shop.folder / CACHE).iterdir():
        path.write_bytes(b"damaged")
    from dwellwright.service import trace_view

    trace_view._OPEN.clear()
    record = recording_of(job_view(shop, recorded), 1, FileKind.TRACE)
    assert unpacked(shop, record)[1].shape[1] > 6000
    assert client.get(f"/jobs/{recorded}/trace/1").text == first


@pytest.mark.parametrize(
    "query",
    ["from=a&to=b", "from=nan&to=inf", "from=1e999", "from=500&to=100", "to=-5", "from=100&to=100.00001"],
)
def test_odd_ends_show_something_sensible(client: TestClient, recorded: int, query: str) -> None:
    answer = client.get(f"/jobs/{recorded}/trace/1/pictures?{query}")
    assert answer.status_code == 200
    assert answer.text.count("<svg") >= 3
    assert "nan" not in answer.text
    assert float(answer.headers["X-From"]) < float(answer.headers["X-To"])


@pytest.mark.parametrize("path", ["trace/2", "trace/99", "trace/x", "trace/1/nothing"])
def test_what_is_no_recording_is_not_there(client: TestClient, recorded: int, path: str) -> None:
    assert client.get(f"/jobs/{recorded}/{path}").status_code == 404


def test_a_recording_that_is_gone_is_said(client: TestClient, recorded: int, shop: Shop) -> None:
    assert client.get(f"/jobs/{recorded}/trace/1").status_code == 200
    trace_view._OPEN.clear()
    for path in (*(shop.folder / "files").glob("??/*"), *(shop.folder / trace_view.CACHE).iterdir()):
        path.unlink()
    client.post("/shop/people", data={"person": "any change"})
    with pytest.raises(InputFault, match="no such file"):
        unpacked(shop, recording_of(job_view(shop, recorded), 1, FileKind.TRACE))
    assert client.get(f"/jobs/{recorded}/trace/1").status_code == 422


@pytest.mark.parametrize(
    ("low", "high", "about", "expected"),
    [
        (0, 60, 4, [0, 20, 40, 60]),
        (-3, 3, 5, [-2, 0, 2]),
        (0.1, 0.4, 4, [0.1, 0.2, 0.3, 0.4]),
        (1, 1, 4, []),
        (0, float("nan"), 3, []),
    ],
)
def test_ticks_are_round(low: float, high: float, about: int, expected: list[float]) -> None:
    assert ticks(low, high, about) == pytest.approx(expected)


def test_a_chart_escapes_its_words_and_lifts_its_pen_over_gaps() -> None:
    line = Line("a<b", "trace", [1.0, float("nan"), 2.0, 3.0])
    text = str(drawn(Chart('<t>"&', 'say "<this>"', [0.0, 1.0, 2.0, 3.0], [line], "x & y")))
    assert "<t>" not in text
    assert "<this>" not in text
    assert "a&lt;b" in text
    assert text.count("M", text.index("c-trace"), text.index("/>", text.index("c-trace"))) == 2


def test_a_flat_chart_has_a_range(tmp_path: Path) -> None:
    assert "nan" not in str(drawn(Chart("t", "w", [0.0, 1.0], [Line("", "trace", [5.0, 5.0])])))


def test_columns_named_later_are_in_the_picture(client: TestClient, job: int, shop: Shop) -> None:
    rows = "\n".join(
        f"{k / 10:.1f},{700 + k % 7},{450 + 300 * (k // 10 % 2)},{30 + k // 10 % 2}" for k in range(900)
    )
    content = f"time_s,rpm,o2_mv,Ch 7\n{rows}\n".encode()
    client.post(f"/jobs/{job}/files", files=[("files", ("log.csv", content))])
    record = recording_of(job_view(shop, job), 1, FileKind.TRACE)
    assert "duty" not in unpacked(shop, record)[0]
    uses = {
        "time": ("time_s", "s"),
        "engine_speed": ("rpm", "rpm"),
        "sensor_voltage": ("o2_mv", "mV"),
        "duty": ("Ch 7", "deg"),
    }
    keep_columns(shop, ("time_s", "rpm", "o2_mv", "Ch 7"), uses, "tester")
    assert "duty" in unpacked(shop, record)[0]
    again = client.post(f"/jobs/{job}/files", files=[("files", ("log.csv", content))]).text
    assert "Read again" in again
