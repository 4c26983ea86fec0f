"""What closed jobs teach: priors by the beta's closed form, similar jobs by their dwell, both left out on demand."""

from __future__ import annotations

import pytest

from dwellwright.catalogue.causes import shipped_causes
from dwellwright.evidence.observation import Regime
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Side
from dwellwright.service.diagnosis import diagnose_job
from dwellwright.service.jobs import JobView, close_job, take_in_job
from dwellwright.service.memory import PRIOR_JOBS, shop_memory, similar_jobs
from dwellwright.service.readings import add_reading
from dwellwright.service.shop_doubts import shop_doubts

WHO = "tester"


def car(shop: Shop, dwell: float, found: str | None = None) -> int:
    """A job with one dwell at idle, closed with what was found where that is given."""
    view = take_in_job(
        shop, owner="o", car=f"car at {dwell:g}", complaint="c", sheet="two-barrel-v6", who=WHO
    )
    number = view.job.number
    add_reading(shop, number, "dwell", [dwell], "deg", Side.AS_FOUND, WHO, regime=Regime.IDLE)
    if found is not None:
        close_job(shop, number, [{"id": found}] if found else [], WHO)
    return number


def test_priors_are_the_means_of_their_betas(shop: Shop) -> None:
    for found in ("vacuum_leak", "vacuum_leak", "", "ethanol"):
        car(shop, 20.0, found)
    car(shop, 20.0)  # open: teaches nothing
    memory = shop_memory(shop)
    assert memory.jobs == 4
    for name, times in (("vacuum_leak", 2), ("ethanol", 1), ("purge", 0)):
        prior = shipped_causes()[name].prior
        a, b = PRIOR_JOBS * prior + times, PRIOR_JOBS * (1 - prior) + 4 - times
        assert memory.priors[name] == pytest.approx(a / (a + b), rel=1e-12)


def test_a_job_does_not_teach_itself(shop: Shop) -> None:
    number = car(shop, 20.0, "vacuum_leak")
    assert shop_memory(shop, but=number).jobs == 0


def test_the_memory_moves_a_diagnosis_is_shown_and_can_be_left_out(shop: Shop) -> None:
    for _ in range(6):
        car(shop, 12.0, "purge")
    number = car(shop, 50.0)
    with_memory, without = (diagnose_job(shop, number, WHO, memory=on).facts for on in (True, False))
    chance = [next(one["probability"] for one in facts["causes"] if one["id"] == "purge")
              for facts in (with_memory, without)]  # fmt: skip
    assert chance[0] > 1.5 * chance[1]
    assert with_memory["shop_memory"]["moved"][0]["id"] == "purge"
    assert without["shop_memory"] == {"used": False, "jobs": 6, "moved": [], "doubts": []}


def test_closed_jobs_teach_the_doubts_which_are_shown_and_can_be_left_out(shop: Shop) -> None:
    # eight healthy cars, 9 deg from where the sheet has them, up and down: this shop must doubt the model more
    for dwell in (21.0, 39.0) * 4:
        car(shop, dwell, "")
    number = car(shop, 40.0)
    with_memory, without = (diagnose_job(shop, number, WHO, memory=on).facts for on in (True, False))
    floor = next(one for one in with_memory["shop_memory"]["doubts"] if one["id"] == "floor")
    assert floor["jobs"] == 8
    assert floor["shipped"] == pytest.approx(2.5)
    assert floor["low"] > 1.2 * floor["shipped"]
    # and then 40 deg speaks less for a fault
    assert with_memory["healthy_probability"] > without["healthy_probability"] + 0.05


def test_a_closed_job_does_not_teach_its_own_doubts(shop: Shop) -> None:
    number = car(shop, 45.0, "")
    assert shop_doubts(shop).doubts[0].cars == 1
    assert shop_doubts(shop, but=number).doubts == ()


def test_similar_jobs_are_the_nearest_in_dwell(shop: Shop) -> None:
    near, nearer = car(shop, 24.0, "ethanol"), car(shop, 21.0, "vacuum_leak")
    car(shop, 50.0, "purge")
    own = car(shop, 20.0)
    from dwellwright.service.jobs import job_view

    listed = similar_jobs(shop, job_view(shop, own))
    assert [one["number"] for one in listed] == [nearer, near]
    assert listed[0]["apart_deg"] == pytest.approx(1.0, abs=0.05)
    assert listed[0]["found"] == "air leak below the throttle"


def test_similar_jobs_take_as_many_queries_however_many_jobs_there_are(shop: Shop) -> None:
    from sqlalchemy import event

    from dwellwright.service.jobs import job_view

    asked: list[str] = []
    event.listen(shop.engine, "before_cursor_execute", lambda *told: asked.append(told[2]))

    def queries(view: JobView) -> int:
        before = len(asked)
        similar_jobs(shop, view)
        return len(asked) - before

    own = car(shop, 20.0)
    car(shop, 21.0, "purge")
    few = queries(job_view(shop, own))
    for _ in range(5):
        car(shop, 22.0, "purge")
    assert queries(job_view(shop, own)) == few
    assert len(similar_jobs(shop, job_view(shop, own))) == 5
