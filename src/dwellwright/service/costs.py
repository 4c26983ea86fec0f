"""Time and parts of a job: minutes of every step, parts fitted, their prices and the total. No accounting."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from dwellwright.errors import InputFault
from dwellwright.records import costs, jobs
from dwellwright.records.costs import Cost, CostKind
from dwellwright.records.engine import writing
from dwellwright.records.shop import Shop
from dwellwright.service.jobs import JobView
from dwellwright.service.plans import step_of
from dwellwright.service.shop_profile import ShopProfile

LONGEST_WORDS = 200
DEAREST, MOST = 100_000_000, 10_000_000
"""Largest price of one in the smallest coin, and largest count in thousandths: beyond it is a slip of the finger."""

_MONEY = re.compile(r"[0-9]{1,9}([.,][0-9]{1,2})?")
_COUNT = re.compile(r"[0-9]{1,6}([.,][0-9]{1,3})?")


@dataclass(frozen=True)
class Prices:
    """How prices are written: the currency's sign, and what an hour costs in the smallest coin, if time is charged."""

    currency: str = ""
    hourly: int | None = None


NOT_CHARGED = Prices()
"""Where the shop has said nothing of prices."""


@dataclass(frozen=True)
class StepTime:
    """Time of one step done: its place, its title, the minutes it took, and those it usually takes. [min]"""

    where: str
    title: str
    minutes: float
    usual: float


@dataclass(frozen=True)
class PricedLine:
    """One line as shown; `price` and `amount` are empty where it is not charged, `id` 0 where it is worked out."""

    id: int
    kind: str
    words: str
    count: str
    price: str
    amount: str


@dataclass(frozen=True)
class CostSheet:
    """Time and parts of a job; `total` is empty where nothing has a price."""

    steps: tuple[StepTime, ...]
    lines: tuple[PricedLine, ...]
    minutes: float
    total: str


def prices_of(profile: ShopProfile) -> Prices:
    """How the shop writes prices."""
    return Prices(profile.currency, profile.hourly)


def money_of(text: str, where: str) -> int | None:
    """A price as typed, in the smallest coin; None where nothing was typed.

    Raises:
        InputFault: no price, or one that cannot be.

    >>> money_of("12,5", "price"), money_of("0.07", "price"), money_of("", "price")
    (1250, 7, None)
    """
    plain = text.strip()
    if not plain:
        return None
    if not _MONEY.fullmatch(plain):
        raise InputFault(
            "this is no price", where=where, got=repr(plain[:40]), wanted="a number such as 12.50"
        )
    coins = int(Decimal(plain.replace(",", ".")) * 100)
    if coins > DEAREST:
        raise InputFault("the price cannot be", where=where, got=plain, wanted=f"at most {DEAREST // 100}")
    return coins


def count_of(text: str) -> int:
    """How many, as typed, in thousandths; one where nothing was typed.

    Raises:
        InputFault: no number above zero, or far too many.

    >>> count_of("2"), count_of("0,25"), count_of("")
    (2000, 250, 1000)
    """
    plain = text.strip() or "1"
    thousandths = int(Decimal(plain.replace(",", ".")) * 1000) if _COUNT.fullmatch(plain) else 0
    if not 0 < thousandths <= MOST:
        raise InputFault(
            "this is no count", where="how many", got=repr(plain[:40]), wanted="a number such as 2 or 0.5"
        )
    return thousandths


def add_cost(
    shop: Shop, number: int, kind: str, words: str, count: str, price: str, who: str, step: str = ""
) -> int:
    """Add a part or another line to a job, as typed, and return its identity.

    Raises:
        InputFault: no such job, no words, or a count or a price that cannot be.
    """
    told = " ".join(words.split())
    if not told:
        raise InputFault("the field is blank", where="what it is", wanted="a few plain words")
    if len(told) > LONGEST_WORDS:
        raise InputFault("the words are too long", where="what it is", wanted=f"at most {LONGEST_WORDS} characters",
                         got=str(len(told)))  # fmt: skip
    if kind not in {one.value for one in CostKind}:
        raise InputFault("no such kind of line", got=repr(kind[:40]), wanted=", ".join(CostKind))
    cost = Cost(CostKind(kind), told, count_of(count), money_of(price, "price of one"), step[:60])
    with writing(shop.engine) as connection:
        jobs.job_record(connection, number)
        return costs.store_cost(connection, number, cost, who)


def take_back_cost(shop: Shop, number: int, identity: int, who: str) -> None:
    """Take a line back; it stays in the history.

    Raises:
        InputFault: no such job or line.
    """
    with writing(shop.engine) as connection:
        jobs.job_record(connection, number)
        costs.withdraw_cost(connection, number, identity, who)


def money_text(coins: int, currency: str = "") -> str:
    """A price as printed.

    >>> money_text(123450, "$")
    '$ 1234.50'
    """
    return f"{currency} {coins // 100}.{coins % 100:02d}".strip()


def amount_of(cost: Cost) -> int | None:
    """What a line comes to, in the smallest coin, halves rounded up; None where it is not charged."""
    if cost.price is None:
        return None
    exact = Decimal(cost.thousandths) * cost.price / 1000
    return int(exact.quantize(Decimal(1), rounding=ROUND_HALF_UP))


def labor(minutes: float, hourly: int | None) -> int | None:
    """What the time comes to, in the smallest coin; None where time is not charged or none was spent.

    >>> labor(90.0, 6000)
    9000
    """
    if hourly is None or not minutes:
        return None
    return int((Decimal(str(minutes)) * hourly / 60).quantize(Decimal(1), rounding=ROUND_HALF_UP))


def cost_sheet(view: JobView, prices: Prices) -> CostSheet:
    """Time and parts of a job that was read already."""
    steps = tuple(
        StepTime(one.done.phase.value, plan.title, one.done.minutes, plan.minutes)
        for one in view.steps
        if one.done.minutes and (plan := step_of(one.done.phase, one.done.key))
    )
    minutes = sum(one.minutes for one in steps)
    lines = [_line(one, prices.currency) for one in view.costs]
    sums = [amount for one in view.costs if (amount := amount_of(one.cost)) is not None]
    time = labor(minutes, prices.hourly)
    if time is not None and prices.hourly is not None:
        hour = money_text(prices.hourly, prices.currency)
        lines.append(
            PricedLine(
                0,
                "work",
                f"{minutes:g} min of work",
                f"{minutes / 60:.2f}",
                hour,
                money_text(time, prices.currency),
            )
        )
        sums.append(time)
    return CostSheet(steps, tuple(lines), minutes, money_text(sum(sums), prices.currency) if sums else "")


def _line(record: costs.CostRecord, currency: str) -> PricedLine:
    cost, amount = record.cost, amount_of(record.cost)
    count = f"{Decimal(cost.thousandths) / 1000:f}".rstrip("0").rstrip(".") if cost.thousandths % 1000 else str(
        cost.thousandths // 1000)  # fmt: skip
    price = "" if cost.price is None else money_text(cost.price, currency)
    return PricedLine(record.id, cost.kind.value, cost.words, count, price,
                      "" if amount is None else money_text(amount, currency))  # fmt: skip


def costs_csv(view: JobView, prices: Prices) -> str:
    """Time and parts as CSV: a line for every step with its minutes, then every priced line, then the total."""
    found = cost_sheet(view, prices)
    out = io.StringIO()
    table = csv.writer(out)
    table.writerow(("kind", "where", "what", "minutes", "count", "price", "amount", "currency"))
    for one in found.steps:
        table.writerow(("step", one.where, _plain(one.title), f"{one.minutes:g}", "", "", "", ""))
    bare = cost_sheet(view, Prices("", prices.hourly))
    for line in bare.lines:
        table.writerow(
            (line.kind, "", _plain(line.words), "", line.count, line.price, line.amount, prices.currency)
        )
    table.writerow(("total", "", "", f"{found.minutes:g}", "", "", bare.total, prices.currency))
    return out.getvalue()


def _plain(text: str) -> str:
    """A cell that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in "=+-@\t\r" else text
