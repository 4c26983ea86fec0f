"""The demonstration's story, told as its stations are passed."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from dwellwright.cli.proof_page import print_proof
from dwellwright.cli.render import console, print_table, say
from dwellwright.service.demo import Station
from dwellwright.service.diagnosis import likely_causes
from dwellwright.service.handover_facts import magnitude_words
from dwellwright.service.plan_lines import plan_lines
from dwellwright.service.presentation import REGIME_LABELS, Look, look_of, shown

TOLD = {
    "as found": ("duty", "gas_lambda", "idle_vacuum", "fuel_pressure", "sensor_mean"),
    "as left": ("duty", "gas_lambda", "closed_loop_share"),
}
"""Kinds of reading that the story repeats; the job keeps all of them."""

MOST_READINGS = 4


class Storyteller:
    """Prints each station; keeps only which headings were said."""

    def __init__(self) -> None:
        self._said: set[str] = set()
        self._tellers: dict[str, Callable[[Any], None]] = {
            "arrival": self._arrival,
            "evidence": self._evidence,
            "causes": self._causes,
            "bench before": self._next_step,
            "bench after": self._work_done,
            "car before": lambda plan: None,
            "car after": self._work_done,
            "causes left": self._causes_left,
            "proof": self._proof,
            "handover": self._handover,
        }

    def tell(self, station: Station) -> None:
        """Print one station."""
        self._tellers[station.name](station.found)

    def _heading(self, words: str) -> None:
        if words not in self._said:
            self._said.add(words)
            console().rule(f"[bold]{words}", align="left")

    def _arrival(self, view: Any) -> None:
        self._heading("Arrival")
        say(f"Job {view.job.number}: {view.job.car}")
        say(f"Owner: {view.job.owner}")
        say(f"“{view.job.complaint}”", style="italic")
        say(f"Spec sheet: {view.sheet.title}")

    def _evidence(self, added: Any) -> None:
        side = added.record.side.value
        self._heading(f"Evidence, {side}")
        told = [one for one in added.report.observations if one.measured.value in TOLD[side]][:MOST_READINGS]
        parts = [f"{REGIME_LABELS[one.regime]}: {_short(one)}" for one in told]
        say(f"{added.record.file.name} ({added.readings} readings): {'; '.join(parts)}")

    def _causes(self, facts: Mapping[str, Any]) -> None:
        self._heading("Causes")
        rows = [(f"{100 * one['probability']:.0f} %", one["title"], magnitude_words(one), one["meaning"])
                for one in likely_causes(facts, most=5)]  # fmt: skip
        rows.append((f"{100 * facts['healthy_probability']:.0f} %", "no fault", "", ""))
        print_table("", (">chance", "cause", ">size (80 % interval)", "which means"), rows)
        for one in facts["next_tests"][:1]:
            say(f"Worth testing next: {one['title']}. {one['why']}")

    def _next_step(self, plan: Any) -> None:
        self._heading("On the bench")
        first = plan_lines(plan)[0]
        say(f"First: {first.title}, wanted {first.wanted}. {first.why}")

    def _work_done(self, plan: Any) -> None:
        self._heading("On the bench" if plan.phase.value == "bench" else "On the car")
        rows = [
            (one.title, one.as_found, one.turned, one.reading or "by eye", one.wanted, one.verdict)
            for one in plan_lines(plan)
        ]
        print_table("", ("step", ">as found", "turned", ">as left", ">wanted", "stands"), rows)

    def _causes_left(self, facts: Mapping[str, Any]) -> None:
        self._heading("After the work")
        say(f"No fault: {100 * facts['healthy_probability']:.0f} % on the evidence as left.")

    def _proof(self, found: Any) -> None:
        self._heading("Proof")
        print_proof(found)

    def _handover(self, found: Any) -> None:
        self._heading("Handover")
        view, made = found
        minutes = sum(record.done.minutes or 0 for record in view.steps)
        say(
            f"Job {view.job.number} is {made.verdict}; {minutes:.0f} min of work, {len(view.readings)} readings."
        )
        if made.standards:
            say(
                f"Handover sheet made under {', '.join(made.standards)} (asked of the compiler, not validated):"
            )


def _short(one: Any) -> str:
    view, look = shown(one), look_of(one.measured)
    return f"{_name(look)} {view.text} ({view.interval_text})"


def _name(look: Look) -> str:
    return look.label.removesuffix(" (six-cylinder scale)")
