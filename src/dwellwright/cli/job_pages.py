"""Printing a job and its history."""

from __future__ import annotations

from collections.abc import Iterable

from dwellwright.cli.file_page import print_readings
from dwellwright.cli.render import print_table, say
from dwellwright.records.audit import AuditEntry
from dwellwright.records.stages import Side
from dwellwright.service.jobs import JobView


def print_job(view: JobView) -> None:
    """One job on one page."""
    job = view.job
    say(f"Job {job.number}: {job.car}", style="bold")
    say(f"Owner: {job.owner}. Since {job.created:%Y-%m-%d}. Stage: {job.stage.value}.")
    say(f"Complaint: {job.complaint}")
    say(f"Sheet: {view.sheet.title} ({view.sheet.name}, version {view.sheet.version})")
    if view.evidence:
        rows = [(one.file.name, one.kind, one.side.value, f"{one.file.size / 1024:.0f} kB",
                 f"{one.added:%Y-%m-%d %H:%M}") for one in view.evidence]  # fmt: skip
        print_table("Evidence", ("file", "kind", "side", ">size", "added (UTC)"), rows)
    for side in Side:
        if seen := view.observations(side):
            say(f"Readings, {side.value}", style="bold")
            print_readings(seen)
    if view.steps:
        done = [(one.done.phase.value, one.done.key, _number(one.done.turns, "turns"), _number(one.done.minutes, "min"),
                 one.who, one.done.note) for one in view.steps]  # fmt: skip
        print_table("Steps done", ("where", "step", ">turned", ">time", "by", "note"), done)
    for paper in view.documents:
        say(f"{paper.kind}: {paper.name}, {paper.made:%Y-%m-%d %H:%M} UTC")


def print_history(entries: Iterable[AuditEntry]) -> None:
    """The audit trail."""
    rows = [(f"{one.time:%Y-%m-%d %H:%M:%S}", one.who, one.what, _facts(one.before), _facts(one.after))
            for one in entries]  # fmt: skip
    print_table("History", ("time (UTC)", "who", "what", "before", "after"), rows)


def _facts(facts: object) -> str:
    return ", ".join(f"{key} {value}" for key, value in facts.items()) if isinstance(facts, dict) else ""


def _number(value: float | None, unit: str) -> str:
    return "" if value is None else f"{value:+.3g} {unit}" if unit == "turns" else f"{value:.3g} {unit}"
