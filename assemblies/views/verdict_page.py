"""The verdict as a page: judged anew at each look, and the decision taken on it."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.debug import sensitive_variables

from assemblies.actions.spindle import Answer, Checked, check, record_decision
from assemblies.forms.spindle import SPINDLE, DecisionForm, OverrideForm, ToolNumberForm
from assemblies.models import Assembly, Decision, Station
from assemblies.rules.verdict.control_lines import read_back
from assemblies.rules.verdict.facts import LabelFacts
from assemblies.rules.verdict.judge import Word
from assemblies.views.control_number import ask_first, forget, must_key_first, number_for_scan
from assemblies.views.shown_verdict import shown
from assemblies.views.stations import choose_first, station_of
from assemblies.views.tray import tray_of
from assemblies.views.verdict_context import beside
from assemblies.views.verdict_forms import Looker, places_are_asked
from crib.actions.once import require
from crib.rules.finding import Finding
from crib.rules.refusal import NotAllowed, Refused

#: The control shows another number: the tool in hand may be right, loading it is not.
WRONG_NUMBER = "control.number_differs"


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
        # No report of a fault shows a PIN.
        request.sensitive_post_parameters = ("pin",)
    station = station_of(request)
    if station is None:
        return choose_first(request)
    keyed = number_for_scan(request)
    if request.method == "POST":
        return _decide(request, scan, station, keyed)
    if keyed is None and must_key_first(request, station):
        return ask_first(request)
    return _show(request, scan, station, keyed)


def asked_tool(request: HttpRequest) -> int | None:
    """The T number of the address, None when it names none; a number that is none is not found."""
    if "t" not in request.GET:
        return None
    form = ToolNumberForm(request.GET)
    if not form.is_valid():
        raise Http404
    return form.cleaned_data["t"]


@sensitive_variables("form", "answer")
def _decide(request: HttpRequest, scan: Scan, station: Station, keyed: int | None) -> HttpResponse:
    form = _sent_form(request)
    try:
        answer = _answer(form, scan, station, keyed)
        done = record_decision(
            by=request.user,
            submission=form.cleaned_data["submission"],
            assembly=scan.assembly,
            label=scan.label,
            machine=station.machine,
            revision=station.revision,
            tool_number=asked_tool(request),
            answer=answer,
        )
    except NotAllowed:
        raise
    except Refused as refused:
        return _show(request, scan, station, keyed, refused)
    forget(request)
    return redirect("assemblies:spindle_recorded", pk=done.result)


def _sent_form(request: HttpRequest) -> DecisionForm:
    kind = OverrideForm if "overrider" in request.POST else DecisionForm
    return kind(request.POST)


def _answer(form: DecisionForm, scan: Scan, station: Station, keyed: int | None) -> Answer:
    """What was said, and what only the server knows: the label, the number keyed before."""
    if not form.is_valid():
        raise _not_whole(form)
    data = form.cleaned_data
    decision = Decision(data["decision"])
    _need_place(form, station, decision)
    again = data["shown_number"]
    return Answer(
        decision=decision,
        reason=data["reason"],
        reason_text=data["reason_text"],
        shown_number=keyed if again is None else again,
        keyed_first=keyed is not None and again is None,
        pocket=data["pocket"],
        mark_agrees=True if data["mark_agrees"] and decision == Decision.LOADED else None,
        mark_there=data["mark_there"],
        overrider=data.get("overrider"),
        pin=data.get("pin", ""),
        seen_word=data["seen_word"],
        seen=data["seen"],
        label_code=scan.code,
    )


#: Fields that people fill in; the others come with the page.
_REMEDIES = {
    "overrider": "Choose who answers for it.",
    "pin": "Key the PIN.",
    "pocket": "Key the number of the pocket.",
    "shown_number": "Key the number that the control shows.",
}


def _not_whole(form: DecisionForm) -> Refused:
    faulty = next((name for name in _REMEDIES if name in form.errors), "")
    remedy = _REMEDIES.get(faulty, "Scan the label again.")
    return Refused("check.form", "The form was not whole.", remedy, field=faulty)


def _need_place(form: DecisionForm, station: Station, decision: Decision) -> None:
    said = form.cleaned_data["pocket"] is not None or form.cleaned_data["place"] == SPINDLE
    if said or decision != Decision.LOADED or not places_are_asked(station.machine):
        return
    remedy = "Tap a pocket or the spindle."
    raise Refused("check.place", "Where it goes was not said.", remedy, field="place")


def _show(
    request: HttpRequest,
    scan: Scan,
    station: Station,
    keyed: int | None,
    refused: Refused | None = None,
) -> HttpResponse:
    tool_number = asked_tool(request)
    checked = check(
        assembly=scan.assembly,
        label=scan.label,
        machine=station.machine,
        revision=station.revision,
        tool_number=tool_number,
        control_shows=keyed,
    )
    told = _number_told(checked, keyed, refused)
    looker = Looker(
        person=request.user,
        sent=request.POST if refused else None,
        promised=tray_of(request, station).pockets,
    )
    context = {
        "verdict": shown(checked, station, told),
        "refused": refused,
        "wrong_number": bool(told),
        "number_keyed": None if told else keyed,
        "at_once": keyed is not None and not told and _nothing_to_ask(checked, station),
        "chosen_tool": tool_number,
        **beside(checked, station, looker),
    }
    return not_kept(render(request, "assemblies/spindle_verdict.html", context))


def _nothing_to_ask(checked: Checked, station: Station) -> bool:
    """A MATCH whose number was keyed before needs one tap: neither reason nor place is asked."""
    verdict = checked.verdict
    match = verdict.word == Word.MATCH and verdict.tool_number is not None
    return match and not places_are_asked(station.machine)


def _number_told(
    checked: Checked, keyed: int | None, refused: Refused | None
) -> tuple[Finding, ...]:
    """The stop that the number on the control is, when it was keyed and is another one."""
    if refused is not None and refused.code == WRONG_NUMBER:
        return refused.findings
    if refused is not None or keyed is None or checked.verdict.tool_number is None:
        return ()
    told = read_back(checked.verdict.tool_number, keyed)
    return (told,) if told.level.is_stop else ()


def not_kept(response: HttpResponse) -> HttpResponse:
    """No browser shows this answer again without asking: an old verdict is none."""
    response["Cache-Control"] = "no-store"
    return response
