"""Who may open a page, and how a refusal is shown. Rooms above use this too."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps

from django.contrib import messages
from django.contrib.auth.views import redirect_to_login
from django.forms import BaseForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from crib.actions.once import Done
from crib.models import Person
from crib.roles import PERMISSIONS, holders_of
from crib.rules.refusal import NotAllowed, Refused

View = Callable[..., HttpResponse]


def needs(permission: str) -> Callable[[View], View]:
    """Open a view to people who hold `permission`; the others get a page that says who does."""
    if permission not in PERMISSIONS:
        raise KeyError(permission)

    def wrap(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args, **kwargs) -> HttpResponse:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            if not request.user.may(permission):
                return not_allowed(request, permission)
            try:
                return view(request, *args, **kwargs)
            except NotAllowed as refusal:
                return not_allowed(request, refusal.permission)

        guarded.permission = permission
        return guarded

    return wrap


def not_allowed(request: HttpRequest, permission: str) -> HttpResponse:
    """The page for somebody without `permission`: what it allows, and which roles hold it."""
    text, _ = PERMISSIONS[permission]
    names = holders_of(permission)
    context = {
        "permission_text": text,
        "role_names": names,
        "reason": f"To {text} is for these roles: {', '.join(names)}. Nothing was changed.",
    }
    return render(request, "403.html", context, status=403)


def put_refusal(form: BaseForm, refused: Refused) -> None:
    """Write a refusal on the field it names, or on the form; its findings go along."""
    field = refused.field if refused.field in form.fields else None
    form.add_error(field, refused.sentence)
    form.findings = refused.findings


def attempt(form: BaseForm, act: Callable[[dict], Done]) -> Done | None:
    """Do `act(cleaned_data)` with a sound form. None: the form now says what is wrong."""
    if not form.is_valid():
        return None
    try:
        return act(form.cleaned_data)
    except NotAllowed:
        raise
    except Refused as refused:
        put_refusal(form, refused)
        return None


def tell(request: HttpRequest, done: Done, text: str) -> None:
    """Say what was done, or that this very form had already done it."""
    if done.repeated:
        messages.info(request, f"{text} This form was sent twice; it counted once.")
    else:
        messages.success(request, text)


def allowed_links(person: Person, *links: tuple[str, str, str]) -> list[tuple[str, str]]:
    """(url, label) of those `(permission, url, label)` that `person` may follow."""
    return [(url, label) for permission, url, label in links if person.may(permission)]
