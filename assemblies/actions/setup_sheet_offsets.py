"""What is known of each tool of a sheet as far as the control's offsets go."""

from __future__ import annotations

from assemblies.actions.setup_sheet_candidates import Candidate, pocket_text
from assemblies.actions.setup_sheet_places import Spot
from assemblies.actions.setup_sheet_words import is_exact
from assemblies.models import LengthRule, Machine, ToolRequirement, ToolUse
from assemblies.rules.offset_lines import ToolOffset


def offset_of(
    number: int,
    use: ToolUse | None,
    row: ToolRequirement | None,
    one: Candidate | None,
    machine: Machine,
) -> ToolOffset:
    """The offsets of the assembly that stands for a tool number, with what speaks against them."""
    touched = row is not None and row.is_confirmed and row.length_rule == LengthRule.TOUCH_OFF
    return ToolOffset(
        tool_number=number,
        length_registers=_registers(use, "length_offsets"),
        radius_registers=_registers(use, "radius_offsets"),
        touched_off=touched or machine.touches_off_every_load,
        **(_of_assembly(one) if one is not None else {}),
    )


def _of_assembly(one: Candidate) -> dict:
    rows = one.rows
    return {
        "assembly_number": one.assembly.number,
        "revision": one.build.revision or None,
        "released": one.is_released,
        "gauge_length_um": rows.read_um("gauge_length"),
        "diameter_um": rows.read_um("diameter"),
        "measured_on": rows.measured_on,
        "runout_um": rows.read_um("runout"),
        "holder_mark": rows.holder_mark,
        "bought_in_inches": rows.bought_in_inches,
        "pocket_text": pocket_text(one.where.load if one.where.spot is Spot.HERE else None),
        "refused_because": next((f.text for f in one.open_points if f.level.is_stop), ""),
    }


def _registers(use: ToolUse | None, name: str) -> frozenset[int] | None:
    """Registers the program uses under a number; None where the reading is not certain."""
    if use is None or not is_exact(use, name):
        return None
    return frozenset(use.details.get(name, ()))
