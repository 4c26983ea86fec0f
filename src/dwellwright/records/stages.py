"""How far a job has come, and on which side of the work a reading was taken."""

from __future__ import annotations

from enum import StrEnum


class JobStage(StrEnum):
    """The stations of a job, in order."""

    ARRIVAL = "arrival"
    EVIDENCE = "evidence"
    CAUSES = "causes"
    BENCH = "bench"
    CAR = "on the car"
    PROOF = "proof"
    HANDED_OVER = "handed over"

    @property
    def rank(self) -> int:
        """Place in the order, from 0."""
        return list(JobStage).index(self)


class Side(StrEnum):
    """Before or after the work."""

    AS_FOUND = "as found"
    AS_LEFT = "as left"


class Phase(StrEnum):
    """Where a step is done."""

    BENCH = "bench"
    CAR = "car"
