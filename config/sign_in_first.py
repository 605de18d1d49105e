"""Signing in comes first, and leads back to a page that can be opened."""

from __future__ import annotations

from inspect import getclosurevars, isfunction
from urllib.parse import urlsplit

from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.urls import Resolver404, resolve
from django.utils.http import url_has_allowed_host_and_scheme

_SAFE = frozenset({"GET", "HEAD"})


class SignInFirst(LoginRequiredMiddleware):
    """Asks for the sign-in; a form sent too late leads back to the page it stood on."""

    def handle_no_permission(self, request, view_func) -> HttpResponse:
        return redirect_to_login(
            page_to_open(request),
            self.get_login_url(view_func),
            self.get_redirect_field_name(view_func),
        )


def page_to_open(request: HttpRequest) -> str:
    """The page asked for; for a form, the page of ours that it was sent from, else home."""
    if request.method in _SAFE:
        return request.get_full_path()
    came_from = request.META.get("HTTP_REFERER", "")
    ours = url_has_allowed_host_and_scheme(
        came_from, allowed_hosts={request.get_host()}, require_https=request.is_secure()
    )
    return _nearest_page(came_from) if ours else "/"


def _nearest_page(address: str) -> str:
    """`address` without its host, or the nearest page above it that can be looked at.

    A form that was refused is shown again at the address it was sent to, which may take
    nothing else.
    """
    parts = urlsplit(address)
    if _can_be_looked_at(parts.path):
        return f"{parts.path}?{parts.query}" if parts.query else parts.path
    path = parts.path.rstrip("/")
    while path:
        path = path.rpartition("/")[0]
        if _can_be_looked_at(f"{path}/"):
            return f"{path}/"
    return "/"


def _can_be_looked_at(path: str) -> bool:
    # Two slashes at the head would lead to another host.
    if not path.startswith("/") or path.startswith("//"):
        return False
    try:
        view = resolve(path).func
    except Resolver404:
        return False
    return _takes_get(view)


def _takes_get(view) -> bool:
    """Whether no `require_http_methods` round the view keeps a plain look out."""
    while isfunction(view):
        methods = getclosurevars(view).nonlocals.get("request_method_list", _SAFE)
        if "GET" not in methods:
            return False
        view = getattr(view, "__wrapped__", None)
    return True


def form_refused(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The page for a form whose one-time mark has run out. Asks no database."""
    page = render_to_string("403_csrf.html", {"way_back": page_to_open(request)})
    return HttpResponse(page, status=403)
