"""Signing in and out."""

from __future__ import annotations

from django.contrib import messages
from django.contrib.auth import logout
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from crib.forms.people import SignInForm


class SignIn(LoginView):
    """Name and password; then on to the page that was asked for, if it is one of ours."""

    template_name = "sign_in.html"
    authentication_form = SignInForm
    redirect_authenticated_user = True

    def form_invalid(self, form: SignInForm) -> HttpResponse:
        if not getattr(self.request, "axes_locked_out", False):
            return super().form_invalid(form)
        # Answered here; left on, the mark lets a middleware put its own words in place of ours.
        self.request.axes_locked_out = False
        return render(self.request, "crib/locked_out.html", status=429)


sign_in = SignIn.as_view()


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    messages.info(request, "Signed out.")
    return redirect("crib:sign_in")
