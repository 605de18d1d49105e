"""The finding: one rule's answer, and the order in which answers weigh.

Every rule of every room returns findings. The sentence a person reads and the
numbers behind it travel together, so that no screen has to word a rule again.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from enum import StrEnum


class Level(StrEnum):
    """How much a finding weighs. `UNKNOWN` is never a pass."""

    PASS = "pass"
    NOTE = "note"
    CHECK = "check"
    UNKNOWN = "unknown"
    STOP_SOFT = "stop_soft"
    STOP_HARD = "stop_hard"

    @property
    def weight(self) -> int:
        """Place in the order STOP > CAN'T TELL > CHECK > MATCH; higher is worse."""
        return _WEIGHTS[self]

    @property
    def is_stop(self) -> bool:
        return self in (Level.STOP_SOFT, Level.STOP_HARD)


_WEIGHTS = {
    Level.PASS: 0,
    Level.NOTE: 1,
    Level.CHECK: 2,
    Level.UNKNOWN: 3,
    Level.STOP_SOFT: 4,
    Level.STOP_HARD: 5,
}


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule's answer.

    code      stable name, `subject.case` (`collet.shank_too_small`)
    level     see `Level`
    text      what a person reads first: fact, number; at most about 70 characters
    measured  the value found, in `unit`; None when not known or not a number
    limit     the limit it was held against, in `unit`; None when there is none
    unit      unit of both numbers (`mm`, `N·m`, `1/min`), "" without numbers
    remedy    what to do next
    source    standard, table or "common practice"/"shop setting" behind the limit
    """

    code: str
    level: Level
    text: str
    measured: float | None = None
    limit: float | None = None
    unit: str = ""
    remedy: str = ""
    source: str = ""

    def as_dict(self) -> dict:
        """Plain dictionary, as frozen with a build or a spindle check."""
        return asdict(self) | {"level": str(self.level)}

    @classmethod
    def from_dict(cls, data: dict) -> Finding:
        """The finding that `as_dict` wrote."""
        return cls(**data | {"level": Level(data["level"])})


def worst_level(findings: Iterable[Finding]) -> Level:
    """The heaviest level among `findings`; `Level.PASS` when there are none."""
    return max((f.level for f in findings), key=lambda level: level.weight, default=Level.PASS)


def worst_first(findings: Iterable[Finding]) -> list[Finding]:
    """`findings` by weight, heaviest first; equal weights keep the rules' own order."""
    return sorted(findings, key=lambda f: -f.level.weight)


def stops(findings: Iterable[Finding]) -> list[Finding]:
    """Only the soft and hard stops, in the order given."""
    return [f for f in findings if f.level.is_stop]
