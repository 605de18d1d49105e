"""The rule book: every rule of the house in plain words, with its limit, source and codes.

It judges nothing. Each code of a finding belongs to exactly one rule here, so that a finding leads
to the rule behind it. A limit that quotes a setting of the shop (`{closure_um}`) is changed by it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from assemblies.rules.book.bench import BENCH_RULES
from assemblies.rules.book.clamping import CLAMPING_RULES
from assemblies.rules.book.entry import ENTRY_RULES
from assemblies.rules.book.figures import FIGURE_RULES
from assemblies.rules.book.row import Rule, Subject
from assemblies.rules.book.spindle import SPINDLE_RULES

RULES: tuple[Rule, ...] = (
    *BENCH_RULES,
    *CLAMPING_RULES,
    *FIGURE_RULES,
    *SPINDLE_RULES,
    *ENTRY_RULES,
)

_BY_KEY = {rule.key: rule for rule in RULES}
_BY_CODE = {code: rule for rule in RULES for code in rule.codes}
_QUOTED = re.compile(r"{(\w+)}")


def rule_named(key: str) -> Rule | None:
    """The rule of that key; None when there is none.

    >>> rule_named("collet-range").name, rule_named("no-such")
    ('Shank inside the range of the collet', None)
    """
    return _BY_KEY.get(key)


def rule_of(code: str) -> Rule | None:
    """The rule that speaks with a code; None for a code that no rule uses (any more).

    >>> rule_of("collet.shank_too_large").key, rule_of("sample.check")
    ('collet-range', None)
    """
    return _BY_CODE.get(code)


def settings_in(rule: Rule) -> tuple[str, ...]:
    """Names of the shop's settings that a rule's limit quotes, each once.

    >>> settings_in(rule_named("collet-closing"))
    ('collet_closing_um',)
    """
    return tuple(dict.fromkeys(_QUOTED.findall(rule.limit)))


def limit_text(rule: Rule, shown: Mapping[str, str]) -> str:
    """A rule's limit in words, with the values of the shop's settings put in.

    >>> limit_text(rule_named("collet-closing"), {"collet_closing_um": "0.50 mm"})
    'At most 0.50 mm below its largest size.'
    """
    return _QUOTED.sub(lambda found: shown[found[1]], rule.limit)


def rules_asked_by(setting: str) -> list[Rule]:
    """The rules that a setting of the shop changes.

    >>> [rule.key for rule in rules_asked_by("collet_closing_um")]
    ['collet-closing']
    """
    return [rule for rule in RULES if setting in settings_in(rule)]


def search(text: str, rules: Iterable[Rule] = RULES) -> list[Rule]:
    """The rules in which every word of `text` is found: name, question, limit, source, codes.

    >>> [rule.key for rule in search("fillet flutes")]
    ['grip-shank']
    """
    words = text.casefold().split()
    return [rule for rule in rules if all(word in _all_text(rule) for word in words)]


def _all_text(rule: Rule) -> str:
    parts = (rule.name, rule.asks, rule.limit, rule.source, rule.subject, rule.key, *rule.codes)
    return " ".join(parts).casefold()


def by_subject(rules: Iterable[Rule]) -> list[tuple[Subject, list[Rule]]]:
    """Rules in the order of their subjects, subjects without a rule left out.

    >>> [subject.value for subject, _ in by_subject(search("fillet flutes"))]
    ['Shank and grip']
    """
    rules = list(rules)
    grouped = [(subject, [r for r in rules if r.subject is subject]) for subject in Subject]
    return [(subject, of_it) for subject, of_it in grouped if of_it]
