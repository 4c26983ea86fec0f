"""Spec sheets: list, look, edit with checking, copy, import and export."""

from __future__ import annotations

import tempfile
from pathlib import Path

from fastapi import APIRouter, Request, Response
from fastapi.concurrency import run_in_threadpool

from dwellwright.errors import InputFault
from dwellwright.service.sheets import (
    check_sheet,
    import_sheet,
    list_sheets,
    named_sheet,
    new_sheet,
    schema_of_sheets,
)
from dwellwright.web.rendering import go_to, page, shop_of, typed_of, who_of

router = APIRouter()
LARGEST_SHEET = 1_000_000
"""Bytes of a typed or imported sheet."""


@router.get("/sheets")
def sheets(request: Request) -> Response:
    """The shop's sheets and the archetypes."""
    return page(request, "sheets.html", {"title": "Spec sheets", "sheets": list_sheets(shop_of(request))})


@router.get("/sheets/schema.json")
def schema() -> dict[str, object]:
    """The JSON Schema of a sheet."""
    return schema_of_sheets()


@router.get("/sheets/new")
def new(request: Request, base: str = "") -> Response:
    """Start a sheet from a copy of an archetype."""
    typed = {"name": "", "text": new_sheet(base or None)}
    return page(request, "sheet_edit.html", {"title": "A new spec sheet", "typed": typed, "findings": []})


@router.get("/sheets/{name}")
def sheet(request: Request, name: str) -> Response:
    """One sheet: settings, geometry, criteria."""
    found = named_sheet(shop_of(request), name)
    own = any(line.name == name and line.version for line in list_sheets(shop_of(request)))
    return page(
        request, "sheet.html", {"title": found.sheet.title, "found": found, "sheet": found.sheet, "own": own}
    )


@router.get("/sheets/{name}/file")
def sheet_file(request: Request, name: str) -> Response:
    """The sheet as a TOML file."""
    found = named_sheet(shop_of(request), name)
    headers = {"Content-Disposition": f'attachment; filename="{found.name}.toml"'}
    return Response(found.text, media_type="application/toml", headers=headers)


@router.get("/sheets/{name}/edit")
def edit(request: Request, name: str) -> Response:
    """Edit a sheet, or a copy of an archetype under a name of its own."""
    shop = shop_of(request)
    own = any(line.name == name and line.version for line in list_sheets(shop))
    typed = {"name": name if own else "", "text": named_sheet(shop, name).text}
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
            found = check_sheet(path).findings
        except InputFault as fault:
            return [{"line": 0, "key": "sheet", "message": fault.what}]
    return [{"line": one.line, "key": one.key, "message": one.message} for one in found]


@router.post("/sheets")
async def save(request: Request) -> Response:
    """Save a sheet, or say line by line what is wrong and keep the text."""
    async with request.form() as form:
        typed = {name: value for name, value in form.items() if isinstance(value, str)}
        upload = form.get("file")
        if upload is not None and not isinstance(upload, str) and upload.filename:
            raw = await upload.read(LARGEST_SHEET + 1)
            typed["text"] = raw.decode("utf-8", errors="replace")
            typed["name"] = typed.get("name") or Path(upload.filename.replace("\\", "/")).stem
    return await run_in_threadpool(_saved, request, typed)


def _saved(request: Request, typed: dict[str, str]) -> Response:
    findings = _findings(typed.get("text", ""))
    fault = ""
    if not findings:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "typed.toml"
            path.write_text(typed["text"], encoding="utf-8")
            try:
                stored = import_sheet(
                    shop_of(request), path, who_of(request), typed.get("name", "").strip() or "-"
                )
                return go_to(f"/sheets/{stored.name}")
            except InputFault as refused:
                fault = str(refused)
    values = {"title": "Edit a spec sheet", "typed": typed, "findings": findings, "fault": fault}
    return page(request, "sheet_edit.html", values, status=422)
