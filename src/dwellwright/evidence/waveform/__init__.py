"""Recordings of the switched solenoid wire: sound files and oscilloscope text, read as duty, rate and polarity.

`files` and `text` (with `layout` and `even`) open a recording in blocks; `scan` finds every step in them; `falls`,
`path` and `edges` choose the computer's own; `duty`, `polarity` and `shape` say what they mean; `read` joins it all.
What reads is loaded when first used, so that the types alone cost nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

from dwellwright.evidence.waveform.types import (
    Estimate,
    Pattern,
    Plot,
    Polarity,
    PolarityFinding,
    Pulses,
    Waveform,
)

if TYPE_CHECKING:
    from dwellwright.evidence.waveform.read import observations, read_waveform, warm_up

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


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.read"), name)
