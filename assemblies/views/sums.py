"""Sums for the bench: the list of them, and one with its form and answer. Nothing is stored."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from assemblies.forms.sums import SUMS, SumForm
from assemblies.rules.sums.answer import Answer
from crib.views.access import needs


@needs("view")
@require_safe
def sums(request: HttpRequest) -> HttpResponse:
    return render(request, "assemblies/sums.html", {"sums": SUMS})


@needs("view")
@require_safe
def one_sum(request: HttpRequest, name: str) -> HttpResponse:
    """One sum. Its figures stand in the address, so that it can be kept and handed on."""
    form_class = SUMS.get(name)
    if form_class is None:
        raise Http404(name)
    form = form_class(request.GET or None)
    context = {"form": form, "answers": _answers(form) if form.is_valid() else []}
    return render(request, "assemblies/sums_one.html", context)


def _answers(form: SumForm) -> list[Answer]:
    """The answer, and the rough one where the form has one and was asked for it."""
    rough = getattr(form, "rough_answer", lambda: None)()
    return [answer for answer in (form.answer(), rough) if answer is not None]
