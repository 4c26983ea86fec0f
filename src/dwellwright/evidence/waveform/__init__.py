"""Recordings of the switched solenoid wire: sound files and oscilloscope text, read as duty, rate and polarity.

`files` and `text` (with `layout` and `even`) open a recording in blocks; `scan` finds every step in them; `falls`,
`path` and `edges` choose the computer's own; `duty`, `polarity` and `shape` say what they mean; `read` joins it all.
"""

from dwellwright.evidence.waveform.read import observations, read_waveform, warm_up
from dwellwright.evidence.waveform.types import (
    Estimate,
    Pattern,
    Plot,
    Polarity,
    PolarityFinding,
    Pulses,
    Waveform,
)

__all__ = [
    "Estimate",
    "Pattern",
    "Plot",
    "Polarity",
    "PolarityFinding",
    "Pulses",
    "Waveform",
    "observations",
    "read_waveform",
    "warm_up",
]
