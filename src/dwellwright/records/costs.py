"""Parts fitted and other priced lines of a job. None is deleted: one taken back is marked so."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any

from sqlalchemy import Connection, Row, select, update

from dwellwright.errors import InputFault
from dwellwright.records.audit import now, record_change
from dwellwright.records.engine import added_row
from dwellwright.records.tables import costs


class CostKind(StrEnum):
    """What a line is."""

    PART = "part"
    OTHER = "other"


@dataclass(frozen=True)
class Cost:
    """One line: how many, in thousandths of one; price of one in the smallest coin, None where it is not charged."""

    kind: CostKind
    words: str
    thousandths: int
    price: int | None
    step: str = ""


@dataclass(frozen=True)
class CostRecord:
    """A line as it is kept."""

    id: int
    cost: Cost
    who: str
    added: datetime


def _record(row: Row[Any]) -> CostRecord:
    cost = Cost(CostKind(row.kind), row.words, row.thousandths, row.price, row.step)
    return CostRecord(row.id, cost, row.who, row.added)


def costs_of(connection: Connection, job: int) -> list[CostRecord]:
    """The lines of a job that stand, in the order they came."""
    query = select(costs).where((costs.c.job == job) & costs.c.withdrawn.is_(None)).order_by(costs.c.id)
    return [_record(row) for row in connection.execute(query)]


def store_cost(connection: Connection, job: int, cost: Cost, who: str) -> int:
    """Add a line and return its identity."""
    row = {"job": job, "kind": cost.kind.value, "words": cost.words, "thousandths": cost.thousandths,
           "price": cost.price, "step": cost.step, "who": who, "added": now()}  # fmt: skip
    identity = added_row(connection, costs, row)
    after = {"words": cost.words, "thousandths": cost.thousandths, "price": cost.price}
    record_change(connection, who, "cost added", job=job, after=after)
    return identity


def withdraw_cost(connection: Connection, job: int, identity: int, who: str) -> None:
    """Take a line back.

    Raises:
        InputFault: the job has no such line, or it was taken back already.
    """
    found = [one for one in costs_of(connection, job) if one.id == identity]
    if not found:
        raise InputFault("no such line", where=f"job {job}", got=str(identity))
    connection.execute(update(costs).where(costs.c.id == identity).values(withdrawn=now()))
    record_change(connection, who, "cost withdrawn", job=job, before={"words": found[0].cost.words})
