"""Spec sheets: list, look, edit with checking, copy, import and export."""

from __future__ import annotations

import re
import tempfile
from pathlib import Path

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool

from dwellwright.errors import InputFault
from dwellwright.service.identification import sheets_stamped
from dwellwright.service.known_sheets import known_sheet, sheet_lines
from dwellwright.service.sheet_exchange import sheet_signatures, sheet_to_edit, sign_sheet
from dwellwright.service.sheets import (
    SHIPPED,
    check_sheet,
    import_sheet,
    listed_sheet,
    new_sheet,
    schema_of_sheets,
)
from dwellwright.web.forms import Form, form_of, typed_of
from dwellwright.web.rendering import go_to, page, shop_of, who_of
from dwellwright.web.uploads import copied, plain_name

router = APIRouter()
LARGEST_SHEET = 1_000_000
"""Bytes of a typed or imported sheet."""


@router.get("/sheets")
def sheets(request: Request) -> Response:
    """The shop's sheets and the archetypes."""
    return page(request, "sheets.html", {"title": "Spec sheets", "sheets": sheet_lines(shop_of(request))})


@router.get("/sheets/schema.json")
def schema() -> dict[str, object]:
    """The JSON Schema of a sheet."""
    return schema_of_sheets()


@router.get("/sheets/new")
def new(request: Request, base: str = "") -> Response:
    """Start a sheet from a copy of an archetype."""
    typed = {"name": "", "text": new_sheet(base or None)}
    return page(request, "sheet_edit.html", {"title": "A new spec sheet", "typed": typed, "findings": []})


@router.get("/sheets/identify")
def identify(request: Request, stamped: str = "", job: str = "") -> Response:
    """Which sheet belongs to a unit, by what is stamped on it."""
    values: dict[str, object] = {
        "title": "Which unit is it?",
        "typed": {"stamped": stamped, "job": job},
        "found": None,
    }
    if stamped.strip():
        try:
            values["found"] = sheets_stamped(shop_of(request), stamped)
        except InputFault as fault:
            values["fault"] = str(fault)
    return page(request, "sheet_identify.html", values, status=422 if "fault" in values else 200)


@router.post("/sheets/{name}/sign")
async def sign(request: Request, name: str) -> Response:
    """Sign a sheet off and give it out as a file."""
    typed = await typed_of(request)

    def work() -> Response:
        try:
            listed_sheet(shop_of(request), name)
            signed = sign_sheet(shop_of(request), name, typed.get("by", ""), typed.get("remark", ""))
        except InputFault as fault:
            return _sheet_page(request, name, typed, str(fault))
        headers = {"Content-Disposition": f'attachment; filename="{signed.stored.name}-signed.toml"'}
        return Response(signed.text, media_type="application/toml", headers=headers)

    return await run_in_threadpool(work)


@router.get("/sheets/{name}")
def sheet(request: Request, name: str) -> Response:
    """One sheet: settings, geometry, criteria."""
    return _sheet_page(request, name, {})


def _sheet_page(request: Request, name: str, typed: dict[str, str], fault: str = "") -> Response:
    found = listed_sheet(shop_of(request), name)
    shown, own = known_sheet(found.text, found.name), found.source != SHIPPED
    values = {"title": shown.title, "found": found, "sheet": shown, "own": own, "who": who_of(request), "typed": typed,
              "signed": sheet_signatures(found.text), "fault": fault}  # fmt: skip
    return page(request, "sheet.html", values, status=422 if fault else 200)


@router.get("/sheets/{name}/file")
def sheet_file(request: Request, name: str) -> Response:
    """The sheet as a TOML file."""
    found = listed_sheet(shop_of(request), name)
    headers = {"Content-Disposition": f'attachment; filename="{found.name}.toml"'}
    return Response(found.text, media_type="application/toml", headers=headers)


@router.get("/sheets/{name}/edit")
def edit(request: Request, name: str) -> Response:
    """Edit a sheet, or a copy of an archetype under a name of its own."""
    found = listed_sheet(shop_of(request), name)
    typed = {"name": name if found.source != SHIPPED else "", "text": sheet_to_edit(found)}
    return page(request, "sheet_edit.html", {"title": "Edit a spec sheet", "typed": typed, "findings": []})


@router.post("/sheets/check")
async def check(request: Request) -> dict[str, list[dict[str, object]]]:
    """Findings of a text being typed, for checking while it is edited."""
    typed = await typed_of(request)
    findings = await run_in_threadpool(_findings, typed.get("text", ""))
    return {"findings": findings}


def _findings(text: str) -> list[dict[str, object]]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "sheet.toml"
        path.write_text(text, encoding="utf-8")
        try:
            return _findings_of(path)
        except InputFault as fault:
            return [{"line": 0, "key": "sheet", "message": fault.what}]


def _findings_of(path: Path) -> list[dict[str, object]]:
    """What is wrong with a sheet's file, line by line.

    Raises:
        InputFault: it cannot be read at all.
    """
    return [{"line": one.line, "key": one.key, "message": one.message} for one in check_sheet(path).findings]


@router.post("/sheets")
async def save(request: Request) -> Response:
    """Save a sheet, or say line by line what is wrong and keep the text."""
    async with form_of(request) as form:
        return await run_in_threadpool(_saved, request, form)


def _saved(request: Request, form: Form) -> Response:
    typed, findings, fault = form.typed, [], ""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "typed.toml"
        try:
            typed = _text_of(form, path)
            findings = _findings_of(path)
            if not findings:
                stored = import_sheet(shop_of(request), path, who_of(request), typed["name"].strip() or "-")
                return go_to(f"/sheets/{stored.name}", "sheet")
            fault = "The sheet is not saved; what is to be mended stands below, line by line."
        except InputFault as refused:
            fault = str(refused)
    values = {"title": "Edit a spec sheet", "typed": typed, "findings": findings, "fault": fault}
    return page(request, "sheet_edit.html", values, status=422)


def _text_of(form: Form, path: Path) -> dict[str, str]:
    """The sheet that was typed or sent, written to `path`, as the form shows it again.

    Raises:
        InputFault: the file is larger than a sheet may be.
    """
    typed = {"name": "", "text": "", **form.typed}
    if files := form.chosen("file"):
        with tempfile.TemporaryDirectory() as folder:
            raw = copied(files[0], Path(folder), LARGEST_SHEET).read_bytes()
        path.write_bytes(raw)
        named = Path(plain_name(files[0].filename)).stem
        return {
            **typed,
            "text": raw.decode("utf-8", errors="replace"),
            "name": typed["name"] or short_name(named),
        }
    path.write_text(typed["text"].replace("\r\n", "\n"), encoding="utf-8")
    return typed


def short_name(words: str) -> str:
    """A name as sheets have them, out of a file's.

    >>> short_name("my V6, second try")
    'my-V6-second-try'
    """
    return re.sub(r"[^A-Za-z0-9._-]+", "-", words)[:60].strip("-.")
