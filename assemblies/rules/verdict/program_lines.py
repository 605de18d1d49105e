"""Is this the right program revision, and does it call this T number?

Source: own rules; who approved what, as recorded.
"""

from __future__ import annotations

from assemblies.rules.verdict.facts import Approval, CheckFacts, ProgramFacts
from assemblies.rules.verdict.wording import agrees, day_and_month, short_name, tool_list, unknown
from crib.rules.finding import Finding, Level


def program_findings(facts: CheckFacts) -> list[Finding]:
    """Approved here, listed here, read whole."""
    if facts.program is None:
        text = "No program chosen: what this is, not whether it is right."
        return [unknown("program.not_chosen", text, "Choose the program and its revision.")]
    return [_approval(facts), *_listed(facts), _reading(facts.program)]


def _approval(facts: CheckFacts) -> Finding:
    program = facts.program
    revision = f"Revision {short_name(program.revision, 'not known', 10)}"
    if program.approval is Approval.APPROVED and not program.revision:
        return unknown("program.revision_not_known", "Which revision this is is not known.")
    if program.approval is Approval.APPROVED:
        return agrees("program.approved", f"{revision} is approved on this machine.")
    if program.approval is Approval.WITHDRAWN:
        text = f"{revision} is withdrawn on this machine."
        remedy = _fetch_revision(program)
        return Finding("program.withdrawn", Level.STOP_HARD, text, remedy=remedy)
    if program.approval is Approval.NONE:
        text = f"{revision}. {_approved_instead(facts)}"
        remedy = _fetch_revision(program)
        return Finding("program.not_approved", Level.STOP_SOFT, text, remedy=remedy)
    return unknown("program.approval_not_known", "Whether this revision is approved is not known.")


def _approved_instead(facts: CheckFacts) -> str:
    program = facts.program
    if not program.approved_revision:
        return "No revision is approved on this machine."
    since = program.approved_on
    when = f" ({day_and_month(since, facts.today)})" if since else ""
    return f"Approved is {short_name(program.approved_revision, '', 10)}{when}."


def _fetch_revision(program: ProgramFacts) -> str:
    if not program.approved_revision:
        return "Ask the programmer to approve a revision on this machine."
    return f"Fetch revision {program.approved_revision}."


def _listed(facts: CheckFacts) -> list[Finding]:
    if facts.program.machine_listed is not False:
        return []
    name = short_name(facts.program.name, "This program")
    where = short_name(facts.machine.name if facts.machine else None, "this machine")
    text = f"{name} is not listed for {where}."
    return [Finding("program.machine_not_listed", Level.CHECK, text, remedy="Ask the lead.")]


def _reading(program: ProgramFacts) -> Finding:
    if program.reading_complete:
        return agrees("program.read_whole", "The program was read whole.")
    text = "Program not fully read. Its figures are “at least” only."
    remedy = "Programmer: look at the lines that were not understood."
    return unknown("program.not_read_whole", text, remedy)


def call_findings(facts: CheckFacts, tool_number: int) -> list[Finding]:
    """The program calls this T number, and what its reading noted about it."""
    program = facts.program
    if program is None:
        return []
    if program.tool_numbers is None:
        return [unknown("program.tools_not_known", "Which tools the program calls is not known.")]
    if tool_number not in program.tool_numbers:
        return [_not_called(program, tool_number)]
    call = facts.calls.get(tool_number)
    if call is None:
        return []
    if call.notes is None:
        return [unknown("program.notes_not_known", "What its reading noted is not known.")]
    return list(call.notes)


def _not_called(program: ProgramFacts, tool_number: int) -> Finding:
    text = f"T{tool_number} is not in this program."
    called = tool_list(program.tool_numbers)
    remedy = f"It calls {called}." if called else "No tool call was found in it."
    if not program.reading_complete:
        return unknown("program.tool_not_found", text, remedy)
    return Finding("program.tool_not_called", Level.STOP_SOFT, text, remedy=remedy)
