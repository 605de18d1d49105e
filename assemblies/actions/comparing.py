"""Two revisions of one program held against each other: what was read, and what was stated."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from assemblies.models import Reading, ToolRequirement, ToolUse
from assemblies.models.programs import LengthRule
from assemblies.rules.change_wording import Change
from assemblies.rules.figure_changes import ToolFigures
from assemblies.rules.program_changes import (
    FileFacts,
    ToolComparison,
    change_of_order,
    changes_of_file,
    compare,
    said,
)
from crib.rules.units import show_mm


@dataclass(frozen=True)
class ReadingComparison:
    """What two readings of one kind say differently; `order` and `file` beside the tools."""

    tools: list[ToolComparison]
    order: Change | None
    file: list[Change]

    @property
    def others(self) -> list[Change]:
        return [*self.file, *([self.order] if self.order else [])]

    @property
    def sentence(self) -> str:
        """All of it in one line."""
        return said(self.tools, self.others)


def figures_of(reading: Reading) -> list[ToolFigures]:
    """What a kept reading says of each T number that is called."""
    return [_figures(use) for use in reading.tool_uses.all()]


def _figures(use: ToolUse) -> ToolFigures:
    details = use.details
    turns = {"cw": use.turns_cw, "ccw": use.turns_ccw}
    by_offset = details.get("deepest_z_by_work_offset") or {}
    return ToolFigures(
        tool_number=use.tool_number,
        description=use.description,
        speed_max_rpm=use.spindle_speed_max_rpm,
        speed_min_rpm=use.spindle_speed_min_rpm,
        speed_exact=use.speed_exact,
        speed_carried=use.speed_carried,
        turns=frozenset(name for name, is_so in turns.items() if is_so),
        turns_exact=use.rotation_exact,
        feed_max_mm_min=use.feed_max_mm_min,
        feed_min_mm_min=use.feed_min_mm_min,
        feed_per_revolution_mm=details.get("feed_per_revolution_max"),
        deepest_z_um=use.deepest_z_um,
        deepest_z_rapid_um=use.deepest_z_rapid_um,
        deepest_z_by_offset={name: round(z_mm * 1000) for name, z_mm in by_offset.items()},
        depth_exact=use.depth_exact,
        feed_path_mm=details.get("feed_path_length"),
        cutting_min=details.get("cutting_time"),
        cycles=frozenset(details.get("cycles") or ()),
        length_offsets=frozenset(details.get("length_offsets") or ()),
        radius_offsets=frozenset(details.get("radius_offsets") or ()),
        coolant=frozenset(details.get("coolant") or ()),
        calls=details.get("calls") or 0,
        exact=details.get("exact"),
    )


def compare_readings(old: Reading, new: Reading) -> ReadingComparison:
    """Two readings of the same kind, told by tool, by order of calls and by the whole file."""
    calls = [[call.tool_number for call in one.tool_calls.all()] for one in (old, new)]
    return ReadingComparison(
        tools=compare(figures_of(old), figures_of(new)),
        order=change_of_order(*calls),
        file=changes_of_file(_file_facts(old), _file_facts(new)),
    )


def says_the_same(old: Reading | None, new: Reading | None) -> bool:
    """Whether two readings of one file say the same of all that weighs; none says nothing.

    What is open in both alike is the same here: the file did not change between them.
    """
    if old is None or new is None:
        return False
    found = compare_readings(old, new)
    changes = [*found.others, *(change for tool in found.tools for change in tool.changes)]
    called = all(tool.status not in ("added", "gone") for tool in found.tools)
    return called and not any(change.weighs and not change.says_the_same for change in changes)


def _file_facts(reading: Reading) -> FileFacts:
    return FileFacts(
        units=frozenset(reading.details.get("length_units") or ()),
        complete=reading.complete,
        end=reading.end_of_program,
        number=reading.program_number,
    )


#: What each figure of a requirement is called beside its value.
_STATED = {
    "kind": "Kind",
    "diameter_um": "Cutting diameter",
    "diameter_tolerance_um": "Diameter may differ by",
    "controller_diameter": "Diameter entered at the control",
    "corner_radius_um": "Corner radius",
    "corner_tolerance_um": "Corner radius may differ by",
    "hand": "Hand",
    "length_rule": "Gauge length",
    "gauge_length_um": "Gauge length wanted",
    "gauge_tolerance_um": "Gauge length may differ by",
    "stickout_min_um": "Stick-out from",
    "stickout_max_um": "Stick-out to",
    "flute_min_um": "Cutting length at least",
}


def requirement_changes(old: ToolRequirement | None, new: ToolRequirement | None) -> list[Change]:
    """What two revisions state differently for one T number, and who answers for it."""
    shown = [
        ("Confirmed", _standing),
        *((words, partial(_printed, name)) for name, words in _STATED.items()),
        ("Listed assembly", _listed),
        ("Allowed alternatives", _alternatives),
    ]
    changes = []
    for words, show in shown:
        before, after = show(old), show(new)
        if before != after:
            changes.append(Change(words, before, after, f"{words}: {before} → {after}"))
    return changes


_NOT_STATED = "not stated"


def _standing(row: ToolRequirement | None) -> str:
    if row is None:
        return _NOT_STATED
    return "confirmed" if row.is_confirmed else "not confirmed"


def _printed(name: str, row: ToolRequirement | None) -> str:
    value = None if row is None else getattr(row, name)
    if value in (None, "", LengthRule.NOT_STATED):
        return "no" if name == "controller_diameter" else _NOT_STATED
    if name.endswith("_um"):
        return f"{show_mm(value)} mm"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return getattr(row, f"get_{name}_display")()


def _listed(row: ToolRequirement | None) -> str:
    return str(row.preferred.number) if row and row.preferred else "none"


def _alternatives(row: ToolRequirement | None) -> str:
    numbers = sorted(one.number for one in row.alternatives.all()) if row and row.pk else ()
    return ", ".join(map(str, numbers)) or "none"
