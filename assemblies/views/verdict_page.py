"""The verdict as a page: judged anew at each look, and the decision taken on it."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from assemblies.actions.spindle import (
    ACCEPT_REASONS,
    REFUSE_REASONS,
    Answer,
    Checked,
    check,
    record_decision,
)
from assemblies.forms.spindle import LARGEST_TOOL_NUMBER, DecisionForm, ToolNumberForm
from assemblies.models import Assembly, Decision, SpindleCheck, Station
from assemblies.rules.verdict.facts import LabelFacts
from assemblies.rules.verdict.judge import Verdict, Word, may_accept
from assemblies.views.shown_verdict import shown
from assemblies.views.stations import choose_first, station_of
from crib.actions.once import require
from crib.models import Person
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
    """The T number of the address, None when it names none; a number that is none is not found."""
    if "t" not in request.GET:
        return None
    form = ToolNumberForm(request.GET)
    if not form.is_valid():
        raise Http404
    return form.cleaned_data["t"]


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
        "most_digits": _most_digits(checked.verdict.tool_number),
        "choice_needed": checked.verdict.tool_choice_needed,
        "last_loads": last_loads(checked, station),
        **_decisions(request.user, checked),
    }
    response = render(request, "assemblies/spindle_verdict.html", context)
    return not_kept(response)


def _most_digits(tool_number: int | None) -> int:
    """Room in the field for what the control shows; four digits hint at nothing (shop setting)."""
    return 4 if (tool_number or 0) < 10_000 else len(str(LARGEST_TOOL_NUMBER))


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
        "refuse_reasons": refuse_reasons(verdict),
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


def refuse_reasons(verdict: Verdict) -> dict[str, str]:
    """Reasons for refusing, the one that the stop itself gives first."""
    label_stops = any(f.level.is_stop and f.code.startswith("label.") for f in verdict.findings)
    first = "label_wrong" if label_stops else "wrong_tool"
    return {first: REFUSE_REASONS[first]} | REFUSE_REASONS


def _tools(checked: Checked) -> list[int]:
    """T numbers to choose from: those that are met, else all of the program."""
    program, verdict = checked.facts.program, checked.verdict
    if verdict.tool_choice_needed and verdict.meets:
        return list(verdict.meets)
    return sorted(program.tool_numbers or ()) if program else []


#: The program names no figures: what was loaded under this T before is worth a look.
_NO_FIGURES = frozenset({"program.number_only", "program.text_only"})
_LAST_LOADS = 3


def last_loads(checked: Checked, station: Station) -> list[SpindleCheck]:
    """What was loaded last under this T of this program here, where nothing else is known."""
    if not any(finding.code in _NO_FIGURES for finding in checked.verdict.findings):
        return []
    loads = SpindleCheck.objects.filter(
        machine=station.machine,
        revision__program_id=station.revision.program_id,
        tool_number=checked.verdict.tool_number,
        decision=Decision.LOADED,
    )
    return list(loads.select_related("assembly", "build").defer("findings")[:_LAST_LOADS])
