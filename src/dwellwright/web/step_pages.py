"""Writing down a step on the bench or on the car."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from dwellwright.errors import InputFault
from dwellwright.records.stages import Phase
from dwellwright.service.plans import StepEntry, record_step
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


def _turns(typed: dict[str, str], name: str = "turns", way: str = "way") -> float | None:
    """Turns made, clockwise positive; a fraction such as 1 3/8 is understood. [turns]

    Raises:
        InputFault: neither a number nor a fraction.
    """
    text = typed.get(name, "").strip()
    turns = turns_of(text) if "/" in text else number_of(typed, name, "turns")
    if turns is None:
        return None
    return -turns if typed.get(way) == "counterclockwise" else turns


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


@router.post("/jobs/{number}/screws/{name}")
async def read_screw(request: Request, number: JobNumber, name: str) -> Response:
    """One reading for the advisor on the car, with the turns made before it, if any."""
    from dwellwright.service.car_advisor import screw_named
    from dwellwright.service.car_moves import CarMove, record_move

    screw_named(name)

    def work(typed: dict[str, str]) -> None:
        typed["screw"] = name
        read = numbers_of(typed, "dwell", "reading")
        first, second = _turns(typed, "turns", "way"), _turns(typed, "second", "second_way")
        move = CarMove(
            values=[on_six(value, typed) for value in read] if screw_named(name).unit == "deg" else read,
            turns=()
            if first is None and second is None
            else (first or 0.0,)
            if second is None
            else (first or 0.0, second),
            roughness=number_of(typed, "feels", "how the idle feels"),
            minutes=number_of(typed, "minutes", "minutes"),
        )
        record_move(shop_of(request), number, name, move, who_of(request))

    return await posted(request, number, "car", "step", work)
