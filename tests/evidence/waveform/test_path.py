"""The choice of energizing edges, on trains whose truth is known by construction (closed form)."""

from __future__ import annotations

import numpy as np
import pytest

from dwellwright.evidence.waveform.path import energizing

PERIOD, COUNT = 0.1, 60
BEAT = np.arange(1, COUNT + 1) * PERIOD


def test_the_end_of_each_spike_is_not_the_drivers_edge() -> None:
    # releases keep the beat; the width breathes by 2 ms a pulse; every gap holds a spike's end 1 ms after release
    width = 0.06 + 0.015 * np.sin(np.arange(COUNT) / 7)
    on, spike_end = BEAT - width, BEAT - PERIOD + 1e-3
    fall = np.sort(np.concatenate([on, spike_end]))
    found = energizing(fall, np.ones(len(fall)), BEAT, COUNT * PERIOD)
    np.testing.assert_array_equal(found.on, on)
    assert found.has.all()
    assert found.placed == 0


@pytest.mark.parametrize("even", ["energizing", "release"])
def test_an_edge_that_was_not_seen_is_placed(even: str) -> None:
    width = 0.04 + 0.01 * np.sin(np.arange(COUNT) / 9)
    on, release = (BEAT - width, BEAT) if even == "release" else (BEAT - 0.06, BEAT - 0.06 + width)
    seen = np.delete(on, [20, 41])
    found = energizing(seen, np.ones(len(seen)), release, COUNT * PERIOD)
    assert found.placed == 2
    assert found.has.all()
    # even: exact; by the neighbors' widths: the sine bends by 0.01/9**2/2 = 0.06 ms per pulse
    np.testing.assert_allclose(found.on, on, atol=1e-9 if even == "energizing" else 1e-4)


def test_a_stray_fall_late_in_a_pulse_is_passed_over() -> None:
    on = BEAT - 0.05
    stray = on[[10, 30]] + 0.03
    fall = np.sort(np.concatenate([on, stray]))
    found = energizing(fall, np.ones(len(fall)), BEAT, COUNT * PERIOD)
    np.testing.assert_array_equal(found.on, on)


def test_a_pulse_too_many_keeps_its_own_edge() -> None:
    on = np.sort(np.append(BEAT - 0.05, BEAT[30] - 0.03))
    release = np.sort(np.append(BEAT, BEAT[30] - 0.04))
    found = energizing(on, np.ones(len(on)), release, COUNT * PERIOD)
    np.testing.assert_array_equal(found.on, on)
    assert found.placed == 0


def test_a_faint_fall_serves_only_where_nothing_better_is() -> None:
    on = BEAT - 0.05
    depth = np.ones(COUNT)
    depth[15] = 0.6
    found = energizing(on, depth, BEAT, COUNT * PERIOD)
    np.testing.assert_array_equal(found.on, on)
    depth[15] = 0.4
    assert energizing(on, depth, BEAT, COUNT * PERIOD).placed == 1
