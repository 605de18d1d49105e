"""One word for the spindle: every line's finding, combined, most useful reason first.

A MATCH speaks of records. It is no interlock and no safeguard.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum

from assemblies.rules.verdict.control_lines import control_findings
from assemblies.rules.verdict.depth_lines import depth_findings
from assemblies.rules.verdict.facts import AssemblyFacts, CheckFacts
from assemblies.rules.verdict.label_lines import code_findings, label_findings
from assemblies.rules.verdict.machine_lines import machine_findings
from assemblies.rules.verdict.pocket_lines import pocket_findings
from assemblies.rules.verdict.program_lines import call_findings, program_findings
from assemblies.rules.verdict.requirement_lines import expected_text, requirement_findings
from assemblies.rules.verdict.speed_lines import speed_findings
from assemblies.rules.verdict.state_lines import state_findings
from assemblies.rules.verdict.turning_lines import turning_findings
from assemblies.rules.verdict.wording import note, tool_list, unknown
from crib.rules.cutter_kinds import kind_name
from crib.rules.finding import Finding, Level, worst_first, worst_level
from crib.rules.units import show_length, show_mm

MOST_REASONS = 3


class Word(StrEnum):
    """The four words on the screen."""

    MATCH = "MATCH"
    CHECK = "CHECK"
    STOP = "STOP"
    CANT_TELL = "CAN'T TELL"


class AcceptedBy(StrEnum):
    """The class of person who may answer for loading it all the same."""

    OPERATOR = "operator"
    LEAD = "lead"
    NOBODY = "nobody"


#: Who accepts a check or an unknown with a reason.
_MAY_ACCEPT = frozenset({"operator", "toolroom", "lead"})
#: Who answers for a soft stop, with PIN and reason, for this one load.
_MAY_OVERRIDE = frozenset({"toolroom", "lead"})

_WORDS = {
    Level.PASS: Word.MATCH,
    Level.NOTE: Word.MATCH,
    Level.CHECK: Word.CHECK,
    Level.UNKNOWN: Word.CANT_TELL,
    Level.STOP_SOFT: Word.STOP,
    Level.STOP_HARD: Word.STOP,
}

#: MATCH and CHECK need one code of each row to have been found. No row may be missing
#: because a line was skipped: what was not compared is unknown. Codes that are a check by
#: themselves stand here because the point was compared; they still keep it from a MATCH.
NEEDED_COMPARISONS: tuple[frozenset[str], ...] = (
    frozenset({"label.live", "label.found_by_number", "label.found_by_mark"}),
    frozenset({"assembly.released"}),
    frozenset({"label.measured_lately", "label.measured_long_ago"}),
    frozenset({"machine.interface_agrees"}),
    frozenset({"machine.stud_agrees", "machine.stud_not_asked", "machine.stud_not_used"}),
    frozenset({"program.approved"}),
    frozenset({"program.read_whole"}),
    frozenset({"program.requirement_confirmed"}),
    frozenset({"program.kind_agrees"}),
    frozenset({"program.diameter_agrees", "program.enter_diameter"}),
    frozenset({"program.length_agrees", "program.length_touch_off"}),
    frozenset({"program.hand_agrees"}),
    frozenset({"reading.clear", "reading.too_close", "reading.too_coarse"}),
    frozenset({"speed.within_limit", "speed.limit_not_known"}),
    frozenset({"state.seat_compared"}),
)

#: Findings milder or harder than `unknown` that still say that something was not known.
_NOT_KNOWN_EITHER = frozenset(
    {
        "label.found_by_number",
        "label.found_by_mark",
        "machine.stud_not_recorded",
        "speed.limit_not_known",
        "control.values_not_said",
        "state.runout_not_measured",
        "instrument.never_calibrated",
        "instrument.interval_not_set",
    }
)

#: Nothing can be loaded on a code that is no assembly.
_NO_ASSEMBLY = frozenset({"label.other_kind", "label.code_not_ours"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Verdict:
    """The answer to one scan.

    findings     all of them, worst first, within a level in the order of the comparison
    reasons      at most three findings that keep it from being a MATCH
    more_count   further such findings behind a tap
    tool_number  the T this verdict is about; None when none was chosen or found
    meets        T numbers whose requirement this assembly meets
    unknowns     one sentence for each thing that was not known
    can_accept_by  class of the worst finding
    hard_stop    one of the findings stops and nobody can answer for it
    overridable  the worst is a soft stop: toolroom or lead may answer for this one load
    override_rules  codes of the soft stops, each once
    tool_choice_needed  the operator must choose the T number before anything else
    """

    word: Word
    findings: tuple[Finding, ...]
    reasons: tuple[Finding, ...]
    more_count: int
    tool_number: int | None
    meets: tuple[int, ...]
    meets_text: str
    expected_text: str
    identity_text: str
    holder_mark: str | None
    fully_known: bool
    unknowns: tuple[str, ...]
    can_accept_by: AcceptedBy
    hard_stop: bool
    overridable: bool
    override_rules: tuple[str, ...]
    tool_choice_needed: bool = False


def judge(facts: CheckFacts) -> Verdict:
    """The verdict on one scanned assembly at one machine for one program and T number.

    Without a chosen T the one T number whose requirement is met is judged; where several
    are met the operator is asked; where none is, the nearest says why.
    Source: own decision list; order STOP, CAN'T TELL, CHECK, MATCH.
    """
    strangers = code_findings(facts)
    if strangers:
        return _verdict(facts, strangers, tool_number=None, meets=())
    meets = tools_met(facts)
    if facts.tool_number is not None:
        return _against(facts, facts.tool_number, meets)
    if len(meets) == 1:
        return _against(facts, meets[0], meets)
    if meets:
        text = f"Meets {tool_list(meets)}. Choose the T the control asks for."
        return _without_tool(facts, meets, unknown("program.several_tools", text))
    return _against_nearest(facts)


def may_accept(verdict: Verdict, role: str) -> bool:
    """True when `role` may load it: a MATCH as it is, a CHECK or CAN'T TELL with a reason."""
    if verdict.tool_choice_needed or verdict.can_accept_by is not AcceptedBy.OPERATOR:
        return False
    return role in _MAY_ACCEPT


def may_override(verdict: Verdict, roles: Iterable[str]) -> bool:
    """True when a person of these roles may answer for the soft stops of this verdict.

    For this one load, with PIN and reason, both asked for elsewhere: no verdict looks at what
    was overridden before.
    """
    return verdict.overridable and not _MAY_OVERRIDE.isdisjoint(roles)


def tools_met(facts: CheckFacts) -> tuple[int, ...]:
    """T numbers whose requirement the assembly meets: known, confirmed, no stop among them."""
    if facts.program is None or facts.assembly is None:
        return ()
    return tuple(t for t in _called_and_stated(facts) if _meets(facts, t))


def _called_and_stated(facts: CheckFacts) -> list[int]:
    called = facts.program.tool_numbers or ()
    return sorted(t for t, r in facts.requirements.items() if t in called and not r.says_nothing)


def _meets(facts: CheckFacts, tool_number: int) -> bool:
    found = _wanted(facts, tool_number)
    return worst_level(found).weight < Level.UNKNOWN.weight


def _wanted(facts: CheckFacts, tool_number: int) -> list[Finding]:
    return [
        *call_findings(facts, tool_number),
        *requirement_findings(facts, tool_number),
        *turning_findings(facts, tool_number),
    ]


def _against_nearest(facts: CheckFacts) -> Verdict:
    nearest = _nearest_tool(facts)
    if nearest is not None:
        return _against(facts, nearest, ())
    called = facts.program.tool_numbers if facts.program is not None else None
    if called and len(called) == 1:
        return _against(facts, called[0], ())
    if called:
        text = f"The program calls {tool_list(called)}. Choose one."
        return _without_tool(facts, (), unknown("program.tool_not_chosen", text))
    return _verdict(facts, [*_all_lines(facts, None), *_no_tool(facts)], tool_number=None, meets=())


def _no_tool(facts: CheckFacts) -> list[Finding]:
    if facts.program is None:
        return []
    return [unknown("program.calls_no_tool", "No tool call was found in this program.")]


def _nearest_tool(facts: CheckFacts) -> int | None:
    """The T whose requirement comes closest: same kind first, then diameter, then length."""
    if facts.program is None:
        return None
    assembly = facts.assembly
    found_um = assembly.diameter_um
    if found_um is None:
        found_um = assembly.nominal_diameter_um

    def distance(tool_number: int) -> tuple:
        wanted = facts.requirements[tool_number]
        return (
            wanted.kind != assembly.cutter_kind,
            _gap(wanted.diameter_um, found_um),
            _gap(wanted.gauge_length_um, assembly.gauge_length_um),
            tool_number,
        )

    return min(_called_and_stated(facts), key=distance, default=None)


def _gap(wanted_um: int | None, found_um: int | None) -> float:
    if wanted_um is None or found_um is None:
        return float("inf")
    return abs(wanted_um - found_um)


def _against(facts: CheckFacts, tool_number: int, meets: tuple[int, ...]) -> Verdict:
    findings = _all_lines(facts, tool_number)
    if meets and tool_number not in meets:
        text = _meets_text(meets, tool_number)
        findings.append(note("program.meets_other_tool", text))
    return _verdict(facts, findings, tool_number=tool_number, meets=meets)


def _without_tool(facts: CheckFacts, meets: tuple[int, ...], question: Finding) -> Verdict:
    findings = [
        *label_findings(facts),
        *machine_findings(facts),
        *pocket_findings(facts, None),
        *program_findings(facts),
        question,
        *state_findings(facts),
    ]
    verdict = _verdict(facts, findings, tool_number=None, meets=meets)
    return replace(verdict, tool_choice_needed=True, overridable=False)


def _all_lines(facts: CheckFacts, tool_number: int | None) -> list[Finding]:
    """Label, machine, program, depth, speed, state, control: in the order people read them."""
    wanted = (
        turning_findings(facts, tool_number) if tool_number is None else _wanted(facts, tool_number)
    )
    return [
        *label_findings(facts),
        *machine_findings(facts),
        *pocket_findings(facts, tool_number),
        *program_findings(facts),
        *wanted,
        *depth_findings(facts, tool_number),
        *speed_findings(facts, tool_number),
        *state_findings(facts),
        *control_findings(facts, tool_number),
    ]


def _not_compared(findings: Iterable[Finding]) -> list[Finding]:
    """One unknown when nothing worse than a check was found but a comparison is missing."""
    findings = list(findings)
    codes = {finding.code for finding in findings}
    if worst_level(findings).weight > Level.CHECK.weight:
        return []
    missing = sum(1 for needed in NEEDED_COMPARISONS if not needed & codes)
    if not missing:
        return []
    return [unknown("verdict.not_compared", f"{missing} needed comparisons were not made.")]


def _verdict(
    facts: CheckFacts, findings: list[Finding], *, tool_number: int | None, meets: tuple[int, ...]
) -> Verdict:
    ordered = worst_first([*findings, *_not_compared(findings)])
    word = _WORDS[worst_level(ordered)]
    reasons = [f for f in ordered if f.level.weight >= Level.CHECK.weight]
    unknowns = tuple(f.text for f in ordered if _tells_of_unknown(f))
    accepted_by = _accepted_by(ordered)
    return Verdict(
        word=word,
        findings=tuple(ordered),
        reasons=tuple(reasons[:MOST_REASONS]),
        more_count=max(0, len(reasons) - MOST_REASONS),
        tool_number=tool_number,
        meets=meets,
        meets_text=_meets_text(meets, tool_number),
        expected_text=_expected(facts, tool_number),
        identity_text=identity_text(facts.assembly) if facts.assembly is not None else "",
        holder_mark=facts.assembly.holder_mark if facts.assembly is not None else None,
        fully_known=not unknowns,
        unknowns=unknowns,
        can_accept_by=accepted_by,
        hard_stop=worst_level(ordered) is Level.STOP_HARD,
        overridable=accepted_by is AcceptedBy.LEAD,
        override_rules=_soft_stops(ordered),
    )


def _tells_of_unknown(finding: Finding) -> bool:
    return finding.level is Level.UNKNOWN or finding.code in _NOT_KNOWN_EITHER


def _accepted_by(ordered: list[Finding]) -> AcceptedBy:
    worst = worst_level(ordered)
    if worst is Level.STOP_HARD or any(f.code in _NO_ASSEMBLY for f in ordered):
        return AcceptedBy.NOBODY
    return AcceptedBy.LEAD if worst is Level.STOP_SOFT else AcceptedBy.OPERATOR


def _soft_stops(ordered: list[Finding]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(f.code for f in ordered if f.level is Level.STOP_SOFT))


def _meets_text(meets: tuple[int, ...], tool_number: int | None) -> str:
    if not meets:
        return ""
    also_not = f", not T{tool_number}" if tool_number not in (None, *meets) else ""
    return f"Meets {tool_list(meets)}{also_not}."


def _expected(facts: CheckFacts, tool_number: int | None) -> str:
    if tool_number is None or facts.program is None:
        return ""
    return expected_text(tool_number, facts.requirements.get(tool_number))


def identity_text(assembly: AssemblyFacts) -> str:
    """What the assembly is, for the eye: kind, diameter, length, speed limit."""
    kind = kind_name(assembly.cutter_kind) if assembly.cutter_kind else "kind not known"
    diameter = show_length(assembly.diameter_um, bool(assembly.bought_in_inches))
    length = show_mm(assembly.gauge_length_um, 1)
    limits = assembly.speed_limit
    unsure = limits is None or limits.limit_rpm is None or bool(limits.unknown_parts)
    speed = "not known" if unsure else f"{limits.limit_rpm} 1/min"
    return f"{kind}, Ø {diameter}, length {length}, limit {speed}"
