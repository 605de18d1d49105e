"""Which parts to look at on the bench: what all builds together say, and what they cannot say.

A list to check by the re-clock test, never a reason to scrap: a good part may have met bad luck,
and a dirty taper is no part's fault.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import floor

import numpy as np

from assemblies.rules.runout_by_part.graph import (
    ByPart,
    Part,
    always_with,
    builds_by_part,
    groups_of,
    level_table,
    partners_of,
    parts_of,
    told_apart,
)
from assemblies.rules.runout_by_part.model import Effects, fit

#: Nothing is said of a part before so much of its own variance is settled. Own choice.
LEAST_SHARE = 0.5
#: What it takes to put a part on the list. Own choice.
STANDARD_ERRORS = 2
LEAST_BUILDS = 4
LEAST_PARTNERS = 2


class Word(StrEnum):
    """What is said of a part."""

    LOOK = "look"
    NO_SIGN = "no_sign"
    NOT_ENOUGH = "not_enough"
    NOT_APART = "not_apart"
    LOOSE = "loose"


@dataclass(frozen=True, slots=True)
class Observed:
    """One comparable reading [um] and the parts of its build."""

    value_um: int
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class PartSays:
    """One part: what it adds to the runout [um], how sure that is, and what may be said.

    The figures are None where nothing may be said. `against_um` is the part against the mean of
    the others of its kind that hang together with it.
    """

    part: Part
    builds: int
    partners: int
    word: Word
    share: float
    adds_um: float | None = None
    adds_error_um: float | None = None
    against_um: float | None = None
    against_error_um: float | None = None
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Study:
    """All parts, those to look at first.

    groups  how many parts hang together in each group; across groups nothing compares
    apart   figures that the readings settle on their own, and how many there are
    """

    rows: tuple[PartSays, ...]
    mean_um: float | None
    chance_um: float | None
    groups: tuple[int, ...]
    apart: tuple[int, int]
    readings: int

    @property
    def to_look_at(self) -> tuple[PartSays, ...]:
        return tuple(row for row in self.rows if row.word == Word.LOOK)


def study(observed: Sequence[Observed]) -> Study:
    """What the readings of many builds say about each part.

    A part is on the list when it adds more than two standard errors, in four builds or more, with
    two different partners or more, and can be told apart from all others.

    Source: random effects by restricted maximum likelihood, Huber's weights; limits are own choice.

    >>> study([]).rows
    ()
    """
    builds = [one.parts for one in observed]
    parts, groups, by_part = parts_of(builds), groups_of(builds), builds_by_part(builds)
    sizes = tuple(len(group) for group in groups)
    apart = told_apart(builds)
    if len(observed) <= apart[0]:
        # With as many figures as readings every reading is explained, and nothing is known.
        rows = tuple(_counted(part, by_part) for part in parts)
        return Study(rows, None, None, sizes, apart, len(observed))
    found = fit(np.array([float(one.value_um) for one in observed]), level_table(builds, parts))
    rows = [_said(place, parts, by_part, groups, found) for place in range(len(parts))]
    return Study(
        rows=tuple(sorted(rows, key=_order)),
        mean_um=found.mean,
        chance_um=found.variances.within**0.5,
        groups=sizes,
        apart=apart,
        readings=len(observed),
    )


def _counted(part: Part, builds: ByPart, share: float = 0.0) -> PartSays:
    """A part of which nothing is said yet, with the reasons for that, if there are any."""
    count = len(builds[part])
    partners = partners_of(part, builds)
    word, reasons = Word.NO_SIGN, ()
    if not part.marked:
        word, reasons = Word.LOOSE, ("Loose parts count together and are never blamed.",)
    elif inseparable := [other for other, both in always_with(part, builds) if both]:
        word, reasons = Word.NOT_APART, (_never_apart(inseparable),)
    elif reasons := tuple(_lacks(part, count, partners, share)):
        word = Word.NOT_ENOUGH
    return PartSays(part, count, len(partners), word, share, reasons=reasons)


def _never_apart(others: list[Part]) -> str:
    names = " and ".join(other.name for other in others)
    return f"Only ever measured with {names}, never one without the other: neither can be blamed."


def _lacks(part: Part, builds: int, partners: list[Part], share: float) -> Iterator[str]:
    if builds < LEAST_BUILDS:
        yield f"{builds} of {LEAST_BUILDS} builds."
    if not partners:
        yield "Measured with no other marked kind."
    elif len(partners) < LEAST_PARTNERS:
        yield f"Only ever measured with {partners[0].name}."
    if share < LEAST_SHARE:
        yield f"Readings settle {_hundredths(share)} of what is open; {LEAST_SHARE:.2f} is needed."


def _hundredths(share: float) -> str:
    """Rounded down, so that 0.499 does not read as enough."""
    return f"{floor(share * 100) / 100:.2f}"


def _said(
    place: int,
    parts: list[Part],
    builds: ByPart,
    groups: list[frozenset[Part]],
    found: Effects,
) -> PartSays:
    part, share = parts[place], max(float(found.shares[place]), 0.0)
    row = _counted(part, builds, share)
    others = _others(place, parts, groups)
    if row.word is not Word.NO_SIGN:
        return row
    if not others:
        return replace(
            row, word=Word.NOT_ENOUGH, reasons=(f"No other {part.kind} to compare with.",)
        )
    against, against_error = found.contrast(place, others)
    row = replace(
        row,
        adds_um=float(found.effects[place]),
        adds_error_um=float(found.covariance[place, place]) ** 0.5,
        against_um=against,
        against_error_um=against_error,
    )
    return replace(row, word=Word.LOOK) if row.word == Word.NO_SIGN and _stands_out(row) else row


def _others(place: int, parts: list[Part], groups: list[frozenset[Part]]) -> list[int]:
    """Places of the other parts of its kind that hang together with it."""
    part = parts[place]
    group = next(group for group in groups if part in group)
    return [
        n
        for n, other in enumerate(parts)
        if n != place and other.kind == part.kind and other in group
    ]


def _stands_out(row: PartSays) -> bool:
    return (
        row.adds_um > STANDARD_ERRORS * row.adds_error_um
        and row.against_um > STANDARD_ERRORS * row.against_error_um
    )


_WORDS = tuple(Word)


def _order(row: PartSays) -> tuple:
    """Those to look at first, then what is worst against its own kind."""
    worst = 0.0 if row.against_um is None else -row.against_um
    return (_WORDS.index(row.word), worst, row.part)
