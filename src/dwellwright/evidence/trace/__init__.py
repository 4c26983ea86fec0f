"""Drive recordings: read, cut into regimes, and told as observations. Imports no model.

The names below are loaded when first used, so that importing the package costs nothing.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dwellwright.evidence.trace.columns import Channel, ColumnMap, ColumnUse
    from dwellwright.evidence.trace.facts import observations
    from dwellwright.evidence.trace.names import guess_columns, proposed_columns
    from dwellwright.evidence.trace.summary import TraceSummary, summarize
    from dwellwright.evidence.trace.table import read_trace
    from dwellwright.evidence.trace.trace import Polarity, Trace

_HOMES = {
    "Channel": "columns",
    "ColumnMap": "columns",
    "ColumnUse": "columns",
    "Polarity": "trace",
    "Trace": "trace",
    "TraceSummary": "summary",
    "guess_columns": "names",
    "observations": "facts",
    "proposed_columns": "names",
    "read_trace": "table",
    "summarize": "summary",
}

__all__ = [
    "Channel",
    "ColumnMap",
    "ColumnUse",
    "Polarity",
    "Trace",
    "TraceSummary",
    "guess_columns",
    "observations",
    "proposed_columns",
    "read_trace",
    "summarize",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOMES[name]}"), name)
