"""After loading: the strip of hands and eyes is answered."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_http_methods

from assemblies.actions.after_checks import record_hands_on
from assemblies.forms.checks import HandsOnForm
from assemblies.models import SpindleCheck
from assemblies.views.spindle import with_subjects
from crib.views.access import attempt, needs, tell
from crib.views.form_page import posted


@needs("check.decide")
@require_http_methods(["GET", "HEAD", "POST"])
def hands_on(request: HttpRequest, pk: int) -> HttpResponse:
    """The strip of one load by itself; a POST keeps what was ticked."""
    row = get_object_or_404(with_subjects(SpindleCheck.objects.all()), pk=pk)
    form = HandsOnForm(posted(request))
    if request.method == "POST":

        def act(data: dict):
            return record_hands_on(by=request.user, spindle_check=row, **data)

        done = attempt(form, act)
        if done is not None:
            tell(request, done, "Recorded as said.")
            return redirect("assemblies:spindle")
    context = {"check": row, "form": form}
    status = 422 if form.is_bound else 200
    return render(request, "assemblies/after_check.html", context, status=status)
