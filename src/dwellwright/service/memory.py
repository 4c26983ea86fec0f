"""What the shop's closed jobs teach: how common each cause is here, and which past jobs looked like this one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from dwellwright.catalogue.causes import shipped_causes
from dwellwright.evidence.observation import Measured, Regime
from dwellwright.records import jobs, readings
from dwellwright.records.engine import reading
from dwellwright.records.readings import ReadingRecord
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Side
from dwellwright.service.jobs import JobView
from dwellwright.units import dwell_degrees

PRIOR_JOBS = 30.0
"""How many closed jobs of the shop weigh as much as the shipped shares, assumed. [-]"""
ALIKE_DEGREES, MOST_SIMILAR = 6.0, 5
"""Past jobs whose dwell lies further apart than this are not called alike, assumed [deg]; so many are listed."""
REGIMES = (Regime.IDLE, Regime.FAST_NO_LOAD, Regime.CRUISE)


@dataclass(frozen=True)
class ShopMemory:
    """Shares of arriving cars as this shop found them.

    Args:
        jobs: closed jobs counted.
        found: how often each cause was confirmed.
        priors: share of arriving cars by cause, the shipped share and the shop's count together.
    """

    jobs: int
    found: dict[str, int]
    priors: dict[str, float]


def shop_memory(shop: Shop, but: int | None = None) -> ShopMemory:
    """Priors from every closed job but one.

    Each cause's share has a beta prior worth `PRIOR_JOBS` jobs at the shipped share; the mean after the shop's
    count is told. Gelman et al., Bayesian Data Analysis, 3rd ed., eq. 2.4, for the beta's mean.
    """
    with reading(shop.engine) as connection:
        closed = [one for one in jobs.job_records(connection)
                  if one.closed and one.found is not None and one.number != but]  # fmt: skip
    held = [{str(one.get("id")) for one in record.found or ()} for record in closed]
    found = {name: sum(name in one for one in held) for name in shipped_causes()}
    priors = {
        name: (PRIOR_JOBS * cause.prior + found[name]) / (PRIOR_JOBS + len(closed))
        for name, cause in shipped_causes().items()
    }
    return ShopMemory(len(closed), found, priors)


def memory_facts(memory: ShopMemory, *, used: bool) -> dict[str, Any]:
    """The memory as plain facts, what it moved most first."""
    causes = shipped_causes()
    moved = [
        {"id": name, "title": causes[name].title, "shipped": causes[name].prior,
         "shop": round(memory.priors[name], 5), "found": memory.found[name]}
        for name in causes
    ]  # fmt: skip
    moved.sort(key=lambda one: -abs(float(str(one["shop"])) - float(str(one["shipped"]))))
    return {"used": used, "jobs": memory.jobs, "moved": moved[:8] if used else []}


def similar_jobs(shop: Shop, view: JobView) -> list[dict[str, Any]]:
    """Closed jobs whose dwell before the work lay nearest to this one's, with what was found."""
    own = _dwell(view.readings)
    found = []
    with reading(shop.engine) as connection:
        past_jobs = jobs.job_records(connection)
        seen = readings.readings_of_closed(connection, Side.AS_FOUND, Measured.DUTY)
    for past in past_jobs:
        theirs = _dwell(seen.get(past.number, ()))
        shared = own.keys() & theirs.keys()
        if not shared or past.number == view.job.number:
            continue
        apart = (sum((own[r] - theirs[r]) ** 2 for r in shared) / len(shared)) ** 0.5
        if apart <= ALIKE_DEGREES:
            found.append({"number": past.number, "car": past.car, "complaint": past.complaint,
                          "apart_deg": round(apart, 2), "found": _titles(past)})  # fmt: skip
    return sorted(found, key=lambda one: float(str(one["apart_deg"])))[:MOST_SIMILAR]


def _dwell(records: Sequence[ReadingRecord]) -> dict[Regime, float]:
    """Mean dwell before the work by regime. [deg]"""
    return {
        one.observation.regime: dwell_degrees(one.observation.value)
        for one in records
        if one.side is Side.AS_FOUND
        and one.observation.measured is Measured.DUTY
        and one.observation.regime in REGIMES
    }


def _titles(past: jobs.JobRecord) -> str:
    causes = shipped_causes()
    names = [str(one.get("id")) for one in past.found or ()]
    return (
        ", ".join(causes[name].title.lower() if name in causes else name for name in names)
        or "no fault found"
    )
