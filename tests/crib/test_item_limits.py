"""Items that cannot exist are refused at entry, with the nearest that can."""

from dataclasses import replace

import pytest

from crib.reference import tables
from crib.rules.collet_limits import likely_meant, nearest_collets
from crib.rules.finding import Level
from crib.rules.item_limits import (
    ColletEntry,
    CutterEntry,
    HolderEntry,
    NutEntry,
    SleeveEntry,
    StudEntry,
    item_findings,
)
from crib.rules.standards import bores_of
from crib.rules.units import read_length_um

TABLES = tables()


def codes(entry):
    return [finding.code for finding in item_findings(entry, TABLES)]


def levels(entry):
    return {finding.code: finding.level for finding in item_findings(entry, TABLES)}


def collet(series, largest_um, smallest_um=None, **more):
    smallest_um = largest_um - 1_000 if smallest_um is None else smallest_um
    return ColletEntry(series, largest_um, smallest_um, **more)


def test_a_one_and_a_half_inch_er32_collet_is_refused_and_points_to_half_an_inch():
    # Common practice: ER32 ends at 20 mm (ISO 15488); 1 1/2 in is a slip for 1/2 in.
    size_um = read_length_um("1.5 in")
    (finding,) = item_findings(collet("ER32", size_um, typed_in_inches=True), TABLES)
    assert (finding.code, finding.level) == ("collet.outside_series", Level.STOP_HARD)
    assert (finding.measured, finding.limit) == (38.1, 20.0)
    assert "1 1/2 in" in finding.text
    assert "Did you mean 1/2 in (12.70 mm)?" in finding.remedy
    assert "20–19" in finding.remedy
    assert "3/4 in" in finding.remedy


@pytest.mark.parametrize(
    ("series", "size_um", "inches", "meant"),
    [
        ("ER32", 38_100, True, "1/2 in"),
        ("ER32", 38_100, False, "1/2 in"),  # typed as 38.1 mm it is still an inch size
        ("ER32", 31_750, True, "1/4 in"),
        ("ER32", 120_000, False, "12-11"),  # decimal place
        ("ER32", 127_000, False, "1/2 in"),
        ("ER32", 254_000, True, "10-9"),  # 10 in typed for 10 mm
        ("ER40", 500, False, "5-4"),
    ],
)
def test_a_slip_of_the_keyboard_names_the_collet_that_was_meant(series, size_um, inches, meant):
    bores = bores_of(TABLES.collet_bores, series)
    assert likely_meant(size_um, bores, typed_in_inches=inches)[0].label == meant


def test_no_collet_is_invented_where_no_slip_fits():
    bores = bores_of(TABLES.collet_bores, "ER32")
    assert likely_meant(33_333, bores, typed_in_inches=False) == ()


def test_the_nearest_collets_are_one_metric_and_one_inch():
    assert [bore.label for bore in nearest_collets(38_100, "ER32", TABLES)] == ["20-19", "3/4 in"]
    assert [bore.label for bore in nearest_collets(12_600, "ER32", TABLES)] == ["13-12", "1/2 in"]


@pytest.mark.parametrize(
    ("entry", "expected"),
    [
        (collet("ER32", 20_000), []),
        (collet("ER32", 20_001), ["collet.outside_series"]),
        (collet("ER32", 19_990), ["collet.unusual_size"]),
        (collet("ER32", 2_000), []),
        (collet("ER32", 1_500, 999), ["collet.outside_series"]),
        (collet("ER40", 26_000), []),
        (collet("ER40", 27_000), ["collet.special_size"]),
        (collet("ER40", 30_000), ["collet.special_size"]),
        (collet("ER40", 30_001), ["collet.outside_series"]),
        (collet("ER16", 1_000, 500), []),
        (collet("ER50", 12_000, 10_000), []),
    ],
)
def test_a_collet_lies_in_its_series_up_to_the_edge(entry, expected):
    assert codes(entry) == expected


@pytest.mark.parametrize(
    ("smallest_um", "expected"),
    [
        (12_000, []),
        (11_999, ["collet.range_too_wide"]),
        (12_999, []),
        (13_000, []),
        (13_001, ["collet.range_reversed"]),
        (14_000, ["collet.range_reversed"]),
    ],
)
def test_the_range_of_a_collet_closes_no_further_than_its_series(smallest_um, expected):
    assert codes(collet("ER32", 13_000, smallest_um)) == expected


@pytest.mark.parametrize(
    ("length_um", "expected"),
    [
        (40_000, []),
        (39_000, []),
        (41_000, []),
        (38_999, ["collet.length_unusual"]),
        (41_001, ["collet.length_unusual"]),
        (None, []),
    ],
)
def test_a_collet_of_an_odd_length_is_questioned(length_um, expected):
    assert codes(collet("ER32", 13_000, length_um=length_um)) == expected


def test_what_was_not_entered_about_a_collet_is_unknown():
    assert levels(ColletEntry()) == {"collet.series_not_known": Level.UNKNOWN}
    assert levels(collet("ER33", 12_000)) == {"collet.series_not_known": Level.UNKNOWN}
    assert levels(ColletEntry("ER32", 12_000)) == {"collet.range_not_known": Level.UNKNOWN}


NUT = NutEntry("ER25", "M32x1.5", "standard", 104_000, 130_000, 24_000)


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({}, {}),
        ({"thread": "M32 × 1,5"}, {}),
        ({"thread": "M30x1", "nut_type": "mini"}, {}),
        ({"thread": "M30x1"}, {"nut.type_differs": Level.STOP_HARD}),
        ({"thread": "M40x1.5"}, {"nut.thread_unusual": Level.CHECK}),
        ({"thread": None}, {"nut.thread_not_known": Level.UNKNOWN}),
        ({"series": None}, {"nut.series_not_known": Level.UNKNOWN}),
        ({"max_mnm": 104_000}, {}),
        ({"max_mnm": 103_999}, {"nut.torques_reversed": Level.STOP_HARD}),
        ({"max_mnm": None, "recommended_mnm": None}, {}),
        ({"max_rpm": 0}, {"nut.not_positive": Level.STOP_HARD}),
    ],
)
def test_a_nut_agrees_with_its_series_and_with_itself(change, expected):
    assert levels(replace(NUT, **change)) == expected


HOLDER = HolderEntry("ISO 30 router", "collet", "ER32", "M40x1.5", None, 50_000, 24_000)
ARBOR = HolderEntry("HSK-A63", "arbor", bore_um=22_000, gauge_length_um=60_000, key_um=10_000)


@pytest.mark.parametrize(
    ("entry", "expected"),
    [
        (HOLDER, {}),
        (replace(HOLDER, interface="ISO 31"), {"holder.interface_not_known": Level.UNKNOWN}),
        (replace(HOLDER, series=None), {"holder.series_not_known": Level.UNKNOWN}),
        (replace(HOLDER, nose_thread=None), {"holder.thread_not_known": Level.UNKNOWN}),
        (replace(HOLDER, nose_thread="M32x1.5"), {"holder.thread_unusual": Level.CHECK}),
        (replace(HOLDER, clamping=None), {"holder.clamping_not_known": Level.UNKNOWN}),
        (replace(HOLDER, gauge_length_um=0), {"holder.not_positive": Level.STOP_HARD}),
        (replace(HOLDER, balance_grade="G2.5"), {"holder.balance_without_speed": Level.CHECK}),
        (replace(HOLDER, balance_grade="G2.5", balance_rpm=25_000), {}),
        (ARBOR, {}),
        (replace(ARBOR, bore_um=None), {"holder.bore_not_known": Level.UNKNOWN}),
        (replace(ARBOR, series="ER32"), {"holder.series_without_collet": Level.STOP_HARD}),
        (HolderEntry("BT40", "drill_chuck"), {"holder.bore_not_known": Level.UNKNOWN}),
    ],
)
def test_a_holder_agrees_with_the_tables_and_with_itself(entry, expected):
    assert levels(entry) == expected


CUTTER = CutterEntry(
    kind="end_mill",
    diameter_um=12_000,
    shank_um=12_000,
    plain_shank_um=41_000,
    overall_um=83_000,
    flute_um=42_000,
)


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({}, {}),
        ({"flute_um": 42_001}, {"cutter.lengths_overlap": Level.STOP_HARD}),
        ({"flute_um": 83_001}, {"cutter.flutes_too_long": Level.STOP_HARD}),
        ({"corner_radius_um": 6_000}, {}),
        ({"corner_radius_um": 6_001}, {"cutter.corner_too_large": Level.STOP_HARD}),
        ({"corner_radius_um": 9_000, "kind": "round_over"}, {}),
        ({"marked_grip_um": 41_000}, {}),
        ({"marked_grip_um": 41_001}, {"cutter.mark_beyond_shank": Level.STOP_HARD}),
        ({"shank_um": 34_000}, {}),
        ({"shank_um": 34_001}, {"cutter.shank_beyond_collets": Level.CHECK}),
        ({"shank_um": None}, {"cutter.size_not_known": Level.UNKNOWN}),
        ({"shank_um": None, "bore_um": 22_000, "keyway_um": 10_400}, {}),
        ({"overall_um": None}, {"cutter.size_not_known": Level.UNKNOWN}),
        ({"diameter_um": 0}, {"cutter.not_positive": Level.STOP_HARD}),
    ],
)
def test_the_sizes_of_a_cutter_do_not_contradict_each_other(change, expected):
    assert levels(replace(CUTTER, **change)) == expected


SIDE_LOCK = HolderEntry("HSK-A63", "side_lock", bore_um=16_000, screw_torque_mnm=25_000)
DRILL_CHUCK = HolderEntry("HSK-A63", "drill_chuck", bore_um=13_000, bore_min_um=1_000)
TAP_HOLDER = HolderEntry("HSK-A63", "tap", bore_um=8_000, square_um=6_200)


# Keys after DIN 138 and DIN 6357, squares after DIN 10 (6.2) and ISO 237 (6.3), from memory.
@pytest.mark.parametrize(
    ("entry", "change", "expected"),
    [
        (SIDE_LOCK, {}, {}),
        (SIDE_LOCK, {"bore_um": None}, {"holder.bore_not_known": Level.UNKNOWN}),
        (SIDE_LOCK, {"grip_min_um": 40_000, "bore_depth_um": 40_000}, {}),
        (
            SIDE_LOCK,
            {"grip_min_um": 40_001, "bore_depth_um": 40_000},
            {"holder.grip_beyond_bore": Level.STOP_HARD},
        ),
        (SIDE_LOCK, {"clamping": "shrink"}, {"holder.fact_out_of_place": Level.CHECK}),
        (SIDE_LOCK, {"clamping": "hydraulic"}, {}),
        (SIDE_LOCK, {"key_um": 10_000}, {"holder.fact_out_of_place": Level.CHECK}),
        (SIDE_LOCK, {"screw_torque_mnm": 0}, {"holder.not_positive": Level.STOP_HARD}),
        (HOLDER, {"square_um": 6_200}, {"holder.fact_out_of_place": Level.CHECK}),
        (DRILL_CHUCK, {}, {}),
        (DRILL_CHUCK, {"bore_min_um": None}, {"holder.bore_not_known": Level.UNKNOWN}),
        (DRILL_CHUCK, {"bore_min_um": 13_000}, {}),
        (DRILL_CHUCK, {"bore_min_um": 13_001}, {"holder.range_reversed": Level.STOP_HARD}),
        (DRILL_CHUCK, {"clamping": "milling_chuck"}, {"holder.fact_out_of_place": Level.CHECK}),
        (TAP_HOLDER, {}, {}),
        (TAP_HOLDER, {"square_um": 6_300}, {}),
        (TAP_HOLDER, {"square_um": 6_250}, {"holder.square_unusual": Level.CHECK}),
        (TAP_HOLDER, {"square_um": 8_000}, {"holder.square_too_large": Level.STOP_HARD}),
        (TAP_HOLDER, {"square_um": None}, {"holder.bore_not_known": Level.UNKNOWN}),
        (ARBOR, {"key_um": None}, {"holder.bore_not_known": Level.UNKNOWN}),
        (ARBOR, {"key_um": 12_000}, {"holder.keys_unusual": Level.CHECK}),
        (ARBOR, {"key_um": 22_000}, {"holder.keys_too_wide": Level.STOP_HARD}),
        (ARBOR, {"bore_um": 23_000}, {}),  # no such size in the table
        (ARBOR, {"spigot_um": 19_000, "screw_torque_mnm": 45_000}, {}),
    ],
)
def test_the_facts_of_a_holder_belong_to_its_way_of_clamping(entry, change, expected):
    assert levels(replace(entry, **change)) == expected


SLEEVE = SleeveEntry("hydraulic", outer_um=20_000, bore_um=12_000, length_um=50_000)


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({}, {}),
        ({"bore_um": 19_999}, {}),
        ({"bore_um": 20_000}, {"sleeve.no_wall": Level.STOP_HARD}),
        ({"suits": "shrink"}, {"sleeve.suits_none": Level.STOP_HARD}),
        ({"suits": "spring"}, {"sleeve.suits_none": Level.STOP_HARD}),
        ({"suits": ""}, {"sleeve.size_not_known": Level.UNKNOWN}),
        ({"suits": None}, {"sleeve.size_not_known": Level.UNKNOWN}),
        ({"outer_um": None}, {"sleeve.size_not_known": Level.UNKNOWN}),
        ({"bore_um": None}, {"sleeve.size_not_known": Level.UNKNOWN}),
        ({"length_um": None}, {"sleeve.size_not_known": Level.UNKNOWN}),
        ({"length_um": 0}, {"sleeve.not_positive": Level.STOP_HARD}),
    ],
)
def test_a_sleeve_has_a_wall_and_a_chuck_that_takes_it(change, expected):
    assert levels(replace(SLEEVE, **change)) == expected


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"sealed": True, "seal_max_um": 10_000, "seal_min_um": 9_500}, {}),
        ({"sealed": True, "seal_max_um": 10_000, "seal_min_um": 10_000}, {}),
        (
            {"sealed": True, "seal_max_um": 10_000, "seal_min_um": 10_001},
            {"nut.seal_reversed": Level.STOP_HARD},
        ),
        ({"sealed": True, "seal_max_um": 10_000}, {"nut.seal_not_known": Level.UNKNOWN}),
        ({"sealed": True, "seal_min_um": 9_500}, {"nut.seal_not_known": Level.UNKNOWN}),
        ({"sealed": False}, {}),
    ],
)
def test_a_sealing_nut_has_a_range(change, expected):
    assert levels(replace(NUT, **change)) == expected


@pytest.mark.parametrize(
    ("square_um", "expected"),
    [
        (None, {}),
        (8_000, {}),
        (9_999, {}),
        (10_000, {"collet.square_impossible": Level.STOP_HARD}),
        (0, {"collet.square_impossible": Level.STOP_HARD}),
    ],
)
def test_the_square_of_a_tapping_collet_is_smaller_than_its_shank(square_um, expected):
    assert levels(replace(collet("ER32", 10_000, 9_000), square_um=square_um)) == expected


TAP = CutterEntry(
    kind="tap",
    diameter_um=8_000,
    shank_um=8_000,
    overall_um=90_000,
    square_um=6_200,
    pitch_um=1_250,
)
SHELL = CutterEntry(
    kind="face_mill", diameter_um=50_000, bore_um=22_000, overall_um=40_000, keyway_um=10_400
)


@pytest.mark.parametrize(
    ("entry", "change", "expected"),
    [
        (TAP, {}, {}),
        (TAP, {"square_um": 6_300}, {}),
        (TAP, {"square_um": 6_400}, {"cutter.square_unusual": Level.CHECK}),
        (TAP, {"square_um": 7_999, "shank_um": 8_001}, {}),  # no such shank in the table
        (TAP, {"square_um": 8_000}, {"cutter.square_too_large": Level.STOP_HARD}),
        (TAP, {"square_um": None}, {"cutter.drive_not_known": Level.UNKNOWN}),
        (TAP, {"pitch_um": None}, {"cutter.drive_not_known": Level.UNKNOWN}),
        (TAP, {"pitch_um": 8_000}, {"cutter.pitch_too_coarse": Level.STOP_HARD}),
        (TAP, {"pitch_um": 7_999}, {}),
        (TAP, {"pitch_um": 0}, {"cutter.not_positive": Level.STOP_HARD}),
        (SHELL, {}, {}),
        (SHELL, {"keyway_um": None}, {"cutter.drive_not_known": Level.UNKNOWN}),
        (SHELL, {"keyway_um": 9_999}, {"cutter.keyway_unusual": Level.CHECK}),
        (SHELL, {"keyway_um": 10_000}, {}),
        (SHELL, {"keyway_um": 10_500}, {}),
        (SHELL, {"keyway_um": 10_501}, {"cutter.keyway_unusual": Level.CHECK}),
        (SHELL, {"keyway_um": 22_000}, {"cutter.keyway_too_wide": Level.STOP_HARD}),
        (CUTTER, {"point_angle_tenths": 1_800}, {}),
        (CUTTER, {"point_angle_tenths": 1_801}, {"cutter.point_too_wide": Level.STOP_HARD}),
        (CUTTER, {"point_angle_tenths": 0}, {"cutter.not_positive": Level.STOP_HARD}),
    ],
)
def test_what_drives_a_cutter_can_exist(entry, change, expected):
    assert levels(replace(entry, **change)) == expected


@pytest.mark.parametrize(
    ("entry", "expected"),
    [
        (StudEntry("BT30", "M12"), {}),
        (StudEntry("BT30", "M16"), {"stud.thread_unusual": Level.CHECK}),
        (StudEntry("BT30"), {"stud.thread_not_known": Level.UNKNOWN}),
        # ASME B5.50: an M16 stud starts in a 5/8-11 hole and jams.
        (StudEntry("V-flange 40", "M16"), {"stud.thread_unusual": Level.CHECK}),
        (StudEntry("HSK-F63", "M12"), {"stud.not_for_taper": Level.STOP_HARD}),
        (StudEntry("ISO 20", "M10"), {}),  # the table names no thread for it
        (StudEntry(), {"stud.interface_not_known": Level.UNKNOWN}),
    ],
)
def test_a_stud_belongs_to_a_taper_that_takes_one(entry, expected):
    assert levels(entry) == expected


def test_messages_at_entry_fit_on_one_line():
    entries = [
        collet("ER32", 38_100, typed_in_inches=True),
        collet("ER32", 13_000, 6_000),
        collet("ER32", 13_000, length_um=50_000),
        ColletEntry("ER32", 12_000),
        replace(NUT, thread="M30x1"),
        replace(NUT, max_mnm=1),
        replace(ARBOR, series="ER32"),
        replace(CUTTER, shank_um=38_100, typed_in_inches=True),
        replace(CUTTER, corner_radius_um=9_000),
        replace(SLEEVE, suits="milling_chuck", bore_um=25_000),
        replace(SLEEVE, suits="drill_chuck"),
        SleeveEntry(),
        replace(NUT, sealed=True, seal_max_um=9_500, seal_min_um=10_001),
        replace(NUT, sealed=True),
        replace(TAP, square_um=6_250, pitch_um=12_500),
        replace(TAP, square_um=9_000),
        replace(TAP, square_um=None, pitch_um=None, bore_um=22_000),
        replace(SHELL, keyway_um=12_400),
        replace(SHELL, keyway_um=22_400),
        replace(CUTTER, point_angle_tenths=1_905),
        replace(collet("ER32", 10_000, 9_000), square_um=10_000),
        replace(ARBOR, key_um=12_500),
        replace(ARBOR, key_um=None, bore_um=None),
        replace(ARBOR, key_um=27_500, bore_min_um=30_000),
        replace(TAP_HOLDER, square_um=6_250, bore_min_um=4_000, spigot_um=5_000),
        replace(TAP_HOLDER, square_um=8_200, grip_min_um=40_500, bore_depth_um=30_500),
        replace(TAP_HOLDER, square_um=None, bore_um=None, screw_torque_mnm=5_000),
        replace(DRILL_CHUCK, bore_min_um=13_500),
    ]
    findings = [finding for entry in entries for finding in item_findings(entry, TABLES)]
    assert len(findings) >= len(entries)
    assert [f.text for f in findings if len(f.text) > 70] == []
