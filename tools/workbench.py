"""A furnished shop, a served workbench, and every address of it: for tests, benchmarks and pictures.

Addresses come out of the application's own routes, so that no page is forgotten.
"""

from __future__ import annotations

import re
import socket
import tempfile
import threading
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from itertools import product
from pathlib import Path

import uvicorn
from fastapi import FastAPI
from fastapi.routing import APIRoute
from PIL import Image, ImageDraw

from dwellwright.catalogue.car_screws import car_screws
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Side
from dwellwright.service.costs import add_cost, money_of
from dwellwright.service.demo import run_demo
from dwellwright.service.gauge_cards import MadeSizes, enter_card
from dwellwright.service.jobs import job_view, take_in_job
from dwellwright.service.own_instruments import example_description, save_line_instrument
from dwellwright.service.photographs import KIND, add_photograph
from dwellwright.service.responses import add_response
from dwellwright.service.sheets import import_sheet, new_sheet
from dwellwright.service.shop import open_shop
from dwellwright.service.shop_gauges import gauge_for
from dwellwright.service.shop_profile import add_instrument, add_person, save_prices, save_shop
from dwellwright.web.app import PAGES, build_app
from dwellwright.web.stations import STATIONS

WHO, SHEET, OWN_SHEET = "R. Sample", "two-barrel-v6", "own-v6"
PARAMETER = re.compile(r"\{(\w+)(?::\w+)?\}")


def furnish(folder: Path) -> None:
    """An invented shop in which every page has something to show: job 1 is the demonstration, job 2 is under way."""
    shop = open_shop(folder)
    save_shop(shop, "Corner workshop (invented)", ["1 Sample Street", "555 0100"], a4=False)
    save_prices(shop, "$", money_of("85", "hour"))
    add_person(shop, WHO)
    add_instrument(shop, "dial_indicator", "A-17", "2026-03-01", 12.0)
    save_line_instrument(shop, "bench-meter", example_description())
    _own_sheet(shop)
    run_demo(shop, folder)
    _extras(shop)
    words = {
        "owner": "B. Example (invented)",
        "car": "coupe (invented)",
        "complaint": "It idles rough when warm.",
    }
    take_in_job(shop, **words, sheet=SHEET, who=WHO)
    add_response(shop, 2, "enrichment", [30.0, 30.5, 29.8], [41.0, 42.5, 41.2], Side.AS_FOUND, WHO)
    shop.close()


def _own_sheet(shop: Shop) -> None:
    with tempfile.TemporaryDirectory() as temporary:
        path = Path(temporary) / "own.toml"
        path.write_text(new_sheet(SHEET), encoding="utf-8")
        import_sheet(shop, path, WHO, OWN_SHEET)


def _extras(shop: Shop) -> None:
    """A photograph, a part and a gauge of the shop's own, which the demonstration has not."""
    with tempfile.TemporaryDirectory() as temporary:
        path = Path(temporary) / "horn.png"
        drawn = Image.new("RGB", (900, 600), (196, 203, 205))
        ImageDraw.Draw(drawn).ellipse((250, 100, 650, 500), outline=(31, 96, 112), width=30)
        drawn.save(path)
        add_photograph(shop, 1, path, Side.AS_FOUND, WHO, "the air horn, untouched")
    add_cost(shop, 1, "part", "gasket, air horn", "1", "4.50", WHO)
    sheet = job_view(shop, 1).sheet.sheet
    drawn_for = gauge_for(sheet, "lean_stop")
    made = MadeSizes(1e3 * drawn_for.short, 1e3 * drawn_for.long, 0.003, "mm", "micrometer")
    enter_card(shop, sheet, "lean_stop", "L1", made, WHO)


@contextmanager
def served(folder: Path, port: int = 0) -> Iterator[str]:
    """Address of a workbench on that shop folder, gone at the end."""
    if not port:
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
    app = build_app(folder, who="tester")
    settings = uvicorn.Config(
        app, host="127.0.0.1", port=port, log_level="error", timeout_graceful_shutdown=1
    )
    server = uvicorn.Server(settings)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield f"http://127.0.0.1:{port}"
    server.should_exit = True
    thread.join(10)
    app.state.shop.close()


def routes(method: str) -> list[str]:
    """Paths of every route that answers this method, with their parameters in braces."""
    return [route.path for pages in PAGES for route in pages.router.routes
            if isinstance(route, APIRoute) and method in (route.methods or ())]  # fmt: skip


def fillings(app: FastAPI) -> dict[str, Sequence[str]]:
    """What stands for each parameter of an address in a furnished shop; a route's own entry comes before the common."""
    held = job_view(app.state.shop, 1).evidence
    first = {
        kind: next(str(one.id) for one in held if one.kind == kind)
        for kind in ("trace", "waveform", "gas", "gauges", KIND)
    }
    return {
        "number": ["1"], "phase": ["bench", "car"], "key": ["lean_stop"], "form": ["svg", "pdf", "dxf"],
        "/jobs/{number}/{name}": list(STATIONS), "name": [SHEET, OWN_SHEET],
        "/jobs/{number}/screws/{name}": list(car_screws()),
        "/jobs/{number}/bench-sheet/{identity}": [first["gauges"]],
        "/jobs/{number}/sound/{identity}": [first["waveform"]],
        "/jobs/{number}/gas/{identity}": [first["gas"]],
        "/jobs/{number}/sound/{identity}/pictures": [first["waveform"]],
        "/jobs/{number}/trace/{identity}": [first["trace"]],
        "/jobs/{number}/trace/{identity}/pictures": [first["trace"]], "identity": [first[KIND]],
    }  # fmt: skip


def filled(path: str, known: Mapping[str, Sequence[str]]) -> list[str]:
    """A route's path with its parameters filled in, in every way there is.

    Raises:
        KeyError: nobody said what stands for a parameter.
    """
    names = PARAMETER.findall(path)
    choices = [known[path] if path in known and name == names[-1] else known[name] for name in names]
    found = []
    for chosen in product(*choices):
        values = dict(zip(names, chosen, strict=True))
        found.append(PARAMETER.sub(lambda match, values=values: values[match[1]], path))  # type: ignore[misc]
    return found


def addresses(app: FastAPI, method: str = "GET") -> list[str]:
    """Every address of a furnished shop's workbench that answers this method."""
    known = fillings(app)
    return [address for path in routes(method) for address in filled(path, known)]


STATES = (
    "/nix", "/jobs/2/responses", "/jobs/2/evidence", "/jobs/2/causes", "/jobs/2/proof", "/jobs/2/gas",
    "/sheets/identify?stamped=1NVENTED-6", f"/what-if?sheet={SHEET}&lean_stop=much", "/jobs/99/proof",
)  # fmt: skip
"""Addresses at which a page looks otherwise than at its plain one: empty, refused, or missing."""
