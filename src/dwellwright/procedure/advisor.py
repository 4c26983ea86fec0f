"""The advisor on the car: from readings and moves so far to the next turn, or to stopping with a reason."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

import numpy as np

from dwellwright.catalogue.car_screws import Trouble
from dwellwright.procedure.hand import FINEST, FRACTIONS, HandTurn
from dwellwright.procedure.needle_balance import balancing_move
from dwellwright.procedure.needle_belief import Belief, Response, first_belief, moved, read
from dwellwright.procedure.needle_steadiness import restlessness, steadiness, wandering
from dwellwright.procedure.needle_task import Entry, NeedleTask

SURE = 0.90
"""Probability at which a wrong or missing response is called. Assumed."""

SURPRISED = 3.5
"""Standard deviations between a reading and its forecast that call for another reading. Assumed."""

FADED, FADED_TURNS = 0.12, 3.0
"""Share of the expected change over that many turns [turns] below which a needle has lost its effect. Assumed."""

SLACK = 0.04
"""A coarser turn is taken when it costs less than this in expected squared error, in tolerances squared."""

UNSTEADY_PAIRS = 3
"""Pairs of readings with nothing turned between them after which an idle may be called unsteady. Assumed."""

WATCHED, MOST_REPEATS = 0.03, 7
"""Chance of an unsteady idle from which another reading is asked for; so many without a turn at most. Assumed."""


class Action(StrEnum):
    """What to do next."""

    READ = "read"
    TURN = "turn"
    READ_AGAIN = "read again"
    BALANCE = "balance the needles"
    DONE = "done"
    UNREACHABLE = "stop: this screw cannot reach it"


@dataclass(frozen=True)
class Advice:
    """What to do next and why.

    Args:
        action: what to do.
        turns: for each needle, clockwise positive; empty when nothing is turned.
        expected: duty to expect at the next reading. [-]
        interval: within which it should fall nine times in ten. [-]
        confidence: probability that mean duty is inside the tolerance now. [-]
        confidence_after: the same after the move advised. [-]
        sensitivity: duty per turn out of all needles, this car: mean and standard deviation. [1/turn]
        cause: where to look, when the target cannot be reached.
        why: one sentence.
    """

    action: Action
    turns: tuple[HandTurn, ...]
    expected: float
    interval: tuple[float, float]
    confidence: float
    confidence_after: float
    sensitivity: tuple[float, float]
    cause: Trouble | None
    why: str


def belief_after(task: NeedleTask, entries: Sequence[Entry]) -> Belief:
    """What all readings and moves together say of this car."""
    belief = first_belief(task.sensitivity, task.sensitivity_spread, task.needles)
    for entry in entries:
        belief = read(moved(belief, entry.out, task.craft), entry, task.limits)
    return belief


def needle_advice(task: NeedleTask, entries: Sequence[Entry]) -> Advice:
    """The next thing to do, from everything read and turned so far, oldest first.

    Computed afresh from the whole history each time, so a corrected reading needs nothing special.
    """
    held = steadiness(task, entries)
    restless = restlessness(task, entries, held)
    task = replace(task, craft=replace(task.craft, drift=wandering(task, entries)))
    belief = belief_after(task, entries)
    if not entries:
        return _advice(task, belief, Action.READ, (), 0.02, "no reading yet")
    doubt = entries[-1].uncertainty
    if held.pairs >= UNSTEADY_PAIRS and held.chance >= SURE:
        return _advice(task, belief, Action.UNREACHABLE, (), doubt, held.told(task), Trouble.UNSTEADY)
    if held.pairs and restless > WATCHED and _repeats(entries) < MOST_REPEATS:
        why = (
            f"once more without turning: it may be that this idle does not hold still ({restless:.0%} likely)"
        )
        return _advice(task, belief, Action.READ_AGAIN, (), doubt, why)
    if stopped := _unreachable(task, entries, belief):
        cause, why = stopped
        if any(entries[-1].out) and not _pinned(task, entries[-1]):
            return _advice(task, belief, Action.READ_AGAIN, (), doubt, f"before it is believed that {why}")
        return _advice(task, belief, Action.UNREACHABLE, (), doubt, why, cause)
    if abs(belief.surprise) > SURPRISED and not _is_repeat(entries):
        why = (
            f"this reading is {abs(belief.surprise):.0f} standard deviations off the forecast: let it settle"
        )
        return _advice(task, belief, Action.READ_AGAIN, (), doubt, why)
    inside = belief.inside(*task.band) >= task.confidence
    offset = balancing_move(entries) if inside and task.needles == 2 else None
    if offset:
        why = "the mean is right but the idle shakes"
        return _advice(task, belief, Action.BALANCE, (-offset, offset), doubt, why)
    if not held.pairs and not _pinned(task, entries[-1]) and (inside or any(one.out for one in entries)):
        why = "see whether it holds still while nothing is turned"
        return _advice(task, belief, Action.READ_AGAIN, (), doubt, why)
    if inside:
        return _advice(task, belief, Action.DONE, (), doubt, "the mean lies inside the tolerance")
    return _turn_or_wait(task, entries, belief)


def _repeats(entries: Sequence[Entry]) -> int:
    """Readings since the last turn, the first after it left out."""
    return sum(1 for _ in itertools.takewhile(lambda one: not any(one.out), reversed(entries)))


def _pinned(task: NeedleTask, entry: Entry) -> bool:
    """Whether the reading stands at a limit."""
    return not task.limits[0] < entry.duty < task.limits[1]


def _turn_or_wait(task: NeedleTask, entries: Sequence[Entry], belief: Belief) -> Advice:
    steps = _best_steps(task, belief, _position(task, entries))
    out = (steps / FINEST,) * task.needles
    gain = moved(belief, out, task.craft).inside(*task.band) - belief.inside(*task.band)
    pinned = _pinned(task, entries[-1])
    doubt = entries[-1].uncertainty
    if steps == 0 or (gain < 0.02 and not pinned and belief.inside(*task.band) > 0.5):
        return _advice(
            task, belief, Action.READ_AGAIN, (), doubt, "no turn is likelier to help than another reading"
        )
    turns = tuple(-round(one * FINEST) for one in out)
    why = (
        "the reading stands at its limit: bring it off first"
        if pinned
        else "brings the mean nearest to the target"
    )
    return _advice(task, belief, Action.TURN, turns, doubt, why)


def _best_steps(task: NeedleTask, belief: Belief, position: float | None) -> int:
    """Sixteenths out that make the expected squared error least, or a coarser turn nearly as good."""
    most = round(task.largest_move * FINEST)
    reach = range(-most, most + 1)
    if position is not None:
        reach = range(
            max(-most, int(np.ceil((task.least_out - position) * FINEST))),
            min(most, int((task.most_out - position) * FINEST)) + 1,
        )
    losses = {steps: _loss(task, belief, steps) for steps in reach} or {0: 0.0}
    least = min(losses.values())
    for parts in FRACTIONS:
        coarse = {s: loss for s, loss in losses.items() if s % (FINEST // parts) == 0}
        best = min(coarse, key=coarse.__getitem__, default=0)
        if best in coarse and coarse[best] <= least + SLACK:
            return best
    return min(losses, key=losses.__getitem__)


def _loss(task: NeedleTask, belief: Belief, steps: int) -> float:
    """Expected squared error after a move, in tolerances squared, a plain response taken for granted."""
    after = moved(belief, (steps / FINEST,) * task.needles if steps else (), task.craft)
    plain = after.response == Response.PLAIN
    weight = after.weight[plain] / after.weight[plain].sum()
    squared = (after.mean[plain] - task.target) ** 2 + after.variance[plain]
    return float(weight @ squared) / task.tolerance**2


def _position(task: NeedleTask, entries: Sequence[Entry]) -> float | None:
    if task.turns_out is None:
        return None
    return task.turns_out + sum(sum(entry.out) / task.needles for entry in entries)


def _is_repeat(entries: Sequence[Entry]) -> bool:
    """The last reading followed no move, or is the first of all: nothing was forecast."""
    return len(entries) == 1 or not any(entries[-1].out)


def _unreachable(task: NeedleTask, entries: Sequence[Entry], belief: Belief) -> tuple[Trouble, str] | None:
    moves = sum(any(entry.out) for entry in entries)
    for response, cause in (
        (Response.DEAD, Trouble.NO_RESPONSE),
        (Response.REVERSED, Trouble.REVERSED),
    ):
        if moves and belief.chance(response) >= SURE:
            way = "changes nothing" if response is Response.DEAD else "moves it the wrong way"
            return cause, f"turning {way}: {belief.chance(response):.0%} likely after {moves} moves"
    needs_more = belief.quantile(0.5) < task.target
    out_wanted = needs_more == (task.sensitivity > 0)
    cause = task.sides[0] if out_wanted else task.sides[1]
    position = _position(task, entries)
    if belief.inside(*task.band) < 0.5 and position is not None:
        if out_wanted and position > task.most_out - 1 / 8:
            return (
                cause,
                f"by the turns counted it stands {position:.2f} out, where it no longer changes anything",
            )
        if not out_wanted and position < task.least_out + 1 / 8:
            return cause, f"by the turns counted it stands {position:.2f} out, too near its seat to meter"
    if _faded(task, entries):
        return (
            Trouble.NO_RESPONSE,
            f"the last moves changed less than {FADED:.0%} of what a turn should change",
        )
    if _stuck_at_limit(task, entries):
        return cause, f"the reading has stayed at its limit through {moves} moves the right way"
    return None


def _faded(task: NeedleTask, entries: Sequence[Entry]) -> bool:
    """The last moves, all one way and by three turns or more, hardly changed a reading free to change."""
    total, changed = 0.0, 0.0
    for before, entry in zip(entries[-2::-1], entries[::-1], strict=False):
        turned = sum(entry.out) / task.needles
        if total * turned < 0 or not all(
            task.limits[0] < one.duty < task.limits[1] for one in (before, entry)
        ):
            return False
        total, changed = total + turned, changed + entry.duty - before.duty
        if abs(total) >= FADED_TURNS:
            return changed / (total * task.sensitivity) < FADED
    return False


def _stuck_at_limit(task: NeedleTask, entries: Sequence[Entry]) -> bool:
    """Still at a limit although turned the right way twice or more, by what should cross the scale."""
    high = entries[-1].duty >= task.limits[1]
    if not high and entries[-1].duty > task.limits[0]:
        return False
    freeing = -np.sign(task.sensitivity) if high else np.sign(task.sensitivity)
    total, count = 0.0, 0
    for before, entry in itertools.pairwise(entries):
        pinned = before.duty >= task.limits[1] if high else before.duty <= task.limits[0]
        turned = freeing * sum(entry.out) / task.needles
        total, count = (total + turned, count + (turned > 0)) if pinned else (0.0, 0)
    return count >= 2 and total * abs(task.sensitivity) >= 1.0


def _advice(
    task: NeedleTask,
    belief: Belief,
    action: Action,
    sixteenths: tuple[int, ...],
    doubt: float,
    why: str,
    cause: Trouble | None = None,
) -> Advice:
    turns = tuple(HandTurn(one) for one in sixteenths)
    after = moved(belief, tuple(-one.turns for one in turns), task.craft)
    seen = replace(after, variance=after.variance + doubt**2)
    low, middle, high = (float(np.clip(seen.quantile(share), 0.0, 1.0)) for share in (0.05, 0.5, 0.95))
    return Advice(
        action=action,
        turns=turns,
        expected=middle,
        interval=(low, high),
        confidence=belief.inside(*task.band),
        confidence_after=after.inside(*task.band),
        sensitivity=belief.slope(),
        cause=cause,
        why=why,
    )
