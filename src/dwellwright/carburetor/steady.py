"""Steady state of the closed loop: fuel at both ends of the actuator, and the duty that meets the demand."""

from __future__ import annotations

from functools import cache
from math import isfinite
from typing import NamedTuple

import numpy as np
from numba import get_num_threads, set_num_threads
from numpy.typing import NDArray

from dwellwright.carburetor.air import OperatingPoint, hole_flux
from dwellwright.carburetor.barrel import Setting, between, held_at, rod_in_jet
from dwellwright.carburetor.command import commanded_duty, lean_share, lean_share_at
from dwellwright.carburetor.demand import LEVEL_BAND, LEVEL_PER_PRESSURE, demand_at
from dwellwright.carburetor.lanes import CARS, HELD_FIELDS, LANES, put, solved_lanes
from dwellwright.carburetor.passages import Passages
from dwellwright.carburetor.solution import NotConvergedError, solution
from dwellwright.carburetor.state import Field, described, fuel_columns, healthy
from dwellwright.compiled import njit, prange, register_jitable

__all__ = [
    "COLUMN",
    "COLUMNS",
    "LEVEL_BAND",
    "LEVEL_PER_PRESSURE",
    "lean_share_at",
    "steady_batch",
    "warm_up",
]

TASKS = 64
"""Most pieces a batch is cut into for the threads; each piece has its own work space."""
WORTH_THREADS = 3000
"""Rows below which one thread is sooner done, as others must be woken first: 2 ms of work. Measured."""


class Column(NamedTuple):
    """Columns of a steady result."""

    fuel_rich: int = 0
    fuel_lean: int = 1
    demand: int = 2
    air: int = 3
    duty: int = 4
    target_lambda: int = 5
    jet_reynolds: int = 6
    venturi_depression: int = 7
    stoichiometric_ratio: int = 8


COLUMN = Column()
COLUMNS = len(Column._fields)
ASKED = 10
"""Numbers of a `Demand` with its `Setting`."""


class Cars(NamedTuple):
    """Cars as the kernel takes them: states, and of each car's fuel density, viscosity and stoichiometric ratio."""

    states: NDArray[np.float64]
    density: NDArray[np.float64]
    viscosity: NDArray[np.float64]
    ratio: NDArray[np.float64]


class Work(NamedTuple):
    """Work space of one piece of a batch.

    Args:
        lanes: barrels, shape (HELD_FIELDS, LANES).
        total: fuel through the jets, shape (LANES,). [kg/s]
        idle: fuel through the idle tubes, shape (LANES,). [kg/s]
        change: last relative change of both, shape (LANES,). [-]
        fuel: of all barrels of a car, shape (LANES,). [kg/s]
        asked: `Demand` of each car with its `Setting` spread out, shape (CARS, ASKED).
    """

    lanes: NDArray[np.float64]
    total: NDArray[np.float64]
    idle: NDArray[np.float64]
    change: NDArray[np.float64]
    fuel: NDArray[np.float64]
    asked: NDArray[np.float64]


@register_jitable
def start_at(p: Passages, cars: Cars, point: OperatingPoint, start: NDArray[np.float64]) -> None:
    """Both flows of the first of these cars at both ends, where every car's steps at that point begin. [kg/s]"""
    state = cars.states[0]
    flux = hole_flux(point, state[Field.AMBIENT_PRESSURE], state[Field.AIR_TEMPERATURE])
    asked = demand_at(p, state, (cars.density[0], cars.viscosity[0]), cars.ratio[0], point, flux)
    for end in range(2):
        held = held_at(p, state, point, asked.setting, 0.0, between(p, float(end)))
        total, idle = solution(held, 0.0, 0.0)
        start[end, 0], start[end, 1] = total, idle


@register_jitable
def setting_of(a: NDArray[np.float64]) -> Setting:
    """The setting in a row of `Work.asked`."""
    return Setting(a[4], a[5], a[6], a[7], a[8], a[9])


@register_jitable
def ask(p: Passages, cars: Cars, block: int, point: OperatingPoint, work: Work) -> None:
    """Put what the point asks of each car of the block into the work space; a last block ends with its last car."""
    pressure, temperature, flux = 0.0, 0.0, 0.0
    for j in range(CARS):
        car, row = min(CARS * block + j, cars.states.shape[0] - 1), work.asked[j]
        state = cars.states[car]
        if state[Field.AMBIENT_PRESSURE] != pressure or state[Field.AIR_TEMPERATURE] != temperature:
            pressure, temperature = state[Field.AMBIENT_PRESSURE], state[Field.AIR_TEMPERATURE]
            flux = hole_flux(point, pressure, temperature)
        asked = demand_at(p, state, (cars.density[car], cars.viscosity[car]), cars.ratio[car], point, flux)
        row[0], row[1], row[2], row[3] = asked.air, asked.target, asked.fuel, asked.extra
        one = asked.setting
        row[4], row[5], row[6], row[7], row[8], row[9] = (
            one.air,
            one.slot,
            one.level,
            one.density,
            one.viscosity,
            one.signal,
        )


@register_jitable
def fill(p: Passages, cars: Cars, block: int, point: OperatingPoint, right: bool, work: Work) -> None:
    """Put the block's left or right barrels into the lanes."""
    for j in range(CARS):
        state = cars.states[min(CARS * block + j, cars.states.shape[0] - 1)]
        needle = state[Field.NEEDLE_RIGHT] if right else state[Field.NEEDLE_LEFT]
        setting = setting_of(work.asked[j])
        put(work.lanes, j, held_at(p, state, point, setting, needle, between(p, 0.0)))
        put(work.lanes, j + CARS, held_at(p, state, point, setting, needle, between(p, 1.0)))


@register_jitable
def apart(p: Passages, cars: Cars, block: int) -> bool:
    """Whether any car of the block has its needles apart, so that its barrels are solved one by one."""
    if p.barrels < 1.5:
        return False
    for car in range(CARS * block, min(CARS * block + CARS, cars.states.shape[0])):
        if cars.states[car, Field.NEEDLE_LEFT] != cars.states[car, Field.NEEDLE_RIGHT]:
            return True
    return False


@register_jitable
def solve_block(p: Passages, cars: Cars, block: int, point: OperatingPoint, start: NDArray[np.float64],
                work: Work) -> None:  # fmt: skip
    """Fuel of all primary barrels in `work.fuel`, by lane, every lane from the point's own start. [kg/s]"""
    ask(p, cars, block, point, work)
    fill(p, cars, block, point, False, work)
    for k in range(LANES):
        work.total[k], work.idle[k] = start[k // CARS, 0], start[k // CARS, 1]
    solved_lanes(work.lanes, work.total, work.idle, work.change)
    for k in range(LANES):
        work.fuel[k] = p.barrels * work.total[k]
    if not apart(p, cars, block):
        return
    fill(p, cars, block, point, True, work)
    solved_lanes(work.lanes, work.total, work.idle, work.change)
    for k in range(LANES):
        state = cars.states[min(CARS * block + k % CARS, cars.states.shape[0] - 1)]
        if state[Field.NEEDLE_LEFT] != state[Field.NEEDLE_RIGHT]:
            work.fuel[k] = 0.5 * work.fuel[k] + work.total[k]


@register_jitable
def write_row(p: Passages, cars: Cars, car: int, point: OperatingPoint, asked: NDArray[np.float64],
              ends: tuple[float, float], out: NDArray[np.float64]) -> bool:  # fmt: skip
    """Fill a row (shape (COLUMNS,)) from the fuel at both ends, duty not limited; whether it is a number."""
    state, setting = cars.states[car], setting_of(asked)
    rich, fuel, extra = ends[0], asked[2], asked[3]
    lean = rich + (ends[1] - rich) * (1.0 - state[Field.SOLENOID_DEAD])
    share = lean_share(p, state, point, setting, fuel - extra, rich, lean)
    wetted = 3.141592653589793 * p.barrels * (p.jet_diameter + rod_in_jet(p, state, p.rich_rods))
    out[0], out[1], out[2], out[3] = rich + extra, lean + extra, fuel, asked[0]
    out[4] = commanded_duty(p, state, share, state[Field.AMBIENT_PRESSURE] - point.manifold_pressure)
    out[5], out[8], out[7] = asked[1], cars.ratio[car], setting.signal
    out[6] = rich * 4.0 / (wetted * cars.viscosity[car])
    return isfinite(rich + lean + out[4] + fuel)


@register_jitable
def work_space() -> Work:
    """Work space of one piece of a batch, not yet filled."""
    return Work(np.empty((HELD_FIELDS, LANES)), np.empty(LANES), np.empty(LANES), np.empty(LANES), np.empty(LANES),
                np.empty((CARS, ASKED)))  # fmt: skip


@njit(cache=True, parallel=True, nogil=True, error_model="numpy", fastmath={"contract", "nsz", "arcp"})
def _steady_batch(p, cars, sheet_car, points):  # type: ignore[no-untyped-def]
    number, count = cars.states.shape[0], points.shape[0]
    out, starts = np.empty((number, count, 9)), np.empty((count, 2, 2))
    for q in range(count):
        start_at(p, sheet_car, OperatingPoint(points[q, 0], points[q, 1], points[q, 2]), starts[q])
    blocks = (number + CARS - 1) // CARS
    tasks = min(blocks, TASKS)
    unsolved = np.zeros(tasks, np.int64)
    for task in prange(tasks):
        work = work_space()
        for block in range(task * blocks // tasks, (task + 1) * blocks // tasks):
            for q in range(count):
                point = OperatingPoint(points[q, 0], points[q, 1], points[q, 2])
                solve_block(p, cars, block, point, starts[q], work)
                for j in range(min(CARS, number - CARS * block)):
                    car = CARS * block + j
                    ends = (work.fuel[j], work.fuel[j + CARS])
                    if not write_row(p, cars, car, point, work.asked[j], ends, out[car, q]):
                        unsolved[task] += 1
    return out, unsolved.sum()


def _cars(states: NDArray[np.float64]) -> Cars:
    fuel = fuel_columns(states[:, Field.ETHANOL], states[:, Field.FUEL_TEMPERATURE])
    return Cars(np.ascontiguousarray(states), *(np.ascontiguousarray(column) for column in fuel))


@cache
def _sheet_car() -> Cars:
    return _cars(healthy(1))


def steady_batch(
    passages: Passages, states: NDArray[np.float64], points: list[OperatingPoint]
) -> NDArray[np.float64]:
    """Steady states of many cars at several points. [array of shape (cars, points, COLUMNS), SI]

    A car's row is the same, bit for bit, whatever cars are solved beside it.

    Args:
        passages: of the unit all cars share.
        states: packed states, shape (cars, FIELD_COUNT).
        points: operating points.

    Raises:
        NotConvergedError: a car for which the fuel network has no solution; the message holds what is off on it.
    """
    table = np.array(points, dtype=np.float64).reshape(len(points), 3)
    result: NDArray[np.float64]
    threads = get_num_threads()
    set_num_threads(1 if len(states) * len(points) < WORTH_THREADS else threads)
    try:
        result, unsolved = _steady_batch(passages, _cars(states), _sheet_car(), table)
    finally:
        set_num_threads(threads)
    if unsolved:
        car, place = np.argwhere(~np.isfinite(result).all(axis=2))[0]
        raise NotConvergedError(
            f"the fuel network does not converge for {unsolved} of {len(states) * len(points)} rows, first for car "
            f"{car} at {60.0 * table[place, 0]:.0f} rpm and {1e-3 * table[place, 1]:.1f} kPa with "
            f"{described(states[car])}"
        )
    return result


def warm_up() -> None:
    """Compile the kernel, or load it, so that nobody waits for it later."""
    from dwellwright.carburetor.air import operating_point
    from dwellwright.carburetor.passages import passages_of
    from dwellwright.catalogue.sheet_file import archetype, archetype_texts

    sheet = archetype(next(iter(archetype_texts())))
    steady_batch(passages_of(sheet), healthy(1), [operating_point(sheet, "idle")])
