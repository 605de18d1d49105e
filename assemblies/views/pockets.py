"""Filling a changer: scan one tool after another, compare with the control, record them all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlencode
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from assemblies.actions.loads import free_pockets, has_changer, is_still_in, names_pockets
from assemblies.actions.spindle import Answer, Checked, check, record_decision
from assemblies.forms.loads import CompareForm, TrayStepForm, pocket_name, shown_name
from assemblies.models import Decision, Machine, Station
from assemblies.rules.verdict.judge import Word
from assemblies.views.machines import find_machine
from assemblies.views.scan_field import own_scan_field
from assemblies.views.shown_verdict import shown
from assemblies.views.stations import station_of
from assemblies.views.tray import Tray, TrayLine, keep_tray, tray_of
from assemblies.views.verdict_page import Scan, not_kept
from crib.rules.refusal import NotAllowed, Refused
from crib.views.access import needs

#: What the page says aloud after a scan, by the word in its address.
_SAID = frozenset({"match", "check"})


@needs("check.decide")
@require_http_methods(["GET", "HEAD", "POST"])
def fill(request: HttpRequest, mark: str) -> HttpResponse:
    """The page that takes one scan after another; a POST changes the list, never a record."""
    machine = find_machine(mark)
    station = _station_here(request, machine)
    if station is not None and request.method == "POST":
        return _step(request, machine, tray_of(request, station))
    tray = tray_of(request, station) if station else None
    context = {
        "machine": machine,
        "station": station,
        "tray": tray,
        "names_pockets": names_pockets(machine),
        "next_pocket": _next_pocket(machine, tray) if tray else None,
        "said": request.GET.get("said") if request.GET.get("said") in _SAID else "",
        "station_url": _station_url(machine),
        **own_scan_field(request),
    }
    return not_kept(render(request, "assemblies/fill.html", context))


def _station_here(request: HttpRequest, machine: Machine) -> Station | None:
    """What this screen is about, when that is this machine, has pockets and has a program."""
    station = station_of(request)
    if station is None or station.machine_id != machine.pk or station.revision is None:
        return None
    return station if has_changer(machine) and machine.pockets else None


def _station_url(machine: Machine) -> str:
    """To the choice of a program for this machine, and back to filling it."""
    back = fill_url(machine)
    return f"{reverse('assemblies:station')}?{urlencode({'machine': machine.mark, 'next': back})}"


def fill_url(machine: Machine, said: str = "") -> str:
    address = reverse("assemblies:fill", args=[machine.mark])
    return f"{address}?said={said}" if said else address


def _next_pocket(machine: Machine, tray: Tray) -> int | None:
    """Where the next tool goes; None where its T number says it, or where all are taken."""
    return None if names_pockets(machine) else tray.next_pocket(free_pockets(machine))


def _step(request: HttpRequest, machine: Machine, tray: Tray) -> HttpResponse:
    form = TrayStepForm(request.POST)
    if form.is_valid():
        step, number = form.cleaned_data["step"], form.cleaned_data["number"]
        if step == TrayStepForm.EMPTY:
            tray = Tray(tray.machine, tray.revision)
        elif number and step == TrayStepForm.REMOVE:
            tray.remove(number)
        elif number and step == TrayStepForm.SKIP:
            tray.skipped.append(number)
        keep_tray(request, tray)
    return redirect(fill_url(machine))


def take_scan(request: HttpRequest, mark: str, scan: Scan) -> HttpResponse:
    """Put a scanned tool on the list when it is a MATCH; anything else interrupts."""
    machine = find_machine(mark)
    station = _station_here(request, machine)
    if station is None:
        return redirect(fill_url(machine))
    tray = tray_of(request, station)
    pocket = _next_pocket(machine, tray)
    sentence = _why_not_asked(machine, tray, scan, pocket)
    if sentence:
        return _say(request, machine, sentence)
    checked = check(
        assembly=scan.assembly,
        label=scan.label,
        machine=machine,
        revision=station.revision,
        pocket=pocket,
    )
    if checked.verdict.word != Word.MATCH:
        return interrupted(request, machine, station, scan, checked)
    other = tray.line_of_tool(checked.verdict.tool_number)
    if other is not None and other.number != scan.assembly.number:
        text = f"T{other.tool_number} is on the list already: {other.number}."
        return _say(request, machine, f"{text} Take one of the two off.")
    tray.put(_line(scan, checked, pocket))
    keep_tray(request, tray)
    return redirect(fill_url(machine, "match"))


def _why_not_asked(machine: Machine, tray: Tray, scan: Scan, pocket: int | None) -> str:
    """Why there is nothing to judge: it is on the list, or no pocket is left for it."""
    known = tray.line_of(scan.assembly.number)
    if known is not None and known.code == scan.code:
        return f"{known.number} is on the list: pocket {known.pocket}."
    if pocket is None and not names_pockets(machine):
        return f"No pocket of {machine.name} is free. Take something out first."
    return ""


def _say(request: HttpRequest, machine: Machine, text: str) -> HttpResponse:
    messages.warning(request, text)
    return redirect(fill_url(machine, "check"))


def _line(scan: Scan, checked: Checked, pocket: int | None) -> TrayLine:
    """The line of a MATCH. Where no pocket was chosen, its T number names it."""
    tool_number = checked.verdict.tool_number
    return TrayLine(
        number=scan.assembly.number,
        revision=checked.facts.assembly.revision,
        code=scan.code,
        holder_mark=checked.verdict.holder_mark or "",
        tool_number=tool_number,
        pocket=tool_number if pocket is None else pocket,
        seen=checked.fingerprint,
        scanned_at=timezone.localtime().strftime("%H:%M"),
    )


def interrupted(
    request: HttpRequest, machine: Machine, station: Station, scan: Scan, checked: Checked
) -> HttpResponse:
    """The verdict on a tool that is not taken; the next scan goes on with filling."""
    context = {
        "machine": machine,
        "station": station,
        "scan": scan,
        "verdict": shown(checked, station),
    }
    return not_kept(render(request, "assemblies/fill_interrupted.html", context))


# ---- comparing with the control, and recording
@dataclass(frozen=True)
class CompareLine:
    """One tool of the list beside the field for what the control shows."""

    line: TrayLine
    field: object
    pocket_name: str
    refused: Refused | None


@needs("check.decide")
@require_safe
def fill_compare(request: HttpRequest, mark: str) -> HttpResponse:
    machine = find_machine(mark)
    station = _station_here(request, machine)
    tray = tray_of(request, station) if station else None
    if tray is None or not tray.lines:
        return redirect(fill_url(machine))
    return _compare_page(request, machine, station, tray, _compare_form(tray))


def _compare_form(tray: Tray, data=None) -> CompareForm:
    return CompareForm(data, numbers=[line.number for line in tray.lines])


def _compare_page(
    request: HttpRequest,
    machine: Machine,
    station: Station,
    tray: Tray,
    form: CompareForm,
    refused: Mapping[int, Refused] | None = None,
) -> HttpResponse:
    lines = [
        CompareLine(
            line,
            form[shown_name(line.number)],
            pocket_name(line.number),
            (refused or {}).get(line.number),
        )
        for line in tray.lines
    ]
    context = {
        "machine": machine,
        "station": station,
        "form": form,
        "lines": lines,
        "names_pockets": names_pockets(machine),
        # A scan here is none of the numbers to be keyed, and leads away from none that is.
        **own_scan_field(request),
    }
    return not_kept(render(request, "assemblies/fill_compare.html", context))


def codes_listed(request: HttpRequest) -> list[str]:
    """Label codes of the list of this screen, to be looked up anew before anything is recorded."""
    station = station_of(request)
    lines = tray_of(request, station).lines if station else []
    return [line.code for line in lines]


def record_listed(request: HttpRequest, mark: str, scans: Mapping[str, Scan]) -> HttpResponse:
    """Record every listed tool whose number was keyed; each one is judged and written for itself.

    `scans` has what each label code of the list stands for now. A line that is refused, or whose
    number was not keyed, stays on the list and is not loaded.
    """
    machine = find_machine(mark)
    station = _station_here(request, machine)
    if station is None:
        return redirect(fill_url(machine))
    tray = tray_of(request, station)
    form = _compare_form(tray, request.POST)
    if not form.is_valid():
        return _compare_page(request, machine, station, tray, form)
    refused = _record(request, station, tray, form, scans)
    keep_tray(request, tray)
    if tray.lines:
        again = _compare_form(tray, {name: request.POST.get(name, "") for name in form.fields})
        return _compare_page(request, machine, station, tray, again, refused)
    return redirect("assemblies:machine_detail", mark=machine.mark)


_MOVED = Refused(
    "fill.moved",
    "The list was changed on another page.",
    "Look at pocket and mark again, then send it.",
)
_NOT_COMPARED = Refused(
    "fill.not_compared",
    "Not compared with the control.",
    "Key the number that the control shows.",
)


def _record(
    request: HttpRequest,
    station: Station,
    tray: Tray,
    form: CompareForm,
    scans: Mapping[str, Scan],
) -> dict[int, Refused]:
    """Take the recorded lines off the list; the refusals of those that stay."""
    refused: dict[int, Refused] = {}
    listed = list(tray.lines)
    for line in listed:
        shown_number = form.shown(line.number)
        if shown_number is None or form.pocket(line.number) not in (None, line.pocket):
            refused[line.number] = _NOT_COMPARED if shown_number is None else _MOVED
            continue
        try:
            _record_line(request, station, line, scans.get(line.code), shown_number)
            tray.remove(line.number)
        except NotAllowed:
            raise
        except Refused as refusal:
            refused[line.number] = refusal
    recorded = len(listed) - len(refused)
    if recorded:
        tools = "1 tool" if recorded == 1 else f"{recorded} tools"
        messages.success(request, f"{tools} recorded in {station.machine.name}.")
    return refused


def _record_line(
    request: HttpRequest, station: Station, line: TrayLine, scan: Scan | None, shown_number: int
) -> None:
    if scan is None:
        raise Refused("fill.label_gone", "This label is no longer known.", "Scan it again.")
    done = record_decision(
        by=request.user,
        submission=UUID(line.submission),
        assembly=scan.assembly,
        label=scan.label,
        machine=station.machine,
        revision=station.revision,
        tool_number=None,
        answer=Answer(
            decision=Decision.LOADED,
            shown_number=shown_number,
            seen_word="match",
            seen=line.seen,
            label_code=line.code,
            pocket=line.pocket,
            mark_agrees=True if line.holder_mark else None,
        ),
    )
    if done.repeated and not is_still_in(int(done.result)):
        text = "It was recorded before and came out since."
        raise Refused("fill.out_since", text, "Take it off the list, then scan it again.")
