"""Spec sheets by their text, their name or their job."""

from __future__ import annotations

from dwellwright.catalogue.sheet import SpecSheet
from dwellwright.catalogue.sheet_file import archetype_texts, parsed_sheet
from dwellwright.records.engine import reading
from dwellwright.records.sheets import newest_sheets
from dwellwright.records.shop import Shop
from dwellwright.service.jobs import job_view
from dwellwright.service.sheets import SHIPPED, SheetLine, named_sheet


def known_sheet(text: str, name: str) -> SpecSheet:
    """The sheet of that text.

    Raises:
        InputFault: the text is not a sheet.
    """
    return parsed_sheet(text, name)


def sheet_named(shop: Shop, name: str) -> SpecSheet:
    """A sheet by the name it has in the shop, or by an archetype's name.

    Raises:
        InputFault: there is none.
    """
    found = named_sheet(shop, name)
    return known_sheet(found.text, found.name)


def sheet_or_job(shop: Shop, what: str) -> SpecSheet:
    """The sheet of a job by its number, else a sheet by its name, an archetype's name, or its file.

    Raises:
        InputFault: there is none.
    """
    if what.isascii() and what.isdigit():
        return job_view(shop, int(what)).sheet.sheet
    return sheet_named(shop, what)


def sheet_lines(shop: Shop) -> list[SheetLine]:
    """The shop's sheets, then those archetypes shipped with the tool that no sheet of the shop goes before."""
    with reading(shop.engine) as connection:
        stored = newest_sheets(connection)
    lines = [SheetLine(one.name, one.version, one.title, one.source, known_sheet(one.text, one.name).invented)
             for one in stored]  # fmt: skip
    own = {one.name for one in stored}
    shipped = ((name, known_sheet(text, name)) for name, text in archetype_texts().items() if name not in own)
    return lines + [SheetLine(name, 0, sheet.title, SHIPPED, sheet.invented) for name, sheet in shipped]
