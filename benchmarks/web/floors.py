"""Every floor of the workbench in one run, on a furnished demo shop served as a user would serve it.

Usage: python benchmarks/web/floors.py [CHROMIUM]    (the browser is looked for on the search path otherwise)

Eight clients ask each page as quickly as they can, each over a connection of its own, from this very machine: client
and server share its cores. "Anew" asks with a query that was never asked, so that the page is rendered each time;
"again" asks for the page as it stands, as people do who go back and forth between the stations.
"""

from __future__ import annotations

import http.client
import os
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from statistics import median

import numpy as np
import polars as pl
import soundfile
from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from benchmarks.web.wire import RATE, wire  # noqa: E402
from tools.workbench import SHEET, WHO, addresses, furnish  # noqa: E402

from dwellwright.records.stages import Side  # noqa: E402
from dwellwright.service.evidence import add_evidence  # noqa: E402
from dwellwright.service.jobs import job_view  # noqa: E402
from dwellwright.service.shop import open_shop  # noqa: E402
from dwellwright.service.trace_view import stretch_of, unpacked  # noqa: E402
from dwellwright.web.app import build_app  # noqa: E402

CLIENTS, ASKED = 8, 20
POINTS = 1_000_000
PORT = 8399
DUTY = 0.4375
FLAGS = ["--headless=new", "--no-sandbox", "--disable-gpu", "--use-fake-ui-for-media-stream",
         "--use-fake-device-for-media-stream", "--disable-background-networking"]  # fmt: skip


@dataclass(frozen=True)
class Row:
    """One floor: what was measured and what it is held to; `at_least` where more is better."""

    name: str
    value: float
    floor: float
    unit: str
    at_least: bool = False

    @property
    def ratio(self) -> float:
        """Measured over floor, or floor over measured where more is better: one and less holds it."""
        if self.floor == 0:
            return self.value
        return self.floor / max(self.value, 1e-9) if self.at_least else self.value / self.floor


def long_drive(path: Path) -> None:
    """An invented recording of a million rows, 50 a second, with one dwell that stands out for a single row."""
    rng, now = np.random.default_rng(0), np.arange(POINTS) / 50.0
    phase = ((now % 400) // 100).astype(int)
    swing = np.sin(2 * np.pi * now / 1.3)
    dwell = np.round(30 + 3 * swing + 0.2 * rng.standard_normal(POINTS), 1)
    dwell[POINTS // 3] = 59.0
    pl.DataFrame({
        "time_s": np.round(now, 3), "rpm": np.array([750, 3000, 750, 2200])[phase] + rng.integers(-9, 9, POINTS),
        "map_kpa": np.array([34, 40, 34, 58])[phase], "coolant_c": np.full(POINTS, 88),
        "o2_mv": np.round(450 + 380 * np.sign(swing) + 10 * rng.standard_normal(POINTS), 1), "dwell_deg": dwell,
    }).write_csv(path)  # fmt: skip


def prepared(folder: Path) -> int:
    """A furnished shop with the long drive in job 2; the recording's identity."""
    furnish(folder)
    shop = open_shop(folder)
    with tempfile.TemporaryDirectory() as temporary:
        path = Path(temporary) / "long.csv"
        long_drive(path)
        identity = add_evidence(shop, 2, path, Side.AS_FOUND, WHO).record.id
    shop.close()
    return identity


@contextmanager
def serving(folder: Path, compiled: Path) -> Iterator[tuple[subprocess.Popen[bytes], float]]:
    """The served program and how long its first byte took. [s]"""
    code = "import sys; from dwellwright.cli import main; main()"
    command = [sys.executable, "-c", code, "--shop", str(folder), "serve", "--port", str(PORT)]
    env = {**os.environ, "PYTHONDONTWRITEBYTECODE": "", "PYTHONPYCACHEPREFIX": str(compiled)}
    begin = time.perf_counter()
    process = subprocess.Popen(command, env=env, stdout=subprocess.DEVNULL)
    while True:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{PORT}/") as answer:
                answer.read(1)
            break
        except OSError:
            time.sleep(0.01)
    yield process, time.perf_counter() - begin
    process.terminate()
    process.wait()


def memory(process: subprocess.Popen[bytes]) -> float:
    """Resident memory. [MB]"""
    told = Path(f"/proc/{process.pid}/status").read_text(encoding="utf-8")
    return int(re.findall(r"VmRSS:\s+(\d+)", told)[0]) * 1024 / 1e6


def fetched(connection: http.client.HTTPConnection, path: str) -> tuple[float, bytes, str]:
    """Seconds of one answer, its body and its kind."""
    begin = time.perf_counter()
    connection.request("GET", path)
    answer = connection.getresponse()
    body = answer.read()
    return time.perf_counter() - begin, body, answer.getheader("content-type", "")


def connected() -> http.client.HTTPConnection:
    """A connection of its own."""
    return http.client.HTTPConnection("127.0.0.1", PORT, timeout=120)


def crowd(path: Callable[[int], str], clients: int = CLIENTS, asked: int = ASKED) -> list[float]:
    """Seconds of every answer to so many clients at once, each asking so often; `path` is told a number never used."""
    taken: list[float] = []
    start = threading.Barrier(clients)

    def client(mine: int) -> None:
        connection = connected()
        fetched(connection, "/static/mark.svg")
        start.wait()
        for turn in range(asked):
            taken.append(fetched(connection, path(mine * asked + turn))[0])
        connection.close()

    threads = [threading.Thread(target=client, args=(mine,)) for mine in range(clients)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    return taken


def p95(seconds: list[float]) -> float:
    """The slowest but one in twenty. [ms]"""
    return float(np.percentile(seconds, 95) * 1e3)


def pages_of(folder: Path) -> list[str]:
    """Every address that answers with a whole page."""
    app = build_app(folder)
    known = addresses(app)
    app.state.shop.close()
    connection = connected()
    found = []
    for path in known:
        _, body, kind = fetched(connection, path)
        if kind.startswith("text/html") and body.lstrip().lower().startswith(b"<!doctype"):
            found.append(path)
    return found


def page_rows(pages: list[str]) -> list[Row]:
    """The slowest page, asked again and anew; every page is printed."""
    print(f"\n{'page':34} {'alone':>8} {'again p95':>10} {'anew p95':>10}   ms, {CLIENTS} clients")
    again, anew = {}, {}
    marks = iter(range(10**9))
    for path in pages:
        connection = connected()
        alone = median(fetched(connection, f"{path}?alone={next(marks)}")[0] for _ in range(5))
        again[path] = p95(crowd(lambda _, path=path: path))
        base = next(marks) * 10**6
        fetched(connection, path)
        anew[path] = p95(crowd(lambda turn, path=path, base=base: f"{path}?n={base + turn}", asked=8))
        print(f"{path:34} {1e3 * alone:8.1f} {again[path]:10.1f} {anew[path]:10.1f}")
    print("case.html is a document made to be taken away: its plots are drawn when it is first asked for.")
    del anew["/jobs/1/case.html"]
    worst, fresh = max(again, key=lambda p: again[p]), max(anew, key=lambda p: anew[p])
    return [Row(f"p95 of the slowest page, again ({worst})", again[worst], 60, "ms"),
            Row(f"p95 of the slowest page, anew ({fresh})", anew[fresh], 60, "ms")]  # fmt: skip


def trace_rows(folder: Path, identity: int) -> list[Row]:
    """Opening and zooming a million rows, and whether the extremes are exact."""
    path = f"/jobs/2/trace/{identity}"
    connection = connected()
    first = fetched(connection, path)[0]
    opened = median(fetched(connection, f"{path}?n={turn}")[0] for turn in range(7))
    rng, end = np.random.default_rng(1), POINTS / 50.0
    zooms = []
    for _ in range(40):
        left, right = np.sort(rng.uniform(0.0, end, 2))
        zooms.append(fetched(connection, f"{path}/pictures?from={left:.3f}&to={right:.3f}")[0])
    return [Row("a million rows open, the first time", 1e3 * first, 300, "ms"),
            Row("a million rows open, then", 1e3 * opened, 300, "ms"),
            Row("zoom of a million rows, p95", p95(zooms), 60, "ms"),
            Row("columns whose extremes are not exact", wrong_extremes(folder, identity), 0, "")]  # fmt: skip


def wrong_extremes(folder: Path, identity: int) -> int:
    """Columns of the whole recording and of a stretch whose least or largest is not that of their rows."""
    shop = open_shop(folder)
    record = next(one for one in job_view(shop, 2).evidence if one.id == identity)
    names, table = unpacked(shop, record)
    duty = 60.0 * np.asarray(table[names.index("duty")])
    wrong = 0
    for begin, end in ((None, None), (4000.0, 9000.0)):
        found = stretch_of(shop, record, begin, end, 680)
        shown = next(one for one in found.channels if one.name == "duty")
        rows = (table[0] >= found.begin) & (table[0] <= found.end)
        wrong += int(abs(np.nanmax(shown.high) - duty[rows].max()) > 1e-9)
        wrong += int(abs(np.nanmin(shown.low) - duty[rows].min()) > 1e-9)
        wrong += int(shown.low.size != 680)
    shop.close()
    return wrong


def what_if_rows() -> list[Row]:
    """Redrawing the what-if page's curves and loop for knobs that were never so."""
    connection = connected()
    first = fetched(connection, f"/what-if?sheet={SHEET}&lean_stop=7")[0]
    taken = [fetched(connection, f"/what-if/shown?sheet={SHEET}&lean_stop={k / 7:.4f}&point={point}")[0]
             for k in range(20) for point in ("idle", "3000", "cruise")]  # fmt: skip
    print(f"\nwhat-if, the very first (loads the compiled kernels): {first:.2f} s")
    return [Row("what-if redraw, p95", p95(taken), 100, "ms")]


def browser_rows(chromium: str, pages: list[str]) -> list[Row]:
    """Requests to other machines over every page, and the live meter on a file of known duty."""
    with tempfile.TemporaryDirectory() as temporary, sync_playwright() as playwright:
        sound = Path(temporary) / "wire.wav"
        soundfile.write(sound, wire(DUTY), RATE, subtype="PCM_16")
        flags = [*FLAGS, f"--use-file-for-fake-audio-capture={sound}"]
        browser = playwright.chromium.launch(executable_path=chromium, args=flags)
        page = browser.new_page(viewport={"width": 800, "height": 1280})
        elsewhere: list[str] = []
        own = (f"http://127.0.0.1:{PORT}", "data:", "blob:")
        page.on("request", lambda r: elsewhere.append(r.url) if not r.url.startswith(own) else None)
        for path in pages:
            page.goto(f"http://127.0.0.1:{PORT}{path}")
        rows = [Row(f"requests elsewhere, {len(pages)} pages", len(elsewhere), 0, ""), *meter_rows(page)]
        browser.close()
    return rows


def meter_rows(page: Page) -> list[Row]:
    """Updates a second, and the error of the dwell shown, its median over ten looks."""
    page.goto(f"http://127.0.0.1:{PORT}/meter")
    page.get_by_label("Mean over").select_option("2")
    page.get_by_role("button", name="Listen").click()
    page.wait_for_timeout(4000)
    count = page.locator("#meter-count")
    before, begin = int(count.inner_text()), time.perf_counter()
    errors = []
    for _ in range(10):
        page.wait_for_timeout(500)
        shown = page.locator("#meter-dwell").get_attribute("data-value") or "nan"
        errors.append(abs(float(shown) - 60 * DUTY))
    rate = (int(count.inner_text()) - before) / (time.perf_counter() - begin)
    return [Row("live meter, updates", rate, 5, "per s", at_least=True),
            Row("live meter, error of dwell", median(errors), 0.2, "deg")]  # fmt: skip


def main(chromium: str) -> None:
    """Print every page and the table of floors."""
    rows = []
    with tempfile.TemporaryDirectory() as temporary:
        folder, compiled = Path(temporary) / "shop", Path(temporary) / "compiled"
        identity = prepared(folder)
        with serving(folder, compiled) as (_, first):
            print(f"first byte before Python has compiled anything: {first:.2f} s")
        with serving(folder, compiled) as (process, first):
            rows.append(Row("first byte after `serve`", first, 2, "s"))
            time.sleep(2.0)
            rows.append(Row("idle memory", memory(process), 150, "MB"))
            pages = pages_of(folder)
            rows += trace_rows(folder, identity)
            rows += what_if_rows()
            rows += page_rows(pages)
            print(f"memory after every page: {memory(process):.0f} MB")
            rows += browser_rows(chromium, pages)
    print(f"\n| {'floor':62} | measured | floor | ratio |\n|{'-' * 64}|---|---|---|")
    for row in rows:
        sign = ">=" if row.at_least else "<="
        print(f"| {row.name:62} | {row.value:.3g} {row.unit} | {sign} {row.floor:g} | {row.ratio:.2f} |")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else shutil.which("chromium") or "chromium")
