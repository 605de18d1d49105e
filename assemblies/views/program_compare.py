"""Two revisions of one program against each other, in terms of their tools."""

from __future__ import annotations

from dataclasses import dataclass, field

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from assemblies.actions.comparing import (
    ReadingComparison,
    compare_readings,
    figures_of,
    requirement_changes,
)
from assemblies.actions.readings import is_current
from assemblies.forms.programs import LARGEST_FILE
from assemblies.models import STANDARD_KEY, Machine, ProgramRevision, Reading
from assemblies.rules.change_wording import Change
from assemblies.rules.changed_lines import (
    HEAD,
    ChangedBlock,
    Part,
    changed_blocks,
    count_lines,
    is_same_text,
    parts_by_tool,
)
from assemblies.rules.figure_changes import in_one_line
from assemblies.rules.nc.text import decode
from assemblies.rules.program_changes import ToolComparison
from crib.rules.keys import key_of
from crib.views.access import needs

#: Lines of the program on one page; the rest is counted.
LINES_SHOWN = 400


@dataclass(frozen=True)
class ToolRow:
    """One T number of the two revisions."""

    compared: ToolComparison
    stated: list[Change]
    #: What one revision alone asks of it, where the other does not call it.
    alone: str
    #: Whether its lines are the same to the letter; None where nobody can say.
    same_lines: bool | None

    @property
    def number(self) -> int:
        return self.compared.tool_number

    @property
    def told(self) -> list[Change]:
        """Changes to look at first: those where the two sides print differently."""
        return [change for change in self.compared.changes if not change.prints_alike]

    @property
    def left_open(self) -> list[Change]:
        return [change for change in self.compared.changes if change.prints_alike]

    @property
    def differs(self) -> bool:
        return self.compared.status != "same" or bool(self.stated)


@dataclass
class Sides:
    """Both revisions, how both were read, and their texts cut at the tool changes."""

    older: ProgramRevision
    newer: ProgramRevision
    readings: list[Reading | None]
    texts: list[str]
    parts: list[dict] = field(default_factory=list)

    def __post_init__(self) -> None:
        if None not in self.readings:
            self.parts = [
                parts_by_tool(text, [(c.line, c.tool_number) for c in reading.tool_calls.all()])
                for text, reading in zip(self.texts, self.readings, strict=True)
            ]

    def parts_of(self, key: int | str) -> tuple[list[Part], list[Part]]:
        before, after = (parts.get(key, []) for parts in self.parts)
        return before, after


@needs("view")
@require_safe
def program_compare(request: HttpRequest, older: int, newer: int) -> HttpResponse:
    machine = _machine(request.GET.get("machine", ""))
    sides = _sides(older, newer, machine.reader_settings().key if machine else STANDARD_KEY)
    context = {
        "program": sides.older.program,
        "older": sides.older,
        "newer": sides.newer,
        "machine": machine,
        "machines": [m for m in Machine.objects.all() if m.reader_settings().key != STANDARD_KEY],
        "count": count_lines(*sides.texts),
        "not_read": [
            revision
            for revision, reading in zip((sides.older, sides.newer), sides.readings, strict=True)
            if reading is None
        ],
    }
    if sides.parts:
        context |= _compared(sides) | _shown_lines(sides, request.GET.get("lines", ""))
    return render(request, "assemblies/program_compare.html", context)


def _machine(mark: str) -> Machine | None:
    """The machine as which both are read; None: as the standard has it."""
    if not mark:
        return None
    return get_object_or_404(Machine, mark_key=key_of(mark[:24]))


def _sides(older: int, newer: int, settings_key: str) -> Sides:
    rows = ProgramRevision.objects.select_related("program")
    after = get_object_or_404(rows, pk=newer)
    before = get_object_or_404(rows.exclude(pk=after.pk), pk=older, program=after.program_id)
    both = [before, after]
    found = Reading.objects.filter(revision__in=both, settings_key=settings_key).defer("notes")
    read = {one.revision_id: one for one in found.prefetch_related("tool_uses", "tool_calls")}
    return Sides(
        older=before,
        newer=after,
        readings=[read.get(row.pk) for row in both],
        texts=[decode(bytes(row.content), LARGEST_FILE) for row in both],
    )


def _compared(sides: Sides) -> dict:
    comparison = compare_readings(*sides.readings)
    rows = _tool_rows(sides, comparison)
    return {
        "comparison": comparison,
        "outdated": [
            revision
            for revision, reading in zip((sides.older, sides.newer), sides.readings, strict=True)
            if not is_current(reading)
        ],
        "different": [row for row in rows if row.differs],
        "same": [row for row in rows if not row.differs],
        "other_lines": [row for row in rows if not row.differs and row.same_lines is False],
        "head_differs": not is_same_text(*sides.parts_of(HEAD)),
    }


def _tool_rows(sides: Sides, comparison: ReadingComparison) -> list[ToolRow]:
    stated = [
        {row.tool_number: row for row in _requirements(one)} for one in (sides.older, sides.newer)
    ]
    compared = {one.tool_number: one for one in comparison.tools}
    alone = {tool.tool_number: tool for side in sides.readings for tool in figures_of(side)}
    return [
        ToolRow(
            compared=compared.get(number, ToolComparison(number, "same")),
            stated=requirement_changes(*(rows.get(number) for rows in stated)),
            alone=in_one_line(alone[number]) if number in alone else "",
            same_lines=is_same_text(*sides.parts_of(number)),
        )
        for number in sorted(compared.keys() | stated[0].keys() | stated[1].keys())
    ]


def _requirements(revision: ProgramRevision) -> QuerySet:
    return revision.requirements.select_related("preferred").prefetch_related("alternatives")


# ---- lines
def _shown_lines(sides: Sides, asked: str) -> dict:
    """The changed lines of one tool, or of what stands before the first tool change."""
    if asked == HEAD:
        key, words = HEAD, "before the first tool change"
    elif asked.isascii() and asked.isdecimal() and len(asked) < 10:
        key, words = int(asked), f"of T{int(asked)}"
    else:
        return {}
    blocks = changed_blocks(*sides.parts_of(key))
    shown = _first_of(blocks or [])
    return {
        "lines_words": words,
        "lines_too_many": blocks is None,
        "blocks": shown,
        "lines_left": _size(blocks or []) - _size(shown),
    }


def _size(blocks: list[ChangedBlock]) -> int:
    return sum(len(block.gone) + len(block.added) for block in blocks)


def _first_of(blocks: list[ChangedBlock]) -> list[ChangedBlock]:
    """So many whole blocks as one page takes; one that is longer than a page is cut."""
    shown, room = [], LINES_SHOWN
    for block in blocks:
        if room < _size([block]):
            break
        shown.append(block)
        room -= _size([block])
    if blocks and not shown:
        half = LINES_SHOWN // 2
        shown = [ChangedBlock(blocks[0].gone[:half], blocks[0].added[:half])]
    return shown
