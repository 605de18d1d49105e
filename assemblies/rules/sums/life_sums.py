"""Tool life at another cutting speed, between two lives that were measured."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import log

#: Exponents outside say that the two tests are too near each other to draw a line through.
_EXPONENTS = (0.01, 2.0)


@dataclass(frozen=True, slots=True)
class MeasuredLife:
    """One test: a cutting speed [m/min] and the life at it [min]."""

    speed_m_min: float
    life_min: float


@dataclass(frozen=True, slots=True)
class TaylorLine:
    """v T^n = C: the exponent, and the speed [m/min] that lasts for one minute."""

    exponent: float
    one_minute_m_min: float

    def life_min(self, speed_m_min: float) -> float:
        return (self.one_minute_m_min / speed_m_min) ** (1 / self.exponent)


def taylor_line(first: MeasuredLife, second: MeasuredLife) -> TaylorLine:
    """Taylor's line through two tests. Raises ValueError where they settle no falling line.

    Source: F. W. Taylor 1907; tests after ISO 3685 and ISO 8688-2, from memory.

    >>> line = taylor_line(MeasuredLife(60, 81), MeasuredLife(90, 36))
    >>> round(line.exponent, 3), round(line.one_minute_m_min)
    (0.5, 540)
    """
    if (first.speed_m_min - second.speed_m_min) * (second.life_min - first.life_min) <= 0:
        raise ValueError("The faster test has to be the shorter life.")
    exponent = log(first.speed_m_min / second.speed_m_min) / log(second.life_min / first.life_min)
    if not _EXPONENTS[0] <= exponent <= _EXPONENTS[1]:
        raise ValueError("The two tests are too near each other.")
    return TaylorLine(exponent, first.speed_m_min * first.life_min**exponent)


def life_used_percent(runs: Sequence[tuple[float, float]]) -> float:
    """Share of a life that is used up [%] by runs, each so long [min] out of a life [min].

    Source: linear sum of damage (Miner), an assumption.

    >>> round(life_used_percent([(20, 81), (10, 36)]), 1)
    52.5
    """
    return 100 * sum(minutes / life_min for minutes, life_min in runs)
