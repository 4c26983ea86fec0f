"""Exhaust gas and tests with a response as plots to move along."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from dwellwright.languages.catalogue import translated
from dwellwright.reports.plots.exhaust import GasRow
from dwellwright.reports.plots.moving import Moving, Row, bars_figure, rows_figure


def moving_gas(rows: Sequence[GasRow], band: tuple[float, float]) -> tuple[Moving, ...]:
    """Lambda with its interval, and the gases by condition."""
    reach = 1.15 * max(0.05, *(abs(end - 1) for one in rows for end in (one.low, one.high, *band)))
    lines = [
        Row(one.condition, one.ratio, one.low, one.high, f"{one.ratio:.3f}",
            f"lambda {one.ratio:.3f} ({one.low:.3f} to {one.high:.3f})", _inside(one, band)) for one in rows
    ]  # fmt: skip
    words = "; ".join(f"{one.condition}: {one.ratio:.3f} ({one.low:.3f} to {one.high:.3f})" for one in rows)
    first = rows_figure(lines, band, "lambda by gas   (below 1 rich, above 1 lean)", f"Lambda by gas. {words}.",
                        (1 - reach, 1 + reach))  # fmt: skip
    bars = [(f"{translated(one.condition)}, {gas}", 100 * size, f"{100 * size:.2f} %")
            for one in rows for gas, size in (("CO", one.co), ("O₂", one.o2))]  # fmt: skip
    told = "; ".join(f"{one.condition}: CO {one.co:.2%}, O2 {one.o2:.2%}" for one in rows)
    return first, bars_figure(bars, "% by volume", f"Exhaust gas. {told}.")


def _inside(row: GasRow, band: tuple[float, float]) -> bool | None:
    """Whether lambda is inside the band for certain, outside it for certain, or neither."""
    if band[0] <= row.low and row.high <= band[1]:
        return True
    return False if row.high < band[0] or row.low > band[1] else None


def moving_responses(answers: Sequence[Mapping[str, Any]]) -> tuple[Moving, ...]:
    """The change that each test made over the smallest change that counts."""
    reach = min(
        12.0,
        1.15 * max(1.5, *(abs(one[end]) / one["smallest"] for one in answers for end in ("low", "high"))),
    )
    lines = []
    for one in answers:
        value, low, high = (one[key] / one["smallest"] for key in ("change", "low", "high"))
        way = translated(one["direction"] or "no clear answer")
        told = (f"{one['before']:.4g} → {one['during']:.4g} {one['unit']} "
                f"({one['low']:+.3g} … {one['high']:+.3g}), {way}; {translated('a sound car')}: "
                f"{translated(one['expected'])}")  # fmt: skip
        good = one["direction"] == one["expected"] if one["direction"] else None
        lines.append(
            Row(one["label"], value, low, high, f"{one['change']:+.3g} {one['unit']}, {way}", told, good)
        )
    words = "; ".join(
        f"{one['label']}: {one['change']:+.3g} {one['unit']}, expected {one['expected']}" for one in answers
    )
    return (rows_figure(lines, (-0.5, 0.5), "change over the smallest that counts (shaded: stays)",
                        f"Tests with a response. {words}.", (-reach, reach)),)  # fmt: skip
