"""The bench card: one page to pin up, with the settings of a unit in the order in which they are made."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from dwellwright.catalogue.sheet import Setting, SpecSheet
from dwellwright.catalogue.steps import hazards
from dwellwright.languages.language import spoken
from dwellwright.languages.tree import translated_tree
from dwellwright.procedure.figure import Figure
from dwellwright.procedure.hand import FRACTIONS, HandTurn, hand_turn
from dwellwright.procedure.steps import Step, bench_steps
from dwellwright.reports.facts import Paper
from dwellwright.reports.handover import OWN, words
from dwellwright.reports.printable import clipped
from dwellwright.reports.shown import figure_text, step_in_unit, unit_sign
from dwellwright.reports.typeset import Document, typeset
from dwellwright.units import Dimension

LONGEST_TITLE, LONGEST_NOTE, LONGEST_GAUGE, LONGEST_UNIT = 64, 90, 60, 70
"""Characters that keep the card on one page."""

MOST_CAUTIONS = 8


def bench_card(
    sheet: SpecSheet,
    printed: datetime,
    *,
    shop: str = "",
    paper: Paper = Paper.LETTER,
    labels: Mapping[str, Any] | None = None,
) -> Document:
    """The bench card of a unit as PDF.

    Args:
        sheet: of the unit.
        printed: stamped on the card and into the file.
        shop: name at the foot.
        paper: to print on.
        labels: translated labels; the package's own if not given.
    """
    all_words = {**(labels or words())}
    card = all_words["card"]
    steps = bench_steps(sheet, [])
    keys = dict.fromkeys(key for step in steps for key in step.plan.hazards)
    facts = {
        "words": {**all_words, "description": card["description"], "invented": card["invented"], "job": ""},
        "shop": {"name": clipped(shop, 60)},
        "job": "",
        "program": "Dwellwright",
        "printed": f"{printed:%Y-%m-%d}",
        "paper": paper.value,
        "language": spoken(),
        "invented": sheet.invented,
        "unit": clipped(sheet.title, LONGEST_UNIT),
        "identity": clipped(", ".join((sheet.engine.layout, *sheet.stamped)), LONGEST_UNIT),
        "steps": [card_line(step, card) for step in steps],
        "cautions": [hazards()[key] for key in list(keys)[:MOST_CAUTIONS]],
    }
    return typeset("bench_card", translated_tree(facts, OWN | {"words"}), {}, printed)


def card_line(step: Step, card: Mapping[str, str]) -> dict[str, str]:
    """One line of the card: what is wanted, and what a turn does."""
    setting, figure = step.setting, step.figure
    line = {
        "number": str(step.number),
        "title": clipped(step.plan.title, LONGEST_TITLE),
        "note": clipped(setting.note, LONGEST_NOTE) if setting else "",
        "wanted": figure_text(figure) if figure else card["by_eye"],
        "gauge": clipped((setting.gauge if setting else "") or step.plan.needs[0], LONGEST_GAUGE),
        "turn": "", "hand": "", "clockwise": "", "richer": "",
    }  # fmt: skip
    if setting is None or figure is None:
        return line
    if setting.richer_when != "neither":
        line["richer"] = card[setting.richer_when]
    if setting.clockwise is not None:
        line["clockwise"] = card[setting.clockwise.value]
        line.update(turn_texts(setting, figure))
    return line


def turn_texts(setting: Setting, figure: Figure) -> dict[str, str]:
    """What one turn moves, and the hand turn that comes nearest to one tolerance, in the sheet's unit.

    >>> from dwellwright.catalogue.sheet_file import archetype
    >>> from dwellwright.procedure.figure import figure_of_quantity
    >>> stop = archetype("two-barrel-v6").settings["rich_stop"]
    >>> turn_texts(stop, figure_of_quantity(stop.wanted))
    {'turn': '31.25 thou', 'hand': '1/8 turn = 3.91 thou'}
    """
    if setting.wanted.dimension is Dimension.TURNS:
        return {"turn": "", "hand": ""}
    if setting.thread is None:
        return {}
    travel = step_in_unit(setting.thread.travel_per_turn, figure.unit)
    sign = unit_sign(figure.unit)
    turn = hand_turn(figure.tolerance / setting.thread.travel_per_turn, 1 / FRACTIONS[-1])
    turn = turn if turn.sixteenths else HandTurn(1)
    moved = abs(turn.turns) * travel
    return {
        "turn": f"{travel:.4g}{sign}",
        "hand": f"{turn.amount} = {moved:.3g}{sign}",
    }
