"""The handover sheet of a job: its words, its PDF, and what the shop keeps of it."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

import pymupdf
import pytest

from dwellwright.errors import InputFault
from dwellwright.procedure.proof import ProofVerdict
from dwellwright.records.engine import writing
from dwellwright.records.shop import Shop, file_place
from dwellwright.records.stages import JobStage, Phase, Side
from dwellwright.records.verdicts import store_verdict
from dwellwright.service.evidence import add_evidence
from dwellwright.service.handover import hand_over
from dwellwright.service.handover_facts import found_lines, magnitude_words, summary_words
from dwellwright.service.handover_plots import handover_plots
from dwellwright.service.jobs import job_view
from dwellwright.service.plans import StepEntry, record_step
from dwellwright.service.proof import proof_of

WHO = "tester"
VERDICT = {
    "healthy_probability": 0.01,
    "causes": [
        {"id": "lean_stop", "title": "Lean stop high", "probability": 0.9, "magnitude": 12.3, "low": 9.0, "high": 15.5,
         "unit": "thou"},
        {"id": "float_level", "title": "Float low", "probability": 0.05, "magnitude": None, "low": None, "high": None,
         "unit": "mm"},
    ],
    "predictions": {"idle": {"observed_dwell_deg": 24.0, "healthy_dwell_deg": 30.0, "explained_dwell_deg": 23.5}},
}  # fmt: skip


@pytest.fixture
def worked(shop: Shop, job: int, log_file: Path, gas_file: Path) -> int:
    add_evidence(shop, job, log_file, Side.AS_FOUND, WHO)
    with writing(shop.engine) as connection:
        store_verdict(connection, job, Side.AS_FOUND, VERDICT, WHO)
    entry = StepEntry([82], [70], "thou", "dial_indicator", turns=0.375, minutes=6, note="tight thread")
    record_step(shop, job, Phase.BENCH, "lean_stop", entry, WHO)
    add_evidence(shop, job, gas_file, Side.AS_LEFT, WHO)
    return job


def test_the_sheet_says_what_was_found_and_done(shop: Shop, worked: int, tmp_path: Path) -> None:
    made = hand_over(shop, worked, tmp_path / "out", WHO)
    with pymupdf.open(made.path) as document:
        text = " ".join(" ".join(page.get_text() for page in document).split())
    for words in (
        "it hunts",
        "an owner",
        "Lean stop high",
        "tight thread",
        "3/8 turn clockwise",
        "not yet shown",
    ):
        assert words.lower() in text.lower()
    view = job_view(shop, worked)
    assert view.job.stage is JobStage.HANDED_OVER
    assert [paper.name for paper in view.documents] == [f"handover-job-{worked}.pdf"]
    kept = file_place(shop, view.documents[0].sha256)
    assert sha256(kept.read_bytes()).hexdigest() == view.documents[0].sha256
    assert kept.read_bytes() == made.path.read_bytes()


def test_every_plot_the_evidence_allows_is_drawn(shop: Shop, worked: int) -> None:
    plots = handover_plots(shop, job_view(shop, worked))
    assert plots.before_after is not None
    assert "as found 24" in plots.before_after.alt  # as the recording was made
    assert [one.plot.name for one in plots.appendix] == ["causes", "predicted", "drive-as-found"]


def test_a_job_without_evidence_is_still_handed_over(shop: Shop, job: int, tmp_path: Path) -> None:
    made = hand_over(shop, job, tmp_path, WHO)
    assert made.verdict == "not yet shown"
    assert made.path.read_bytes().startswith(b"%PDF")


def test_a_folder_that_is_a_file_is_refused_and_nothing_is_recorded(
    shop: Shop, job: int, tmp_path: Path
) -> None:
    (tmp_path / "out").write_text("", encoding="utf-8")
    with pytest.raises(InputFault, match="cannot be written"):
        hand_over(shop, job, tmp_path / "out", WHO)
    assert job_view(shop, job).documents == []


def test_words_for_the_owner_follow_verdict_and_proof(shop: Shop, worked: int) -> None:
    view = job_view(shop, worked)
    proof = proof_of(view).proof
    assert proof.verdict is ProofVerdict.NOT_YET_SHOWN
    words = summary_words(view.as_found_verdict, proof, True)
    assert words.startswith("We found: lean stop high.")
    assert "not everything could be shown" in words
    assert [one.title for one in found_lines(view.as_found_verdict)] == ["Lean stop high"]
    assert found_lines(None) == ()


def test_a_magnitude_carries_sign_interval_and_unit() -> None:
    assert magnitude_words(VERDICT["causes"][0]) == "+12.3 thou (+9 to +15.5)"  # type: ignore[index]
    assert magnitude_words({"magnitude": None}) == ""
    assert magnitude_words({"magnitude": -0.2, "unit": "1"}) == "-0.2"
