"""Which stack stands first in the part finder."""

from __future__ import annotations

from math import inf

from assemblies.rules.finder.facts import FoundStack
from crib.rules.finding import Level


def best_first(stack: FoundStack) -> tuple:
    """The key by which stacks are sorted, best first.

    Fewest checks and unknown points, of those fewest unknown; the collet that closes least;
    the shortest gauge length; the smaller runout in the past, where there is one; then the marks.

    >>> from assemblies.rules.stack import CutterPart, HolderPart, Stack
    >>> best_first(FoundStack((), Stack(holder=HolderPart(), cutter=CutterPart()), ()))[:3]
    (0, 0, 0)
    """
    doubts, gauge_um = stack.doubts, stack.gauge_um
    unknown = sum(finding.level is Level.UNKNOWN for finding in doubts)
    runouts_um = [median_um for _, median_um, _ in stack.histories if median_um is not None]
    return (
        len(doubts),
        unknown,
        stack.closing_um,
        inf if gauge_um is None else gauge_um,
        max(runouts_um, default=inf),
        tuple((part.kind, part.shown, part.code) for part in stack.parts),
    )
