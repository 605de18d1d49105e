"""Readings as typed, what counts of them, how they repeat, and when it is too close to call.

Outside checks: the pooled standard deviation of NIST/SEMATECH e-Handbook of Statistical Methods,
section 2.4.4; the middle zone of ISO 14253-1, from memory.
"""

from statistics import median, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as some

from assemblies.rules.reading_limits import Judged, closeness_finding, unproven_finding
from assemblies.rules.readings_entry import MOST_READINGS, read_readings_um
from assemblies.rules.repeatability import (
    counted_um,
    median_um,
    pooled,
    repeatability,
    spread_finding,
)
from crib.rules.units import NotALength


# ---- as typed
@pytest.mark.parametrize(
    ("text", "readings"),
    [
        ("", []),
        ("104.02", [104_020]),
        ("104.02 104.03 104.01", [104_020, 104_030, 104_010]),
        ("104,02\n104,03\r\n104,01\n", [104_020, 104_030, 104_010]),
        ("104.02+104.03", [104_020, 104_030]),
        ("104.02; 104.03", [104_020, 104_030]),
        ("0.008 mm", [8]),
        ("8 µm 9 µm", [8, 9]),
        ("8 9 10 µm", [8, 9, 10]),
        ("0.4in 0.5in", [10_160, 12_700]),
        ("0.4 0.5 in", [10_160, 12_700]),
        ("1/4 1/2", [6_350, 12_700]),
        ("1 1/4 in", [31_750]),
        ("1 1/4 in 1 1/2 in", [31_750, 38_100]),
        ("1 1/4 1 1/2", [31_750, 38_100]),
    ],
)
def test_readings_stand_beside_each_other(text, readings):
    assert read_readings_um(text) == readings


@pytest.mark.parametrize(
    "text", ["104.02 x", "0.4 in 10.2", "0.4 0.5 in 0.6", "-3", "104.02 -3", "1e3", "20000", "in"]
)
def test_what_is_no_row_of_readings_is_refused(text):
    with pytest.raises(NotALength):
        read_readings_um(text)


def test_twenty_readings_are_taken_and_no_more():
    assert len(read_readings_um("1 " * MOST_READINGS)) == MOST_READINGS
    with pytest.raises(NotALength):
        read_readings_um("1 " * (MOST_READINGS + 1))


# ---- what counts
@pytest.mark.parametrize(
    ("quantity", "counts"),
    [("gauge_length", 9), ("diameter", 9), ("corner_radius", 9), ("runout", 40)],
)
def test_the_median_counts_and_of_runout_the_largest(quantity, counts):
    assert counted_um(quantity, [40, 8, 9]) == counts
    assert counted_um(quantity, [7]) == 7
    with pytest.raises(ValueError, match="no reading"):
        counted_um(quantity, [])


@given(some.lists(some.integers(0, 10**7), min_size=1, max_size=20))
def test_the_median_is_that_of_the_standard_library_half_to_even(values):
    assert median_um(values) == round(median(values))


# ---- how they repeat
def test_pooling_gives_the_published_figure():
    published = [0.48115, 0.69209, 0.48483, 1.21752, 0.30076]
    found = pooled((squares, 60) for squares in published)

    assert sum(published) == pytest.approx(3.17635, abs=5e-6)
    assert (round(found.s_um, 5), found.degrees) == (0.10290, 300)


@given(some.lists(some.integers(0, 10**6), min_size=2, max_size=20))
def test_one_sitting_repeats_as_its_standard_deviation_says(readings):
    found = repeatability([readings, [5], []])

    assert found.s_um == pytest.approx(stdev(readings), rel=1e-9, abs=1e-6)
    assert found.degrees == len(readings) - 1


def test_single_readings_say_nothing_of_repeating():
    assert repeatability([[5], [6], []]) is None


@pytest.mark.parametrize(
    ("readings", "u", "code"),
    [
        ([100], 4, None),
        ([100, 108], 4, "spread_small"),
        ([100, 109], 4, "spread_large"),
        ([100, 900], None, "spread_only"),
    ],
)
def test_readings_lie_no_further_apart_than_the_instrument_explains(readings, u, code):
    found = spread_finding("Corner radius", readings, u)

    assert (found.code if found else None) == (code and f"reading.{code}")
    assert found is None or len(found.text) <= 70


# ---- too close to call
@pytest.mark.parametrize(
    ("value", "u", "code"),
    [
        (1000, 2, "clear"),
        (1008, 2, "clear"),
        (1009, 2, "too_close"),
        (1010, 2, "too_close"),
        (1011, 2, None),
        (992, 2, "clear"),
        (991, 2, "too_close"),
        (989, 2, None),
        (1010, 0, "clear"),
        (1000, 9, "clear"),
        (1001, 9, "clear"),
        (1002, 9, "too_close"),
        (1000, 10, "too_coarse"),
        (1011, 10, None),
        (1010, None, None),
    ],
)
def test_between_t_less_u_and_t_it_is_too_close_to_call(value, u, code):
    found = closeness_finding(Judged("Cutting diameter", value, 1000, 10, u))

    assert (found.code if found else None) == (code and f"reading.{code}")
    assert found is None or len(found.text) <= 70


def test_what_has_no_uncertainty_on_record_is_said_once():
    assert unproven_finding([]) is None
    assert unproven_finding(["Runout"]).level == "note"
