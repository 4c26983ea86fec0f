"""Nothing that can be typed, sent or asked for breaks the workbench: every route, out of the application's own list.

Fields come from the forms of the pages; what is wrong with them comes from here. A route that is added is swept without
a word in this file, unless nobody says what stands for its parameters (tools/workbench.py).
"""

from __future__ import annotations

import io
import re
import struct
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path

import pytest
from httpx2 import Response
from starlette.testclient import TestClient
from tests.web.forms_of_pages import TYPED, PageForm, forms_of
from tools.workbench import PARAMETER, STATES, addresses, furnish, routes

from dwellwright.web import guard, uploads
from dwellwright.web.app import build_app

FORMLESS = {"/sheets/check"}
"""Routes that only a script posts to."""

SOMETIMES = re.compile(r"/sheets/two-barrel-v6/sign|/shop/calibrations/undo|/jobs/1/(sound|gas)/\d+")
"""Addresses whose form stands on a page only in a state that the furnished shop is not in; they are posted to all the
same."""

SLOW = ("/causes", "/handover", "/backup")
"""Routes that work for seconds whatever is typed: swept with fewer values."""

LAST = ("/close",)
"""Routes that end what the others need."""

ODD = (
    "", " ", "nan", "-inf", "1e999", "-1e308", "99999999999999999999999", "0x10", "1/0", "\u0661\u0662", "\u2212\u2212",
    "\x00\x01", "a\x00b", "\u202etxt\ufeff", "\ud83d\ude00".encode("utf-16", "surrogatepass").decode("utf-16"),
    "<script>alert(1)</script>\"'&", "'; drop table jobs; --", "../../etc/passwd", "%00%2e%2e/", "{{ 7*7 }}",
    "x" * 5000, "1 2 3 " * 2000,
)  # fmt: skip
FEW = ("", "nan", "<b>\x00\u2603")
HUGE = "y" * 1_100_000
PATHS = (
    "0",
    "-1",
    "99999999999999999999",
    "x",
    "%00",
    "\u0661",
    "..%2f..%2fetc%2fpasswd",
    "<b>",
    "1.5",
    "z" * 3000,
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    found = tmp_path_factory.mktemp("sweep") / "shop"
    furnish(found)
    return found


@pytest.fixture(scope="module")
def swept(folder: Path) -> Iterator[TestClient]:
    """A furnished shop; an exception inside any page comes out here and fails the test."""
    app = build_app(folder, who="tester")
    with TestClient(app, base_url="http://127.0.0.1", follow_redirects=False) as client:
        yield client
    app.state.shop.close()


@pytest.fixture(scope="module")
def forms(swept: TestClient) -> dict[str, list[PageForm]]:
    """Every form of every page, by where it goes."""
    found: dict[str, list[PageForm]] = {}
    for path in (*addresses(swept.app), *STATES):  # type: ignore[arg-type]
        answer = swept.get(path)
        if answer.headers.get("content-type", "").startswith("text/html"):
            for form in forms_of(answer.text):
                form.action = form.action or path
                found.setdefault(f"{form.method} {form.action.split('?')[0]}", []).append(form)
    return found


def is_polite(answer: Response, what: str) -> None:
    """Answered, and a refusal says what is wrong."""
    assert answer.status_code < 500, what
    if answer.status_code in (413, 422) and answer.headers["content-type"].startswith("text/html"):
        assert "Not done." in answer.text, what


def plain(text: str) -> str:
    return re.sub(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]", "", text)


def is_kept(answer: Response, action: str, name: str, value: str, what: str) -> None:
    """A refused field comes back in its form as it was typed; control characters are left out."""
    same = [one for one in forms_of(answer.text) if one.action.split("?")[0] == action and name in one.kinds]
    assert same, f"refused on a page without the form: {what}"
    held = [one.values.get(name, "").replace("\r\n", "\n").strip("\n") for one in same]
    assert plain(value).strip("\n") in held, f"lost what was typed: {what}"


def posts(client: TestClient) -> list[str]:
    found = addresses(client.app, "POST")  # type: ignore[arg-type]
    return sorted(found, key=lambda path: path.endswith(LAST))


def test_every_posting_route_has_a_form(swept: TestClient, forms: dict[str, list[PageForm]]) -> None:
    missing = {path for path in posts(swept) if f"post {path}" not in forms} - FORMLESS
    assert {path for path in missing if not SOMETIMES.fullmatch(path)} == set()


def test_a_new_route_cannot_be_forgotten() -> None:
    known = {"number", "phase", "key", "form", "name", "identity"}
    assert {
        name for method in ("GET", "POST") for path in routes(method) for name in PARAMETER.findall(path)
    } <= known


def test_odd_words_in_every_field_of_every_form(swept: TestClient, forms: dict[str, list[PageForm]]) -> None:
    sent = 0
    for action in posts(swept):
        known = f"post {action}" in forms
        values = FEW if action.endswith((*SLOW, *LAST)) else ODD
        for form in _unlike(forms.get(f"post {action}", [PageForm(action, "post", {"text": "text"})])):
            for name, kind in form.kinds.items():
                for value in values if kind != "file" else ():
                    what = f"{action} {name}={value[:60]!r}"
                    answer = swept.post(action, data={**form.values, name: value})
                    is_polite(answer, what)
                    if known and answer.status_code == 422 and kind in TYPED and plain(value).strip():
                        is_kept(answer, action, name, value, what)
                    sent += 1
    assert sent > 1000


def _unlike(found: list[PageForm]) -> list[PageForm]:
    """Forms with different fields; many steps share theirs."""
    return list({tuple(sorted(one.kinds.items())): one for one in found}.values())[:2]


def test_the_sweep_sees_what_is_lost_or_broken(swept: TestClient) -> None:
    answer = swept.post(
        "/jobs", data={"owner": "as typed", "car": "", "complaint": "x", "sheet": "two-barrel-v6"}
    )
    is_kept(answer, "/jobs", "owner", "as typed", "the same")
    with pytest.raises(AssertionError, match="lost what was typed"):
        is_kept(answer, "/jobs", "owner", "something else", "another")
    with pytest.raises(AssertionError, match="without the form"):
        is_kept(swept.get("/help"), "/jobs", "owner", "as typed", "elsewhere")
    answer.status_code = 500
    with pytest.raises(AssertionError, match="broken"):
        is_polite(answer, "broken")


def test_a_page_never_reads_a_file_of_this_machine(swept: TestClient, tmp_path: Path) -> None:
    path = tmp_path / "secret.toml"
    path.write_text(swept.get("/sheets/two-barrel-v6/file").text, encoding="utf-8")
    assert swept.get("/what-if", params={"sheet": str(path)}).status_code == 404
    job = {"owner": "a", "car": "b", "complaint": "c", "sheet": str(path)}
    for action in ("/jobs", "/jobs/2/arrival"):
        answer = swept.post(action, data=job)
        assert answer.status_code == 422
        assert "no such spec sheet" in answer.text


def test_missing_doubled_and_huge_fields(swept: TestClient, forms: dict[str, list[PageForm]]) -> None:
    for action in posts(swept):
        if action.endswith((*SLOW, *LAST)):
            continue
        is_polite(swept.post(action), f"{action} empty")
        is_polite(swept.post(action, content=b"\xff\xfe\x00", headers={"content-type": "text/plain"}), action)
        odd = {"content-type": "multipart/form-data"}
        is_polite(swept.post(action, content=b"--x\r\nrest", headers=odd), f"{action} without a boundary")
        many = {f"field-{n}": "1" for n in range(500)}
        is_polite(swept.post(action, data=many), f"{action} many fields")
        for form in _unlike(forms.get(f"post {action}", []))[:1]:
            name = next((one for one, kind in form.kinds.items() if kind in TYPED), "")
            if name:
                is_polite(swept.post(action, data={**form.values, name: HUGE}), f"{action} huge {name}")
                is_polite(
                    swept.post(action, data={**form.values, name: ["1", "\x00"]}), f"{action} twice {name}"
                )
                files = {name: ("typed.bin", b"\x00\xff")}
                rest = {key: value for key, value in form.values.items() if key != name}
                is_polite(
                    swept.post(action, data=rest, files=files), f"{action} a file where {name} is typed"
                )


def bomb() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for number in range(20):
            archive.writestr(f"{'../' * 8}bomb-{number}.csv", b"0" * 2_000_000)
    return out.getvalue()


def picture_bomb() -> bytes:
    """A PNG of 40000 by 40000 points in some kilobytes (chunks after the PNG specification, ISO/IEC 15948)."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 40_000, 40_000, 1, 0, 0, 0, 0)
    rows = zlib.compress(b"\x00" * 5001 * 2000, 9)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def wave_that_lies() -> bytes:
    """A WAV header that promises four gigabytes (RIFF, Microsoft and IBM 1991)."""
    form = struct.pack("<HHIIHH", 1, 1, 48_000, 96_000, 2, 16)
    return (
        b"RIFF\xff\xff\xff\xffWAVEfmt "
        + struct.pack("<I", 16)
        + form
        + b"data\xff\xff\xff\xff"
        + b"\x00" * 200
    )


NAMES = ("../../../outside.csv", "..\\..\\outside.csv", "/etc/outside.csv", "a\x00b.csv", "\u202egpj.csv", "con.csv",
         "." * 300, "n" * 400 + ".csv", " ", "\u2603.toml")  # fmt: skip
CONTENTS = {
    "empty.csv": b"", "header.csv": b"time_s,rpm\n", "nul.csv": b"\x00" * 4096,
    "utf16.csv": "time_s;rpm".encode("utf-16"),
    "wide.csv": b",".join(b"c%d" % n for n in range(20_000)) + b"\n", "long.csv": b"x" * 300_000,
    "nan.csv": b"time_s,dwell_deg\n" + b"nan,inf\n" * 50, "quote.csv": b'time_s,rpm\n"1,2\n', "bomb.zip": bomb(),
    "bomb.csv": bomb(), "bomb.png": picture_bomb(), "bomb.jpg": picture_bomb(), "lies.wav": wave_that_lies(),
    "lies.flac": b"fLaC" + b"\xff" * 200, "lies.parquet": b"PAR1" + b"\xff" * 64 + b"PAR1", "lies.mf4": b"MDF     4.10",
    "page.html": b"<script>alert(1)</script>", "sheet.toml": b"a = [" * 3000, "photo.jpg": b"\xff\xd8\xff\xe0rest",
    "gas.csv": b"condition,co_pct\nidle,-5\n", "program.exe": b"MZ" + b"\x00" * 100,
}  # fmt: skip
"""Files as people and worse send them, by the name they come with."""


def test_odd_files_to_every_upload(swept: TestClient, forms: dict[str, list[PageForm]], folder: Path) -> None:
    around = sorted(folder.parent.parent.rglob("outside*"))
    uploading = [one for found in forms.values() for one in _unlike(found) if "file" in one.kinds.values()]
    assert len({one.action for one in uploading}) >= 5
    for form in uploading:
        name = next(one for one, kind in form.kinds.items() if kind == "file")
        rest = {key: value for key, value in form.values.items() if form.kinds[key] != "file"}
        for odd in NAMES:
            is_polite(_sent(swept, form, name, rest, odd, b"no,evidence\n1,2\n"), f"{form.action} {odd!r}")
        for odd, content in CONTENTS.items():
            answer = _sent(swept, form, name, rest, odd, content)
            is_polite(answer, f"{form.action} {odd}")
            if form.action.endswith("/columns") and answer.status_code == 200:
                continue  # any readable header can have its columns named
            assert answer.status_code == 422, f"{form.action} took {odd}"
            for typed in (key for key, kind in form.kinds.items() if kind in TYPED and rest.get(key)):
                is_kept(answer, form.action, typed, rest[typed], f"{form.action} {odd}")
    assert sorted(folder.parent.parent.rglob("outside*")) == around
    assert not Path("/etc/outside.csv").exists()


def _sent(
    client: TestClient, form: PageForm, name: str, rest: dict[str, str], file_name: str, content: bytes
) -> Response:
    return client.post(
        form.action, data=rest, files=[(name, (file_name, content, "application/octet-stream"))]
    )


def test_files_that_are_too_large_are_refused_in_place(
    swept: TestClient, forms: dict[str, list[PageForm]], monkeypatch: pytest.MonkeyPatch
) -> None:
    real = uploads.copied
    for module in ("evidence_pages", "photo_pages", "column_pages", "gauge_tool_pages", "sheet_pages"):
        target = f"dwellwright.web.{module}.copied"
        if module == "evidence_pages":
            monkeypatch.setattr(uploads, "LARGEST_RECORDING", 1000)
        else:
            monkeypatch.setattr(target, lambda upload, place, most: real(upload, place, 1000))
    for form in (one for found in forms.values() for one in _unlike(found) if "file" in one.kinds.values()):
        name = next(one for one, kind in form.kinds.items() if kind == "file")
        rest = {key: value for key, value in form.values.items() if form.kinds[key] != "file"}
        answer = _sent(swept, form, name, rest, "long.csv", b"time_s,rpm\n" + b"1,2\n" * 1000)
        assert answer.status_code == 422, form.action
        assert "the file is too large" in answer.text
    assert guard.LARGEST_BODY > uploads.LARGEST_PHOTOGRAPH


def test_odd_addresses(swept: TestClient, forms: dict[str, list[PageForm]]) -> None:
    for method in ("GET", "POST"):
        for path in (one for one in routes(method) if "{" in one):
            for odd in PATHS:
                for name in PARAMETER.findall(path):
                    filled = PARAMETER.sub(lambda m, name=name, odd=odd: odd if m[1] == name else "1", path)
                    answer = swept.request(method, filled)
                    assert answer.status_code < 500, f"{method} {filled[:80]}"
    fields = {path: set() for path in routes("GET")}
    for key, found in forms.items():
        if key.startswith("get "):
            for form in found:
                fields.setdefault(form.action.split("?")[0], set()).update(form.kinds)
    for path in (*addresses(swept.app), *STATES):  # type: ignore[arg-type]
        names = fields.get(path, set()) | {
            "from",
            "to",
            "base",
            "stamped",
            "job",
            "photo",
            "link",
            "sheet",
            "done",
        }
        for odd in FEW if "case" in path or path.endswith((".zip", ".pdf")) else ODD[2:14:2]:
            answer = swept.get(path.split("?")[0], params=dict.fromkeys(names, odd))
            is_polite(answer, f"{path} {odd[:40]!r}")


def test_after_all_of_that_every_page_still_answers(swept: TestClient) -> None:
    for path in addresses(swept.app):  # type: ignore[arg-type]
        answer = swept.get(path)
        assert answer.status_code in (200, 303), path
        if answer.headers.get("content-type", "").startswith("text/html"):
            assert "<script>alert" not in answer.text, path
