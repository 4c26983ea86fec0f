"""Giving a sheet to another shop: signed off, with its sources, as a file of its own."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date

from dwellwright.catalogue.sign_off import SignOff, is_changed, sign_offs, signed_text, unsigned_text
from dwellwright.errors import InputFault
from dwellwright.records.engine import writing
from dwellwright.records.sheets import StoredSheet, store_sheet
from dwellwright.records.shop import Shop
from dwellwright.service.sheets import SHIPPED, NamedSheet, named_sheet
from dwellwright.service.shop_profile import shop_profile

LONGEST_REMARK = 200
_INVENTED = re.compile(r"""source\s*=\s*["']\s*invented""", re.IGNORECASE)


@dataclass(frozen=True)
class SignedSheet:
    """A sheet that was signed off: as kept in the shop, and its file."""

    stored: StoredSheet
    text: str


def sign_sheet(shop: Shop, name: str, who: str, remark: str = "") -> SignedSheet:
    """Sign the shop's own sheet off, keep it so, and return it as it is given away.

    Raises:
        InputFault: no such sheet, an archetype, one with invented figures, or one that was changed after a sign-off.
    """
    found = named_sheet(shop, name)
    if found.source == SHIPPED or found.sheet.invented:
        raise InputFault("an invented sheet is signed off by nobody", where=name,
                         remedy="Copy it, type your manual's figures in, and set `invented = false`")  # fmt: skip
    if left := len(_INVENTED.findall(found.text)):
        raise InputFault("the sheet still holds invented figures", where=name, got=f"{left} of them",
                         wanted="the manual's page as the source of each")  # fmt: skip
    refuse_changed(found.text, name)
    if not who.strip() or len(remark) > LONGEST_REMARK:
        raise InputFault("a sign-off needs a name, and at most a short remark", where=name,
                         wanted=f"at most {LONGEST_REMARK} characters")  # fmt: skip
    text = signed_text(found.text, who, shop_profile(shop).name, date.today(), remark)
    with writing(shop.engine) as connection:
        stored = store_sheet(connection, name, text, sign_offs(text)[-1].words, who)
    return SignedSheet(stored, text)


def refuse_changed(text: str, where: str) -> None:
    """Refuse a sheet that was changed after it was signed off.

    Raises:
        InputFault: it was.
    """
    if is_changed(text):
        signed = ", ".join(one.who for one in sign_offs(text)) or "somebody"
        raise InputFault("the sheet was changed after it was signed off", where=where, got=f"signed by {signed}",
                         remedy="Ask for the file again, or take the sign-off out and check every figure")  # fmt: skip


def sheet_to_edit(found: NamedSheet) -> str:
    """A sheet's text to go on working at: without its sign-offs, which no longer hold once it is changed."""
    return unsigned_text(found.text) if sign_offs(found.text) else found.text


def sheet_signatures(text: str) -> list[SignOff]:
    """Who signed a sheet off, first to last."""
    return sign_offs(text)
