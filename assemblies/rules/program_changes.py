"""What changed between two revisions of a program: its tools, their order, the file as a whole.

Source: our own choice of what weighs; the figures are those of the reading.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from assemblies.rules.change_wording import (
    NONE,
    Change,
    differs,
    listed,
    side,
    where_not_certain,
)
from assemblies.rules.figure_changes import ToolFigures, changes_of_tool

#: Calls of an order that are printed; the rest is counted.
_CALLS = 12


@dataclass(frozen=True)
class ToolComparison:
    """One T number of two revisions: `added`, `gone`, `changed` or `same`."""

    tool_number: int
    status: str
    changes: tuple[Change, ...] = ()

    @property
    def weighs(self) -> bool:
        return self.status in ("added", "gone") or any(change.weighs for change in self.changes)


@dataclass(frozen=True, kw_only=True)
class FileFacts:
    """What a reading says of the whole file."""

    units: frozenset[str] = frozenset()
    complete: bool = False
    end: str = ""
    number: str = ""


def compare(old: Iterable[ToolFigures], new: Iterable[ToolFigures]) -> list[ToolComparison]:
    """Every T number of either revision, in order of the numbers.

    >>> tools = [ToolFigures(tool_number=5)], [ToolFigures(tool_number=7)]
    >>> [(one.tool_number, one.status) for one in compare(*tools)]
    [(5, 'gone'), (7, 'added')]
    """
    before = {tool.tool_number: tool for tool in old}
    after = {tool.tool_number: tool for tool in new}
    return [_compared(n, before.get(n), after.get(n)) for n in sorted(before.keys() | after.keys())]


def _compared(number: int, old: ToolFigures | None, new: ToolFigures | None) -> ToolComparison:
    if old is None or new is None:
        return ToolComparison(number, "added" if old is None else "gone")
    changes = tuple(changes_of_tool(old, new))
    return ToolComparison(number, "changed" if changes else "same", changes)


def change_of_order(old: Sequence[int | None], new: Sequence[int | None]) -> Change | None:
    """How the order of calls differs among the numbers that both call; None: it does not.

    A number that only one of them calls is told with its tool. A call whose number is not known
    leaves the order open.

    >>> change_of_order([1, 2, 3], [1, 3, 2]).text
    'order of calls changed'
    >>> change_of_order([1, 2], [1, 7, 2])
    """
    before, after = _order(old), _order(new)
    if None in old or None in new:
        known = where_not_certain(None not in old, None not in new)
        return Change("order", before, after, f"order of calls {known}", is_open=True)
    common = set(old) & set(new)
    if [n for n in old if n in common] == [n for n in new if n in common]:
        return None
    return Change("order", before, after, "order of calls changed")


def _order(calls: Sequence[int | None]) -> str:
    shown = " ".join("T?" if number is None else f"T{number}" for number in calls[:_CALLS])
    return f"{shown} … {len(calls)} calls" if len(calls) > _CALLS else shown or NONE


def changes_of_file(old: FileFacts, new: FileFacts) -> list[Change]:
    """What differs in the file as a whole; a file that was not fully read is always named.

    >>> read = {"units": frozenset(["mm"]), "complete": True}
    >>> [c.text for c in changes_of_file(FileFacts(end="M30", **read), FileFacts(end="%", **read))]
    ['ends with M30 → %']
    """
    changes = [
        *differs("units", "units", listed(old.units), listed(new.units)),
        *differs("end", "ends with", old.end or "no end", new.end or "no end"),
        *differs("number", "program number", old.number or NONE, new.number or NONE),
    ]
    if not (old.complete and new.complete):
        words = ["fully read" if one.complete else "not fully read" for one in (old, new)]
        text = f"not fully read{side(old.complete, new.complete)}"
        changes.insert(0, Change("complete", *words, text))
    return changes


#: So many tools are named in one line; the rest is counted.
_NAMED = 4
#: So many figures that are not certain are named; more are counted.
_OPEN_NAMED = 2


def said(comparisons: Iterable[ToolComparison], others: Iterable[Change] = ()) -> str:
    """All of it in one line: `T3: S16000 → S18000, 2.0 mm deeper; new: T7`.

    >>> said([ToolComparison(5, "gone"), ToolComparison(7, "added"), ToolComparison(8, "same")])
    'new: T7; gone: T5'
    >>> said([ToolComparison(8, "same")])
    'nothing changed for the tools'
    """
    rows = list(comparisons)
    parts = _told(row for row in rows if row.status == "changed")
    for words, status in (("new", "added"), ("gone", "gone")):
        numbers = [f"T{row.tool_number}" for row in rows if row.status == status]
        if numbers:
            parts.append(f"{words}: {', '.join(numbers)}")
    parts += [change.text for change in others]
    return "; ".join(parts) or "nothing changed for the tools"


def _told(rows: Iterable[ToolComparison]) -> list[str]:
    """Tools of which the same is to be said stand together; beyond some they are counted."""
    numbers: dict[str, list[str]] = {}
    for row in rows:
        numbers.setdefault(in_few_words(row.changes), []).append(f"T{row.tool_number}")
    told = [f"{', '.join(tools)}: {text}" for text, tools in numbers.items()]
    left = sum(len(tools) for tools in list(numbers.values())[_NAMED:])
    return told[:_NAMED] + ([f"{left} more tools changed"] if left else [])


def in_few_words(changes: Iterable[Change]) -> str:
    """The texts of those `changes` that weigh, else of all; of many open figures only how many.

    >>> many = [Change(name, "", "", f"{name} not known", is_open=True) for name in "abc"]
    >>> in_few_words([*many, Change("calls", "1", "2", "calls 1 → 2")])
    'calls 1 → 2, 3 figures not known for certain'
    """
    changes = list(changes)
    changes = [change for change in changes if change.weighs] or changes
    left_open = [change for change in changes if change.is_open]
    if len(left_open) <= _OPEN_NAMED:
        return ", ".join(change.text for change in changes)
    texts = [change.text for change in changes if not change.is_open]
    return ", ".join([*texts, f"{len(left_open)} figures not known for certain"])
