"""Fixed bores: sleeves, shrinking, forms of shank, screws, and how much is held."""

from dataclasses import replace

import pytest

from assemblies.rules.bore_grip import bore_grip_findings
from assemblies.rules.fixed_bore import bore_finding, shank_form_findings
from assemblies.rules.screw_torque import screw_findings
from assemblies.rules.shrink_fit import is_carbide_shank, shrink_findings
from assemblies.rules.sleeve import sleeve_findings
from assemblies.rules.stack import CutterPart, HolderPart, ShopLimits, SleevePart, Stage
from crib.rules.finding import Level
from crib.rules.standards import CLAMPING_KINDS, SLEEVED, h6_lower_um
from tests.assemblies.stacks import END_MILL, HYDRAULIC_SLEEVE, TABLES, levels, troubles

LIMITS = ShopLimits()
CHUCK = HolderPart(clamping="hydraulic", bore_um=20_000)


@pytest.mark.parametrize(
    ("changes", "shank_um", "expected"),
    [
        ({}, 12_000, {}),
        ({}, 12_001, {"sleeve.bore_differs": "stop_hard"}),
        ({}, 11_999, {"sleeve.bore_differs": "stop_hard"}),
        ({}, None, {"sleeve.bore_not_known": "unknown"}),
        ({"bore_um": None}, 12_000, {"sleeve.bore_not_known": "unknown"}),
        ({"outer_um": 20_001}, 12_000, {"sleeve.outer_differs": "stop_hard"}),
        ({"outer_um": 19_999}, 12_000, {"sleeve.outer_differs": "stop_hard"}),
        ({"outer_um": None}, 12_000, {"sleeve.outer_not_known": "unknown"}),
        ({"suits": "milling_chuck"}, 12_000, {"sleeve.kind_differs": "stop_hard"}),
        ({"suits": None}, 12_000, {"sleeve.kind_not_known": "unknown"}),
        ({"suits": ""}, 12_000, {"sleeve.kind_not_known": "unknown"}),
    ],
)
def test_a_sleeve_has_one_chuck_one_bore_and_one_shank(changes, shank_um, expected):
    sleeve = replace(HYDRAULIC_SLEEVE, **changes)
    assert troubles(sleeve_findings(CHUCK, sleeve, CutterPart(shank_um=shank_um))) == expected


def test_the_bore_of_the_holder_must_be_known_for_a_sleeve():
    said = sleeve_findings(replace(CHUCK, bore_um=None), HYDRAULIC_SLEEVE, END_MILL)
    assert troubles(said) == {"sleeve.outer_not_known": "unknown"}


@pytest.mark.parametrize("clamping", CLAMPING_KINDS)
def test_three_ways_of_clamping_take_a_sleeve(clamping):
    sleeve = replace(HYDRAULIC_SLEEVE, suits=clamping)
    said = troubles(sleeve_findings(replace(CHUCK, clamping=clamping), sleeve, END_MILL))
    assert said == ({} if clamping in SLEEVED else {"sleeve.no_seat": "stop_hard"})


def test_a_shank_within_h7_counts_as_nominal_in_a_sleeve():
    cutter = CutterPart(shank_um=12_000, shank_measured_um=11_982)
    assert troubles(sleeve_findings(CHUCK, HYDRAULIC_SLEEVE, cutter)) == {}
    worn = replace(cutter, shank_measured_um=11_981)
    said = troubles(sleeve_findings(CHUCK, HYDRAULIC_SLEEVE, worn))
    assert said == {"sleeve.bore_differs": "stop_hard"}


def test_a_thinner_shank_is_told_of_the_sleeve_it_needs():
    finding = bore_finding(CHUCK, CutterPart(shank_um=12_000))
    assert "reduction sleeve 20.00 to 12.00" in finding.remedy
    thick = bore_finding(CHUCK, CutterPart(shank_um=25_000))
    assert "sleeve" not in thick.remedy
    shrink = bore_finding(replace(CHUCK, clamping="shrink"), CutterPart(shank_um=12_000))
    assert "sleeve" not in shrink.remedy


# ISO 286-1:2010, table 1: h6 is 0/-8 um at 6 mm, 0/-11 at 12 mm, 0/-13 at 20 mm.
@pytest.mark.parametrize(
    ("shank_um", "measured_um", "expected"),
    [
        (12_000, 12_000, {"shrink.interference": "pass"}),
        (12_000, 11_989, {"shrink.interference": "pass"}),
        (12_000, 11_988, {"shrink.too_thin": "stop_hard"}),
        (6_000, 5_992, {"shrink.interference": "pass"}),
        (6_000, 5_991, {"shrink.too_thin": "stop_hard"}),
        (20_000, 19_987, {"shrink.interference": "pass"}),
        (20_000, 19_986, {"shrink.too_thin": "stop_hard"}),
        (12_000, 12_001, {}),  # the bore refuses it
        (12_000, None, {"shrink.not_measured": "note"}),
    ],
)
def test_shrinking_needs_a_shank_within_h6(shank_um, measured_um, expected):
    cutter = CutterPart(shank_um=shank_um, shank_measured_um=measured_um, material="carbide")
    assert levels(shrink_findings(cutter)) == expected | {"shrink.material_suits": "pass"}


def test_a_shank_above_nominal_is_refused_by_the_bore():
    cutter = CutterPart(shank_um=12_000, shank_measured_um=12_001)
    bore = HolderPart(clamping="shrink", bore_um=12_000)
    assert bore_finding(bore, cutter).level == Level.STOP_HARD


def test_the_lower_limit_of_h6_ends_above_80_mm():
    assert (h6_lower_um(80_000), h6_lower_um(80_001), h6_lower_um(0)) == (-19, None, None)


@pytest.mark.parametrize(
    ("material", "expected"),
    [
        ("solid carbide", {"shrink.material_suits": "pass"}),
        ("Carbide", {"shrink.material_suits": "pass"}),
        ("high-speed steel", {"shrink.material_differs": "check"}),
        ("carbide-tipped", {"shrink.material_differs": "check"}),
        ("steel, carbide inserts", {"shrink.material_differs": "check"}),
        (None, {"shrink.material_not_known": "unknown"}),
        ("  ", {"shrink.material_not_known": "unknown"}),
    ],
)
def test_shrinking_wants_a_carbide_shank(material, expected):
    assert levels(shrink_findings(CutterPart(material=material))) == expected


def test_tips_of_carbide_make_no_carbide_shank():
    assert not is_carbide_shank("solid carbide tips")
    assert not is_carbide_shank("solid carbide inserts")


# DIN 6535:1992 for the flats; a jaw or a collet holds them on less of the surface.
@pytest.mark.parametrize("clamping", ["collet", "milling_chuck", "drill_chuck"])
@pytest.mark.parametrize(
    ("form", "expected"),
    [("HA", {}), (None, {}), ("square", {})]
    + [(form, {"shank.flat_in_seat": "note"}) for form in ("HB", "HE")],
)
def test_a_flat_in_a_round_seat_is_a_note(clamping, form, expected):
    said = shank_form_findings(HolderPart(clamping=clamping), CutterPart(shank_form=form))
    assert levels(said) == expected


def test_a_side_lock_refuses_a_sloping_flat():
    lock = HolderPart(clamping="side_lock")
    said = shank_form_findings(lock, CutterPart(shank_form="HE"))
    assert levels(said) == {"shank.form_differs": "stop_hard"}


# ISO 6789-1:2017, from memory: 6 % up to 10 N·m, 4 % above.
@pytest.mark.parametrize(
    ("marked_mnm", "torque_mnm", "code"),
    [
        (25_000, 25_000, "screw.inside"),
        (25_000, 24_000, "screw.inside"),
        (25_000, 23_999, "screw.below"),
        (25_000, 26_000, "screw.inside"),
        (25_000, 26_001, "screw.above"),
        (10_000, 9_400, "screw.inside"),
        (10_000, 9_399, "screw.below"),
        (10_000, 10_600, "screw.inside"),
        (10_000, 10_601, "screw.above"),
    ],
)
@pytest.mark.parametrize("clamping", ["side_lock", "arbor", "hydraulic"])
@pytest.mark.parametrize("stage", Stage)
def test_the_screw_is_as_tight_as_marked(clamping, stage, marked_mnm, torque_mnm, code):
    holder = HolderPart(clamping=clamping, screw_torque_mnm=marked_mnm)
    (finding,) = screw_findings(torque_mnm, holder, stage)
    assert finding.code == code
    assert finding.level == (Level.PASS if code == "screw.inside" else Level.CHECK)


@pytest.mark.parametrize(
    ("clamping", "marked_mnm", "torque_mnm", "built", "released"),
    [
        ("side_lock", 25_000, None, "screw.aim note", "screw.not_known unknown"),
        ("hydraulic", 25_000, None, "screw.aim note", "screw.not_known unknown"),
        ("arbor", None, 45_000, "screw.limit_not_known note", "screw.limit_not_known unknown"),
        ("side_lock", None, None, "screw.limit_not_known note", "screw.limit_not_known unknown"),
        ("hydraulic", None, None, "screw.limit_not_known note", "screw.limit_not_known note"),
    ],
)
def test_a_torque_or_a_mark_that_is_missing_is_said(
    clamping, marked_mnm, torque_mnm, built, released
):
    holder = HolderPart(clamping=clamping, screw_torque_mnm=marked_mnm)
    for stage, expected in ((Stage.BUILD, built), (Stage.RELEASE, released)):
        (finding,) = screw_findings(torque_mnm, holder, stage)
        assert f"{finding.code} {finding.level}" == expected


@pytest.mark.parametrize("clamping", ["shrink", "milling_chuck", "drill_chuck", "tap", "collet"])
def test_a_holder_without_a_screw_is_not_asked_for_its_torque(clamping):
    assert screw_findings(None, HolderPart(clamping=clamping), Stage.RELEASE) == []


LONG = CutterPart(shank_um=12_000, plain_shank_um=80_000)


def held(grip_um, clamping="hydraulic", sleeve=None, cutter=LONG, **marks):
    holder = HolderPart(clamping=clamping, **marks)
    return troubles(bore_grip_findings(grip_um, holder, cutter, LIMITS, TABLES.grip_rules, sleeve))


@pytest.mark.parametrize(
    ("grip_um", "mark_um", "shank_mark_um", "expected"),
    [
        # The holder's mark of 30 beats the 37 mm of the table for 12 mm.
        (30_000, 30_000, None, {}),
        (29_999, 30_000, None, {"grip.too_short": "stop_soft"}),
        (34_999, 30_000, 35_000, {"grip.too_short": "stop_soft"}),
        (35_000, 30_000, 35_000, {}),
        (35_000, 40_000, 35_000, {"grip.too_short": "stop_soft"}),
    ],
)
def test_the_larger_mark_of_shank_and_holder_must_be_met(grip_um, mark_um, shank_mark_um, expected):
    cutter = replace(LONG, marked_grip_um=shank_mark_um)
    assert held(grip_um, cutter=cutter, grip_min_um=mark_um) == expected


@pytest.mark.parametrize(
    ("grip_um", "expected"),
    [(51_000, {}), (51_001, {"grip.deeper_than_bore": "stop_hard"})],
)
def test_no_more_is_held_than_the_bore_is_deep(grip_um, expected):
    assert held(grip_um, grip_min_um=30_000, bore_depth_um=51_000) == expected


@pytest.mark.parametrize(
    ("grip_um", "length_um", "expected"),
    [
        (50_000, 50_000, {}),
        (50_001, 50_000, {"grip.longer_than_sleeve": "stop_hard"}),
        (50_000, None, {"grip.sleeve_not_known": "unknown"}),
    ],
)
def test_no_more_is_held_than_the_sleeve_is_long(grip_um, length_um, expected):
    sleeve = SleevePart(length_um=length_um)
    assert held(grip_um, sleeve=sleeve, grip_min_um=30_000) == expected


# Shop tables, from memory: hydraulic 37 mm for 12 mm, 42 mm for 20 mm.
@pytest.mark.parametrize(("grip_um", "expected"), [(42_000, {}), (41_999, {"grip.below_advice"})])
def test_in_a_sleeve_the_longer_figure_of_shank_and_bore_is_advised(grip_um, expected):
    sleeve = SleevePart(length_um=60_000)
    assert set(held(grip_um, sleeve=sleeve, bore_um=20_000)) == set(expected)


@pytest.mark.parametrize(
    ("clamping", "grip_um", "expected"),
    [
        # 2 x shank is the shop rule for any holder.
        ("drill_chuck", 24_000, {}),
        ("drill_chuck", 23_999, {"grip.below_advice": "check"}),
        ("tap", 5_000, {}),
        ("milling_chuck", 60_000, {"grip.need_not_known": "unknown"}),
        ("side_lock", 60_000, {"grip.need_not_known": "unknown"}),
    ],
)
def test_a_seat_without_a_mark(clamping, grip_um, expected):
    assert held(grip_um, clamping) == expected


def test_the_square_of_a_tap_holder_drives_and_that_is_said():
    said = bore_grip_findings(5_000, HolderPart(clamping="tap"), LONG, LIMITS, ())
    assert levels(said)["grip.square_drives"] == "note"
    marked = HolderPart(clamping="tap", grip_min_um=25_000)
    assert levels(bore_grip_findings(24_999, marked, LONG, LIMITS, ())) == {
        "grip.too_short": "stop_soft"
    }
