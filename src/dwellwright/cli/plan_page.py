"""Printing a sequence of steps."""

from __future__ import annotations

from dwellwright.cli.render import print_table, say
from dwellwright.service.plan_lines import PlanLine, plan_lines
from dwellwright.service.plans import Plan


def print_plan(plan: Plan) -> None:
    """The sequence, and the next step at length."""
    lines = plan_lines(plan)
    rows = [(str(one.number), one.key, one.verdict, one.reading, one.wanted, one.advice) for one in lines]
    title = f"Job {plan.job}, {plan.phase.value} sequence"
    print_table(title, (">", "step", "stands", ">reads", ">wanted", "what to do"), rows)
    coming = next((line for line in lines if plan.next and line.key == plan.next.plan.key), None)
    if coming is None:
        say("Every step is in.")
        return
    _print_step(coming)
    say(f"About {plan.minutes_left:.0f} min left in this sequence.")


def _print_step(line: PlanLine) -> None:
    say(f"Next: {line.title}", style="bold")
    say(line.why)
    if line.source:
        say(f"  last reading: {line.reading} ({line.source})")
    for number, words in enumerate(line.instructions, start=1):
        say(f"  {number}. {words}")
    for words in line.cautions:
        say(f"  ! {words}", style="yellow")
    if line.advice:
        say(f"  -> {line.advice}", style="bold")
