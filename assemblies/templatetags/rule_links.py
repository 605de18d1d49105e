"""From a finding to the rule behind it, wherever findings are listed."""

from __future__ import annotations

from django import template

from assemblies.rules.book.front import rule_of
from assemblies.rules.book.row import Rule

register = template.Library()


@register.simple_tag
def rule_behind(code: str) -> Rule | None:
    """The rule that speaks with `code`; None for a code that no rule uses, or uses no longer."""
    return rule_of(code)
