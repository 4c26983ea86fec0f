"""Time and parts: sums to the last coin, lines taken back, the handover sheet and the table."""

from __future__ import annotations

import csv
from pathlib import Path

import pymupdf
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from dwellwright.errors import InputFault
from dwellwright.records.costs import Cost, CostKind
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Phase, Side
from dwellwright.service.costs import (
    Prices,
    add_cost,
    amount_of,
    cost_sheet,
    costs_csv,
    labor,
    money_of,
    money_text,
    take_back_cost,
)
from dwellwright.service.handover import hand_over, shop_shown
from dwellwright.service.jobs import job_history, job_view
from dwellwright.service.photographs import add_photograph
from dwellwright.service.plans import StepEntry, record_step
from dwellwright.service.shop_profile import save_prices

DOLLARS = Prices("$", 6000)


@pytest.fixture
def priced(shop: Shop, job: int) -> int:
    record_step(shop, job, Phase.BENCH, "choke", StepEntry(passed=True, minutes=25), "t")
    record_step(shop, job, Phase.CAR, "codes", StepEntry(passed=True, minutes=12.5), "t")
    add_cost(shop, job, "part", "gasket, air horn", "2", "4.55", "t")
    add_cost(shop, job, "other", "=shipping", "", "7", "t")
    add_cost(shop, job, "part", "clip, from the drawer", "1", "", "t")
    return job


def test_time_and_parts_add_up_to_the_last_coin(shop: Shop, priced: int) -> None:
    found = cost_sheet(job_view(shop, priced), DOLLARS)
    assert found.minutes == 37.5
    assert [one.amount for one in found.lines] == [
        "$ 9.10",
        "$ 7.00",
        "",
        "$ 37.50",
    ]  # 37.5 min at 60 an hour
    assert found.total == "$ 53.60"


def test_a_line_taken_back_no_longer_counts_and_stays_in_the_history(shop: Shop, priced: int) -> None:
    first = job_view(shop, priced).costs[0].id
    take_back_cost(shop, priced, first, "t")
    assert cost_sheet(job_view(shop, priced), DOLLARS).total == "$ 44.50"
    assert "cost withdrawn" in [one.what for one in job_history(shop, priced)]
    for identity in (first, 0, 999):
        with pytest.raises(InputFault, match="no such line"):
            take_back_cost(shop, priced, identity, "t")


def test_the_table_says_the_same_and_no_cell_is_a_formula(shop: Shop, priced: int) -> None:
    rows = list(csv.reader(costs_csv(job_view(shop, priced), DOLLARS).splitlines()))
    assert rows[-1] == ["total", "", "", "37.5", "", "", "53.60", "$"]
    assert not any(cell.startswith(("=", "+", "@")) for row in rows for cell in row)
    assert ["other", "", "'=shipping", "", "1", "7.00", "7.00", "$"] in rows


def test_the_handover_sheet_names_parts_and_total(shop: Shop, priced: int, tmp_path: Path) -> None:
    save_prices(shop, "$", 6000)
    picture = tmp_path / "throat.jpg"
    Image.new("RGB", (400, 300), (120, 80, 40)).save(picture)
    add_photograph(shop, priced, picture, Side.AS_FOUND, "t", "varnish in the throat")
    made = hand_over(shop, priced, tmp_path, "t", shown=shop_shown(shop))
    with pymupdf.open(made.path) as document:
        text = " ".join(" ".join(page.get_text() for page in document).split())
        pictures = [image for page in document for image in page.get_images()]
    for words in ("gasket, air horn, 2", "$ 9.10", "$ 53.60", "38 min", "varnish in the throat"):
        assert words in text
    assert pictures


@pytest.mark.parametrize("text", ["-1", "1e3", "nan", "1.234", "12 50", "9" * 12, "1,2,3", "£5"])
def test_what_is_no_price_is_refused(text: str) -> None:
    with pytest.raises(InputFault, match="price"):
        money_of(text, "price")


@pytest.mark.parametrize("count", ["0", "-2", "x", "1e9", "99999999", "1.2345"])
def test_what_is_no_count_is_refused(shop: Shop, job: int, count: str) -> None:
    with pytest.raises(InputFault, match="no count"):
        add_cost(shop, job, "part", "jet", count, "1", "t")


@pytest.mark.parametrize(("kind", "words", "said"), [("part", " ", "blank"), ("part", "x" * 201, "too long"),
                                                      ("magic", "x", "no such kind")])  # fmt: skip
def test_other_slips_are_refused(shop: Shop, job: int, kind: str, words: str, said: str) -> None:
    with pytest.raises(InputFault, match=said):
        add_cost(shop, job, kind, words, "1", "1", "t")
    assert not job_view(shop, job).costs


def test_a_long_sign_is_refused(shop: Shop) -> None:
    with pytest.raises(InputFault, match="sign is too long"):
        save_prices(shop, "doubloons", None)


@given(st.integers(1, 10_000_000), st.integers(0, 100_000_000))
def test_an_amount_is_within_half_a_coin_of_the_exact_one(thousandths: int, price: int) -> None:
    amount = amount_of(Cost(CostKind.PART, "x", thousandths, price))
    assert amount is not None
    assert abs(2000 * amount - 2 * thousandths * price) <= 1000


@given(st.integers(0, 10**11))
def test_a_printed_price_is_read_back(coins: int) -> None:
    if coins <= 100_000_000:
        assert money_of(money_text(coins), "price") == coins


def test_time_that_is_not_charged_costs_nothing() -> None:
    assert labor(90, None) is None
    assert labor(0, 6000) is None
