"""The calibration study's own cars, for the tests that draw from them."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

FILE = Path(__file__).resolve().parents[2] / "benchmarks" / "diagnosis" / "calibration.py"


@pytest.fixture(scope="module")
def calibration() -> ModuleType:
    """The module of the study, loaded from its file."""
    spec = importlib.util.spec_from_file_location("calibration", FILE)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["calibration"] = module
    spec.loader.exec_module(module)
    return module
