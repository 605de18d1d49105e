"""Does coolant come through the whole assembly where it is wanted."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from assemblies.rules.seal import seal_holds
from assemblies.rules.stack import CutterPart, HolderPart, Stack, StudState
from crib.rules.finding import Finding, Level
from crib.rules.standards import TaperRow, taper_coded

_PRACTICE = "common practice: one closed part stops the coolant"


def coolant_findings(stack: Stack, tapers: Sequence[TaperRow]) -> list[Finding]:
    """Each part on the way that lets no coolant through, or of which it is not known.

    Asked only where coolant through the tool is wanted. Where nobody said, and both the cutter
    and the machine could, that is a note.

    Source: common practice.

    >>> stack = Stack(holder=HolderPart(coolant_through=False), coolant_wanted=True)
    >>> [str(f.level) for f in coolant_findings(stack, ())]
    ['stop_soft', 'unknown']
    """
    if stack.coolant_wanted is None:
        return _not_said(stack)
    if not stack.coolant_wanted:
        return []
    found = [
        _closed(name) if through is False else _not_known(name)
        for name, through in _way(stack, tapers)
        if not through
    ]
    text = "Coolant comes through every part on record."
    return found or [Finding("coolant.through", Level.PASS, text, source=_PRACTICE)]


def _way(stack: Stack, tapers: Sequence[TaperRow]) -> Iterator[tuple[str, bool | None]]:
    """The parts that coolant passes, from the spindle on, and whether each lets it through."""
    holder, cutter = stack.holder or HolderPart(), stack.cutter or CutterPart()
    if stack.machine is not None:
        yield "machine", stack.machine.coolant_through
    if _has_a_stud(stack, holder, tapers):
        yield "pull stud", stack.stud.coolant_through
    yield "holder", holder.coolant_through
    if holder.takes_a_collet:
        yield "collet and nut", _sealed_front(stack, cutter)
    if stack.sleeve is not None:
        yield "sleeve", stack.sleeve.sealed
    yield "cutter", cutter.coolant_through


def _has_a_stud(stack: Stack, holder: HolderPart, tapers: Sequence[TaperRow]) -> bool:
    row = taper_coded(tapers, holder.interface)
    none_used = stack.machine is not None and stack.machine.stud_pattern == StudState.NOT_USED
    return row is not None and row.takes_a_stud and not none_used


def _sealed_front(stack: Stack, cutter: CutterPart) -> bool | None:
    """Either the collet or the nut closes the nose around the shank."""
    collet = stack.collet.sealed if stack.collet else None
    nut = seal_holds(stack.nut, cutter)
    if collet or nut:
        return True
    return False if collet is False and nut is False else None


def _closed(name: str) -> Finding:
    lets = "do not keep it in" if name == "collet and nut" else "lets none through"
    return Finding(
        "coolant.closed",
        Level.STOP_SOFT,
        f"Coolant is wanted. The {name} {lets}.",
        remedy=f"Take a {name} for coolant, or say that none is wanted.",
        source=_PRACTICE,
    )


def _not_known(name: str) -> Finding:
    return Finding(
        "coolant.not_known",
        Level.UNKNOWN,
        f"Coolant is wanted. Not recorded for the {name}.",
        remedy="Look whether it comes through and record it with the item.",
        source=_PRACTICE,
    )


def _not_said(stack: Stack) -> list[Finding]:
    could = stack.machine is not None and stack.machine.coolant_through
    if not (could and stack.cutter is not None and stack.cutter.coolant_through):
        return []
    text = "Cutter and machine have coolant through. Not said if it is wanted."
    remedy = "Say yes or no with the assembly."
    return [Finding("coolant.not_said", Level.NOTE, text, remedy=remedy, source=_PRACTICE)]
