"""Sheets between shops: signed off, taken in as they were, refused when a figure was changed on the way."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from dwellwright.catalogue.sheet_file import archetype_texts
from dwellwright.catalogue.sign_off import MARK, is_changed, sign_offs, unsigned_text
from dwellwright.errors import InputFault
from dwellwright.records.shop import Shop, opened_shop
from dwellwright.service.identification import likeness, sheets_stamped
from dwellwright.service.sheet_exchange import sheet_to_edit, sign_sheet
from dwellwright.service.sheets import import_sheet, named_sheet
from dwellwright.service.shop_profile import save_shop


def real_text() -> str:
    """An archetype made to look like a sheet from a manual."""
    text = archetype_texts()["two-barrel-v6"].replace("invented = true", "invented = false")
    return re.sub(r"invented|INVENTED-6", lambda m: "17059021" if m[0].isupper() else "manual 6-12", text).replace(
        "manual 6-12 = false", "invented = false")  # fmt: skip


@pytest.fixture
def own(shop: Shop, tmp_path: Path) -> str:
    save_shop(shop, "North Bench", [], a4=False)
    path = tmp_path / "mine.toml"
    path.write_text(real_text())
    return import_sheet(shop, path, "t").name


def test_a_signed_sheet_travels_to_another_shop_with_who_and_when(
    shop: Shop, own: str, tmp_path: Path
) -> None:
    signed = sign_sheet(shop, own, "A. Sample", "checked twice")
    file = tmp_path / "for-you.toml"
    file.write_text(
        signed.text.replace("\n", "\r\n"), newline=""
    )  # an editor or a mail that changes line ends
    other = opened_shop(tmp_path / "other")
    stored = import_sheet(other, file, "B")
    assert stored.source.startswith("signed off by A. Sample, North Bench, ")
    [one] = sign_offs(stored.text)
    assert (one.who, one.shop, one.remark, one.whole) == ("A. Sample", "North Bench", "checked twice", True)
    assert stored.sheet == named_sheet(shop, own).sheet
    again = sign_sheet(other, stored.name, "B. Sample")
    assert [(who.who, who.whole) for who in sign_offs(again.text)] == [
        ("A. Sample", True),
        ("B. Sample", True),
    ]
    other.close()


@pytest.mark.parametrize(
    ("old", "new"),
    [("value = 70", "value = 71"), ("A. Sample", "C. Sample"), ("# on: ", "# on:  "), ("manual 6-12", "manual 6-13"),
     (MARK, MARK + " "), ("sha256 of all above: ", "sha256 of all above: 0")],
)  # fmt: skip
def test_a_sheet_changed_after_its_sign_off_is_refused(
    shop: Shop, own: str, tmp_path: Path, old: str, new: str
) -> None:
    signed = sign_sheet(shop, own, "A. Sample")
    assert old in signed.text
    file = tmp_path / "changed.toml"
    file.write_text(signed.text.replace(old, new, 1))
    with pytest.raises(InputFault, match="changed after it was signed off"):
        import_sheet(shop, file, "B")


def test_something_below_the_sign_off_is_not_covered_and_refused(shop: Shop, own: str) -> None:
    signed = sign_sheet(shop, own, "A. Sample")
    assert is_changed(signed.text + 'fuel = "E10"\n')
    assert not is_changed(signed.text + "\n\n")


def test_what_is_worked_at_again_is_signed_by_nobody(shop: Shop, own: str) -> None:
    sign_sheet(shop, own, "A. Sample")
    text = sheet_to_edit(named_sheet(shop, own))
    assert MARK not in text
    assert unsigned_text(text) == text
    assert text.strip() == real_text().strip()


def test_nobody_signs_what_is_invented(shop: Shop, tmp_path: Path) -> None:
    with pytest.raises(InputFault, match="invented sheet is signed off by nobody"):
        sign_sheet(shop, "two-barrel-v6", "A")
    path = tmp_path / "half.toml"
    path.write_text(archetype_texts()["two-barrel-v6"].replace("invented = true", "invented = false"))
    import_sheet(shop, path, "t")
    with pytest.raises(InputFault, match=r"still holds invented figures.*got \d+ of them"):
        sign_sheet(shop, "half", "A")


@pytest.mark.parametrize(("who", "remark"), [(" ", ""), ("A", "x" * 201)])
def test_a_sign_off_needs_a_name(shop: Shop, own: str, who: str, remark: str) -> None:
    with pytest.raises(InputFault, match="needs a name"):
        sign_sheet(shop, own, who, remark)


@pytest.mark.parametrize(
    "stamped", ["17059021", "170-59-021", "l7O59O2I", "1705??21", "USA 17059021 84 K", "17059O2l"]
)
def test_a_worn_stamp_still_finds_its_sheet(shop: Shop, own: str, stamped: str) -> None:
    assert [one.name for one in sheets_stamped(shop, stamped)] == [own]


def test_an_exact_stamp_comes_first_and_another_unit_not_at_all(shop: Shop, own: str, tmp_path: Path) -> None:
    path = tmp_path / "next.toml"
    path.write_text(real_text().replace("17059021", "17059027"))
    import_sheet(shop, path, "t")
    assert [(one.name, one.words) for one in sheets_stamped(shop, "17059027")] == [
        ("next", "every character fits"), (own, "fits but for worn characters")]  # fmt: skip
    assert sheets_stamped(shop, "99887766") == []


@pytest.mark.parametrize("stamped", ["", "ab", "?????", "x" * 81, "- - -"])
def test_too_little_or_too_much_is_refused(shop: Shop, stamped: str) -> None:
    with pytest.raises(InputFault, match="stamp"):
        sheets_stamped(shop, stamped)


def test_likeness_is_one_for_the_same_and_none_for_nothing() -> None:
    assert likeness("ABC123", "ABC123") == 1.0
    assert likeness("ABC123", "") == 0.0
    assert likeness("", "ABC") == 0.0
