"""My PIN: what it is for, and setting it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from crib.actions.pin import set_pin
from crib.forms.pin import PinForm
from crib.roles import ASKED_FOR_PIN
from crib.views.access import needs
from crib.views.form_page import form_page, posted


@sensitive_post_parameters("password", "pin", "again")
@needs("view")
@require_http_methods(["GET", "HEAD", "POST"])
def my_pin(request: HttpRequest) -> HttpResponse:
    def act(data: dict):
        return set_pin(
            by=request.user,
            submission=data["submission"],
            password=data["password"],
            pin=data["pin"],
        )

    return form_page(
        request,
        PinForm(posted(request)),
        act,
        then=reverse("crib:pin"),
        said="PIN set.",
        template="crib/pin.html",
        pin_set_at=request.user.pin_set_at,
        asked=bool(request.user.roles & ASKED_FOR_PIN),
    )
