"""The set-up sheet: for one program revision on one machine, each tool and what stands for it.

Reads only. A sheet is no scan. Without anybody who knows the labels every assembly on it counts
as looked up by its number, which is never a MATCH; whoever knows them hands in `labels_of`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from django.utils import timezone

from assemblies.actions.approvals import standing_revision
from assemblies.actions.readings import is_current, reading_of
from assemblies.actions.setup_sheet_candidates import (
    EMPTY_SPINDLE,
    Candidate,
    Gathered,
    LabelsOf,
    gather_candidates,
)
from assemblies.actions.setup_sheet_offsets import offset_of
from assemblies.actions.setup_sheet_places import Spot
from assemblies.actions.setup_sheet_words import (
    NOT_KNOWN,
    UseWords,
    is_exact,
    minutes_text,
    must_be_text,
    use_words,
)
from assemblies.models import (
    ApprovalState,
    Build,
    Machine,
    ProgramApproval,
    ProgramRevision,
    Reading,
    ToolCall,
    ToolRequirement,
    ToolUse,
)
from assemblies.rules.offset_lines import OffsetHead, OffsetUnit, ToolOffset
from assemblies.rules.verdict.facts import LabelFacts

#: Calls shown in a row.
MOST_IN_ORDER = 40


class Standing(StrEnum):
    """Where the tool for one number stands."""

    IN_MACHINE = "in_machine"
    IN_CRIB = "in_crib"
    ELSEWHERE = "elsewhere"
    NEEDS_WORK = "needs_work"
    MISSING = "missing"
    NOT_STATED = "not_stated"
    EMPTY = "empty"

    @property
    def words(self) -> str:
        return _STANDING_WORDS[self]


_STANDING_WORDS = {
    Standing.IN_MACHINE: "In this machine",
    Standing.IN_CRIB: "To fetch",
    Standing.ELSEWHERE: "Elsewhere",
    Standing.NEEDS_WORK: "Needs work",
    Standing.MISSING: "No assembly: to be built",
    Standing.NOT_STATED: "Not stated what it must be",
    Standing.EMPTY: "Empty spindle",
}


@dataclass(frozen=True)
class SheetTool:
    """One tool number: what the program does with it, what it must be, what stands for it."""

    tool_number: int
    places: tuple[int, ...]
    lines: tuple[int, ...]
    use: ToolUse | None
    requirement: ToolRequirement | None
    candidates: tuple[Candidate, ...]
    left_out: int
    offset: ToolOffset

    @property
    def chosen(self) -> Candidate | None:
        """The assembly that stands for it: the one in the machine, else the fittest."""
        return self.candidates[0] if self.candidates else None

    @property
    def others(self) -> tuple[Candidate, ...]:
        return self.candidates[1:]

    @property
    def words(self) -> UseWords:
        return use_words(self.use)

    @property
    def must_be(self) -> str:
        if self.tool_number == EMPTY_SPINDLE:
            return "nothing: the spindle is emptied"
        return must_be_text(self.requirement)

    @property
    def standing(self) -> Standing:
        if self.tool_number == EMPTY_SPINDLE:
            return Standing.EMPTY
        if self.chosen is None:
            stated = self.requirement is not None and self.requirement.is_confirmed
            return Standing.MISSING if stated else Standing.NOT_STATED
        return _standing_of(self.chosen)

    @property
    def to_build(self) -> bool:
        return self.standing in (Standing.MISSING, Standing.NEEDS_WORK)


def _standing_of(candidate: Candidate) -> Standing:
    if candidate.where.spot is Spot.HERE:
        return Standing.IN_MACHINE
    if candidate.own_level.is_stop:
        return Standing.NEEDS_WORK
    away = candidate.where.spot in (Spot.OTHER_MACHINE, Spot.BORROWED)
    return Standing.ELSEWHERE if away else Standing.IN_CRIB


@dataclass(frozen=True)
class FetchGroup:
    """What to take from one place: (T numbers, assembly and revision, mark on the holder)."""

    place: str
    lines: tuple[tuple[str, str, str], ...]


@dataclass(frozen=True)
class Sheet:
    """One program revision on one machine, as it stands at `made_at`."""

    revision: ProgramRevision
    machine: Machine
    reading: Reading | None
    approval: str
    made_at: datetime
    tools: tuple[SheetTool, ...]
    order: tuple[int | None, ...]
    not_called: tuple[int, ...]
    unclear_lines: tuple[int, ...]

    @property
    def title(self) -> str:
        return f"{self.revision} on {self.machine}"

    @property
    def is_read(self) -> bool:
        """Whether today's reader read the whole file the way this machine reads."""
        return is_current(self.reading) and self.reading.complete

    @property
    def stamps(self) -> tuple[str, ...]:
        """What stands across the sheet; nothing where the revision may run and was read whole."""
        stamps = (
            [] if self.approval == "approved" else [f"{self.approval.upper()} on {self.machine}"]
        )
        return (*stamps, *(() if self.is_read else ("NOT FULLY READ",)))

    @property
    def order_text(self) -> str:
        """The calls in the order of the program, repeats included; long ones are cut."""
        names = ["T?" if number is None else f"T{number}" for number in self.order]
        left = len(names) - MOST_IN_ORDER
        return " ".join(names[:MOST_IN_ORDER]) + (f" and {left} more" if left > 0 else "")

    @property
    def minutes(self) -> float | None:
        """Cutting time of all tools [min]; None where one of them is not known."""
        known = [tool.use.details.get("cutting_time") for tool in self.tools if tool.use]
        return None if not known or None in known else sum(known)

    @property
    def time_text(self) -> str:
        """Cutting time of all tools, "at least" where one of them is not exact."""
        if self.minutes is None:
            return NOT_KNOWN
        uses = [tool.use for tool in self.tools if tool.use]
        exact = self.is_read and all(is_exact(use, "cutting_time") for use in uses)
        return f"{'' if exact else 'at least '}{minutes_text(self.minutes)}"

    @property
    def unit(self) -> OffsetUnit:
        """The unit of the program; where it uses both or names none, the machine's own."""
        seen = self.reading.details.get("length_units", []) if self.reading else []
        return OffsetUnit(seen[0] if len(seen) == 1 else self.machine.default_units)

    @property
    def offsets(self) -> tuple[ToolOffset, ...]:
        return tuple(tool.offset for tool in self.tools if tool.tool_number != EMPTY_SPINDLE)

    @property
    def offset_head(self) -> OffsetHead:
        return OffsetHead(
            program=str(self.revision),
            machine=f"{self.machine.mark} {self.machine.name}",
            made_at=f"{timezone.localtime(self.made_at):%Y-%m-%d %H:%M}",
            touches_off_every_load=self.machine.touches_off_every_load,
            warnings=self.stamps,
        )

    @property
    def tally(self) -> tuple[tuple[Standing, tuple[int, ...]], ...]:
        """T numbers by where their tool stands, those that make work first."""
        order = (
            Standing.MISSING,
            Standing.NEEDS_WORK,
            Standing.NOT_STATED,
            Standing.ELSEWHERE,
            Standing.IN_CRIB,
            Standing.IN_MACHINE,
        )
        groups = ((s, tuple(t.tool_number for t in self.tools if t.standing == s)) for s in order)
        return tuple((standing, numbers) for standing, numbers in groups if numbers)

    @property
    def fetch(self) -> tuple[FetchGroup, ...]:
        """What is to be brought to the machine, by place."""
        found: dict[str, dict[str, tuple[list[str], str]]] = {}
        for tool in self.tools:
            if tool.standing in (Standing.IN_CRIB, Standing.ELSEWHERE):
                one = tool.chosen
                lines = found.setdefault(one.where.text, {})
                lines.setdefault(one.name, ([], one.rows.holder_mark))[0].append(
                    f"T{tool.tool_number}"
                )
        return tuple(
            FetchGroup(
                place,
                tuple((", ".join(numbers), name, mark) for name, (numbers, mark) in lines.items()),
            )
            for place, lines in sorted(found.items())
        )


def no_labels(builds: Iterable[Build]) -> Mapping[int, LabelFacts]:
    """Nobody here knows a label: everything counts as looked up by number."""
    return {}


def setup_sheet(
    revision: ProgramRevision, machine: Machine, labels_of: LabelsOf = no_labels
) -> Sheet:
    """The sheet as it stands now. Writes nothing."""
    reading = reading_of(revision, machine)
    uses = {use.tool_number: use for use in reading.tool_uses.all()} if reading else {}
    calls = list(reading.tool_calls.all()) if reading else []
    stated = _requirements(revision)
    numbers = list(dict.fromkeys(c.tool_number for c in calls if c.tool_number is not None))
    if reading is None:
        numbers = sorted(stated)
    gathered = gather_candidates(revision, machine, stated, numbers, labels_of)
    return Sheet(
        revision=revision,
        machine=machine,
        reading=reading,
        approval=_approval(revision, machine),
        made_at=timezone.now(),
        tools=tuple(
            _tool(n, calls, uses.get(n), stated.get(n), gathered, machine) for n in numbers
        ),
        order=tuple(call.tool_number for call in calls),
        not_called=tuple(sorted(stated.keys() - set(numbers))),
        unclear_lines=tuple(c.line for c in calls if c.tool_number is None),
    )


def _requirements(revision: ProgramRevision) -> dict[int, ToolRequirement]:
    rows = revision.requirements.select_related("preferred").prefetch_related("alternatives")
    return {row.tool_number: row for row in rows}


def _approval(revision: ProgramRevision, machine: Machine) -> str:
    """How the revision stands here: approved, withdrawn, not approved."""
    rows = ProgramApproval.objects.filter(revision__program_id=revision.program_id, machine=machine)
    rows = list(rows.order_by("at", "id"))
    if standing_revision(rows) == revision.pk:
        return "approved"
    own = [row for row in rows if row.revision_id == revision.pk]
    withdrawn = own and own[-1].state == ApprovalState.WITHDRAWN
    return "withdrawn" if withdrawn else "not approved"


def _tool(
    number: int,
    calls: list[ToolCall],
    use: ToolUse | None,
    row: ToolRequirement | None,
    gathered: Gathered,
    machine: Machine,
) -> SheetTool:
    own = [(place, call.line) for place, call in enumerate(calls, 1) if call.tool_number == number]
    candidates = gathered.candidates.get(number, ())
    return SheetTool(
        tool_number=number,
        places=tuple(place for place, _ in own),
        lines=tuple(line for _, line in own),
        use=use,
        requirement=row,
        candidates=candidates,
        left_out=gathered.left_out.get(number, 0),
        offset=offset_of(number, use, row, candidates[0] if candidates else None, machine),
    )
