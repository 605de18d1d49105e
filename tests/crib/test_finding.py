"""Findings and their weights, kinds of cutter, codes as keys, and refusals."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from crib.rules.cutter_kinds import CUTTER_KINDS, kind_name
from crib.rules.finding import Finding, Level, stops, worst_first, worst_level
from crib.rules.keys import key_of
from crib.rules.refusal import NotAllowed, Refused

#: Lightest first: STOP > CAN'T TELL > CHECK > MATCH.
BY_WEIGHT = ["pass", "note", "check", "unknown", "stop_soft", "stop_hard"]


def finding(level, code="a.b", **fields):
    return Finding(code, Level(level), "text", **fields)


def test_levels_weigh_in_the_order_of_the_headlines():
    assert [str(level) for level in sorted(Level, key=lambda level: level.weight)] == BY_WEIGHT
    assert len({level.weight for level in Level}) == len(Level)


def test_only_the_two_stops_stop():
    assert {level for level in Level if level.is_stop} == {Level.STOP_SOFT, Level.STOP_HARD}


@pytest.mark.parametrize("lighter", range(len(BY_WEIGHT) - 1))
def test_the_heavier_of_two_neighbours_wins_whichever_comes_first(lighter):
    light, heavy = (finding(level) for level in BY_WEIGHT[lighter : lighter + 2])

    assert worst_level([light, heavy]) == worst_level([heavy, light]) == heavy.level


def test_unknown_outweighs_any_number_of_passes():
    assert worst_level([finding("pass")] * 20 + [finding("unknown")]) == Level.UNKNOWN


def test_no_findings_weigh_nothing():
    assert worst_level([]) == Level.PASS
    assert worst_first([]) == stops([]) == []


@given(st.lists(st.sampled_from(BY_WEIGHT), max_size=12))
def test_the_heaviest_come_first_and_equals_keep_their_order(levels):
    found = worst_first(finding(level, code=str(n)) for n, level in enumerate(levels))

    expected = sorted(enumerate(levels), key=lambda entry: (-BY_WEIGHT.index(entry[1]), entry[0]))
    assert [(int(f.code), str(f.level)) for f in found] == expected


def test_stops_keep_the_order_given():
    given_order = [finding(level) for level in ("stop_soft", "check", "stop_hard", "pass")]

    assert [str(f.level) for f in stops(given_order)] == ["stop_soft", "stop_hard"]


@pytest.mark.parametrize("level", BY_WEIGHT)
def test_a_finding_survives_being_frozen_as_json(level):
    before = finding(level, measured=12.7, limit=13.0, unit="mm", remedy="r", source="s")

    after = Finding.from_dict(json.loads(json.dumps(before.as_dict())))

    assert after == before
    assert isinstance(after.level, Level)


def test_a_frozen_finding_keeps_numbers_that_are_not_known():
    after = Finding.from_dict(json.loads(json.dumps(finding("unknown").as_dict())))

    assert (after.measured, after.limit) == (None, None)


def test_a_level_that_is_none_is_not_read():
    with pytest.raises(ValueError, match="green"):
        Finding.from_dict(finding("pass").as_dict() | {"level": "green"})


# ---- kinds of cutter
def test_every_kind_of_cutter_fits_its_column_and_has_one_name():
    assert max(map(len, CUTTER_KINDS)) <= 12
    assert len(set(CUTTER_KINDS.values())) == len(CUTTER_KINDS)


def test_a_kind_that_is_not_ours_is_shown_as_it_is():
    assert kind_name("spiral_down") == "down-cut spiral"
    assert kind_name("broach") == "broach"


# ---- keys
@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("H-07", " h-07 "),
        ("ÄR12", "är12"),
        ("Straße", "STRASSE"),
        ("ＥＲ３２", "er32"),
        ("A\u030a1", "Å1"),
        ("Ø12", "ø12"),
    ],
)
def test_codes_that_read_alike_have_one_key(one, other):
    assert key_of(one) == key_of(other)


@pytest.mark.parametrize(("one", "other"), [("H-07", "H-7"), ("H-07", "H07"), ("O1", "01")])
def test_codes_that_differ_have_two_keys(one, other):
    assert key_of(one) != key_of(other)


@pytest.mark.parametrize("blank", ["", " ", "\t\n", "\u00a0", "\u3000"])
def test_a_blank_code_has_an_empty_key(blank):
    assert key_of(blank) == ""


# ---- refusals
def test_a_refusal_says_what_and_what_next():
    refused = Refused("stock.not_enough", "Two left.", "Take fewer.", field="quantity")

    assert (refused.code, refused.field) == ("stock.not_enough", "quantity")
    assert refused.sentence == "Two left. Take fewer."
    assert str(refused) == "Two left."


def test_a_refusal_without_a_remedy_has_no_idle_blank():
    assert Refused("a.b", "No.").sentence == "No."


def test_a_refusal_carries_the_findings_behind_it():
    found = [finding("stop_hard")]

    assert Refused("a.b", "No.", findings=found).findings == tuple(found)


def test_not_allowed_is_a_refusal_that_names_the_permission():
    refused = NotAllowed("order.mark")

    assert isinstance(refused, Refused)
    assert (refused.code, refused.permission) == ("person.not_allowed", "order.mark")
