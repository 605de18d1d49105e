"""Is this label telling the truth, and may the assembly be used at all?

Source: own rules; how old a measurement may be is a shop setting.
"""

from __future__ import annotations

from assemblies.rules.verdict.facts import CheckFacts, CodeKind, FoundBy, State
from assemblies.rules.verdict.wording import agrees, day_and_month, note, short_name, unknown
from crib.rules.finding import Finding, Level

_KIND_WORDS = {
    CodeKind.BADGE: "a badge",
    CodeKind.PLACE: "a drawer label",
    CodeKind.MACHINE: "a machine's plate",
    CodeKind.PROGRAM: "a program's code",
    CodeKind.PIECE: "a part's mark",
}


def code_findings(facts: CheckFacts) -> list[Finding]:
    """The code is ours and stands for an assembly; empty when so."""
    kind = facts.label.code_kind
    if kind in _KIND_WORDS:
        text = f"That is {_KIND_WORDS[kind]}. Scan the tool's label."
        return [unknown("label.other_kind", text, "Scan the label of the assembly.")]
    if kind is CodeKind.ASSEMBLY and facts.assembly is not None:
        return []
    remedy = "Scan again, type the assembly number, or look it up by the holder mark."
    return [unknown("label.code_not_ours", "This code is not one of ours.", remedy)]


def label_findings(facts: CheckFacts) -> list[Finding]:
    """In order: the label, the state, the mark on the metal, the age."""
    return [
        *_label(facts),
        _state(facts),
        *_holder_mark(facts),
        _age(facts),
    ]


def _label(facts: CheckFacts) -> list[Finding]:
    found_by = facts.label.found_by
    if found_by is FoundBy.LABEL:
        return [_other_assembly(facts) or _cancelled(facts) or _revision(facts)]
    if found_by is FoundBy.NUMBER:
        text = "Found by number, not by label. Revision not confirmed."
        return [_found_without_label("label.found_by_number", text)]
    if found_by is FoundBy.HOLDER_MARK:
        text = "Found by mark, not by label. Revision not confirmed."
        return [_found_without_label("label.found_by_mark", text)]
    return [unknown("label.not_scanned", "No label was scanned.", "Scan the tool's label.")]


def _other_assembly(facts: CheckFacts) -> Finding | None:
    """The label and the record it is held against have to speak of the same number."""
    printed, held = facts.label.assembly_number, facts.assembly.number
    if printed == held:
        return None
    if printed is None:
        return unknown("label.assembly_not_known", "Which assembly this label is for is not known.")
    text = f"This label is for assembly {printed}, not {held}."
    remedy = "Scan the label again."
    return Finding("label.other_assembly", Level.STOP_HARD, text, remedy=remedy)


def _found_without_label(code: str, text: str) -> Finding:
    return Finding(code, Level.CHECK, text, remedy="Scan the label, or have one printed.")


def _cancelled(facts: CheckFacts) -> Finding | None:
    cancelled = facts.label.cancelled
    if cancelled is None:
        return unknown("label.state_not_known", "Whether this label is void is not known.")
    revisions = {facts.label.label_revision, facts.assembly.revision}
    # A rebuild says more than "cancelled", but only where both revisions are known.
    if not cancelled or (len(revisions) == 2 and None not in revisions):
        return None
    why = short_name(facts.label.cancelled_reason, "cancelled", longest=50)
    return Finding(
        "label.void_cancelled",
        Level.STOP_HARD,
        f"Label void: {why}.",
        remedy="Toolroom: print a new label after a look at the assembly.",
    )


def _revision(facts: CheckFacts) -> Finding:
    on_label, live = facts.label.label_revision, facts.assembly.revision
    if on_label is None or live is None:
        where = "on the label" if on_label is None else "of the assembly"
        return unknown("label.revision_not_known", f"The revision {where} is not known.")
    if on_label == live:
        return agrees("label.live", f"Label r{on_label} is the live one.")
    if on_label > live:
        text = f"Label says revision {on_label}. The record ends at {live}."
        return _void("label.revision_ahead", text, on_label, live)
    return _void("label.void_rebuilt", _rebuilt_text(facts), on_label, live)


def _rebuilt_text(facts: CheckFacts) -> str:
    rebuilt_on = facts.assembly.rebuilt_on
    when = f" on {day_and_month(rebuilt_on, facts.today)}" if rebuilt_on else ""
    on_label, live = facts.label.label_revision, facts.assembly.revision
    return f"Label void: rebuilt{when}. This is revision {on_label}, now {live}."


def _void(code: str, text: str, on_label: int, live: int) -> Finding:
    remedy = "Back to the toolroom. Toolroom: print the new label."
    return Finding(code, Level.STOP_HARD, text, on_label, live, remedy=remedy)


def _state(facts: CheckFacts) -> Finding:
    state = facts.assembly.state
    if state is State.RELEASED:
        return agrees("assembly.released", "Released.")
    if state is None:
        return unknown("assembly.state_not_known", "The state of the assembly is not known.")
    code, word = {
        State.QUARANTINED: ("assembly.quarantined", "Quarantined"),
        State.RETIRED: ("assembly.retired", "Retired"),
    }.get(state, ("assembly.not_released", "Not released"))
    reason = short_name(facts.assembly.state_reason, "", longest=50)
    text = f"{word}: {reason}." if reason else f"{word}."
    return Finding(code, Level.STOP_HARD, text, remedy="Ask the toolroom.")


def _holder_mark(facts: CheckFacts) -> list[Finding]:
    mark = facts.assembly.holder_mark
    if facts.label.holder_mark_agrees is False:
        text = f"Mark on the holder must read {mark or 'as recorded'}. It differs."
        remedy = "Look the assembly up by the mark that is really there."
        return [Finding("label.holder_mark_differs", Level.STOP_HARD, text, remedy=remedy)]
    if not mark:
        return [note("label.holder_mark_missing", "No holder mark on record to compare.")]
    if facts.label.holder_mark_agrees:
        text = f"The mark on the holder was said to read {short_name(mark, '')}."
        return [agrees("label.holder_mark_agrees", text)]
    return []


def _age(facts: CheckFacts) -> Finding:
    measured_on, today = facts.assembly.measured_on, facts.today
    if measured_on is None or today is None:
        return unknown("label.age_not_known", "When it was measured is not on record.", "Measure.")
    days, limit = (today - measured_on).days, facts.limits.remeasure_after_days
    if days < 0:
        return unknown("label.measured_in_future", "Measured on a day still to come.", "Measure.")
    if days > limit:
        text = f"Measured {days} days ago. Limit {limit}."
        return Finding(
            "label.measured_long_ago", Level.CHECK, text, days, limit, "days", "Re-measure."
        )
    when = "today" if days == 0 else f"{days} day{'' if days == 1 else 's'} ago"
    return agrees("label.measured_lately", f"Measured {when}.")
