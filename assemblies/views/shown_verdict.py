"""What stands on the screen of a verdict: the few lines that are read, in the words of the shop."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from assemblies.actions.spindle import Checked
from assemblies.models import Station
from assemblies.rules.verdict.facts import CheckFacts
from assemblies.rules.verdict.judge import MOST_REASONS, Verdict, Word
from crib.rules.finding import Finding, Level


@dataclass(frozen=True)
class ShownVerdict:
    """What `_verdict.html` prints."""

    word: str
    word_key: str
    reasons: tuple[Finding, ...]
    more: tuple[Finding, ...]
    more_text: str
    tool_number: int | None
    tool_label: str
    machine_name: str
    assembly_label: str
    holder_mark: str
    place_text: str
    meets_text: str
    identity_text: str
    wanted_text: str
    unknowns: tuple[str, ...]
    checked_at: datetime


def shown(checked: Checked, station: Station, first: tuple[Finding, ...] = ()) -> ShownVerdict:
    """The verdict as printed. `first` are stops that the operator's own answer added to it."""
    facts, verdict = checked.facts, checked.verdict
    reasons = (*first, *_headline(verdict))[:MOST_REASONS]
    rest = tuple(f for f in (*first, *verdict.findings) if f not in reasons)
    return ShownVerdict(
        word=str(Word.STOP if first else verdict.word),
        word_key="stop" if first else checked.word_key,
        reasons=reasons,
        more=rest,
        more_text=_more_text(rest),
        tool_number=verdict.tool_number,
        tool_label=_tool_label(verdict, station),
        machine_name=station.machine.name,
        assembly_label=_assembly_label(facts),
        holder_mark=verdict.holder_mark or "",
        place_text="" if first else right_one(facts, verdict),
        meets_text=_meets(verdict),
        identity_text=verdict.identity_text,
        wanted_text=verdict.expected_text,
        unknowns=verdict.unknowns,
        checked_at=timezone.localtime(),
    )


def _headline(verdict: Verdict) -> tuple[Finding, ...]:
    """The reasons said aloud. Beside a stop nothing is asked of anybody: no "enter this"."""
    if verdict.word != Word.STOP:
        return verdict.reasons
    return tuple(f for f in verdict.reasons if f.level.is_stop)


def _more_text(rest: tuple[Finding, ...]) -> str:
    more = sum(f.level.weight >= Level.CHECK.weight for f in rest)
    return f"+{more} more" if more else "What was compared"


def _tool_label(verdict: Verdict, station: Station) -> str:
    if station.revision is None:
        return "No program chosen"
    if verdict.tool_number is None:
        return str(station.revision)
    return f"T{verdict.tool_number} in {station.revision}"


def _assembly_label(facts: CheckFacts) -> str:
    """Number and the revision in hand: that of the scanned label, else the live one."""
    revision = facts.label.label_revision or facts.assembly.revision
    return f"{facts.assembly.number} r{revision}" if revision else str(facts.assembly.number)


def _meets(verdict: Verdict) -> str:
    """ "Meets T3, not T1." where the T in question is not the one that is met."""
    other = verdict.meets and verdict.tool_number not in (None, *verdict.meets)
    return verdict.meets_text if other else ""


def right_one(facts: CheckFacts, verdict: Verdict) -> str:
    """Where the listed assembly is, when this one differs from what the program wants."""
    wanted = facts.requirements.get(verdict.tool_number)
    if wanted is None or not wanted.fetch or wanted.preferred_assembly == facts.assembly.number:
        return ""
    differs = any(
        f.level is Level.STOP_SOFT and f.code.startswith("program.") for f in verdict.findings
    )
    return f"Right one: {wanted.fetch}." if differs else ""
