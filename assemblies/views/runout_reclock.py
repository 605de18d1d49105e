"""The re-clock test, one step a screen, and what it says.

Until the last step everything entered travels in the address: back, reload and a late sign-in
lose nothing, and nothing is written.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_http_methods, require_safe

from assemblies.actions.reclock import (
    Reclocked,
    ReclockReadings,
    piece_marks,
    reclock_of,
    reclocks_of_assembly,
    record_reclock,
    turnable_parts,
)
from assemblies.forms.runout import FirstReadingForm, SecondReadingForm, WhatToTurnForm
from assemblies.models import Assembly, Build, PartRole
from assemblies.rules.runout_by_part.reclock import TURNS, loosens
from assemblies.rules.runout_by_part.reclock_picture import clock_picture
from assemblies.views.assembly_page import find_assembly, live_build
from crib.views.access import attempt, needs, tell

#: What each step asks for; the third only tells what to do.
_FIELDS = (
    ("revision", "turned", "read_on", "distance", "instrument"),
    ("first", "first_hour", "first_deg"),
    (),
)
_TITLES = {1: "what to turn", 2: "first reading", 3: "turn it", 4: "second reading"}
LAST = 4


@dataclass(frozen=True)
class Walk:
    """How far a test has come: the forms sent so far, and the step to show."""

    given: QueryDict
    turn: WhatToTurnForm
    first: FirstReadingForm
    second: SecondReadingForm
    step: int

    @property
    def form(self):
        return {1: self.turn, 2: self.first, 4: self.second}.get(self.step)

    def carried(self) -> list[tuple[str, str]]:
        """What earlier steps entered, for the form of this one."""
        names = [name for fields in _FIELDS[: self.step - 1] for name in fields]
        return [(name, self.given[name]) for name in names if self.given.get(name)]

    def back(self) -> str:
        """The query of the step before, with what was entered there; empty on the first."""
        if self.step == 1:
            return ""
        kept = QueryDict(mutable=True)
        for name, value in self.carried():
            kept[name] = value
        kept["step"] = str(self.step - 2)
        return f"?{kept.urlencode()}"


def _walk(request: HttpRequest, offered: dict[str, str]) -> Walk:
    sending = request.method == "POST"
    given = request.POST if sending else request.GET
    sent = LAST if sending else _sent(given)
    turn = WhatToTurnForm(_or_first(given, sent >= 1), offered=offered)
    first = FirstReadingForm(_or_first(given, sent >= 2))
    second = SecondReadingForm(given if sending else None)
    step = 1
    if turn.is_valid():
        step = 2
        if first.is_valid():
            step = LAST if sent >= 3 else 3
    return Walk(given, turn, first, second, step)


def _or_first(given: QueryDict, sent: bool) -> QueryDict | None:
    return given if sent else None


def _sent(given: QueryDict) -> int:
    """Number of the last step that was sent on."""
    text = given.get("step", "")
    return int(text) if text in ("1", "2", "3") else 0


@needs("assembly.build")
@require_http_methods(["GET", "HEAD", "POST"])
def reclock(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    build = live_build(assembly)
    if build is None:
        messages.warning(request, f"Assembly {number} is retired. There is nothing to test.")
        return redirect("assemblies:assembly_detail", number=number)
    marks = piece_marks(build)
    offered = {role: marks[role] for role in turnable_parts(build)}
    walk = _walk(request, offered)
    if request.method == "POST" and walk.step == LAST:
        done = attempt(walk.second, lambda data: _record(request, assembly, walk))
        if done is not None:
            tell(request, done, "Test kept.")
            return redirect("assemblies:reclock_answer", number=number, pk=int(done.result))
    return render(request, "assemblies/reclock.html", _context(assembly, build, offered, walk))


def _record(request: HttpRequest, assembly: Assembly, walk: Walk):
    turn = walk.turn.cleaned_data
    first_um, first_deg = walk.first.reading
    second_um, second_deg = walk.second.reading
    readings = ReclockReadings(
        turned=turn["turned"],
        first_um=first_um,
        first_deg=first_deg,
        second_um=second_um,
        second_deg=second_deg,
        read_on=turn["read_on"],
        distance_um=turn["distance"],
        measured_with=turn["instrument"],
    )
    return record_reclock(
        by=request.user,
        submission=walk.second.cleaned_data["submission"],
        assembly=assembly,
        revision=_revision(walk.given),
        readings=readings,
    )


def _revision(given: QueryDict) -> int:
    text = given.get("revision", "")
    return int(text) if text.isdecimal() and len(text) < 10 else 0


def _context(assembly: Assembly, build: Build, offered: dict[str, str], walk: Walk) -> dict:
    turned = walk.turn.cleaned_data.get("turned") if walk.turn.is_bound else None
    return {
        "assembly": assembly,
        "build": build,
        "offered": offered,
        "open": not build.is_draft and bool(offered),
        "walk": walk,
        "form": walk.form,
        "step": walk.step,
        "last": LAST,
        "step_title": _TITLES[walk.step],
        "revision": walk.given.get("revision") or build.revision,
        "turned_name": f"{PartRole(turned).label} {offered[turned]}" if turned in offered else "",
        "in_spindle": turned == "holder",
        "how_to_turn": TURNS[turned][1] if turned in TURNS else "",
        "tests": reclocks_of_assembly(assembly) if walk.step == 1 else [],
    }


def _to_measure(assembly: Assembly, test: Reclocked) -> bool:
    """The revision that this test led to still waits to be measured and released."""
    if not loosens(test.row.turned, test.row.read_on):
        return False
    live = live_build(assembly)
    follows = live is not None and live.revision == test.row.build.revision + 1
    return follows and live.released_at is None


def _sizes(test: Reclocked) -> dict[str, int]:
    """Whole micrometres of what was computed; uncertainties are rounded up."""
    return {
        "part_um": round(test.found.part.size_um),
        "rest_um": round(test.found.rest.size_um),
        "uncertainty_um": ceil(test.found.uncertainty_um),
        "apart_um": ceil(test.found.apart_um),
    }


@needs("view")
@require_safe
def reclock_answer(request: HttpRequest, number: int, pk: int) -> HttpResponse:
    assembly = find_assembly(number)
    test = reclock_of(number, pk)
    if test is None:
        raise Http404
    marks = piece_marks(test.row.build)
    name = f"{test.part_name} {marks.get(test.row.turned, '')}".strip()
    picture = clock_picture(test.first, test.second, test.found, name)
    context = {
        "assembly": assembly,
        "test": test,
        "name": name,
        "findings": [test.finding],
        **_sizes(test),
        "to_measure": _to_measure(assembly, test),
        # Made by our own rule, which escapes what it is given.
        "picture": mark_safe(picture),
        "may_build": request.user.may("assembly.build"),
        "back_url": reverse("assemblies:assembly_detail", args=[number]),
    }
    return render(request, "assemblies/reclock_answer.html", context)
