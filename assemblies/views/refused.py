"""Refused at a spindle and not released again since: what the toolroom looks at first."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import OuterRef, Subquery
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.cache import patch_vary_headers
from django.views.decorators.http import require_safe

from assemblies.actions.spindle import REFUSE_REASONS
from assemblies.models import Build, Decision, SpindleCheck
from assemblies.views.spindle import with_subjects
from crib.views.access import needs


@dataclass(frozen=True)
class RefusedLine:
    """One assembly with the refusal that stands against it."""

    check: SpindleCheck
    reason: str


@needs("view")
@require_safe
def refused(request: HttpRequest) -> HttpResponse:
    """The list as a page; as a part of another page when that asks for it."""
    template = "_refused" if request.htmx else "refused"
    context = refused_context(request)
    response = render(request, f"assemblies/{template}.html", context)
    patch_vary_headers(response, ["HX-Request"])
    return response


def refused_context(request: HttpRequest) -> dict:
    return {"refused": refused_lines(), "may_see_names": request.user.may("check.names")}


def refused_lines() -> list[RefusedLine]:
    """Assemblies whose last decision is a refusal, newest first. A release after it settles it."""
    last = SpindleCheck.objects.filter(assembly=OuterRef("assembly")).order_by("-at", "-id")
    released = Build.objects.filter(assembly=OuterRef("assembly"), live=True)
    rows = (
        with_subjects(SpindleCheck.objects.filter(decision=Decision.REFUSED))
        .filter(pk=Subquery(last.values("pk")[:1]), assembly__builds__live=True)
        .annotate(released_at=Subquery(released.values("released_at")[:1]))
    )
    return [
        RefusedLine(row, REFUSE_REASONS.get(row.reason, row.reason))
        for row in rows
        if row.released_at is None or row.at > row.released_at
    ]
