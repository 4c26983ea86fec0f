"""The stepping kernel: a block of cars side by side through one drive, statistics kept as they go.

Within a step the order is: gas that left the manifold one delay ago arrives, mixes, moves the sensor; the sensor moves
the duty; the duty moves the fuel; the fuel passes the film and leaves. A delay of at least one step makes this
explicit. Flows are means over the step and states are values at its end, so the scheme is of second order in the step
and a switch is placed inside it.

One source makes two compiled kernels: one car wide, with a log, and `LANES` wide for a batch.
"""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np
from numba import njit
from numba.np.numpy_support import carray

from dwellwright.loop import columns, extremes, laws, tally
from dwellwright.loop import rows as r
from dwellwright.loop import stages as s
from dwellwright.loop.columns import Setting, Trace
from dwellwright.loop.extremes import stack_row
from dwellwright.loop.stages import Floats, stage

Integers = np.ndarray[Any, np.dtype[np.int64]]

LANES = 16
"""Cars side by side in a block of a batch."""

ROWS_SINGLE, ROWS_BATCH = r.ROWS, r.ROWS * LANES

_AVERAGED = int(Setting.AVERAGED)
_TIME, _DUTY, _POSITION, _VOLTS = (
    int(Trace.TIME),
    int(Trace.DUTY),
    int(Trace.POSITION),
    int(Trace.SENSOR_VOLTAGE),
)
_EXCESS, _SENSOR_EXCESS = int(Trace.EXCESS), int(Trace.SENSOR_EXCESS)
_CLOSED, _FILM = int(Trace.CLOSED), int(Trace.FILM)


@stage
def _clear_log(w: Floats, lanes: int) -> None:
    w[r.L_POSITION * lanes], w[r.L_BURNT * lanes], w[r.L_AIR * lanes] = 0.0, 0.0, 0.0


@stage
def _add_to_log(w: Floats, lanes: int) -> None:
    w[r.L_POSITION * lanes] += w[r.POSITION * lanes]
    w[r.L_BURNT * lanes] += w[r.BURNT * lanes]
    w[r.L_AIR * lanes] += w[r.AIR * lanes]


@stage
def _log(w: Floats, lanes: int, time: float, steps: int, row: Floats) -> None:
    """A row of the first car: states as they are, flows as their mean since the row before."""
    row[_TIME] = time
    row[_DUTY] = w[r.DUTY * lanes]
    row[_POSITION] = w[r.L_POSITION * lanes] / steps
    row[_VOLTS] = w[r.VOLTS * lanes]
    row[_EXCESS] = w[r.L_BURNT * lanes] / w[r.L_AIR * lanes]
    row[_SENSOR_EXCESS] = w[r.MIXED * lanes]
    row[_CLOSED] = w[r.CLOSED * lanes]
    row[_FILM] = w[r.FILM * lanes]
    _clear_log(w, lanes)


@stage
def _move(
    w: Floats, lanes: int, points: Floats, first: int, node: int, weight: float, settings: Floats
) -> None:
    """Bring the block to an operating point."""
    s.set_values(w, lanes, points, first, node, weight)
    s.set_mixture(w, lanes, settings[s.STEP])
    s.set_sensor(w, lanes, settings[s.STEP], settings[s.INPUT_BIAS])
    s.set_controller(w, lanes, settings[s.STEP])


@stage
def _step(
    w: Floats, ring: Floats, lanes: int, now: int, of_pulse: float, threshold: float, averaged: bool
) -> None:
    """One step of every car of the block."""
    mask = ring.size // lanes - 1
    s.arrive(w, ring, lanes, now, mask)
    s.sense(w, lanes, threshold)
    if averaged:
        s.meter_mean(w, lanes)
    else:
        s.meter_pulse(w, lanes, of_pulse)
    s.leave(w, ring, lanes, now, mask)
    tally.add(w, lanes)
    if tally.crossings(w, lanes, threshold) > 0.0:
        tally.count(w, lanes, float(now), threshold)


@stage
def _block(
    w: Floats,
    ring: Floats,
    lanes: int,
    first: int,
    points: Floats,
    drive: Floats,
    nodes: Integers,
    segment_ends: Integers,
    settings: Floats,
    pulse_steps: int,
    out: Floats,
    log: Floats,
    log_steps: int,
) -> None:
    """One block of cars through the whole drive."""
    threshold, averaged = settings[s.THRESHOLD], settings[_AVERAGED] > 0.5
    now, logged, until_log, segment, begun = 0, 0, log_steps, 0, 0
    for pulse in range(nodes.size):
        if pulse == 0 or points.shape[1] > 1:
            _move(w, lanes, points, first, nodes[pulse], drive[pulse, 0], settings)
        if pulse == 0:
            s.start(w, ring, lanes, settings)
            _clear_log(w, lanes)
            tally.clear(w, lanes)
        s.latch(w, lanes, settings, pulse_steps, drive[pulse, 1], drive[pulse, 2])
        tally.pulse_sums(w, lanes, pulse_steps)
        for of_pulse in range(pulse_steps):
            _step(w, ring, lanes, now, float(of_pulse), threshold, averaged)
            now += 1
            if log_steps > 0:
                _add_to_log(w, lanes)
                until_log -= 1
                if until_log == 0 and logged < log.shape[0]:
                    _log(w, lanes, now * settings[s.STEP], log_steps, log[logged])
                    logged += 1
                    until_log = log_steps
        if pulse + 1 == segment_ends[segment]:
            for i in range(min(lanes, points.shape[0] - first)):
                tally.write(w, lanes, i, now - begun, settings[s.STEP], out[first + i, segment])
            tally.clear(w, lanes)
            begun = now
            segment += 1


def _source_digest() -> int:
    """Hash of everything that is inlined into the kernels: their on-disk cache must not outlive any of it."""
    text = b"".join(
        Path(str(module.__file__)).read_bytes() for module in (columns, extremes, laws, r, s, tally)
    )
    return int.from_bytes(sha256(text + Path(__file__).read_bytes()).digest()[:6], "big")


_kernel = njit(cache=True, fastmath=True, error_model="numpy", nogil=True)


def _single(digest: int) -> Any:
    """The kernel of one car; `digest` does nothing in it but be part of the key of its on-disk cache."""

    def run_single(
        points: Floats,
        drive: Floats,
        nodes: Integers,
        ends: Integers,
        settings: Floats,
        pulse_steps: int,
        slots: int,
        out: Floats,
        log: Floats,
        log_steps: int,
    ) -> None:
        if digest < 0:
            return
        w, ring = carray(stack_row(ROWS_SINGLE), ROWS_SINGLE), np.zeros(slots)
        _block(w, ring, 1, 0, points, drive, nodes, ends, settings, pulse_steps, out, log, log_steps)

    return _kernel(run_single)


def _batch(digest: int) -> Any:
    """The kernel of many cars; `digest` as in `_single`."""

    def run_batch(
        points: Floats,
        drive: Floats,
        nodes: Integers,
        ends: Integers,
        settings: Floats,
        pulse_steps: int,
        slots: int,
        out: Floats,
        first: int,
        stop: int,
    ) -> None:
        if digest < 0:
            return
        w, ring = carray(stack_row(ROWS_BATCH), ROWS_BATCH), np.zeros(slots * LANES)
        log = np.zeros((0, 0))
        for block in range(first, stop, LANES):
            _block(w, ring, LANES, block, points, drive, nodes, ends, settings, pulse_steps, out, log, 0)

    return _kernel(run_batch)


run_single = _single(_source_digest())
"""One car through a drive, with a log row every `log_steps` steps (0: none)."""

run_batch = _batch(_source_digest())
"""Cars `first` to `stop` through a drive, `LANES` at a time; no log."""
