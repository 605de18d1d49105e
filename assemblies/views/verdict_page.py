"""The verdict as a page: judged anew at each look, and the decision taken on it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from assemblies.actions.spindle import (
    ACCEPT_REASONS,
    REFUSE_REASONS,
    Answer,
    Checked,
    check,
    record_decision,
)
from assemblies.forms.spindle import DecisionForm, ToolNumberForm
from assemblies.models import Assembly, Decision, Station
from assemblies.rules.verdict.facts import CheckFacts, LabelFacts
from assemblies.rules.verdict.judge import Verdict, Word, may_accept
from assemblies.views.stations import choose_first, station_of
from crib.actions.once import require
from crib.models import Person
from crib.rules.finding import Finding, Level
from crib.rules.refusal import NotAllowed, Refused

#: Reasons that answer one finding only; they are offered first, and only where it was found.
_ANSWERS = {
    "text_agrees": frozenset({"program.text_only"}),
    "here_now": frozenset({"control.seen_elsewhere"}),
    "values_entered": frozenset({"control.values_changed", "program.enter_diameter"}),
}
#: The control shows another number: the tool in hand may be right, loading it is not.
_WRONG_NUMBER = "control.number_differs"


@dataclass(frozen=True)
class Scan:
    """What was scanned or looked up. The address says it, never a form."""

    assembly: Assembly
    label: LabelFacts
    code: str = ""


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
    checked_at: datetime


def verdict_page(request: HttpRequest, scan: Scan) -> HttpResponse:
    """Show the verdict on `scan` for this station; a POST records what was decided on it."""
    if request.method == "POST":
        require(request.user, "check.decide")
    station = station_of(request)
    if station is None:
        return choose_first(request)
    if request.method == "POST":
        return _decide(request, scan, station)
    return _show(request, scan, station)


def asked_tool(request: HttpRequest) -> int | None:
    """The T number of the address, None when it names none."""
    form = ToolNumberForm(request.GET)
    return form.cleaned_data["t"] if form.is_valid() else None


def _decide(request: HttpRequest, scan: Scan, station: Station) -> HttpResponse:
    form = DecisionForm(request.POST)
    if not form.is_valid():
        refused = Refused("check.form", "Nothing was recorded: the form was not whole.")
        return _show(request, scan, station, refused)
    try:
        done = record_decision(
            by=request.user,
            submission=form.cleaned_data["submission"],
            assembly=scan.assembly,
            label=scan.label,
            machine=station.machine,
            revision=station.revision,
            tool_number=asked_tool(request),
            answer=_answer(form.cleaned_data, scan),
        )
    except NotAllowed:
        raise
    except Refused as refused:
        return _show(request, scan, station, refused)
    return redirect("assemblies:spindle_recorded", pk=done.result)


def _answer(data: dict, scan: Scan) -> Answer:
    return Answer(
        decision=Decision(data["decision"]),
        reason=data["reason"],
        reason_text=data["reason_text"],
        shown_number=data["shown_number"],
        seen_word=data["seen_word"],
        seen=data["seen"],
        label_code=scan.code,
    )


def _show(
    request: HttpRequest, scan: Scan, station: Station, refused: Refused | None = None
) -> HttpResponse:
    tool_number = asked_tool(request)
    checked = check(
        assembly=scan.assembly,
        label=scan.label,
        machine=station.machine,
        revision=station.revision,
        tool_number=tool_number,
    )
    wrong_number = refused is not None and refused.code == _WRONG_NUMBER
    context = {
        "verdict": shown(checked, station, refused.findings if wrong_number else ()),
        "facts": checked.facts.assembly,
        "refused": refused,
        "wrong_number": wrong_number,
        "chosen_tool": tool_number,
        "tools": _tools(checked),
        "choice_needed": checked.verdict.tool_choice_needed,
        **_decisions(request.user, checked),
    }
    response = render(request, "assemblies/spindle_verdict.html", context)
    return not_kept(response)


def not_kept(response: HttpResponse) -> HttpResponse:
    """No browser shows this answer again without asking: an old verdict is none."""
    response["Cache-Control"] = "no-store"
    return response


def _decisions(person: Person, checked: Checked) -> dict:
    """The forms this person may send on this verdict; none for somebody who only looks."""
    if not person.may("check.decide"):
        return {"load": None, "refuse": None}
    verdict = checked.verdict
    loadable = verdict.word != Word.STOP and any(may_accept(verdict, r) for r in person.roles)
    return {
        "load": _form(checked, Decision.LOADED) if loadable else None,
        "refuse": _form(checked, Decision.REFUSED),
        "accept_reasons": accept_reasons(verdict),
        "refuse_reasons": REFUSE_REASONS,
    }


def _form(checked: Checked, decision: Decision) -> DecisionForm:
    initial = {
        "decision": decision.value,
        "seen": checked.fingerprint,
        "seen_word": checked.word_key,
    }
    return DecisionForm(initial=initial, auto_id=f"{decision.value}_%s")


def accept_reasons(verdict: Verdict) -> dict[str, str]:
    """Reasons for loading all the same, those that answer a finding first; none on a MATCH."""
    if verdict.word == Word.MATCH:
        return {}
    found = {finding.code for finding in verdict.findings}
    answering = {key for key, codes in _ANSWERS.items() if codes & found}
    always = ACCEPT_REASONS.keys() - _ANSWERS.keys()
    order = sorted(ACCEPT_REASONS, key=lambda key: key not in answering)
    return {key: ACCEPT_REASONS[key] for key in order if key in answering | always}


def _tools(checked: Checked) -> list[int]:
    """T numbers to choose from: those that are met, else all of the program."""
    program, verdict = checked.facts.program, checked.verdict
    if verdict.tool_choice_needed and verdict.meets:
        return list(verdict.meets)
    return sorted(program.tool_numbers or ()) if program else []


def shown(checked: Checked, station: Station, first: tuple[Finding, ...] = ()) -> ShownVerdict:
    """The verdict as printed. `first` are stops that the operator's own answer added to it."""
    facts, verdict = checked.facts, checked.verdict
    reasons = (*first, *verdict.reasons)[:3]
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
        checked_at=timezone.localtime(),
    )


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
