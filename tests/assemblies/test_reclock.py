"""Runout as arrows, and the re-clock test: worked by hand, at the limits and beside them."""

from __future__ import annotations

from itertools import product
from math import hypot, radians, sin

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from assemblies.rules.runout_by_part.geometry import (
    READINGS_FOR_A_WAY,
    Arrow,
    direction_of,
    tilt_bounds,
)
from assemblies.rules.runout_by_part.reclock import (
    ANGLE_DEG,
    COARSE_STEP_UM,
    TURNS,
    reclock_finding,
    split,
    turnable,
)
from assemblies.rules.runout_by_part.reclock_picture import clock_picture
from crib.rules.finding import Level

#: Readings of one holder with six fillings, as size [um] and angle [deg].
SAME = [(12, 20), (10, 35), (14, 10), (11, 25), (13, 30), (9, 15)]
WANDER = [(12, 20), (10, 140), (14, 250), (11, 60), (13, 330), (9, 190)]

arrows = st.builds(Arrow, st.integers(0, 200), st.integers(0, 359))


def close(found: Arrow, size_um: float, angle_deg: float, within: float = 0.01) -> bool:
    turn = (found.angle_deg - angle_deg + 180) % 360 - 180
    return abs(found.size_um - size_um) <= within and abs(turn) <= within


def said(first, second, step_um=1, turned="collet"):
    return reclock_finding(turned, split(Arrow(*first), Arrow(*second), step_um))


# ---- arrows
def test_a_tilt_lies_between_difference_and_sum_over_twice_the_length():
    # Derived: 15 / (2 · 50) and 25 / (2 · 50) um for each mm.
    found = tilt_bounds(5, 20, 50_000)
    assert (found.least, found.most) == pytest.approx((0.15, 0.25))


def test_a_tilt_has_no_sign_and_needs_a_length():
    assert tilt_bounds(20, 5, 50_000) == tilt_bounds(5, 20, 50_000)
    with pytest.raises(ValueError, match="same"):
        tilt_bounds(5, 20, 0)


@pytest.mark.parametrize(
    ("readings", "together", "mean", "word"),
    [
        # Sums of cosines and sines, worked with a table calculator.
        (SAME, 0.98873, (11.37, 22.17), "same_way"),
        (WANDER, 0.09887, (1.137, -9.79), "any_way"),
    ],
)
def test_the_direction_of_many_builds(readings, together, mean, word):
    found = direction_of([Arrow(*one) for one in readings])
    assert found.together == pytest.approx(together, abs=1e-4)
    assert close(found.mean, *mean)
    assert found.word_key == word


@pytest.mark.parametrize(
    ("count", "word"), [(READINGS_FOR_A_WAY - 1, "few"), (READINGS_FOR_A_WAY, "same_way")]
)
def test_few_readings_have_no_direction(count, word):
    assert direction_of([Arrow(10, 90)] * count).word_key == word


def test_readings_of_nothing_point_nowhere_and_no_reading_is_refused():
    assert direction_of([Arrow(0, 0)] * 5).together == 0
    with pytest.raises(ValueError, match="no reading"):
        direction_of([])


@pytest.mark.parametrize(
    ("angle_deg", "hour"), [(0, 12), (14, 12), (16, 1), (90, 3), (180, 6), (344, 11), (346, 12)]
)
def test_degrees_read_as_hours(angle_deg, hour):
    assert Arrow(1, angle_deg).clock_hour == hour


# ---- taking two readings apart
def test_the_worked_example():
    # Derived: half the sum and half the difference of 14 at 30 degrees and 6 at 200 degrees.
    found = split(Arrow(14, 30), Arrow(6, 200), 1)
    assert close(found.rest, 4.079, 37.34)
    assert close(found.part, 9.968, 27.0)


@given(arrows, arrows)
def test_rest_and_part_make_up_both_readings(first, second):
    found = split(first, second, 1)
    for reading, way in ((first, 1), (second, -1)):
        x, y = (r + way * p for r, p in zip(found.rest.xy, found.part.xy, strict=True))
        assert (x, y) == pytest.approx(reading.xy, abs=1e-6)


@given(arrows, arrows, st.integers(0, 359))
def test_another_mark_for_twelve_changes_no_size(first, second, turn):
    turned = [Arrow(one.size_um, (one.angle_deg + turn) % 360) for one in (first, second)]
    plain, other = split(first, second, 1), split(*turned, 1)
    assert other.rest.size_um == pytest.approx(plain.rest.size_um, abs=1e-6)
    assert other.bigger_um == pytest.approx(plain.bigger_um, abs=1e-6)


@given(arrows, arrows)
def test_the_order_of_the_readings_says_the_same(first, second):
    plain, other = split(first, second, 1), split(second, first, 1)
    # On the very limit the last digit would decide.
    assume(abs(abs(plain.bigger_um) - plain.apart_um) > 1e-6)
    assert reclock_finding("collet", plain).code == reclock_finding("collet", other).code


def test_a_high_spot_that_stays_is_the_rest_and_one_that_turns_is_the_part():
    assert said((14, 30), (14, 30)).code == "reclock.rest"
    assert said((14, 30), (14, 210)).code == "reclock.part"


#: A reading of 10 is off by a step of 1 along, and by half an hour across: together 2.774.
OFF = hypot(1, 10 * sin(radians(ANGLE_DEG)))


@pytest.mark.parametrize(
    ("second", "code"),
    [
        # Part and rest differ by the size of the second reading.
        ((2, 180), "reclock.too_close"),
        ((3, 180), "reclock.part"),
        ((2, 0), "reclock.too_close"),
        ((3, 0), "reclock.rest"),
        ((0, 0), "reclock.too_close"),
    ],
)
def test_a_difference_counts_when_it_is_more_than_a_reading_is_off(second, code):
    assert 2 < OFF < 3
    assert said((10, 0), second).code == code


@pytest.mark.parametrize(
    ("first", "second", "code"),
    [
        ((0, 0), (0, 0), "reclock.both_small"),
        ((1, 0), (0, 0), "reclock.both_small"),
        ((1, 0), (1, 180), "reclock.too_close"),
        ((2, 0), (2, 180), "reclock.part"),
    ],
)
def test_what_lies_within_the_reading_is_no_difference(first, second, code):
    assert said(first, second).code == code


def test_an_unknown_step_counts_as_a_coarse_one_and_is_said():
    unknown, coarse = said((14, 30), (6, 200), None), said((14, 30), (6, 200), COARSE_STEP_UM)
    assert (unknown.code, unknown.level) == ("reclock.too_close", Level.UNKNOWN)
    assert coarse.code == "reclock.too_close"
    assert "not recorded" in unknown.remedy
    assert "not recorded" not in coarse.remedy


def test_small_with_an_unknown_step_is_not_known_to_be_small():
    assert said((2, 0), (2, 180), None).level == Level.UNKNOWN
    assert said((2, 0), (2, 180), COARSE_STEP_UM).level == Level.NOTE


def test_far_above_a_coarse_step_the_step_need_not_be_known():
    assert said((60, 30), (60, 210), None).code == "reclock.part"


@pytest.mark.parametrize(
    ("turned", "second"), list(product(TURNS, [(999, 0), (999, 180), (900, 80)]))
)
def test_every_sentence_fits_its_line_and_says_what_next(turned, second):
    finding = said((999, 0), second, 1, turned)
    assert len(finding.text) <= 70
    assert finding.remedy


@pytest.mark.parametrize(
    ("roles", "clamping", "parts"),
    [
        ({"holder", "collet", "nut", "cutter"}, "collet", ("collet", "cutter", "holder")),
        ({"holder", "sleeve", "cutter"}, "hydraulic", ("sleeve", "cutter", "holder")),
        # A flat faces the screw and a square its driver: one position only.
        ({"holder", "cutter"}, "side_lock", ("holder",)),
        ({"holder", "cutter"}, "tap", ("holder",)),
        ({"holder", "cutter", "insert"}, "arbor", ("cutter", "holder")),
        ({"nut", "pull_stud"}, None, ()),
    ],
)
def test_what_can_be_turned_by_half_a_turn(roles, clamping, parts):
    assert turnable(roles, clamping) == parts


def test_the_picture_says_what_it_shows_and_escapes_names():
    first, second = Arrow(14, 30), Arrow(6, 200)
    picture = clock_picture(first, second, split(first, second, 1), "Collet <C-06>")
    assert "P, Collet &lt;C-06&gt;: 0.010 mm at 27°" in picture
    assert "style=" not in picture


def test_nothing_read_is_drawn_all_the_same():
    none = Arrow(0, 0)
    assert "nan" not in clock_picture(none, none, split(none, none, 1), "Collet")
