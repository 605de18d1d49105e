"""State of the pieces, hours of the collet, seats of the inserts."""

from dataclasses import replace

import pytest

from assemblies.rules.condition import (
    collet_hours_findings,
    condition_findings,
    insert_findings,
)
from assemblies.rules.stack import ColletPart, Condition, CutterPart, ShopLimits
from tests.assemblies.stacks import COLLET, CUTTER, HOLDER, NUT, STUD, levels, stack

LIMITS = ShopLimits()
PARTS = {"holder": HOLDER, "collet": COLLET, "nut": NUT, "stud": STUD, "cutter": CUTTER}
OUT_OF_USE = ("quarantined", "regrind", "worn", "scrapped", "lost")


@pytest.mark.parametrize("name", PARTS)
@pytest.mark.parametrize("condition", OUT_OF_USE)
def test_a_piece_out_of_use_stops_the_assembly(name, condition):
    part = replace(PARTS[name], condition=condition)
    assert levels(condition_findings(stack(**{name: part}))) == {
        "condition.out_of_use": "stop_hard"
    }


@pytest.mark.parametrize("name", PARTS)
@pytest.mark.parametrize("condition", [None, "", "somewhere"])
def test_a_state_that_is_not_recorded_is_unknown(name, condition):
    part = replace(PARTS[name], condition=condition)
    assert levels(condition_findings(stack(**{name: part}))) == {"condition.not_known": "unknown"}


@pytest.mark.parametrize("condition", [Condition.IN_SERVICE, Condition.NOT_TRACKED])
def test_pieces_in_service_and_counted_parts_are_not_spoken_of(condition):
    parts = {name: replace(part, condition=condition) for name, part in PARTS.items()}
    assert condition_findings(stack(**parts)) == []


def test_parts_that_are_not_there_have_no_state():
    assert condition_findings(stack(collet=None, nut=None)) == []


# 400 to 600 h is common practice for router collets; 500 is the shop's default.
@pytest.mark.parametrize(
    ("hours", "limit", "expected"),
    [
        (500, 500, {"collet.hours_within": "pass"}),
        (501, 500, {"collet.hours_over": "check"}),
        (640, 500, {"collet.hours_over": "check"}),  # planted case
        (750, 500, {"collet.hours_over": "check"}),
        (751, 500, {"collet.hours_far_over": "stop_soft"}),
        (501, None, {"collet.hours_over": "check"}),
        (501, 800, {"collet.hours_within": "pass"}),
        (1, 0, {"collet.hours_far_over": "stop_soft"}),
        (None, 500, {"collet.hours_not_known": "unknown"}),
        (None, None, {"collet.hours_not_known": "unknown"}),
    ],
)
def test_hours_of_a_collet_against_its_limit(hours, limit, expected):
    collet = ColletPart(hours=hours, hours_limit=limit)
    assert levels(collet_hours_findings(collet, LIMITS)) == expected


def test_hours_of_an_unmarked_collet_are_not_counted_and_that_is_said():
    collet = ColletPart(hours=None, condition="not_tracked")
    assert levels(collet_hours_findings(collet, LIMITS)) == {"collet.hours_not_counted": "note"}


def test_a_shop_that_counts_no_hours_is_not_asked_for_them():
    limits = replace(LIMITS, collet_hours_limit=None)
    assert collet_hours_findings(ColletPart(), limits) == []
    marked = ColletPart(hours_limit=500)
    assert levels(collet_hours_findings(marked, limits)) == {"collet.hours_not_known": "unknown"}


@pytest.mark.parametrize(
    ("seats", "empty", "expected"),
    [
        (0, None, {}),
        (4, 0, {"insert.seats_filled": "pass"}),
        (4, 1, {"insert.seat_empty": "stop_hard"}),
        (4, None, {"insert.seats_not_known": "unknown"}),
        (None, None, {"insert.seats_not_known": "unknown"}),
    ],
)
def test_every_insert_seat_is_filled(seats, empty, expected):
    assert levels(insert_findings(CutterPart(insert_seats=seats, empty_seats=empty))) == expected
