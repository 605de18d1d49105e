"""Collet, nut, nose, shank and fixed bores."""

from dataclasses import replace

import pytest

from assemblies.rules.collet_fit import (
    collet_range_findings,
    collet_series_finding,
    no_seat_findings,
    nut_findings,
)
from assemblies.rules.fixed_bore import bore_finding, shank_form_findings
from assemblies.rules.shank import look_alike_findings, shank_findings, working_shank_um
from assemblies.rules.stack import ColletPart, CutterPart, HolderPart, NutPart, ShopLimits
from crib.rules.finding import Level
from tests.assemblies.stacks import COLLET, CUTTER, HOLDER, NUT, TABLES, levels

LIMITS = ShopLimits()


@pytest.mark.parametrize(
    ("collet", "nose", "code", "level"),
    [
        ("ER32", "ER32", "collet.series_same", Level.PASS),
        ("er 32", "ER32", "collet.series_same", Level.PASS),
        ("ER25", "ER32", "collet.series_differs", Level.STOP_HARD),
        ("ER32", "ER25", "collet.series_differs", Level.STOP_HARD),
        (None, "ER32", "collet.series_not_known", Level.UNKNOWN),
        ("ER32", None, "collet.series_not_known", Level.UNKNOWN),
    ],
)
def test_the_collet_is_of_the_series_of_the_nose(collet, nose, code, level):
    found = collet_series_finding(replace(HOLDER, series=nose), ColletPart(series=collet))
    assert (found.code, found.level) == (code, level)


def test_a_collet_holder_without_a_collet_or_nut_is_unknown():
    assert collet_series_finding(HOLDER, None).level == Level.UNKNOWN
    assert levels(nut_findings(HOLDER, None)) == {"nut.missing": "unknown"}


# Common practice: ER25 noses come with M32x1.5 or, slim, with M30x1; the nuts look alike.
@pytest.mark.parametrize(
    ("nut", "nose_thread", "expected"),
    [
        (NutPart(series="ER25", thread="M32x1.5"), "M32x1.5", ("pass", "pass")),
        (NutPart(series="ER25", thread="M32 × 1,5"), "m32x1.5", ("pass", "pass")),
        (NutPart(series="ER25", thread="M30x1", nut_type="mini"), "M32x1.5", ("pass", "stop_hard")),
        (NutPart(series="ER25", thread="M32x1.5"), "M30x1", ("pass", "stop_hard")),
        (NutPart(series="ER20", thread="M32x1.5"), "M32x1.5", ("stop_hard", "pass")),
        (NutPart(series=None, thread="M32x1.5"), "M32x1.5", ("unknown", "pass")),
        (NutPart(series="ER25", thread=None), "M32x1.5", ("pass", "unknown")),
        (NutPart(series="ER25", thread="M32x1.5"), None, ("pass", "unknown")),
    ],
)
def test_the_nut_has_the_series_and_the_thread_of_the_nose(nut, nose_thread, expected):
    holder = replace(HOLDER, series="ER25", nose_thread=nose_thread)
    assert tuple(str(found.level) for found in nut_findings(holder, nut)) == expected


def fit(shank_um, largest_um, smallest_um, measured_um=None):
    collet = ColletPart(clamp_max_um=largest_um, clamp_min_um=smallest_um)
    cutter = CutterPart(shank_um=shank_um, shank_measured_um=measured_um)
    (finding,) = collet_range_findings(collet, cutter, LIMITS)
    return finding


@pytest.mark.parametrize(
    ("shank_um", "largest_um", "smallest_um", "code", "level"),
    [
        (12_000, 12_000, 11_000, "collet.shank_fits", Level.PASS),
        (12_001, 12_000, 11_000, "collet.shank_too_large", Level.STOP_HARD),
        (11_500, 12_000, 11_000, "collet.shank_fits", Level.PASS),
        (11_499, 12_000, 11_000, "collet.closed_far", Level.CHECK),
        (11_000, 12_000, 11_000, "collet.closed_far", Level.CHECK),
        (10_999, 12_000, 11_000, "collet.shank_too_small", Level.STOP_HARD),
        # Planted cases of the example shop, and the pairs of common practice.
        (6_350, 6_000, 5_000, "collet.shank_too_large", Level.STOP_HARD),
        (6_350, 7_000, 6_000, "collet.closed_far", Level.CHECK),
        (6_350, 6_350, 5_350, "collet.shank_fits", Level.PASS),
        (12_000, 13_000, 12_000, "collet.closed_far", Level.CHECK),
        (12_700, 12_000, 11_000, "collet.shank_too_large", Level.STOP_HARD),
        (12_700, 13_000, 12_000, "collet.shank_fits", Level.PASS),
        (6_000, 6_350, 5_350, "collet.shank_fits", Level.PASS),
        (8_500, 9_000, 8_000, "collet.shank_fits", Level.PASS),
    ],
)
def test_the_shank_lies_in_the_range_of_the_collet(shank_um, largest_um, smallest_um, code, level):
    finding = fit(shank_um, largest_um, smallest_um)
    assert (finding.code, finding.level) == (code, level)


def test_an_impossible_shank_is_told_with_both_sizes():
    finding = fit(6_350, 6_000, 5_000)
    assert finding.text == "Shank 6.35 is larger than the collet's largest, 6.00."
    assert finding.remedy.startswith("0.35 bigger.")
    assert (finding.measured, finding.limit, finding.unit) == (6.35, 6.0, "mm")


def test_sizes_that_are_not_recorded_are_unknown():
    for collet in (ColletPart(), ColletPart(clamp_max_um=12_000), ColletPart(clamp_min_um=11_000)):
        assert levels(collet_range_findings(collet, CUTTER, LIMITS)) == {
            "collet.range_not_known": "unknown"
        }
    assert levels(collet_range_findings(COLLET, CutterPart(), LIMITS)) == {
        "shank.not_known": "unknown"
    }


# ISO 286-1:2010, h6 of 12 mm: 0/-11 um, h7: 0/-18 um.
@pytest.mark.parametrize(
    ("measured_um", "used_um", "in_13_12"),
    [
        (None, 12_000, "collet.closed_far"),
        (11_993, 12_000, "collet.closed_far"),
        (11_982, 12_000, "collet.closed_far"),
        (11_981, 11_981, "collet.shank_too_small"),
        (12_000, 12_000, "collet.closed_far"),
        (12_001, 12_001, "collet.closed_far"),
    ],
)
def test_a_shank_within_h7_counts_as_nominal(measured_um, used_um, in_13_12):
    cutter = CutterPart(shank_um=12_000, shank_measured_um=measured_um)
    assert working_shank_um(cutter) == used_um
    assert fit(12_000, 13_000, 12_000, measured_um).code == in_13_12
    said = levels(shank_findings(cutter))
    assert said == ({} if used_um == 12_000 else {"shank.measured_used": "note"})


def test_a_12_h6_shank_of_11_993_fits_a_bore_of_12():
    bore = HolderPart(clamping="shrink", bore_um=12_000)
    cutter = CutterPart(shank_um=12_000, shank_measured_um=11_993)
    assert bore_finding(bore, cutter).level == Level.PASS
    worn = replace(cutter, shank_measured_um=11_900)
    assert bore_finding(bore, worn).level == Level.STOP_HARD


def test_a_shank_known_only_by_measuring_is_used_as_measured():
    assert working_shank_um(CutterPart(shank_measured_um=11_995)) == 11_995
    assert working_shank_um(CutterPart()) is None


# Common practice: the pairs that inch and metric shops confuse.
@pytest.mark.parametrize(
    ("shank_um", "partner_mm"),
    [(6_350, 6.0), (12_700, 12.0), (3_175, 3.0), (9_525, 10.0), (6_000, 6.35), (10_000, 9.525)],
)
def test_an_inch_and_a_metric_look_alike_are_named(shank_um, partner_mm):
    (finding,) = look_alike_findings(CutterPart(shank_um=shank_um, bought_in_inches=True))
    assert finding.level == Level.NOTE
    assert f"{partner_mm:g}" in finding.text
    assert (finding.measured, finding.limit) == (None, None), "another size is no limit"


def test_a_shank_without_a_look_alike_is_not_spoken_of():
    assert look_alike_findings(CutterPart(shank_um=18_000)) == []
    assert look_alike_findings(CutterPart()) == []


@pytest.mark.parametrize(
    ("spigot_um", "bore_um", "level"),
    [
        (22_000, 22_000, Level.PASS),
        (22_000, 22_001, Level.STOP_HARD),
        (22_000, 21_999, Level.STOP_HARD),
        (22_000, 27_000, Level.STOP_HARD),
        (None, 22_000, Level.UNKNOWN),
        (22_000, None, Level.UNKNOWN),
    ],
)
def test_an_arbor_takes_exactly_its_bore(spigot_um, bore_um, level):
    arbor = HolderPart(clamping="arbor", bore_um=spigot_um)
    assert bore_finding(arbor, CutterPart(bore_um=bore_um, shank_um=22_000)).level == level


# DIN 6535:1992: HA plain, HB one flat. A side lock needs the flat.
@pytest.mark.parametrize(
    ("clamping", "form", "expected"),
    [
        ("side_lock", "HB", {"shank.form_same": "pass"}),
        ("side_lock", "HA", {"shank.form_differs": "stop_hard"}),
        ("hydraulic", "HA", {"shank.form_same": "pass"}),
        ("hydraulic", "HB", {"shank.form_differs": "check"}),
        ("shrink", "HE", {"shank.form_differs": "check"}),
        ("shrink", None, {"shank.form_not_known": "unknown"}),
        ("collet", None, {}),
        ("arbor", None, {}),
    ],
)
def test_a_fixed_bore_holds_the_right_form_of_shank(clamping, form, expected):
    found = shank_form_findings(HolderPart(clamping=clamping), CutterPart(shank_form=form))
    assert levels(found) == expected


def test_a_holder_without_a_nose_takes_neither_collet_nor_nut():
    arbor = HolderPart(clamping="arbor")
    assert levels(no_seat_findings(arbor, COLLET, NUT)) == {
        "collet.no_seat": "stop_hard",
        "nut.no_seat": "stop_hard",
    }
    assert no_seat_findings(arbor, None, None) == []


def test_every_collet_of_the_table_takes_its_own_nominal_shank():
    for bore in TABLES.collet_bores:
        assert fit(bore.nominal_um, bore.clamp_max_um, bore.clamp_min_um).level == Level.PASS


# ISO 15488:2003, DIN 6499 and common practice: each series has its own cone and nose threads.
@pytest.mark.parametrize("row", TABLES.collet_series, ids=lambda row: row.series)
def test_every_series_takes_its_own_collets_and_the_nut_of_its_nose(row):
    for thread in row.nut_threads().values():
        holder = replace(HOLDER, series=row.series, nose_thread=thread)
        for other in TABLES.collet_series:
            same = other.series == row.series
            collet = collet_series_finding(holder, ColletPart(series=other.series))
            assert (collet.level == Level.PASS) is same
            assert collet.level in (Level.PASS, Level.STOP_HARD)
        for nut_type, its in row.nut_threads().items():
            nut = NutPart(series=row.series, thread=its, nut_type=nut_type)
            expected = "pass" if its == thread else "stop_hard"
            assert [str(f.level) for f in nut_findings(holder, nut)] == ["pass", expected]
