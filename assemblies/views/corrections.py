"""Records that were called wrong at a spindle, and the toolroom's answers."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from assemblies.actions.corrections import answer_correction, open_corrections
from assemblies.actions.spindle import frozen_findings
from assemblies.forms.checks import CorrectionForm
from assemblies.models import SpindleCheck
from assemblies.rules.override_rate import CAUTIONS
from assemblies.views.spindle import with_subjects
from crib.rules.finding import Finding
from crib.views.access import needs
from crib.views.form_page import form_page, posted


@dataclass(frozen=True)
class Question:
    """A load whose record was called wrong, and what was said when it was loaded."""

    check: SpindleCheck
    said: list[Finding]


def _question(row: SpindleCheck) -> Question:
    return Question(row, [f for f in frozen_findings(row) if f.level in CAUTIONS])


@needs("view")
@require_safe
def correction_list(request: HttpRequest) -> HttpResponse:
    """Records that were called wrong at a spindle and that nobody has answered yet."""
    rows = open_corrections().select_related(
        "machine", "assembly", "build", "revision__program", "by"
    )
    context = {
        "questions": [_question(row) for row in rows.defer("revision__content")],
        "may_answer": request.user.may("assembly.build"),
        "may_see_names": request.user.may("check.names"),
    }
    return render(request, "assemblies/correction_list.html", context)


@needs("assembly.build")
@require_http_methods(["GET", "HEAD", "POST"])
def correction(request: HttpRequest, pk: int) -> HttpResponse:
    """One question with the place for its answer; without a question, the check itself."""
    row = get_object_or_404(with_subjects(SpindleCheck.objects.all()), pk=pk)
    if request.method != "POST" and not open_corrections().filter(pk=pk).exists():
        return redirect("assemblies:check_detail", pk=pk)
    form = CorrectionForm(posted(request))

    def act(data: dict):
        return answer_correction(by=request.user, spindle_check=row, **data)

    back_url = reverse("assemblies:correction_list")
    return form_page(
        request,
        form,
        act,
        then=back_url,
        said="Answered.",
        template="assemblies/correction.html",
        question=_question(row),
        back_url=back_url,
    )
