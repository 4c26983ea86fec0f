"""Pages answered from memory are the same pages, and never older than the records."""

import asyncio
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from starlette.testclient import TestClient

from dwellwright.records.shop import Shop
from dwellwright.records.stages import Side
from dwellwright.service.readings import add_reading
from dwellwright.service.revision import Revision
from dwellwright.service.shop import open_shop
from dwellwright.web import rendering
from dwellwright.web.kept_pages import KeptPages


def test_a_page_is_rendered_once_and_anew_after_any_change(
    client: TestClient, job: int, shop: Shop, monkeypatch
) -> None:  # type: ignore[no-untyped-def]
    rendered: list[str] = []
    real = rendering.TEMPLATES.TemplateResponse

    def counting(request, name, *args, **kwargs):  # type: ignore[no-untyped-def]
        rendered.append(name)
        return real(request, name, *args, **kwargs)

    monkeypatch.setattr(rendering.TEMPLATES, "TemplateResponse", counting)
    first = client.get(f"/jobs/{job}/evidence")
    second = client.get(f"/jobs/{job}/evidence")
    assert first.text == second.text
    assert first.headers == second.headers
    assert rendered == ["job_evidence.html"]
    add_reading(shop, job, "dwell", [31.0], "deg", Side.AS_FOUND, "another program")
    assert "31.0 deg" in client.get(f"/jobs/{job}/evidence").text


def test_a_change_by_another_process_is_seen(client: TestClient, job: int, shop: Shop) -> None:
    assert "33.0 deg" not in client.get(f"/jobs/{job}/evidence").text
    other = open_shop(shop.folder)
    add_reading(other, job, "dwell", [33.0], "deg", Side.AS_FOUND, "the command line")
    other.close()
    assert "33.0 deg" in client.get(f"/jobs/{job}/evidence").text


def test_looks_and_people_have_pages_of_their_own(client: TestClient, job: int) -> None:
    plain = client.get("/").text
    client.post("/sight", data={"sight": "dark"})
    assert 'data-sight="dark"' in client.get("/").text
    client.cookies.clear()
    assert client.get("/").text == plain


def test_a_refusal_is_never_kept(client: TestClient, job: int) -> None:
    assert client.get("/jobs/2/arrival").status_code == 404
    client.post("/jobs", data={"owner": "B", "car": "b", "complaint": "b", "sheet": "two-barrel-v6"})
    assert client.get("/jobs/2/arrival").status_code == 200


def test_the_mark_moves_with_every_change(tmp_path: Path) -> None:
    shop = open_shop(tmp_path / "shop")
    revision = Revision(shop)
    before = revision()
    assert revision() == before
    from dwellwright.service.jobs import take_in_job
    from dwellwright.service.shop_profile import add_person

    take_in_job(shop, owner="a", car="b", complaint="c", sheet="two-barrel-v6", who="w")
    middle = revision()
    add_person(shop, "R. Example")
    assert len({before, middle, revision()}) == 3
    revision.close()
    shop.close()


def test_who_asks_for_a_page_that_is_being_rendered_waits_for_it() -> None:
    rendered: list[int] = []

    async def app(scope, receive, send) -> None:  # type: ignore[no-untyped-def]
        rendered.append(1)
        await asyncio.sleep(0.02)
        await send({"type": "http.response.start", "status": 200, "headers": []})
        await send({"type": "http.response.body", "body": b"page"})

    async def asked(kept: KeptPages) -> bytes:
        got: list[bytes] = []

        async def send(message) -> None:  # type: ignore[no-untyped-def]
            got.append(message.get("body", b""))

        scope = {"type": "http", "method": "GET", "path": "/", "query_string": b"", "headers": []}
        await kept(scope, None, send)  # type: ignore[arg-type]
        return b"".join(got)

    async def together() -> list[bytes]:
        kept = KeptPages(app, lambda: 1)
        return await asyncio.gather(*(asked(kept) for _ in range(8)))

    with ThreadPoolExecutor(
        1
    ) as own:  # a browser test before this one leaves its loop running in this thread
        assert own.submit(lambda: asyncio.run(together())).result() == [b"page"] * 8
    assert rendered == [1]
