"""What proves a job: readings after the last turn, or the car as it came where nothing was turned."""

from __future__ import annotations

from pathlib import Path

from dwellwright.procedure.proof import ProofVerdict, Standing
from dwellwright.records.shop import Shop
from dwellwright.records.stages import Phase, Side
from dwellwright.service.evidence import add_evidence
from dwellwright.service.plans import StepEntry, record_step
from dwellwright.service.proof import JobProof, prove_job

WHO = "tester"


def standing(found: JobProof, key: str) -> Standing:
    return next(one.standing for one in found.proof.criteria if one.key == key)


def test_nothing_measured_proves_nothing(shop: Shop, job: int) -> None:
    found = prove_job(shop, job, WHO)
    assert (found.side, found.since) == (Side.AS_FOUND, None)
    assert found.proof.verdict is ProofVerdict.NOT_YET_SHOWN
    assert all("not measured" in words for words in found.proof.missing)


def test_what_was_read_before_a_turn_proves_nothing(shop: Shop, job: int, gas_file: Path) -> None:
    add_evidence(shop, job, gas_file, Side.AS_FOUND, WHO)
    assert standing(prove_job(shop, job, WHO), "lambda_at_idle") is Standing.MET
    record_step(shop, job, Phase.CAR, "idle_dwell", StepEntry([20], [30], "deg", turns=-0.5), WHO)
    after = prove_job(shop, job, WHO)
    assert after.side is Side.AS_LEFT
    assert standing(after, "lambda_at_idle") is Standing.NOT_SHOWN
    assert standing(after, "idle_dwell") is Standing.MET
    add_evidence(shop, job, gas_file, Side.AS_LEFT, WHO)
    assert standing(prove_job(shop, job, WHO), "lambda_at_idle") is Standing.MET


def test_a_dwell_far_off_is_not_met(shop: Shop, job: int) -> None:
    record_step(shop, job, Phase.CAR, "idle_dwell", StepEntry([20], [52], "deg", turns=-0.5), WHO)
    found = prove_job(shop, job, WHO)
    assert standing(found, "idle_dwell") is Standing.NOT_MET
    assert found.proof.verdict is ProofVerdict.NOT_PROVEN
