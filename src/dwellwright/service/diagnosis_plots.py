"""The picture of a diagnosis, of a job or of a folder."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dwellwright.evidence.observation import Regime
from dwellwright.service.diagnosis import likely_causes
from dwellwright.service.evidence_plots import write_plot
from dwellwright.service.jobs import JobView
from dwellwright.service.presentation import REGIME_LABELS

if TYPE_CHECKING:
    from dwellwright.reports.plots.dwell import DwellRow
    from dwellwright.reports.plots.look import Plot

HEALTHY = "no fault"
LEAST, MOST = 0.01, 9


def draw_diagnosis(facts: Mapping[str, Any], path: Path, view: JobView | None = None) -> Plot:
    """Draw a diagnosis into a new file; with a job, its dwell before and after too.

    Args:
        facts: of the diagnosis.
        path: .svg or .png, must not exist yet.
        view: the job, if it is one.

    Raises:
        InputFault: another kind of file, it exists, or it cannot be written.
    """
    from dwellwright.reports.plots.causes import CauseBar
    from dwellwright.reports.plots.diagnosis import diagnosis_plot
    from dwellwright.service.handover_facts import NAMED, magnitude_words
    from dwellwright.service.handover_plots import work_rows

    bars = [CauseBar(one["title"], one["probability"], magnitude_words(one), named=one["probability"] >= NAMED)
            for one in likely_causes(facts, LEAST, MOST)]  # fmt: skip
    healthy = facts["healthy_probability"]
    bars.append(CauseBar(HEALTHY, healthy, "what is seen is a healthy car's", named=healthy >= NAMED))
    work = work_rows(view) if view is not None else []
    return write_plot(lambda form: diagnosis_plot(bars, _explained(facts), work, form), path)


def _explained(facts: Mapping[str, Any]) -> list[DwellRow]:
    """Dwell of the best explanation beside what was read, where any was."""
    from dwellwright.reports.plots.dwell import DwellRow, Spread

    rows = []
    for regime, one in facts["predictions"].items():
        if one["observed_dwell_deg"] is None:
            continue
        told, read = (
            min(max(one[name], 0.0), 60.0) for name in ("explained_dwell_deg", "observed_dwell_deg")
        )
        low, high = (_end(facts, regime, name, read) for name in ("dwell_low_deg", "dwell_high_deg"))
        seen = Spread(read, min(low, read), max(high, read))
        rows.append(DwellRow(REGIME_LABELS[Regime(regime)], Spread(told, told, told), seen))
    return rows


def _end(facts: Mapping[str, Any], regime: str, name: str, read: float) -> float:
    """An end of the reading's interval where the document has one, else the reading itself. [deg]"""
    end = facts.get("regimes", {}).get(regime, {}).get(name)
    return read if end is None else min(max(float(end), 0.0), 60.0)
