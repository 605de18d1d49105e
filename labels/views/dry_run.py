"""A trial: what the check would say. It writes nothing and is no check."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from assemblies.actions.spindle import Checked, check
from assemblies.forms.checks import TrialForm
from assemblies.models import Assembly
from assemblies.rules.verdict.facts import FoundBy, LabelFacts
from assemblies.views.verdict_page import not_kept
from crib.views.access import needs
from labels.actions.resolve_code import label_facts
from labels.models import Label
from labels.rules.code import printed_code


@dataclass(frozen=True)
class Tried:
    """The answer of a trial, and the label it was tried with; "" when none was printed."""

    checked: Checked
    code: str


@needs("view")
@require_safe
def dry_run(request: HttpRequest) -> HttpResponse:
    """Pick assembly, machine, program and T; see what the check would answer right now."""
    form = TrialForm(request.GET or None)
    tried = _try(form) if form.is_valid() else None
    context = {"form": form}
    if tried is not None:
        facts, verdict = tried.checked.facts, tried.checked.verdict
        context |= {
            "verdict": verdict,
            "word_key": tried.checked.word_key,
            "assembly": facts.assembly,
            "code": tried.code,
            "about": form.cleaned_data,
        }
    status = 422 if form.is_bound and tried is None else 200
    return not_kept(render(request, "labels/dry_run.html", context, status=status))


def _try(form: TrialForm) -> Tried | None:
    """The verdict as if the present label were scanned; None: there is no such number."""
    asked = form.cleaned_data
    rows = Assembly.objects.select_related("contents__parent")
    assembly = rows.filter(number=asked["assembly"]).first()
    if assembly is None:
        form.add_error("assembly", f"There is no assembly {asked['assembly']}.")
        return None
    label = _label_of(assembly)
    checked = check(
        assembly=assembly,
        label=label_facts(label) if label else LabelFacts(found_by=FoundBy.NUMBER),
        machine=asked["machine"],
        revision=asked["revision"],
        tool_number=asked["t"],
    )
    return Tried(checked, printed_code(label.code) if label else "")


def _label_of(assembly: Assembly) -> Label | None:
    """The label of the live build, void or not: what hangs on the tool is what counts."""
    rows = Label.objects.select_related("build__assembly")
    return rows.filter(build=assembly.current_build).first() if assembly.current_build else None
