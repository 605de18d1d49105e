"""People: who may sign in, and with which roles."""

from __future__ import annotations

from django.contrib.auth import update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from crib.actions.people import save_person
from crib.forms.people import PersonForm
from crib.models import Person
from crib.tables import PersonTable, laid_out
from crib.views.access import needs
from crib.views.form_page import form_page, posted


@needs("people.manage")
@require_safe
def people(request: HttpRequest) -> HttpResponse:
    table = PersonTable(Person.objects.all(), empty_text="Nobody yet.")
    return render(request, "crib/people.html", {"table": laid_out(request, table)})


@needs("people.manage")
@require_http_methods(["GET", "HEAD", "POST"])
def person_new(request: HttpRequest) -> HttpResponse:
    return _person_form(request, Person(), "New person")


@needs("people.manage")
@require_http_methods(["GET", "HEAD", "POST"])
def person_edit(request: HttpRequest, pk: int) -> HttpResponse:
    person = get_object_or_404(Person, pk=pk)
    return _person_form(request, person, f"Change {person.shown_name}")


def _person_form(request: HttpRequest, person: Person, heading: str) -> HttpResponse:
    form = PersonForm(posted(request), instance=person)

    def act(data: dict):
        done = save_person(
            by=request.user,
            submission=data["submission"],
            person=form.instance,
            password=data["password"],
        )
        if form.instance.pk == request.user.pk:
            # A new password ends all sessions; the one that set it stays open.
            update_session_auth_hash(request, form.instance)
        return done

    return form_page(
        request,
        form,
        act,
        then=reverse("crib:people"),
        said="Person saved.",
        heading=heading,
        back_url=reverse("crib:people"),
    )
