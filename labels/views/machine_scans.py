"""Scans on pages about machines: where an assembly is, and the tools of a changer."""

from __future__ import annotations

import re

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST, require_safe

from assemblies.models import Assembly
from assemblies.rules.verdict.facts import FoundBy, LabelFacts
from assemblies.views.pockets import codes_listed, record_listed, take_scan
from assemblies.views.spindle import assembly_of_mark
from assemblies.views.verdict_page import Scan
from crib.rules.refusal import Refused
from crib.views.access import needs
from labels.actions.resolve_code import Outcome, Resolved, label_facts, resolve
from labels.forms import ScanForm
from labels.models import Label
from labels.views.scan import LONGEST_TYPED, not_ours, please_wait, too_many_misses

#: `1044`, or as the tag prints it with its revision: `1044 r1`.
_NUMBER = re.compile(r"([0-9]{1,8})(?:\s*r\s*[0-9]{1,4})?", re.ASCII | re.IGNORECASE)


@needs("view")
@require_safe
def scan_where(request: HttpRequest) -> HttpResponse:
    """From a scan to where the assembly is: out of a machine, taken along, put back."""
    return _found(request, request.GET, "assemblies:whereabouts", _to_whereabouts)


def _to_whereabouts(scan: Scan) -> HttpResponse:
    return redirect("assemblies:whereabouts_of", number=scan.assembly.number)


@needs("check.decide")
@require_POST
def fill_scan(request: HttpRequest, mark: str) -> HttpResponse:
    """One more tool for the changer. Writes to the list of this screen only."""
    return _found(
        request,
        request.POST,
        "assemblies:machine_list",
        lambda scan: take_scan(request, mark, scan),
    )


@needs("check.decide")
@require_POST
def fill_record(request: HttpRequest, mark: str) -> HttpResponse:
    """The listed tools, compared with the control: each label is looked up anew."""
    rows = Label.objects.filter(code__in=codes_listed(request))
    scans = {row.code: _scan_of(row) for row in rows.select_related(_ASSEMBLY)}
    return record_listed(request, mark, scans)


#: What a verdict needs beside the label row.
_ASSEMBLY = "build__assembly__contents__parent"


def _scan_of(label: Label) -> Scan:
    return Scan(label.build.assembly, label_facts(label), label.code)


def _found(request: HttpRequest, typed, otherwise: str, then) -> HttpResponse:
    """`then` with what an entry stands for, or one plain sentence. Misses are counted."""
    form = ScanForm(typed)
    if not form.is_valid():
        return redirect(otherwise)
    if too_many_misses(request.user):
        return please_wait(request)
    entry = form.cleaned_data["entry"]
    try:
        looked_up = _looked_up(entry)
    except Refused as refused:
        return not_ours(request, Resolved(Outcome.NO_ASSEMBLY, sentence=refused.text))
    if looked_up is not None:
        return then(looked_up)
    scanned = form.cleaned_data["scanned"] or len(entry) > LONGEST_TYPED
    resolved = resolve(entry, scanned=scanned, by=request.user)
    return then(_scan_of(resolved.label)) if resolved.label else not_ours(request, resolved)


def _looked_up(entry: str) -> Scan | None:
    """An assembly by its number or the mark of its holder: such a find vouches for nothing."""
    rows = Assembly.objects.select_related("contents__parent")
    match = _NUMBER.fullmatch(entry.strip())
    if match is not None:
        assembly = rows.filter(number=int(match[1])).first()
        if assembly is None:
            raise Refused("scan.no_assembly", f"No assembly {int(match[1])}.")
        return Scan(assembly, LabelFacts(found_by=FoundBy.NUMBER))
    held = assembly_of_mark(entry)
    if held is None:
        return None
    return Scan(rows.get(number=held[0]), LabelFacts(found_by=FoundBy.HOLDER_MARK))
