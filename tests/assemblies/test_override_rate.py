"""How rules are counted: at the limits and beside them. Shares are worked by hand."""

from __future__ import annotations

import pytest

from assemblies.rules.override_rate import (
    ACCEPTED_OFTEN,
    AIM_PERCENT,
    AMONG_LOADS,
    ENOUGH,
    Decided,
    Said,
    override_rate,
)
from crib.rules.finding import Level

HOURS, WORN = "collet.hours_over", "state.came_out_worn"
MATCH = Decided(True, True, (Said("assembly.released", Level.PASS),))


def said(code: str = HOURS, level: Level = Level.CHECK, text: str = "", loaded: bool = True):
    """A decision in which one rule spoke up."""
    return Decided(loaded, False, (Said(code, level, text),))


REFUSED = said(loaded=False)


def rule(decisions, code: str = HOURS):
    return next(rule for rule in override_rate(decisions).rules if rule.code == code)


def test_the_limits_are_those_of_the_shop():
    assert (AIM_PERCENT, ACCEPTED_OFTEN, AMONG_LOADS, ENOUGH) == (10, 3, 10, 10)


def test_nothing_decided_is_not_enough_and_no_share():
    rates = override_rate([])

    assert (rates.decisions, rates.loads, rates.rules) == (0, 0, ())
    assert not rates.enough
    assert not rates.within_aim


@pytest.mark.parametrize(("decisions", "enough"), [(9, False), (10, True), (11, True)])
def test_a_share_needs_ten_decisions(decisions, enough):
    assert override_rate([MATCH] * decisions).enough is enough


@pytest.mark.parametrize(
    ("no_match", "decisions", "percent", "within"),
    [
        (0, 100, 0.0, True),
        (9, 100, 9.0, True),
        (10, 100, 10.0, False),
        (11, 100, 11.0, False),
        (1, 10, 10.0, False),
        # 249/2500 = 9.96: under the aim, and not printed as 10.0.
        (249, 2500, 9.9, True),
        (250, 2500, 10.0, False),
        (10, 10, 100.0, False),
    ],
)
def test_the_share_that_was_no_match_is_held_against_the_aim(no_match, decisions, percent, within):
    rates = override_rate([said()] * no_match + [MATCH] * (decisions - no_match))

    assert rates.no_match_percent == percent
    assert rates.within_aim is within


@pytest.mark.parametrize(("accepted", "often"), [(0, False), (2, False), (3, True), (10, True)])
def test_a_rule_accepted_three_times_in_ten_loads_is_pointed_out(accepted, often):
    decisions = [said()] * accepted + [MATCH] * (10 - accepted) + [REFUSED]

    assert rule(decisions).often is often


@pytest.mark.parametrize(("newer", "often"), [(7, True), (8, False)])
def test_only_the_last_ten_loads_count_for_it(newer, often):
    assert rule([MATCH] * newer + [said()] * 3).often is often


def test_refusals_do_not_push_a_load_out_of_the_last_ten():
    assert rule([REFUSED] * 20 + [said()] * 3).often is True


def test_a_refusal_counts_as_said_and_not_as_accepted():
    found = rule([said(), REFUSED, REFUSED])

    assert (found.said, found.accepted, found.accepted_percent) == (3, 1, 33)


@pytest.mark.parametrize("level", [Level.CHECK, Level.UNKNOWN, Level.STOP_SOFT, Level.STOP_HARD])
def test_every_level_that_is_no_match_counts(level):
    assert rule([said(level=level)]).worst is level


@pytest.mark.parametrize("level", [Level.PASS, Level.NOTE])
def test_what_agrees_and_what_is_a_note_do_not_count(level):
    assert override_rate([Decided(True, True, (Said(HOURS, level),))]).rules == ()


def test_a_rule_that_says_two_things_at_once_counts_once_with_the_worse():
    both = (Said(HOURS, Level.CHECK, "mild"), Said(HOURS, Level.STOP_SOFT, "bad"))

    found = rule([Decided(True, False, both)])

    assert (found.said, found.accepted, found.worst, found.text) == (1, 1, Level.STOP_SOFT, "bad")


def test_the_worst_level_and_the_newest_words_are_shown():
    found = rule([said(text="520 h"), said(text="510 h", level=Level.STOP_SOFT, loaded=False)])

    assert (found.worst, found.text) == (Level.STOP_SOFT, "520 h")


def test_rules_accepted_most_lately_come_first_then_those_accepted_then_those_said():
    older = [said("a.older")] * 12
    decisions = [
        *[said(WORN)] * 2,
        *[said(HOURS)],
        *[MATCH] * 7,
        *older,
        *[said("b.refused", loaded=False)] * 2,
        said("c.refused", loaded=False),
    ]

    codes = [rule.code for rule in override_rate(decisions).rules]

    assert codes == [WORN, HOURS, "a.older", "b.refused", "c.refused"]


@pytest.mark.parametrize(("loads", "lately"), [(0, 0), (4, 4), (10, 10), (25, 10)])
def test_with_fewer_loads_it_says_how_many_there_were(loads, lately):
    assert override_rate([MATCH] * loads + [REFUSED]).lately == lately
