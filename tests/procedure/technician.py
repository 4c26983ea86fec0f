"""A simulated technician and car for the needle advisor. Shares no code with it.

Hand: turn error in proportion, plus hysteresis as mechanical play (the needle follows only after the play is
taken up). Car: sensitivity grows or falls exponentially along the needle, dwell saturates and drifts (random
walk and a steady creep).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np


@dataclass
class Technician:
    """One car under one hand; `screw` is where the hand left it, `needle` where the metal is."""

    rng: np.random.Generator
    level: float
    slope: float
    needles: int = 1
    turn_error: float = 0.10
    play: float = 1 / 24
    bend: float = 0.15
    walk: float = 0.4 / 60
    creep: float = 0.2 / 60
    noise: float = 0.4 / 60
    limits: tuple[float, float] = (0.03, 0.97)
    screw: list[float] = field(default_factory=list)
    needle: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.screw = [0.0] * self.needles
        # where the needle rests inside the play is unknown at the start
        self.needle = [float(self.rng.uniform(-self.play / 2, self.play / 2)) for _ in range(self.needles)]

    def turn(self, out: tuple[float, ...]) -> None:
        for i, turns in enumerate(out):
            self.screw[i] += turns * (1 + self.turn_error * self.rng.normal())
            low, high = self.screw[i] - self.play / 2, self.screw[i] + self.play / 2
            self.needle[i] = min(max(self.needle[i], low), high)

    @property
    def unlimited(self) -> float:
        moved = sum(self.needle) / self.needles
        travel = np.expm1(self.bend * moved) / self.bend if self.bend else moved
        return float(self.level + self.slope * travel)

    def read(self) -> float:
        self.level += self.walk * self.rng.normal() + self.creep
        low, high = self.limits
        return float(np.clip(np.clip(self.unlimited, low, high) + self.noise * self.rng.normal(), 0.0, 1.0))
