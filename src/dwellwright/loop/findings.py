"""Where a run leaves what its laws or its loop were made for: said with the result, never raised."""

from __future__ import annotations

import numpy as np

from dwellwright.carburetor.validity import Finding
from dwellwright.loop.simulation import LoopTrace
from dwellwright.physics.zirconia import TEMPERATURE_RANGE

LARGEST_LIMIT_SHARE = 0.02
"""Share of closed-loop time at a duty limit beyond which the loop counts as saturated; assumed. [-]"""

LEAST_DELAY_SPEED = 2.0
"""Engine speed below which the transport delay is no longer that of a running engine; assumed. [1/s]"""


def run_findings(trace: LoopTrace) -> tuple[Finding, ...]:
    """Doubts about a run: a loop at its limits, a sensor outside its data, an engine that hardly turns."""
    findings = []
    for number, segment in enumerate(trace.statistics, start=1):
        name = f"segment {number}"
        if segment.closed_share > 0.0:
            for what, share in (
                ("share at the lean limit", segment.share_at_lean_limit),
                ("share at the rich limit", segment.share_at_rich_limit),
            ):
                findings.append(Finding(name, what, share, 0.0, LARGEST_LIMIT_SHARE))
        findings.append(Finding(name, "closed-loop share", segment.closed_share, 1e-3, 1.0))
    temperatures = trace.drive.sensor_temperature
    low, high = TEMPERATURE_RANGE
    findings.append(
        Finding("drive", "lowest sensor temperature in K", float(temperatures.min()), low, np.inf)
    )
    findings.append(Finding("drive", "highest sensor temperature in K", float(temperatures.max()), 0.0, high))
    slowest = float(trace.drive.engine_speed.min())
    findings.append(Finding("drive", "lowest engine speed in 1/s", slowest, LEAST_DELAY_SPEED, np.inf))
    return tuple(finding for finding in findings if not finding.low <= finding.value <= finding.high)
