"""A Kalman filter in plain numbers: what is believed of a few quantities, and how surely.

Small enough (ten numbers or so) that plain lists are quick, and no numerics library has to be loaded.
"""

from __future__ import annotations

from collections.abc import Sequence


class Belief:
    """What is believed: `mean` of each quantity and their covariance `cov`, a square and symmetrical matrix."""

    def __init__(self, mean: Sequence[float], cov: Sequence[Sequence[float]]) -> None:
        self.mean = list(mean)
        self.cov = [list(row) for row in cov]

    def expected(self, row: Sequence[float]) -> tuple[float, float]:
        """What so much of each quantity comes to, added, and its variance."""
        across = [sum(held * part for held, part in zip(line, row, strict=True)) for line in self.cov]
        mean = sum(held * part for held, part in zip(self.mean, row, strict=True))
        return mean, max(0.0, sum(held * part for held, part in zip(across, row, strict=True)))

    def read(self, row: Sequence[float], value: float, variance: float) -> None:
        """Take in a reading of so much of each quantity, added."""
        across = [sum(held * part for held, part in zip(line, row, strict=True)) for line in self.cov]
        expected, doubt = self.expected(row)
        gain = [part / (doubt + variance) for part in across]
        self.mean = [held + part * (value - expected) for held, part in zip(self.mean, gain, strict=True)]
        self.cov = [
            [held - part * other for held, other in zip(line, across, strict=True)]
            for line, part in zip(self.cov, gain, strict=True)
        ]

    def forget(self, which: int, variance: float) -> None:
        """Be so much less sure of one quantity."""
        self.cov[which][which] += variance

    def carry(self, matrix: Sequence[Sequence[float]], noise: Sequence[float]) -> None:
        """What is believed after everything went through `matrix`, each quantity with so much variance more."""
        size = range(len(self.mean))
        self.mean = [sum(matrix[i][k] * self.mean[k] for k in size if matrix[i][k]) for i in size]
        half = [[sum(matrix[i][k] * self.cov[k][j] for k in size if matrix[i][k]) for j in size] for i in size]
        self.cov = [[sum(half[i][k] * matrix[j][k] for k in size if matrix[j][k]) for j in size] for i in size]
        for index, more in enumerate(noise):
            self.cov[index][index] += more
