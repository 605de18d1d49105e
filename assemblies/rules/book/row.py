"""One rule as the rule book shows it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from crib.rules.finding import Level


class Subject(StrEnum):
    """Groups of the rule book, in the order in which an assembly comes together."""

    SEAT = "Do the parts go together"
    SHANK = "Shank and grip"
    TIGHT = "Tightening"
    FIGURES = "Lengths, diameter and runout"
    SPEED = "Speed, balance and turning"
    CONDITION = "Condition and life"
    MACHINE = "Machine and changer"
    PURPOSE = "What it is built for"
    INSTRUMENT = "Instruments and readings"
    LABEL = "At the spindle: label and record"
    HERE = "At the spindle: machine and pocket"
    PROGRAM = "At the spindle: program"
    WANTED = "At the spindle: what the tool number wants"
    RUNS = "At the spindle: speed and turning"
    STATE = "At the spindle: state and control"
    LOADED = "Tools that stand in a machine"
    ENTRY = "When an item is entered"
    SHOP = "Settings of the shop"


class Confidence(StrEnum):
    """How sure the figure behind a rule is."""

    CONFIRMED = "confirmed"
    PRACTICE = "common practice"
    MEMORY = "from memory"
    RECORDED = "as recorded"
    ARITHMETIC = "arithmetic"
    OWN = "own rule"

    @property
    def words(self) -> str:
        return _WORDS[self]


_WORDS = {
    Confidence.CONFIRMED: "read in a published source",
    Confidence.PRACTICE: "trade practice; makers' own figures go first",
    Confidence.MEMORY: "remembered, waiting for somebody with the paper in hand",
    Confidence.RECORDED: "goes by what is marked on the part or recorded by the shop",
    Confidence.ARITHMETIC: "follows from the figures by sums, worked by hand in the tests",
    Confidence.OWN: "decided here, held against nothing outside",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """One rule. `limit` may quote settings of the shop in braces; `codes` maps to their levels."""

    key: str
    subject: Subject
    name: str
    asks: str
    limit: str
    source: str
    confidence: Confidence
    codes: dict[str, tuple[Level, ...]]

    @property
    def levels(self) -> tuple[Level, ...]:
        """Levels it can give, lightest first."""
        given = {level for levels in self.codes.values() for level in levels}
        return tuple(sorted(given, key=lambda level: level.weight))


#: Names of the arguments of `rule` that list codes, with the level these codes have.
_LISTS = {
    "passes": Level.PASS,
    "notes": Level.NOTE,
    "checks": Level.CHECK,
    "unknowns": Level.UNKNOWN,
    "soft": Level.STOP_SOFT,
    "hard": Level.STOP_HARD,
}


def rule(
    key: str,
    subject: Subject,
    name: str,
    *,
    asks: str,
    limit: str,
    source: str,
    confidence: Confidence,
    **codes: str,
) -> Rule:
    """A row of the book; `passes="a.b c.d"` and its like list the codes of each level.

    Raises KeyError for a list of codes under another name.

    >>> made = rule(
    ...     "sum", Subject.FIGURES, "The sum", asks="?", limit="–", source="geometry",
    ...     confidence=Confidence.ARITHMETIC, passes="sum.right", checks="sum.wrong",
    ... )
    >>> made.codes["sum.wrong"]
    (<Level.CHECK: 'check'>,)
    """
    levels: dict[str, tuple[Level, ...]] = {}
    for of_level, listed in codes.items():
        for code in listed.split():
            levels[code] = (*levels.get(code, ()), _LISTS[of_level])
    return Rule(
        key=key,
        subject=subject,
        name=name,
        asks=asks,
        limit=limit,
        source=source,
        confidence=confidence,
        codes=levels,
    )
