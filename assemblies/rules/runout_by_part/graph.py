"""Which parts can be told apart at all: who was ever measured together with whom."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True, order=True)
class Part:
    """One part of a build: a marked piece, or all loose ones of an item as one."""

    kind: str
    name: str
    marked: bool = True


ByPart = dict[Part, list[Sequence[Part]]]

#: Against which kind a part is told apart: the first of these that its builds hold.
_PARTNERS = {"holder": ("collet", "sleeve", "cutter")}


def parts_of(builds: Iterable[Sequence[Part]]) -> list[Part]:
    """Every part once, in a fixed order.

    >>> parts_of([[Part("holder", "H-01"), Part("collet", "C-02")]])[0].name
    'C-02'
    """
    return sorted({part for build in builds for part in build})


def builds_by_part(builds: Iterable[Sequence[Part]]) -> ByPart:
    """Part -> the builds it was in.

    >>> h, c = Part("holder", "H-02"), Part("collet", "C-06")
    >>> len(builds_by_part([[h, c], [h]])[h])
    2
    """
    found: ByPart = {}
    for build in builds:
        for part in build:
            found.setdefault(part, []).append(build)
    return found


def level_table(builds: Sequence[Sequence[Part]], parts: Sequence[Part]) -> np.ndarray:
    """A row for each build and a column for each part: 1 where the part is in the build.

    >>> level_table([[Part("holder", "A")]], [Part("collet", "B"), Part("holder", "A")]).tolist()
    [[0.0, 1.0]]
    """
    column = {part: place for place, part in enumerate(parts)}
    table = np.zeros((len(builds), len(parts)))
    for row, build in enumerate(builds):
        table[row, [column[part] for part in build]] = 1
    return table


def groups_of(builds: Sequence[Sequence[Part]]) -> list[frozenset[Part]]:
    """Parts that hang together by builds, largest group first. Across groups nothing compares.

    >>> h1, c1, h2 = Part("holder", "H-01"), Part("collet", "C-01"), Part("holder", "H-02")
    >>> [len(group) for group in groups_of([[h1, c1], [h2]])]
    [2, 1]
    """
    above: dict[Part, Part] = {part: part for part in parts_of(builds)}

    def root(part: Part) -> Part:
        while above[part] != part:
            above[part] = above[above[part]]
            part = above[part]
        return part

    for build in builds:
        for part in build[1:]:
            above[root(part)] = root(build[0])
    found = defaultdict(set)
    for part in above:
        found[root(part)].add(part)
    return sorted((frozenset(group) for group in found.values()), key=lambda g: (-len(g), min(g)))


def told_apart(builds: Sequence[Sequence[Part]]) -> tuple[int, int]:
    """How many figures the builds settle on their own, and how many there are to settle.

    There are one mean, and for each kind one figure fewer than it has parts.

    Source: rank of the design of the additive model.

    >>> h1, h2, c1, c2 = (Part(k, n) for k, n in (("h", "1"), ("h", "2"), ("c", "1"), ("c", "2")))
    >>> told_apart([[h1, c1], [h2, c2]]), told_apart([[h1, c1], [h2, c2], [h1, c2]])
    ((2, 3), (3, 3))
    """
    parts = parts_of(builds)
    kinds = {part.kind for part in parts}
    table = np.column_stack([np.ones(len(builds)), level_table(builds, parts)])
    rank = int(np.linalg.matrix_rank(table.T @ table, hermitian=True))
    return rank, 1 + len(parts) - len(kinds)


def always_with(part: Part, builds: ByPart) -> list[tuple[Part, bool]]:
    """Parts that stood in every build of `part`; True where they were never without it either.

    The latter cannot be told from it: neither can be blamed.

    >>> h, c = Part("holder", "H-02"), Part("collet", "C-06")
    >>> [(p.name, both) for p, both in always_with(c, builds_by_part([[h, c], [h]]))]
    [('H-02', False)]
    """
    own = builds[part]
    shared = set(own[0]).intersection(*own[1:]) - {part}
    return [(other, len(builds[other]) == len(own)) for other in sorted(shared)]


def partners_of(part: Part, builds: ByPart) -> list[Part]:
    """Different parts that `part` was told apart from: holders of a collet, collets of a holder.

    >>> h, c = Part("holder", "H-02"), Part("collet", "C-06")
    >>> [p.name for p in partners_of(c, builds_by_part([[h, c], [h, c]]))]
    ['H-02']
    """
    with_it = {other for build in builds[part] for other in build if other != part}
    for kind in _PARTNERS.get(part.kind, ("holder",)):
        found = sorted(other for other in with_it if other.kind == kind)
        if found:
            return found
    return []
