"""Gauges as plots to move along: a study, a calibration, a drift, readings against tolerances, ways side by side."""

from __future__ import annotations

from collections.abc import Sequence

from dwellwright.languages.catalogue import translated
from dwellwright.reports.plots.gauges import SettingRow, StudyPoint
from dwellwright.reports.plots.moving import Moving, Row, bars_figure, rows_figure, shares_figure
from dwellwright.reports.plots.moving_clouds import Cloud, clouds_figure
from dwellwright.reports.plots.ways import DOUBT_INKS, WayRow, ways_reach, ways_words

APART = 0.18
"""Distance between two people's points of one part."""


def moving_study(
    points: Sequence[StudyPoint], spreads: dict[str, float], share: float, unit: str
) -> tuple[Moving, ...]:
    """Every reading by part, and the standard deviations. [unit]"""
    parts, hands = list(dict.fromkeys(p.part for p in points)), list(dict.fromkeys(p.hand for p in points))
    clouds = []
    for index, hand in enumerate(hands):
        mine = [one for one in points if one.hand == hand]
        places = [parts.index(one.part) + (index - (len(hands) - 1) / 2) * APART for one in mine]
        told = [f"{hand}, {translated('part')} {one.part}: {one.value:.6g} {unit}" for one in mine]
        clouds.append(Cloud(hand, places, [one.value for one in mine], told))
    step = -(-len(parts) // 12)
    ticks = {place: parts[place][:10] for place in range(0, len(parts), step)}
    alt = f"{len(points)} readings of {len(parts)} parts by {len(hands)} hands."
    bars = [(name, size, f"{size:.3g} {unit}") for name, size in spreads.items()]
    words = ", ".join(f"{key}: {value:.3g}" for key, value in spreads.items())
    return (clouds_figure(clouds, ("part", f"reading, {unit}"), alt, ticks=ticks),
            bars_figure(bars, f"standard deviation, {unit}",
                        f"Spread ({unit}): {words}. The gauge makes {share:.0%} of all spread."))  # fmt: skip


def moving_calibration(
    truths: Sequence[float], readings: Sequence[float], line: tuple[float, float], residual: float, unit: str
) -> tuple[Moving, ...]:
    """Error of the gauge over the known size, with its line. [unit]"""
    errors = [reading - truth for truth, reading in zip(truths, readings, strict=True)]
    told = [f"{truth:.6g} {unit}: {error:+.3g} {unit}" for truth, error in zip(truths, errors, strict=True)]
    ends = [min(truths), max(truths)]
    on_line = [line[0] + (line[1] - 1) * end for end in ends]
    said = [f"{translated('line')}: {end:.6g} {unit}: {error:+.3g} {unit}"
            for end, error in zip(ends, on_line, strict=True)]  # fmt: skip
    alt = (f"{len(truths)} known sizes from {ends[0]:.4g} to {ends[1]:.4g} {unit}; the error goes from "
           f"{on_line[0]:+.3g} to {on_line[1]:+.3g} {unit}, scatter {residual:.2g} {unit}.")  # fmt: skip
    clouds = [
        Cloud(translated("readings"), list(truths), errors, told),
        Cloud(translated("line"), ends, on_line, said, True, 2 * residual),
    ]
    return (clouds_figure(clouds, (f"known size, {unit}", f"error, {unit}"), alt, lines=(0.0,)),)


def moving_drift(
    errors: Sequence[float],
    sums: tuple[Sequence[float], Sequence[float]],
    limit: float,
    alarm: int | None,
    unit: str,
) -> tuple[Moving, ...]:
    """Checks against the master in order of time, and the cumulative sums with their limit. [unit]"""
    count = list(range(1, len(errors) + 1))
    said = f"it drifted: seen at check {alarm}" if alarm else "no drift seen"
    mark = float(alarm) if alarm else None
    told = [f"{place}: {error:+.3g} {unit}" for place, error in zip(count, errors, strict=True)]
    checks = [Cloud("error", count, list(errors), told, joined=True)]
    top = clouds_figure(checks, ("check", f"error, {unit}"), f"{len(errors)} checks against a master; {said}.",
                        lines=(0.0,), mark=mark, height=240)  # fmt: skip
    tracks = [
        Cloud(name, count, list(track), [f"{place}: {one:.3g} {unit}" for place, one in zip(count, track, strict=True)],
              joined=True) for name, track in zip(map(translated, ("reads high", "reads low")), sums, strict=True)
    ]  # fmt: skip
    low = clouds_figure(tracks, ("check", f"sum, {unit}"), f"Cumulative sums. They alarm above {limit:.3g} {unit}.",
                        limit=limit, mark=mark, height=280)  # fmt: skip
    return top, low


def moving_settings(rows: Sequence[SettingRow], budgets: Sequence[WayRow]) -> tuple[Moving, ...]:
    """Readings of a bench sheet against their tolerances, and what makes each doubtful."""
    reach = min(8.0, 1.1 * max(1.5, *(abs(end) for one in rows for end in (one.low, one.high))))
    good = {"in": True, "out": False}
    lines = []
    for one in rows:
        verdict = translated(one.verdict)
        told = f"{one.value:+.2f} ({one.low:+.2f} … {one.high:+.2f}), {verdict}"
        lines.append(Row(one.title, one.value, one.low, one.high, verdict, told, good.get(one.verdict)))
    words = "; ".join(f"{one.title}: {one.value:+.2f} tolerances, {one.verdict}" for one in rows)
    first = rows_figure(lines, (-1, 1), "tolerances from the specification (shaded: within)",
                        f"Readings against their tolerances. {words}.", (-reach, reach))  # fmt: skip
    return first, _shares(budgets)


def moving_ways(setting: str, rows: Sequence[WayRow]) -> tuple[Moving, ...]:
    """Every way for a setting: its doubt against the tolerance, and what makes the doubt."""
    reach = ways_reach(rows)
    lines = []
    for one in rows:
        said, chance = translated(one.said), translated(one.chance)
        lines.append(Row(one.title, 0.0, -one.half, one.half, said, f"{said}, {chance}", one.good))
    first = rows_figure(lines, (-1, 1), "doubt at 95 %, in tolerances (shaded)",
                        f"Ways to measure: {setting}. {ways_words(rows)}.", (-reach, reach))  # fmt: skip
    return first, _shares(rows)


def _shares(rows: Sequence[WayRow]) -> Moving:
    words = "; ".join(
        f"{one.title}: " + ", ".join(f"{kind}: {share:.0%}" for kind, share in one.shares.items())
        for one in rows
    )
    return shares_figure([(one.title, one.shares) for one in rows], DOUBT_INKS, f"What makes the doubt. {words}.",
                         "share of the variance, %")  # fmt: skip
