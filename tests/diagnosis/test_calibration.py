"""A small version of benchmarks/diagnosis/calibration.py: claims that are too sure or ranks that lean fail here."""

import importlib.util
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

FILE = Path(__file__).resolve().parents[2] / "benchmarks" / "diagnosis" / "calibration.py"


@pytest.fixture(scope="module")
def calibration() -> ModuleType:
    import sys

    spec = importlib.util.spec_from_file_location("calibration", FILE)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["calibration"] = module
    spec.loader.exec_module(module)
    return module


def test_claims_on_forty_drawn_cars_are_as_sure_as_they_sound(calibration: ModuleType) -> None:
    count = calibration.counted(40, seed=11)
    chances, truths = np.array(count.chances), np.array(count.truths)
    # the number of true causes is a sum of independent yes or no: within three of its standard deviations
    spread = np.sqrt(np.sum(chances * (1 - chances)))
    assert abs(np.sum(chances) - np.sum(truths)) < 3 * spread
    # and so it is among what was said to be likely, where a sampler that is too sure shows first
    likely = chances > 0.25
    off = np.sum(chances[likely]) - np.sum(truths[likely])
    assert abs(off) < 3 * np.sqrt(np.sum(chances[likely] * (1 - chances[likely])))
    ranks = np.sort(count.ranks)
    even = (np.arange(len(ranks)) + 0.5) / len(ranks)
    # Kolmogorov's 0.1 % point
    assert np.max(np.abs(ranks - even)) < 1.95 / np.sqrt(len(ranks))
    assert min(count.draws) >= 1000


def test_a_sampler_twice_too_sure_would_fail(calibration: ModuleType) -> None:
    count = calibration.counted(40, seed=11)
    ranks = np.array(count.ranks)
    z = 2.0 * np.log(np.maximum(ranks, 1e-9) / np.maximum(1 - ranks, 1e-9))
    sure = np.sort(1 / (1 + np.exp(-3.0 * z)))
    even = (np.arange(len(sure)) + 0.5) / len(sure)
    assert np.max(np.abs(sure - even)) > 1.95 / np.sqrt(len(sure))
