"""The number that the control shows, keyed before the scan: an answer nobody was led to."""

from __future__ import annotations

import time
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from assemblies.actions.spindle_history import is_first_load_of_program
from assemblies.forms.spindle import ControlNumberForm
from assemblies.models import Station, ToolChange
from assemblies.views.stations import choose_first, safe_next, station_of
from crib.views.access import needs

#: In the session: {"number", "at" [s], "about" which machine and program, "address" of the scan it
#: was used for}.
_KEYED = "control_number"
#: So long the number waits for its scan.
KEPT_S = 10 * 60


def must_key_first(request: HttpRequest, station: Station) -> bool:
    """The shop wants it at this machine before every verdict."""
    return (
        station.machine.key_number_first
        and station.revision is not None
        and request.user.may("check.decide")
    )


def should_key_first(request: HttpRequest, station: Station) -> bool:
    """Asked before the scan too where a hand-keyed number is the main risk: the first load of a
    program on a machine without a changer.
    """
    if must_key_first(request, station):
        return True
    if station.revision is None or not request.user.may("check.decide"):
        return False
    by_hand = station.machine.tool_change == ToolChange.HAND
    return by_hand and is_first_load_of_program(station.machine, station.revision)


def waiting_number(request: HttpRequest) -> int | None:
    """The number that was keyed and waits for its scan."""
    keyed = _fresh(request)
    return keyed["number"] if keyed and not keyed["address"] else None


def number_for_scan(request: HttpRequest) -> int | None:
    """The number keyed for the scan at this address; from now on it is for no other scan."""
    keyed = _fresh(request)
    if keyed is None:
        return None
    if not keyed["address"] and request.method == "GET":
        request.session[_KEYED] = keyed | {"address": request.path}
        return keyed["number"]
    if keyed["address"] == request.path:
        return keyed["number"]
    forget(request)
    return None


def forget(request: HttpRequest) -> None:
    """After a scan of something else, and after each answer, the number is asked for anew."""
    request.session.pop(_KEYED, None)


def _fresh(request: HttpRequest) -> dict | None:
    """What was keyed just now, at the very machine and for the very program of this screen."""
    keyed = request.session.get(_KEYED)
    if not keyed or keyed.get("about") != _about(station_of(request)):
        return None
    return keyed if time.time() - keyed["at"] <= KEPT_S else None


def _about(station: Station | None) -> list[int | None] | None:
    return [station.machine_id, station.revision_id] if station else None


def ask_first(request: HttpRequest) -> HttpResponse:
    """To the keypad, and then back to the scan."""
    query = urlencode({"next": request.get_full_path()})
    return redirect(f"{reverse('assemblies:control_number')}?{query}")


def show_keypad(request: HttpRequest, station: Station, next_address: str = "") -> HttpResponse:
    """No number is proposed and none hinted at: it is to be read off the control."""
    context = {"station": station, "next": next_address}
    return render(request, "assemblies/spindle_number.html", context)


@needs("check.decide")
@require_http_methods(["GET", "HEAD", "POST"])
def control_number(request: HttpRequest) -> HttpResponse:
    station = station_of(request)
    if station is None:
        return choose_first(request)
    if request.method != "POST":
        forget(request)
        return show_keypad(request, station, safe_next(request, request.GET.get("next", "")))
    form = ControlNumberForm(request.POST)
    if not form.is_valid():
        next_address = safe_next(request, request.POST.get("next", ""))
        return show_keypad(request, station, next_address)
    number, address = form.cleaned_data["shown_number"], form.cleaned_data["next"]
    request.session[_KEYED] = {
        "number": number,
        "at": int(time.time()),
        "about": _about(station),
        "address": "",
    }
    return redirect(safe_next(request, address) or "assemblies:spindle")
