"""The build card of an assembly as a PDF."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from assemblies.models import Build
from assemblies.views.assembly_page import find_assembly
from crib.views.access import needs
from labels.actions.build_card import build_card as card_of
from labels.drawing.build_card import build_card_pdf


@needs("view")
@require_safe
def build_card(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    rows = Build.objects.filter(assembly=assembly, live=True).select_related(
        "built_by", "accepted_by", "released_by", "wrench", "meant_for__revision__program"
    )
    build = rows.defer("meant_for__revision__content").first()
    if build is None:
        raise Http404(f"Assembly {number} was taken apart.")
    build.assembly = assembly
    answer = HttpResponse(build_card_pdf(card_of(build)), content_type="application/pdf")
    name = f"card-{number}-{build.revision_text}.pdf"
    answer["Content-Disposition"] = f'inline; filename="{name}"'
    answer["Cache-Control"] = "no-store"
    return answer
