"""The set-up sheet as a PDF."""

from __future__ import annotations

import re

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_safe

from assemblies.views.machines import find_machine
from assemblies.views.setup_sheet import find_revision
from crib.views.access import needs
from labels.actions.setup_sheet import setup_paper
from labels.drawing.setup_sheet import setup_sheet_pdf as drawn
from labels.views.print_label import address_findings


@needs("view")
@require_safe
def setup_sheet_pdf(request: HttpRequest, pk: int, mark: str) -> HttpResponse:
    revision, machine = find_revision(pk), find_machine(mark)
    page = reverse("assemblies:setup_sheet", args=[revision.pk, machine.mark])
    warnings = [f for f in address_findings() if f.code == "address.this_machine_only"]
    paper = setup_paper(
        revision,
        machine,
        address=settings.BASE_URL.rstrip("/") + page,
        address_note="opens on this computer only" if warnings else "",
        demo=settings.DEMO,
    )
    answer = HttpResponse(drawn(paper), content_type="application/pdf")
    name = re.sub(r"[^A-Za-z0-9]+", "-", f"sheet {revision} {machine.mark}").strip("-")
    answer["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    answer["Cache-Control"] = "no-store"
    return answer
