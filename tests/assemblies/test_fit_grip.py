"""Grip length: enough, and not more than there is."""

from dataclasses import replace

import pytest

from assemblies.rules.bore_grip import bore_grip_findings
from assemblies.rules.grip import (
    GRIP_RULES,
    collet_grip_findings,
    collet_length_um,
    en_847_grip_um,
    held_shank_findings,
    needed_grip_um,
)
from assemblies.rules.stack import ColletPart, CutterPart, HolderPart, ShopLimits
from tests.assemblies.stacks import TABLES, levels, troubles

LIMITS = ShopLimits()
#: Shank 12.7 mm, 38 mm of it plain, in an ER32 collet of 40 mm.
HALF_INCH = CutterPart(shank_um=12_700, plain_shank_um=38_000, overall_um=89_000, flute_um=41_000)
ER32 = ColletPart(series="ER32", length_um=40_000)

# Two thirds: confirmed on a public catalogue page. The other rows are arithmetic on the rule's
# words, done by hand. A tenth of a millimetre of rounding up is allowed.
NEEDED_MM = {
    "three_quarters_inch": 19.05,
    "two_diameters": 25.40,
    "two_thirds_collet": 26.667,
    "three_quarters_shank": 28.50,
    "three_quarters_collet": 30.00,
    "eighty_percent_collet": 32.00,
    "full_collet": 40.00,
}
#: Rule -> which of these grips [mm] meet it.
GRIPS_MM = (20, 25, 26, 27, 29, 32, 37)
MEETS = {
    "three_quarters_inch": "yyyyyyy",
    "two_diameters": "nnyyyyy",
    "two_thirds_collet": "nnnyyyy",
    "three_quarters_shank": "nnnnyyy",
    "three_quarters_collet": "nnnnnyy",
    "eighty_percent_collet": "nnnnnyy",
    "full_collet": "nnnnnnn",
}


def needed(rule):
    return needed_grip_um(rule, collet_um=40_000, shank_um=12_700, plain_um=38_000)


@pytest.mark.parametrize("rule", GRIP_RULES)
def test_each_named_rule_asks_for_its_millimetres(rule):
    assert needed(rule) == pytest.approx(NEEDED_MM[rule] * 1000, abs=1)
    assert "".join("y" if mm * 1000 >= needed(rule) else "n" for mm in GRIPS_MM) == MEETS[rule]


def test_three_quarters_of_the_shank_and_of_an_inch_are_different_rules():
    assert needed("three_quarters_shank") - needed("three_quarters_inch") == 9_450
    assert GRIP_RULES["three_quarters_shank"] != GRIP_RULES["three_quarters_inch"]


def test_a_rule_whose_length_is_missing_gives_no_number():
    assert needed_grip_um("two_thirds_collet") is None
    assert needed_grip_um("three_quarters_shank", collet_um=40_000) is None


def grip(grip_um, *, collet=ER32, cutter=HALF_INCH, limits=LIMITS, for_router=False):
    found = collet_grip_findings(grip_um, collet, cutter, limits, TABLES.collet_series, for_router)
    return levels(found)


@pytest.mark.parametrize(
    ("grip_um", "expected"),
    [
        (None, {"grip.not_known": "unknown"}),
        (0, {"grip.too_short": "stop_soft"}),
        (25_000, {"grip.too_short": "stop_soft"}),
        (26_666, {"grip.too_short": "stop_soft"}),
        (26_667, {"grip.below_advice": "check"}),
        (31_999, {"grip.below_advice": "check"}),
        (32_000, {"grip.enough": "pass"}),
        (37_000, {"grip.enough": "pass"}),
        (37_001, {"grip.enough": "pass", "grip.fillet_inside": "stop_soft"}),
        (38_000, {"grip.enough": "pass", "grip.fillet_inside": "stop_soft"}),
        (38_001, {"grip.enough": "pass", "grip.longer_than_shank": "stop_hard"}),
    ],
)
def test_grip_in_a_40_mm_collet_at_each_limit(grip_um, expected):
    assert grip(grip_um) == expected


def test_a_refusal_names_the_rule_and_the_millimetres():
    found = collet_grip_findings(25_000, ER32, HALF_INCH, LIMITS, TABLES.collet_series, False)[0]
    assert found.text == "Grip 25.0 mm. Needs 26.7 mm (two thirds of the collet)."
    assert (found.measured, found.limit) == (25.0, 26.667)


@pytest.mark.parametrize(
    ("marked_um", "grip_um", "expected"),
    [
        (30_000, 29_999, "grip.too_short"),
        (30_000, 30_000, "grip.below_advice"),
        (20_000, 26_666, "grip.too_short"),  # a smaller mark does not lower two thirds
        (20_000, 26_667, "grip.below_advice"),
    ],
)
def test_the_larger_of_mark_and_two_thirds_is_needed(marked_um, grip_um, expected):
    assert expected in grip(grip_um, cutter=replace(HALF_INCH, marked_grip_um=marked_um))


@pytest.mark.parametrize(
    ("rule", "grip_um", "expected"),
    [
        ("three_quarters_shank", 28_499, "grip.too_short"),
        ("three_quarters_shank", 28_500, "grip.below_advice"),
        ("three_quarters_inch", 26_666, "grip.too_short"),  # adds to two thirds, never lowers it
        ("full_collet", 37_000, "grip.too_short"),
    ],
)
def test_a_shop_may_ask_for_more_but_not_for_less(rule, grip_um, expected):
    assert expected in grip(grip_um, limits=replace(LIMITS, grip_rule=rule))


def test_two_diameters_are_advice():
    # Shank 16 mm: 2 x d is 32 mm, and so is 80 % of the collet; 18 mm asks for 36.
    thick = replace(HALF_INCH, shank_um=18_000)
    assert "grip.below_advice" in grip(35_999, cutter=thick)
    assert "grip.enough" in grip(36_000, cutter=thick)


# EN 847-1, from memory: 20 mm to 10, 2.0 d below 25, 1.8 d from 25.
@pytest.mark.parametrize(
    ("shank_um", "least_um"),
    [
        (6_000, 20_000),
        (10_000, 20_000),
        (10_001, 20_002),
        (24_999, 49_998),
        (25_000, 45_000),
        (25_001, 45_002),
    ],
)
def test_clamping_length_of_woodworking_shank_tools(shank_um, least_um):
    assert en_847_grip_um(shank_um) == least_um


def test_the_woodworking_figure_is_advice_on_routers_from_16_mm_only():
    collet = ColletPart(series="ER11", length_um=18_000)
    cutter = CutterPart(
        shank_um=6_000,
        diameter_um=16_000,
        plain_shank_um=36_000,
        overall_um=60_000,
        flute_um=20_000,
    )
    assert grip(18_000, collet=collet, cutter=cutter, for_router=True) == {
        "grip.below_advice": "check"
    }
    small = replace(cutter, diameter_um=15_999)
    assert grip(18_000, collet=collet, cutter=small, for_router=True) == {"grip.enough": "pass"}
    assert grip(18_000, collet=collet, cutter=cutter) == {"grip.enough": "pass"}


@pytest.mark.parametrize(
    ("grip_um", "expected"),
    [
        (40_000, {"grip.enough": "pass"}),
        (40_001, {"grip.enough": "pass", "grip.longer_than_collet": "stop_hard"}),
    ],
)
def test_no_more_can_be_held_than_the_collet_is_long(grip_um, expected):
    assert grip(grip_um, cutter=replace(HALF_INCH, plain_shank_um=41_100)) == expected


def test_flutes_stay_out_of_the_collet():
    cutter = CutterPart(shank_um=6_000, plain_shank_um=40_000, overall_um=60_000, flute_um=27_000)
    assert held_shank_findings(33_000, cutter, LIMITS) == []
    assert levels(held_shank_findings(33_001, cutter, LIMITS)) == {
        "grip.flutes_inside": "stop_soft"
    }


def test_a_length_that_is_not_recorded_is_unknown():
    assert grip(30_000, collet=ColletPart()) == {"grip.need_not_known": "unknown"}
    assert grip(38_000, cutter=replace(HALF_INCH, plain_shank_um=None)) == {
        "grip.enough": "pass",
        "grip.shank_not_known": "unknown",
    }
    by_shank = replace(LIMITS, grip_rule="three_quarters_shank")
    unknown = grip(38_000, cutter=replace(HALF_INCH, plain_shank_um=None), limits=by_shank)
    assert unknown["grip.need_not_known"] == "unknown"


def test_a_marked_minimum_is_held_even_where_the_collet_is_not_known():
    cutter = replace(HALF_INCH, marked_grip_um=30_000)
    assert grip(29_999, collet=ColletPart(), cutter=cutter) == {"grip.too_short": "stop_soft"}
    assert grip(30_000, collet=ColletPart(), cutter=cutter) == {"grip.need_not_known": "unknown"}


def test_the_length_of_a_collet_comes_from_its_series_when_it_is_not_recorded():
    assert collet_length_um(ColletPart(series="ER16"), TABLES.collet_series) == 27_500
    assert collet_length_um(ColletPart(series="ER99"), TABLES.collet_series) is None


@pytest.mark.parametrize(
    ("clamping", "marked_um", "grip_um", "expected"),
    [
        ("hydraulic", None, 37_000, {}),
        ("hydraulic", None, 36_999, {"grip.below_advice": "check"}),
        ("shrink", None, 35_999, {"grip.below_advice": "check"}),
        ("shrink", 30_000, 29_999, {"grip.too_short": "stop_soft"}),
        ("side_lock", None, 30_000, {"grip.need_not_known": "unknown"}),
        ("side_lock", 30_000, 30_000, {}),
        ("side_lock", 30_000, None, {"grip.not_known": "unknown"}),
    ],
)
def test_grip_in_a_fixed_bore(clamping, marked_um, grip_um, expected):
    # Shop tables for 12 mm, from memory: hydraulic 37 mm, shrink 36 mm; the mark wins.
    cutter = CutterPart(shank_um=12_000, plain_shank_um=45_000, marked_grip_um=marked_um)
    holder = HolderPart(clamping=clamping)
    found = bore_grip_findings(grip_um, holder, cutter, LIMITS, TABLES.grip_rules)
    assert troubles(found) == expected
