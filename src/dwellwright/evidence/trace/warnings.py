"""What to be wary of in a recording, in plain sentences."""

from __future__ import annotations

import numpy as np

from dwellwright.evidence.observation import Regime
from dwellwright.evidence.trace.columns import Channel
from dwellwright.evidence.trace.cycles import RAREST_STEP, typical_step
from dwellwright.evidence.trace.drifts import NAMES, drift_sentences
from dwellwright.evidence.trace.levels import Levels
from dwellwright.evidence.trace.loop_features import RegimeSummary
from dwellwright.evidence.trace.still import still_sentences
from dwellwright.evidence.trace.story import Story
from dwellwright.evidence.trace.trace import Damage, Trace

COLD = 273.15 + 70.0
"""A warm engine reads more than this. [K] (common practice, no source)"""
MOSTLY = 0.9
"""A loop that is closed for less of a steady stretch is worth a word. (assumed)"""
AT_LIMIT = 0.2
"""Share of time at a limit worth saying. (assumed)"""


def warning_sentences(
    trace: Trace,
    levels: Levels,
    regimes: dict[Regime, RegimeSummary],
    others: tuple[RegimeSummary, ...],
    story: Story,
) -> tuple[str, ...]:
    """Warnings, those about the finding first and those about the file last."""
    said = [
        f"The recording holds no settled {name}." for regime, name in NAMES.items() if regime not in regimes
    ]
    said += _missing(trace, levels)
    said += _loop(regimes, story)
    said += drift_sentences(regimes, others)
    said += still_sentences(trace)
    said += [
        finding.sentence
        for finding in trace.damage
        if _matters(finding.kind, finding.count, trace.frame.height)
    ]
    return tuple(said)


def _matters(kind: Damage, count: int, rows: int) -> bool:
    return kind is not Damage.BLANK or count > 0.01 * rows


def _missing(trace: Trace, levels: Levels) -> list[str]:
    said = []
    if not trace.has(Channel.DUTY):
        said.append("There is no dwell or duty column: the command is not known.")
    if not trace.has(Channel.SENSOR_VOLTAGE):
        said.append("There is no exhaust sensor column: rich and lean are not known.")
    step = typical_step(trace.time)
    if step > RAREST_STEP:
        said.append(f"One row every {step:.1f} s is too rare to see the limit cycle; only means are told.")
    if levels.dead_speedometer:
        said.append("Road speed stays at zero though the engine was loaded as in a drive; it was left out.")
    elif levels.moving is None and trace.has(Channel.MANIFOLD_PRESSURE):
        said.append("There is no road speed: driving was told from standing by manifold pressure.")
    elif levels.moving is None:
        said.append("There is neither road speed nor manifold pressure: a cruise may be a fast no-load run.")
    if not trace.has(Channel.ENGINE_SPEED):
        said.append("There is no engine speed: regimes rest on throttle, pressure and road speed.")
    if np.isfinite(levels.warm) and levels.warm < COLD:
        reads = f"The hottest idle reads {levels.warm - 273.15:.0f} degC"
        said.append(f"{reads}: the engine was not warm, or the coolant sensor is wrong.")
    return said


def _loop(regimes: dict[Regime, RegimeSummary], story: Story) -> list[str]:
    said = []
    seen = [(NAMES[r], s) for r, s in regimes.items() if r in NAMES and s.duty is not None]
    if seen and all(s.duty is not None and s.duty.closed_loop_share < 0.05 for _, s in seen):
        said.append("The loop never closed in a steady regime: dwell stands still.")
    for name, s in seen:
        if s.duty is None:
            continue
        for end, share in (("rich", s.duty.share_at_rich_limit), ("lean", s.duty.share_at_lean_limit)):
            if share > AT_LIMIT:
                said.append(
                    f"At {name} the command lies at its {end} limit for {100 * share:.0f} % of the time."
                )
        if 0.05 < s.duty.closed_loop_share < MOSTLY:
            share = 100 * (1 - s.duty.closed_loop_share)
            said.append(f"At {name} the command stood still for {share:.0f} % of the time and varied in the rest: "
                        "a loop that opens, or a stuck column.")  # fmt: skip
        if s.sensor is not None and s.sensor.high - s.sensor.low < 0.1:
            said.append(f"At {name} the sensor stands still at {s.sensor.median:.2f} V.")
    if story.enrichment_seen is False:
        said.append("No wide-throttle enrichment was seen in a full pull.")
    return said
