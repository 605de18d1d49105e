"""Which readings of runout compare: place, distance, carried over, read again."""

from __future__ import annotations

from itertools import count

import pytest

from assemblies.rules.runout_by_part.graph import Part
from assemblies.rules.runout_by_part.readings import (
    LEFT_OUT,
    NEAR_UM,
    RunoutReading,
    choose,
    common_distance_um,
)

HOLDER, CUTTER = Part("holder", "H-01"), Part("cutter", "K-01")
_numbers = count(1)


def reading(**facts) -> RunoutReading:
    number = next(_numbers)
    usual = {
        "key": number,
        "clamping": number,
        "taken": f"moment {number}",
        "value_um": 9,
        "read_on": "shank",
        "distance_um": 36_000,
        "parts": (HOLDER, CUTTER),
    }
    return RunoutReading(**usual | facts)


def codes(*readings: RunoutReading) -> list[str]:
    return [why for _, why in choose(readings).left_out]


@pytest.mark.parametrize(
    ("facts", "left_out"),
    [
        ({}, []),
        ({"read_on": "bar"}, []),
        ({"read_on": "flutes"}, ["flutes"]),
        ({"read_on": "nose"}, ["nose"]),
        ({"read_on": ""}, ["place"]),
        ({"distance_um": None}, ["distance"]),
        ({"distance_um": 0}, []),
    ],
)
def test_only_round_places_at_a_known_distance_compare(facts, left_out):
    assert codes(reading(**facts)) == left_out


@pytest.mark.parametrize(("away_um", "left_out"), [(0, []), (NEAR_UM, []), (NEAR_UM + 1, ["far"])])
@pytest.mark.parametrize("way", [-1, 1])
def test_distances_must_be_close_to_the_common_one(way, away_um, left_out):
    near = [reading() for _ in range(3)]
    assert codes(*near, reading(distance_um=36_000 + way * away_um)) == left_out


def test_the_common_distance_is_where_most_were_read():
    assert common_distance_um([30_000, 36_000, 90_000]) == 30_000
    assert common_distance_um([30_000, 90_000, 91_000]) == 90_000
    assert common_distance_um([]) == 0


def test_the_last_reading_of_a_clamping_counts_and_the_earlier_is_kept_beside():
    found = choose([reading(clamping=1, value_um=28), reading(clamping=1, value_um=9)])
    assert [one.value_um for one in found.used] == [9]
    assert [(one.value_um, why) for one, why in found.left_out] == [(28, "older")]


def test_a_later_reading_that_compares_with_none_hides_no_earlier_one():
    found = choose([reading(clamping=1), reading(clamping=1, read_on="flutes")])
    assert [one.read_on for one in found.used] == ["shank"]


def test_a_reading_carried_over_to_the_next_revision_counts_once():
    found = choose(
        [reading(clamping=1, taken="one moment"), reading(clamping=2, taken="one moment")]
    )
    assert [one.clamping for one in found.used] == [1]
    assert [why for _, why in found.left_out] == ["carried_over"]


def test_on_a_test_bar_the_cutter_has_no_part_in_it():
    assert choose([reading(read_on="bar")]).used[0].parts == (HOLDER,)
    assert choose([reading()]).used[0].parts == (HOLDER, CUTTER)


def test_every_reading_is_used_or_left_out_with_a_reason():
    many = [reading(read_on=place) for place in ("shank", "flutes", "", "bar", "nose", "flutes")]
    found = choose(many)
    assert len(found.used) + len(found.left_out) == len(many)
    assert found.counts == [(LEFT_OUT["flutes"], 2), (LEFT_OUT["nose"], 1), (LEFT_OUT["place"], 1)]


def test_nothing_to_compare_has_no_distance():
    assert choose([]).distance_um is None
    assert choose([reading(read_on="flutes")]).distance_um is None
