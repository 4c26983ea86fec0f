"""Printing a proof."""

from __future__ import annotations

from dwellwright.cli.render import print_table, say
from dwellwright.reports.facts import CriterionLine
from dwellwright.service.proof import JobProof, proof_lines


def print_proof(found: JobProof) -> None:
    """Every criterion with its reading and interval, then what is missing."""
    rows = [_row(line) for line in proof_lines(found)]
    since = f", since the last turn at {found.since:%Y-%m-%d %H:%M} UTC" if found.since else ""
    title = f"Job {found.job}: {found.proof.verdict.value} ({found.side.value}{since})"
    print_table(title, ("criterion", ">wanted", ">read", ">95 % interval", "stands"), rows)
    for words in found.proof.missing:
        say(f"  ! {words}", style="yellow")


def _row(line: CriterionLine) -> tuple[str, ...]:
    return line.title, line.wanted, line.read, line.interval, line.standing.value
