"""The limits of the shop: what holds, what is usual, who set it and why; and changing one."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from assemblies.actions.limit_effect import effect_of
from assemblies.actions.shop_settings import (
    LimitNow,
    change_limit,
    changes_of,
    limits_now,
    read_change,
)
from assemblies.forms.shop_settings import LimitForm
from assemblies.rules.book.front import rules_asked_by
from assemblies.rules.shop_setting_rows import FIXED
from assemblies.rules.shop_settings import (
    InForce,
    NotASetting,
    shown_value,
    span_text,
    with_value,
)
from crib.models import SettingChange
from crib.views.access import needs
from crib.views.form_page import form_page, posted

#: Lines of the history of one limit that are shown; nobody changes a limit so often.
MOST_CHANGES = 100


@dataclass(frozen=True)
class ShownLimit:
    """One limit in words."""

    now: LimitNow
    value: str
    usual: str
    span: str


@dataclass(frozen=True)
class ShownChange:
    """One line of a history; "" where the stored value cannot be read."""

    row: SettingChange
    value: str
    before: str


def _shown(now: LimitNow) -> ShownLimit:
    name = now.setting.name
    return ShownLimit(
        now,
        value=shown_value(name, now.value),
        usual=shown_value(name, now.usual),
        span=span_text(now.setting),
    )


@needs("view")
@require_safe
def limit_list(request: HttpRequest) -> HttpResponse:
    """Every limit that the shop may change, with its present value."""
    limits, in_force = limits_now()
    context = {
        "limits": [_shown(now) for now in limits],
        "faults": in_force.faults,
        "fixed": FIXED,
        "own": sum(not now.is_usual for now in limits),
        "may_change": request.user.may("limits.edit"),
    }
    return render(request, "assemblies/setting_list.html", context)


def _find(name: str) -> tuple[LimitNow, InForce]:
    limits, in_force = limits_now()
    for now in limits:
        if now.setting.name == name:
            return now, in_force
    raise Http404


@needs("view")
@require_safe
def limit_detail(request: HttpRequest, name: str) -> HttpResponse:
    """One limit with its history and the rules that ask it."""
    now, _ = _find(name)
    changes = list(changes_of(name)[: MOST_CHANGES + 1])
    context = {
        "limit": _shown(now),
        "changes": [_line(row) for row in changes[:MOST_CHANGES]],
        "more": len(changes) > MOST_CHANGES,
        "rules": rules_asked_by(name),
        "may_change": request.user.may("limits.edit"),
    }
    return render(request, "assemblies/setting_detail.html", context)


def _line(row: SettingChange) -> ShownChange:
    return ShownChange(row, _read(row.name, row.value), _read(row.name, row.before))


def _read(name: str, stored: object) -> str:
    try:
        shown = shown_value(name, read_change(name, stored))
    except NotASetting:
        return ""
    return f"{shown} (the usual)" if stored is None else shown


@needs("limits.edit")
@require_http_methods(["GET", "HEAD", "POST"])
def limit_change(request: HttpRequest, name: str) -> HttpResponse:
    """Change one limit. What it does to released assemblies is shown before it is stored."""
    now, in_force = _find(name)
    back_to_usual = request.method == "GET" and "usual" in request.GET
    form = LimitForm(posted(request), now=now, start=now.usual if back_to_usual else now.value)
    context = {
        "limit": _shown(now),
        "rules": rules_asked_by(name),
        "back_url": reverse("assemblies:limit_detail", args=[name]),
        "heading": f"Change: {now.setting.words}",
    }
    if request.method == "POST" and form.is_valid() and not form.was_looked_at:
        value = form.cleaned_data["value"]
        context |= {
            "form": form.looked_at(),
            "wanted": shown_value(name, value),
            "effect": effect_of(name, in_force, with_value(in_force, name, value)),
            "same": value == now.value,
        }
        return render(request, "assemblies/setting_change.html", context)

    def act(data: dict):
        return change_limit(
            by=request.user,
            submission=data["submission"],
            name=name,
            value=data["value"],
            seen=data["seen"],
            reason=data["reason"],
        )

    return form_page(
        request,
        form,
        act,
        then=context["back_url"],
        said="Stored. It holds from now on.",
        template="assemblies/setting_change.html",
        **context,
    )
