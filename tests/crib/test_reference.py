"""The reference tables against the standards and against each other."""

import csv
from fractions import Fraction
from itertools import pairwise

import pytest

from crib import reference
from crib.rules.standards import (
    cones_look_alike,
    h7_lower_um,
    is_within_h7,
    keys_of,
    same_code,
    series_named,
    squares_of,
    table_grip,
    taper_coded,
    torque_band,
)
from crib.rules.units import um_from_inch

CONFIDENCES = {"confirmed", "common-practice", "memory"}
FILES = sorted(reference.DATA_FOLDER.glob("*.csv"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_row_names_its_source_and_how_far_to_trust_it(file):
    with file.open(encoding="utf-8", newline="") as text:
        rows = list(csv.DictReader(text))
    assert rows
    assert all(row["source"].strip() for row in rows)
    assert {row["confidence"] for row in rows} <= CONFIDENCES


def test_every_file_is_explained_and_shown():
    explained = (reference.DATA_FOLDER / "README.md").read_text(encoding="utf-8")
    assert [file.name for file in FILES if f"`{file.name}`" not in explained] == []
    assert {table.name for table in reference.all_tables()} == {file.stem for file in FILES}


def test_a_shown_table_has_a_cell_for_every_column():
    for table in reference.all_tables():
        assert table.title
        assert table.intro.endswith(".")
        assert table.columns[-3:] == ("Source", "Confidence", "Note")
        assert table.rows
        assert {len(row) for row in table.rows} == {len(table.columns)}


def test_the_tables_are_read_once():
    assert reference.tables() is reference.tables()


# ISO 15488:2003 as reproduced in public tables, ER50 and ER8 after DIN 6499: largest shank [mm].
@pytest.mark.parametrize(
    ("series", "smallest_um", "largest_um", "length_um"),
    [
        ("ER8", 500, 5_000, 13_600),
        ("ER11", 500, 7_000, 18_000),
        ("ER16", 500, 10_000, 27_500),
        ("ER20", 500, 13_000, 31_500),
        ("ER25", 500, 16_000, 34_000),
        ("ER32", 1_000, 20_000, 40_000),
        ("ER40", 2_000, 26_000, 46_000),
        ("ER50", 6_000, 34_000, 60_000),
    ],
)
def test_series_have_the_ranges_of_iso_15488(series, smallest_um, largest_um, length_um):
    row = series_named(reference.collet_series(), series)
    assert (row.min_shank_um, row.max_shank_um) == (smallest_um, largest_um)
    assert row.length_um == length_um


def test_every_collet_lies_in_its_series_and_closes_no_further():
    for bore in reference.collet_bores():
        row = series_named(reference.collet_series(), bore.series)
        assert row.min_shank_um <= bore.clamp_min_um < bore.clamp_max_um
        assert bore.clamp_max_um <= (row.special_max_shank_um or row.max_shank_um)
        assert bore.clamp_max_um - bore.clamp_min_um <= row.closing_um
        assert bore.clamp_min_um <= bore.clamp_min_cautious_um < bore.clamp_max_um


def test_the_metric_collets_of_a_series_leave_no_gap():
    for row in reference.collet_series():
        spans = sorted(
            (bore.clamp_min_um, bore.clamp_max_um)
            for bore in reference.collet_bores()
            if bore.series == row.series and bore.bore_system == "metric"
        )
        assert all(low[1] >= high[0] for low, high in pairwise(spans))
        assert spans[-1][1] == row.max_shank_um


def test_an_inch_collet_is_as_large_as_its_fraction():
    for bore in reference.collet_bores():
        if bore.bore_system == "inch":
            *whole, part = bore.label.removesuffix(" in").split()
            size = sum((Fraction(piece) for piece in whole), Fraction(part))
            assert bore.nominal_um == um_from_inch(size), bore.label


# ISO 286-1:2010 table 1, IT6 and IT7, re-keyed here from the published table [um].
ISO_286 = {3: (6, 10), 6: (8, 12), 10: (9, 15), 18: (11, 18), 30: (13, 21), 50: (16, 25)}


def test_shank_tolerances_are_those_of_iso_286():
    assert reference.shank_tolerances()
    for row in reference.shank_tolerances():
        it6, it7 = next(its for top, its in ISO_286.items() if row.shank_um <= top * 1000)
        assert (row.h6_lower_um, row.h7_lower_um) == (-it6, -it7), row.label
        assert h7_lower_um(row.shank_um) == row.h7_lower_um


@pytest.mark.parametrize(
    ("measured_um", "within"),
    [(12_001, False), (12_000, True), (11_989, True), (11_982, True), (11_981, False)],
)
def test_h7_of_a_12_mm_shank_ends_18_um_below(measured_um, within):
    assert is_within_h7(measured_um, 12_000) is within


def test_no_tolerance_is_claimed_beyond_the_table():
    assert h7_lower_um(80_000) == -30
    assert h7_lower_um(80_001) is None
    assert not is_within_h7(80_001, 80_001)


# ASME B5.50 and ISO 7388: 7/24 gauge diameters are 1 1/4, 1 3/4, 2 1/4 and 2 3/4 in.
GAUGE_DIAMETERS_INCH = {"20": "7/8", "30": "5/4", "40": "7/4", "45": "9/4", "50": "11/4"}


def test_7_24_tapers_have_their_gauge_diameters_in_inches():
    steep = [row for row in reference.tapers() if row.family == "7/24 steep taper"]
    assert len(steep) == 18
    for row in steep:
        assert row.gauge_diameter_um == um_from_inch(Fraction(GAUGE_DIAMETERS_INCH[row.size]))


def test_hsk_b_d_and_f_have_the_cone_one_size_smaller():
    # DIN 69893: at the same flange, forms B, D and F carry the next smaller cone of A, C and E.
    by_code = {row.code: row for row in reference.tapers()}
    flanges = ["32", "40", "50", "63", "80", "100"]
    for form in "BDF":
        for smaller, flange in pairwise(flanges):
            if f"HSK-{form}{flange}" in by_code:
                mine, other = by_code[f"HSK-{form}{flange}"], by_code[f"HSK-A{smaller}"]
                assert mine.gauge_diameter_um == other.gauge_diameter_um
                assert mine.flange_diameter_um == int(flange) * 1000


def test_the_listed_look_alikes_are_those_with_the_same_cone():
    by_code = {row.code: row for row in reference.tapers()}
    for row in reference.tapers():
        for code in row.look_alikes:
            assert cones_look_alike(row, by_code[code]), (row.code, code)
    for row in (r for r in reference.tapers() if r.family == "HSK hollow taper"):
        same = {other.code for other in reference.tapers() if cones_look_alike(row, other)}
        assert same == set(row.look_alikes), row.code


def test_only_interfaces_held_by_a_stud_take_one():
    by_code = {row.code: row.takes_a_stud for row in reference.tapers()}
    held = ("ISO 30 router", "BT40", "V-flange 50", "HSK-F63", "PSC 63", "DIN 2080-40")
    assert [code for code in held if by_code[code]] == ["ISO 30 router", "BT40", "V-flange 50"]


@pytest.mark.parametrize(
    ("series", "shank_um", "recommended_mnm"),
    [
        ("ER25", 500, 24_000),  # the first band includes its lower edge
        ("ER25", 499, None),
        ("ER25", 4_500, 56_000),
        ("ER25", 4_501, 80_000),
        ("ER25", 7_500, 80_000),
        ("ER25", 7_501, 104_000),
        ("ER25", 16_000, 104_000),
        ("ER25", 16_001, None),
        ("ER99", 6_000, None),
    ],
)
def test_a_torque_band_excludes_its_lower_and_includes_its_upper_edge(
    series, shank_um, recommended_mnm
):
    band = torque_band(
        reference.torque_bands(), series=series, nut_type="standard", shank_um=shank_um
    )
    assert (band.recommended_mnm if band else None) == recommended_mnm


def test_torque_bands_join_without_gap_and_never_fall():
    for series, nut_type in {(b.series, b.nut_type) for b in reference.torque_bands()}:
        bands = sorted(
            (b for b in reference.torque_bands() if (b.series, b.nut_type) == (series, nut_type)),
            key=lambda band: band.shank_from_um,
        )
        for low, high in pairwise(bands):
            assert low.shank_to_um == high.shank_from_um
            assert low.recommended_mnm <= high.recommended_mnm
        assert all(band.recommended_mnm < band.max_mnm for band in bands)


def test_two_thirds_and_80_percent_of_each_collet_are_as_its_length_says():
    # Two thirds: a public catalogue page; the table prints tenths, rounded up.
    shares = {"ER-2/3": Fraction(2, 3), "ER-80": Fraction(4, 5), "ER-full": Fraction(1)}
    rules = [rule for rule in reference.grip_rules() if rule.rule_id in shares]
    assert len(rules) == 24
    for rule in rules:
        length_um = series_named(reference.collet_series(), rule.series_or_shank).length_um
        exact = shares[rule.rule_id] * length_um
        assert 0 <= rule.min_grip_um - exact < 100, rule


def test_a_table_grip_is_for_exactly_its_shank():
    rules = reference.grip_rules()
    assert table_grip(rules, applies_to="hydraulic chuck", shank_um=12_000).min_grip_um == 37_000
    assert table_grip(rules, applies_to="hydraulic chuck", shank_um=12_700) is None


def test_codes_are_the_same_whatever_their_spacing():
    assert taper_coded(reference.tapers(), "iso 30 Router").code == "ISO 30 router"
    assert taper_coded(reference.tapers(), "ISO 30") is None
    assert taper_coded(reference.tapers(), None) is None
    assert not same_code("M32x1.5", "M30x1")


def test_an_empty_cell_is_not_known_rather_than_zero():
    knob = next(row for row in reference.pull_studs() if row.code == "ISO 7388-3 AD")
    assert (knob.torque_low_mnm, knob.under_head_angle_deg) == (None, None)
    largest = next(band for band in reference.collet_runout() if band.bore_to_um == 34_000)
    assert largest.max_class1_um is None
    assert taper_coded(reference.tapers(), "ISO 20").flange_diameter_um is None


# Shank and square as taps to DIN 371 and DIN 376 carry them: M3, M6, M8, M10, M12, M16.
@pytest.mark.parametrize(
    ("shank_um", "square_um"),
    [
        (3_500, 2_700),
        (6_000, 4_900),
        (8_000, 6_200),
        (10_000, 8_000),
        (9_000, 7_000),
        (12_000, 9_000),
    ],
)
def test_squares_are_those_of_taps_to_din_371_and_376(shank_um, square_um):
    din = [row for row in reference.tap_squares() if row.standard == "DIN 10"]
    assert squares_of(din, shank_um) == (square_um,)


def test_squares_of_iso_237_are_four_fifths_of_their_shank():
    # Both are sizes of the R 20 series, one step of the R 10 series apart (ISO 3).
    rows = [row for row in reference.tap_squares() if row.standard == "ISO 237"]
    assert len(rows) > 15
    for row in rows:
        assert row.square_um == pytest.approx(0.8 * row.shank_um, rel=0.03), row.shank_um


def test_every_square_is_smaller_than_its_shank_and_grows_with_it():
    for standard in ("DIN 10", "ISO 237"):
        rows = [row for row in reference.tap_squares() if row.standard == standard]
        assert all(row.square_um < row.shank_um for row in rows)
        assert all(
            low.shank_um < high.shank_um and low.square_um <= high.square_um
            for low, high in pairwise(rows)
        )


def test_the_keys_of_an_arbor_have_play_in_the_slot_and_grow_with_it():
    # DIN 138 and ISO 240, from memory: the slot is 0.4 to 0.5 mm wider than the key.
    rows = reference.arbor_keys()
    assert [row.spigot_um for row in rows] == [
        16_000, 22_000, 27_000, 32_000, 40_000, 50_000, 60_000,
    ]  # fmt: skip
    assert {row.slot_um - row.key_um for row in rows} == {400, 500}
    assert all(low.key_um < high.key_um for low, high in pairwise(rows))
    assert keys_of(rows, 22_000).key_um == 10_000
    assert keys_of(rows, 23_000) is None
    assert keys_of(rows, None) is None
