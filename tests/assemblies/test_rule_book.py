"""The rule book against the source: each code has one rule, and no rule speaks of nothing."""

from __future__ import annotations

import re
from collections import Counter

import pytest

from assemblies.actions.readings import WEIGHED_NOTES
from assemblies.rules.book.front import (
    RULES,
    by_subject,
    limit_text,
    rule_named,
    rule_of,
    search,
    settings_in,
)
from assemblies.rules.book.row import Confidence, Subject, rule
from assemblies.rules.shop_settings import InForce, setting_named, shown_values
from crib.rules.finding import Level
from docs.make_findings import Entry, read_entries

ENTRIES = read_entries()
#: Codes of findings; what is only ever a refusal of an act is no rule's.
SAID = {code: entry for code, entry in ENTRIES.items() if entry.levels != {"refused"}}
EXACT = {code: entry for code, entry in SAID.items() if "…" not in code}
#: Codes that are put together from a name: `envelope.…_over`.
PATTERNS = {
    code: re.compile("[a-z0-9_]+".join(map(re.escape, code.split("…"))))
    for code in SAID
    if "…" in code
}
LISTED = [code for rule in RULES for code in rule.codes]


def test_no_code_belongs_to_two_rules():
    assert [code for code, times in Counter(LISTED).items() if times > 1] == []


def test_every_code_of_a_finding_belongs_to_a_rule():
    orphans = [code for code in EXACT if rule_of(code) is None]
    assert orphans == [], "said in the source, and in no rule of the book"


def test_every_code_that_is_put_together_belongs_to_a_rule():
    orphans = [c for c, form in PATTERNS.items() if not any(map(form.fullmatch, LISTED))]
    assert orphans == []


def test_every_note_of_the_reader_that_is_weighed_belongs_to_a_rule():
    codes = {f"program.{code.replace('-', '_')}" for code in WEIGHED_NOTES}
    assert {code for code in codes if rule_of(code) is None} == set()


def test_no_rule_lists_a_code_that_nothing_says():
    unsaid = [c for c in LISTED if c not in SAID and not _is_put_together(c)]
    assert unsaid == []


def _is_put_together(code: str) -> bool:
    return any(form.fullmatch(code) for form in PATTERNS.values())


def test_a_code_has_no_level_that_the_source_does_not_give_it():
    wrong = {
        code: sorted(too_many)
        for code in LISTED
        if code in EXACT and not _is_put_together(code)
        if (too_many := _given(code) - _levels(EXACT[code]))
    }
    assert wrong == {}


def _given(code: str) -> set[str]:
    return {str(level) for level in rule_of(code).codes[code]}


def _levels(entry: Entry) -> set[str]:
    """What the source says; anything where its reader cannot tell."""
    return entry.levels or {str(level) for level in Level}


def test_keys_are_addresses_and_stand_once():
    keys = [rule.key for rule in RULES]
    assert len(set(keys)) == len(keys)
    assert all(re.fullmatch(r"[a-z0-9-]+", key) for key in keys)
    # This word is the address of the limits.
    assert "limits" not in keys


def test_every_rule_says_what_it_asks_its_limit_and_its_source():
    wanting = [
        one.key
        for one in RULES
        if not ("?" in one.asks and one.limit.endswith(".") and one.source and one.codes)
    ]
    assert wanting == []


def test_every_setting_that_a_limit_quotes_is_one():
    quoted = [name for one in RULES for name in settings_in(one)]
    assert [name for name in quoted if setting_named(name) is None] == []
    assert [one.key for one in RULES if "{" in limit_text(one, shown_values(InForce()))] == []


def test_every_rule_but_notes_alone_can_do_more_than_pass():
    assert [rule.key for rule in RULES if set(rule.levels) <= {Level.PASS}] == []


def test_what_a_source_calls_remembered_is_not_called_confirmed():
    """ISO 6983-1 behind the reader's notes is; the report they rest on was read."""
    wrong = [
        rule.key
        for rule in RULES
        if "from memory" in rule.source
        and rule.confidence is Confidence.CONFIRMED
        and "NIST IR 6556" not in rule.source
    ]
    assert wrong == []


@pytest.mark.parametrize(
    ("asked", "key"),
    [
        ("collet.closed_far", "collet-closing"),
        ("FILLET", "grip-shank"),
        ("pull stud pattern", "machine-stud"),
        ("EN 847-1", "grip-advice"),
    ],
)
def test_a_rule_is_found_by_its_words_and_by_its_code(asked, key):
    assert key in [rule.key for rule in search(asked)]


def test_no_word_finds_all_and_a_strange_one_nothing():
    assert search("  ") == list(RULES)
    assert search("zzz") == []


def test_subjects_keep_every_rule_and_their_own_order():
    grouped = by_subject(RULES)
    assert [subject for subject, _ in grouped] == [s for s in Subject if s in dict(grouped)]
    assert sum(len(rules) for _, rules in grouped) == len(RULES)


def test_a_list_of_codes_under_a_wrong_name_is_refused():
    with pytest.raises(KeyError):
        rule(
            "x",
            Subject.SHOP,
            "x",
            asks="?",
            limit=".",
            source="x",
            confidence=Confidence.OWN,
            stops="a.b",
        )


def test_an_unknown_key_or_code_has_no_rule():
    assert rule_named("no-such") is None
    assert rule_of("no.such") is None
