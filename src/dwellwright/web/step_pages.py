"""Writing down a step on the bench or on the car."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from dwellwright.errors import InputFault
from dwellwright.records.stages import Phase, Side
from dwellwright.service.plans import StepEntry, record_step
from dwellwright.service.readings import add_reading
from dwellwright.web.evidence_pages import on_six
from dwellwright.web.forms import number_of, numbers_of
from dwellwright.web.job_pages import JobNumber, posted
from dwellwright.web.rendering import shop_of, who_of

router = APIRouter()
PASSED = {"yes": True, "no": False}


@router.post("/jobs/{number}/steps/{phase}")
async def write_step(request: Request, number: JobNumber, phase: str) -> Response:
    """Write down a step: readings before and after, turns made, how it looks, time and words."""
    if phase not in {one.value for one in Phase}:
        raise InputFault("no such sequence", got=repr(phase), wanted=", ".join(one.value for one in Phase))
    where = Phase(phase)

    def work(typed: dict[str, str]) -> None:
        record_step(shop_of(request), number, where, typed.get("key", ""), _entry(typed), who_of(request))

    return await posted(request, number, phase, "step", work)


def _entry(typed: dict[str, str]) -> StepEntry:
    return StepEntry(
        as_found=numbers_of(typed, "found", "as found"),
        as_left=numbers_of(typed, "left", "as left"),
        unit=typed.get("unit", ""),
        instrument=typed.get("instrument", "").strip() or None,
        turns=_turns(typed),
        passed=PASSED.get(typed.get("passed", "")),
        minutes=number_of(typed, "minutes", "minutes"),
        note=typed.get("note", ""),
    )


def _turns(typed: dict[str, str]) -> float | None:
    """Turns made, clockwise positive; a fraction such as 1 3/8 is understood. [turns]

    Raises:
        InputFault: neither a number nor a fraction.
    """
    text = typed.get("turns", "").strip()
    turns = turns_of(text) if "/" in text else number_of(typed, "turns", "turns")
    if turns is None:
        return None
    return -turns if typed.get("way") == "counterclockwise" else turns


def turns_of(text: str) -> float:
    """A turn as a hand counts it. [turns]

    Raises:
        InputFault: not a fraction.

    >>> turns_of("1 3/8"), turns_of("1/4"), turns_of("-3/16")
    (1.375, 0.25, -0.1875)
    """
    sign, body = (-1.0, text[1:]) if text.startswith(("-", "\u2212")) else (1.0, text)
    parts = body.split()
    try:
        over, under = (int(one) for one in parts[-1].split("/"))
        whole = int(parts[0]) if len(parts) == 2 else 0
        if len(parts) > 2 or whole < 0 or over < 0:
            raise ValueError(text)
        return sign * (whole + over / under)
    except (ValueError, ZeroDivisionError, IndexError):
        raise InputFault("this is not a number of turns", where="turns", got=repr(text),
                         wanted="a number such as 1.5, or a fraction such as 1 3/8") from None  # fmt: skip


@router.post("/jobs/{number}/needle")
async def read_needle(request: Request, number: JobNumber) -> Response:
    """One reading for the needle advisor, with the turns made before it, if any."""

    def work(typed: dict[str, str]) -> None:
        values = [on_six(value, typed) for value in numbers_of(typed, "dwell", "dwell")]
        turns = _turns(typed)
        shop, who = shop_of(request), who_of(request)
        if not turns:
            add_reading(shop, number, "dwell", values, "deg", Side.AS_LEFT, who)
            return
        if not values:
            raise InputFault("the reading has no value", where="dwell", wanted="at least one number")
        entry = StepEntry(
            as_left=values, unit="deg", turns=turns, minutes=number_of(typed, "minutes", "minutes")
        )
        record_step(shop, number, Phase.CAR, "idle_dwell", entry, who)

    return await posted(request, number, "car", "step", work)
