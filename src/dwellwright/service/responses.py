"""Tests with a response in a job: before and during, the change with its interval, and what the answer means."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dwellwright.catalogue.response_tests import Direction, ResponseTest, response_test, response_tests
from dwellwright.errors import InputFault
from dwellwright.evidence.gauge.response import Response, response
from dwellwright.evidence.observation import Measured, Observation, Regime
from dwellwright.records import evidence, jobs, readings
from dwellwright.records.audit import now
from dwellwright.records.engine import writing
from dwellwright.records.shop import Shop, kept_file
from dwellwright.records.stages import JobStage, Side
from dwellwright.service.jobs import JobView
from dwellwright.service.presentation import shown_step, shown_value
from dwellwright.service.readings import PLAIN_ITEMS, typed_observation

if TYPE_CHECKING:
    from dwellwright.reports.plots.look import Format, Plot
    from dwellwright.reports.plots.moving import Moving

KIND = "response"
"""Kind of evidence under which an answer is kept."""

FORCED = {"solenoid_grounded_sensor": Measured.SENSOR_FORCED_LEAN}
"""Tests whose reading during the test is itself one that the diagnosis knows."""

WAYS = {Direction.RISES: "rise", Direction.FALLS: "fall", Direction.STAYS: "stay as it is"}


@dataclass(frozen=True)
class OfferedTest:
    """One test as it is offered: what to read, in which unit, and what a sound car does."""

    test: ResponseTest
    item: str
    unit: str
    expected: str
    smallest: str


def offered_tests() -> list[OfferedTest]:
    """Every test with a response."""
    return [_line(one) for one in response_tests().values()]


def offered_test(name: str) -> OfferedTest:
    """One test with a response.

    Raises:
        InputFault: there is none of that name.
    """
    return _line(response_test(name))


def _line(test: ResponseTest) -> OfferedTest:
    watch = Measured(test.watch)
    item = next(name for name, one in PLAIN_ITEMS.items() if one.measured is watch)
    unit = PLAIN_ITEMS[item].unit
    smallest = f"{shown_step(watch, test.smallest):g} {unit}"
    return OfferedTest(test, item, unit, WAYS[test.expected], smallest)


def response_of(
    name: str, before: Sequence[float], during: Sequence[float], unit: str = "", who: str = ""
) -> Response:
    """A test's answer from what was read before and during it.

    Args:
        name: of the test.
        before: every repeat with nothing done.
        during: every repeat while it is done.
        unit: of both; the usual one where empty. Dwell on the six-cylinder scale.
        who: who did it.

    Raises:
        InputFault: no such test, nothing read, or a reading that cannot be.
    """
    line = _line(response_test(name))
    seen = []
    for when, values in (("before", before), ("during", during)):
        if not values:
            raise InputFault(
                "the reading has no value", where=f"{line.test.label}, {when}", wanted="at least one number"
            )
        one = typed_observation(line.item, values, unit or line.unit, Regime(line.test.regime), who=who)
        seen.append(replace(one, source=f"{line.test.label}, {when}"))
    return response(line.test, seen[0], seen[1], now())


def response_observations(found: Response) -> list[Observation]:
    """The change, and the reading during the test where the diagnosis knows it by itself."""
    test = found.test
    change = Observation(
        Measured(f"response_{test.name}"), Regime(test.regime), found.change, found.uncertainty, f"test: {test.label}",
        time=found.time,
    )  # fmt: skip
    forced = FORCED.get(test.name)
    if forced is None or found.direction is not test.expected:
        return [change]
    return [change, replace(found.after, measured=forced, source=f"test: {test.label}", time=found.time)]


def response_facts(found: Response) -> dict[str, Any]:
    """An answer as plain facts, in shop units."""
    watch = Measured(found.test.watch)
    line = _line(found.test)
    low, high = (shown_step(watch, end) for end in found.interval())
    values = {
        "before": shown_value(watch, found.before.value), "during": shown_value(watch, found.after.value),
        "change": shown_step(watch, found.change), "low": low, "high": high,
    }  # fmt: skip
    return {
        "test": found.test.name, "label": found.test.label, "regime": found.test.regime, "unit": line.unit,
        "smallest": round(shown_step(watch, found.test.smallest), 4),
        **{key: round(value, 4) for key, value in values.items()},
        "direction": found.direction.value if found.direction else None, "expected": found.test.expected.value,
        "as_expected": round(found.as_expected, 4), "words": found.words, "hazard": found.test.hazard,
        "time": found.time.isoformat() if found.time else None,
    }  # fmt: skip


def add_response(
    shop: Shop, number: int, name: str, before: Sequence[float], during: Sequence[float], side: Side, who: str,
    unit: str = "",
) -> Response:  # fmt: skip
    """Write a test's answer down in a job.

    Raises:
        InputFault: no such job or test, nothing read, or a reading that cannot be.
    """
    found = response_of(name, before, during, unit, who)
    facts, seen = response_facts(found), response_observations(found)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{name}.json"
        path.write_text(json.dumps({**facts, "who": who}, ensure_ascii=False, indent=1), encoding="utf-8")
        with writing(shop.engine) as connection:
            jobs.job_record(connection, number)
            kept = kept_file(shop, path)
            identity = evidence.store_evidence(connection, number, kept, KIND, side, {"facts": facts}, who)
            readings.store_observations(connection, number, side, seen, identity)
            jobs.advance_job(connection, number, JobStage.EVIDENCE, who)
    return found


def responses_of(view: JobView) -> list[tuple[evidence.EvidenceRecord, dict[str, Any]]]:
    """Every answer of a job with its facts, in the order they came."""
    return [(one, dict(one.summary["facts"])) for one in view.evidence if one.kind == KIND]


def answers_plot(view: JobView, form: Format) -> Plot:
    """The answers of a job drawn.

    Raises:
        InputFault: it has none.
    """
    from dwellwright.reports.plots.responses import response_plot

    found = [facts for _, facts in responses_of(view)]
    if not found:
        raise InputFault(
            "there is nothing to draw", where=f"job {view.job.number}", wanted="a test with a response"
        )
    return response_plot(found, form)


def answers_moving(view: JobView) -> tuple[Moving, ...]:
    """The answers of a job as a plot to move along in a page; none where it has none."""
    from dwellwright.reports.plots.moving_answers import moving_responses

    found = [facts for _, facts in responses_of(view)]
    return moving_responses(found) if found else ()
