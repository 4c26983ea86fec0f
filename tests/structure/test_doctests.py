"""Every example in a docstring gives what it says."""

from __future__ import annotations

import doctest
import importlib
import warnings

import pytest
from tools.layers import ROOT

SOURCE = ROOT / "src"
MODULES = [
    ".".join(path.relative_to(SOURCE).with_suffix("").parts).removesuffix(".__init__")
    for path in sorted(SOURCE.rglob("*.py"))
    if ">>>" in path.read_text(encoding="utf-8")
]


@pytest.mark.parametrize("name", MODULES)
def test_examples(name: str) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        result = doctest.testmod(importlib.import_module(name))
    assert result.failed == 0
    assert result.attempted > 0


def test_there_are_examples() -> None:
    assert "dwellwright.units" in MODULES
    assert len(MODULES) > 5
