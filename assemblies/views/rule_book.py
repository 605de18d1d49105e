"""The rule book: all rules by subject, and one rule with its limit and its last word."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from assemblies.actions.rule_uses import Spoke, last_uses
from assemblies.actions.shop_limits import limits_in_force
from assemblies.rules.book.front import (
    RULES,
    by_subject,
    limit_text,
    rule_named,
    search,
    settings_in,
)
from assemblies.rules.book.row import Confidence, Rule
from assemblies.rules.shop_settings import setting_named, shown_values
from crib.views.access import needs

#: Longest question of the search box that is looked at.
LONGEST_QUESTION = 80


@dataclass(frozen=True)
class ShownRule:
    """One rule with its limit of today and the last time it spoke."""

    rule: Rule
    limit: str
    is_a_setting: bool
    last: Spoke | None


def _shown(rule: Rule, shown: dict[str, str], last: dict[str, Spoke]) -> ShownRule:
    limit = limit_text(rule, shown)
    return ShownRule(rule, limit, bool(settings_in(rule)), last.get(rule.key))


@needs("view")
@require_safe
def rule_list(request: HttpRequest) -> HttpResponse:
    """Every rule of the house by subject, or those that a word is found in."""
    asked = request.GET.get("q", "").strip()[:LONGEST_QUESTION]
    found = search(asked)
    shown, uses = shown_values(limits_in_force()), last_uses()
    groups = [
        (subject, [_shown(rule, shown, uses.last) for rule in rules])
        for subject, rules in by_subject(found)
    ]
    context = {
        "asked": asked,
        "groups": groups,
        "found": len(found),
        "all": len(RULES),
        "uses": uses,
        "confidences": Confidence,
    }
    return render(request, "assemblies/rule_list.html", context)


@needs("view")
@require_safe
def rule_detail(request: HttpRequest, key: str) -> HttpResponse:
    """One rule: what it asks, its limit today, its codes, and when it last spoke."""
    rule = rule_named(key)
    if rule is None:
        raise Http404
    in_force, uses = limits_in_force(), last_uses()
    shown = shown_values(in_force)
    settings = [(setting_named(name), shown[name]) for name in settings_in(rule)]
    context = {
        "shown": _shown(rule, shown, uses.last),
        "settings": settings,
        "uses": uses,
        "may_change": request.user.may("limits.edit"),
    }
    return render(request, "assemblies/rule_detail.html", context)
