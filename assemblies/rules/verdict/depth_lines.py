"""Does it stand out far enough for how deep the program goes?

The depth keeps nothing from being a MATCH that is not known to be too deep.

Source: `assemblies/rules/depth.py`; the top of the work as stated for the program, else where
programs for this machine have their zero.
"""

from __future__ import annotations

from assemblies.rules.depth import Reach, reach_findings, top_of_work_um
from assemblies.rules.verdict.facts import CheckFacts, ToolCallFacts, ZeroAt
from crib.rules.finding import Finding


def depth_findings(facts: CheckFacts, tool_number: int | None) -> list[Finding]:
    """The depth of one tool number against this assembly; nothing without a program or a T."""
    if facts.program is None or tool_number is None:
        return []
    call = facts.calls.get(tool_number) or ToolCallFacts()
    zero_at = facts.machine.zero_at if facts.machine is not None else None
    return reach_findings(
        Reach(
            deepest_z_um=call.deepest_z_um,
            depth_exact=call.depth_exact,
            top_um=top_of_work_um(facts.program.top_of_stock_um, zero_at is ZeroAt.TOP),
            stickout_um=facts.assembly.stickout_um,
            flute_um=facts.assembly.flute_length_um,
        )
    )
