"""What an instrument said, put into a job: the whole recording, its gas, or the mean of the last seconds."""

from __future__ import annotations

import csv
import re
from itertools import pairwise
from pathlib import Path

from dwellwright.errors import InputFault
from dwellwright.evidence.instrument.description import GASES, Description
from dwellwright.evidence.observation import Regime
from dwellwright.records import jobs
from dwellwright.records.audit import now
from dwellwright.records.engine import reading
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Side
from dwellwright.service.evidence import AddedEvidence, add_evidence
from dwellwright.service.gas_readings import add_gas
from dwellwright.service.live_recording import SHOWN, Recorder, thrown_away
from dwellwright.service.readings import add_reading

FOLDER = "live"
"""Folder of the shop for recordings that are not in a job yet."""

BLOCKS = 5
"""Parts of the last seconds whose means are the repeats of a reading: lines of a swinging loop are no repeats."""

ITEMS = {
    "duty": "dwell", "sensor_voltage": "sensor_mean", "engine_speed": "engine_speed",
    "throttle_voltage": "throttle_voltage", "coolant_temperature": "coolant", "manifold_vacuum": "idle_vacuum",
}  # fmt: skip
"""Channels that a reading can be typed in for, and its name there."""

_DRAFT = re.compile(r"job-(\d{1,9})-[A-Za-z0-9._-]+\.csv")


def new_recorder(shop: Shop, number: int, name: str, description: Description, address: str) -> Recorder:
    """A recorder for a job, not started.

    Raises:
        InputFault: no such job.
    """
    with reading(shop.engine) as connection:
        jobs.job_record(connection, number)
    return Recorder(
        description, address, shop.folder / FOLDER / f"job-{number}-{name}-{now():%Y%m%d-%H%M%S}.csv"
    )


def drafts(shop: Shop, number: int) -> list[str]:
    """Recordings of a job that were never put into it: the power went, or nobody said stop."""
    found = (shop.folder / FOLDER).glob(f"job-{number}-*.csv")
    return sorted(one.name for one in found if _DRAFT.fullmatch(one.name))


def draft_path(shop: Shop, number: int, name: str) -> Path:
    """Where a draft lies.

    Raises:
        InputFault: the job has no such draft.
    """
    if name not in drafts(shop, number):
        raise InputFault("no such file", where=f"job {number}", got=repr(name[:80]))
    return shop.folder / FOLDER / name


def taken_in(
    shop: Shop, number: int, path: Path, side: Side, who: str, regime: Regime = Regime.IDLE
) -> list[AddedEvidence]:
    """Put a finished recording into a job, its gas as a gas table; the draft goes.

    Args:
        shop: where.
        number: of the job.
        path: of the draft.
        side: before or after the work.
        who: who recorded it.
        regime: at which the gas was read: idle, else fast idle.

    Raises:
        InputFault: no such job, or the recording holds nothing that can be used; the draft stays.
    """
    with path.open(encoding="utf-8", newline="") as file:
        head = next(csv.reader(file), [])
    gases = [name for name in GASES if SHOWN[name][0] in head]
    added = []
    if gases:
        text = {SHOWN[name][0]: f"{mean:.6g}" for name, mean in _means(path, gases).items()}
        condition = "idle" if regime is Regime.IDLE else "2500"
        added.append(add_gas(shop, number, {"condition": condition, **text}, side, who))
    if len(gases) + 1 < len(head):
        added.append(add_evidence(shop, number, path, side, who, regime=regime))
    if not added:
        raise InputFault("the recording is empty", where=path.name)
    thrown_away(path)
    return added


def _means(path: Path, gases: list[str]) -> dict[str, float]:
    sums: dict[str, list[float]] = {name: [] for name in gases}
    with path.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            for name in gases:
                if cell := row.get(SHOWN[name][0]):
                    sums[name].append(float(cell))
    lacking = [name for name, cells in sums.items() if not cells]
    if lacking:
        raise InputFault("the recording holds no readings of a gas", where=path.name, got=", ".join(lacking))
    return {name: sum(cells) / len(cells) for name, cells in sums.items()}


def take_reading(
    shop: Shop,
    number: int,
    recorder: Recorder,
    channel: str,
    length: float,
    regime: Regime,
    side: Side,
    who: str,
) -> float:
    """Write down the mean of the last seconds as a reading, and return it. [unit as shown]

    Args:
        shop: where.
        number: of the job.
        recorder: that listens.
        channel: whose mean.
        length: of the stretch. [s]
        regime: where in the operating range the engine is.
        side: before or after the work.
        who: who reads.

    Raises:
        InputFault: nothing was heard, or this channel is no reading of its own.
    """
    if channel not in ITEMS:
        raise InputFault("this cannot be taken as a reading", got=repr(channel[:40]), wanted=", ".join(ITEMS))
    seen = recorder.recent(length).get(channel, [])
    if len(seen) < BLOCKS:
        raise InputFault("too little was heard", where=channel, wanted=f"at least {BLOCKS} lines",
                         got=str(len(seen)))  # fmt: skip
    values = [value for _, value in seen]
    edges = [round(k * len(values) / BLOCKS) for k in range(BLOCKS + 1)]
    means = [sum(values[a:b]) / (b - a) for a, b in pairwise(edges)]
    add_reading(shop, number, ITEMS[channel], means, SHOWN[channel][1], side, who, regime=regime)
    return sum(means) / BLOCKS
