"""Nut torque against marks and table."""

import pytest

from assemblies.rules.stack import CutterPart, NutPart
from assemblies.rules.torque import torque_finding, torque_window
from crib.rules.finding import Level
from tests.assemblies.stacks import TABLES


def judged(torque_mnm, nut, shank_um):
    return torque_finding(torque_mnm, nut, CutterPart(shank_um=shank_um), TABLES.torque_bands)


def plain_nut(series, nut_type="standard"):
    return NutPart(series=series, nut_type=nut_type)


@pytest.mark.parametrize(
    ("series", "shank_um", "torque_nm", "code"),
    [
        # Assemblies of the example shop: each is tightened to the recommended value.
        ("ER25", 6_000, 80, "torque.inside"),
        ("ER25", 8_000, 104, "torque.inside"),
        ("ER32", 12_000, 136, "torque.inside"),
        ("ER16", 10_000, 56, "torque.inside"),
        # Limits and both sides of one band.
        ("ER25", 6_000, 79.999, "torque.below"),
        ("ER25", 6_000, 100, "torque.inside"),
        ("ER25", 6_000, 100.001, "torque.above"),
        ("ER25", 6_000, 104, "torque.above"),  # the value of the next band
        ("ER25", 7_500, 104, "torque.above"),
        ("ER25", 7_501, 104, "torque.inside"),
        ("ER32", 2_500, 136, "torque.above"),
    ],
)
def test_torque_lies_in_the_band_of_series_and_shank(series, shank_um, torque_nm, code):
    finding = judged(round(torque_nm * 1000), plain_nut(series), shank_um)
    assert finding.code == code
    assert finding.level == (Level.PASS if code == "torque.inside" else Level.CHECK)


def test_a_mini_nut_takes_less():
    assert judged(80_000, plain_nut("ER25", "mini"), 6_000).code == "torque.above"
    assert judged(32_000, plain_nut("ER25", "mini"), 6_000).code == "torque.inside"


def test_too_tight_asks_for_a_look_at_nut_and_collet():
    assert "cracks" in judged(200_000, plain_nut("ER32"), 12_000).remedy


@pytest.mark.parametrize(
    ("recommended_mnm", "max_mnm", "torque_mnm", "code"),
    [
        (60_000, 70_000, 60_000, "torque.inside"),
        (60_000, 70_000, 59_999, "torque.below"),
        (60_000, 70_000, 70_001, "torque.above"),
        (None, 90_000, 90_000, "torque.inside"),
        (None, 90_000, 90_001, "torque.above"),
        (None, 70_000, 70_000, "torque.inside"),  # the table's 80 is lowered to the marked 70
        (None, 70_000, 69_999, "torque.below"),
        (90_000, None, 89_999, "torque.below"),
        (90_000, None, 100_001, "torque.above"),
        (110_000, None, 110_000, "torque.limits_not_known"),  # the table's 100 is below the mark
        (110_000, None, 109_999, "torque.below"),
    ],
)
def test_what_is_marked_on_the_nut_beats_the_table(recommended_mnm, max_mnm, torque_mnm, code):
    nut = NutPart(None, "ER25", None, "standard", recommended_mnm, max_mnm)
    assert judged(torque_mnm, nut, 6_000).code == code


@pytest.mark.parametrize(
    ("torque_mnm", "nut", "shank_um", "code"),
    [
        (None, plain_nut("ER25"), 6_000, "torque.not_known"),
        (80_000, NutPart(), 6_000, "torque.limits_not_known"),
        (80_000, plain_nut("ER25"), None, "torque.limits_not_known"),
        (80_000, plain_nut("ER25"), 16_001, "torque.limits_not_known"),
        (80_000, plain_nut("ER25", None), 6_000, "torque.limits_not_known"),
    ],
)
def test_what_is_not_recorded_leaves_the_torque_unknown(torque_mnm, nut, shank_um, code):
    finding = judged(torque_mnm, nut, shank_um)
    assert (finding.code, finding.level) == (code, Level.UNKNOWN)


def test_the_window_says_where_each_figure_comes_from():
    window = torque_window(
        NutPart(series="ER25", nut_type="standard", max_mnm=90_000), 6_000, TABLES.torque_bands
    )
    assert (window.recommended_mnm, window.max_mnm) == (80_000, 90_000)
    assert window.max_source != window.recommended_source
