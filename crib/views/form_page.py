"""The walk of every page with one form: show it, do it, or show it again with the reasons."""

from __future__ import annotations

from collections.abc import Callable
from uuid import UUID

from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse

from crib.actions.once import Done
from crib.models import Act
from crib.views.access import attempt, tell


def posted(request: HttpRequest) -> QueryDict | None:
    """What the form sent; None when the page is only looked at."""
    return request.POST if request.method == "POST" else None


def done_before(request: HttpRequest, kind: str) -> Act | None:
    """The act that this very form led to when it was sent the first time; None the first time."""
    try:
        number = UUID(request.POST.get("submission", ""))
    except ValueError:
        return None
    return Act.objects.filter(pk=number, kind=kind, by=request.user.pk).first()


def form_page(
    request: HttpRequest,
    form: BaseForm,
    act: Callable[[dict], Done],
    *,
    then: str | Callable[[Done], str],
    said: str | Callable[[], str],
    template: str = "crib/form_page.html",
    **context,
) -> HttpResponse:
    """Show `form`; when it was sent, do `act`, say `said` and go on to the address `then`."""
    if request.method == "POST":
        done = attempt(form, act)
        if done is not None:
            tell(request, done, said() if callable(said) else said)
            return redirect(then(done) if callable(then) else then)
    return render(request, template, {"form": form, **context})


def address_of_pk(name: str) -> Callable[[Done], str]:
    """Where a new row is shown, from the number the act answered with."""
    return lambda done: reverse(name, kwargs={"pk": int(done.result)})
