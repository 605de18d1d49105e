"""Drill chucks, tap holders, tapping collets, arbors and sealing nuts."""

from dataclasses import replace

import pytest

from assemblies.rules.arbor import arbor_findings, mount_findings
from assemblies.rules.drill_chuck import DRILLING_KINDS, drill_chuck_findings
from assemblies.rules.fit import stack_findings
from assemblies.rules.seal import seal_findings, seal_holds
from assemblies.rules.stack import ColletPart, CutterPart, HolderPart, NutPart, ShopLimits, Stage
from assemblies.rules.tapping import square_finding, tapping_findings
from crib.rules.cutter_kinds import CUTTER_KINDS
from crib.rules.finding import Level
from tests.assemblies.stacks import BY_CLAMPING, TABLES, TAP, levels, troubles

CHUCK = HolderPart(clamping="drill_chuck", bore_min_um=1_000, bore_um=13_000)
DRILL_12 = CutterPart(kind="drill", shank_um=12_000)
LIMITS = ShopLimits()


@pytest.mark.parametrize(
    ("shank_um", "code", "level"),
    [
        (13_000, "chuck.shank_fits", Level.PASS),
        (13_001, "chuck.shank_too_large", Level.STOP_HARD),
        (1_000, "chuck.shank_fits", Level.PASS),
        (999, "chuck.shank_too_small", Level.STOP_HARD),
        (None, "chuck.range_not_known", Level.UNKNOWN),
    ],
)
def test_the_shank_lies_in_the_range_of_the_chuck(shank_um, code, level):
    _kind, finding = drill_chuck_findings(CHUCK, CutterPart(kind="drill", shank_um=shank_um))
    assert (finding.code, finding.level) == (code, level)


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"bore_um": None}, "chuck.range_not_known"),
        ({"bore_min_um": None}, "chuck.range_not_known"),
        # One end is enough to refuse.
        ({"bore_min_um": None, "bore_um": 10_000}, "chuck.shank_too_large"),
        ({"bore_um": None, "bore_min_um": 12_500}, "chuck.shank_too_small"),
    ],
)
def test_half_a_range_refuses_but_never_passes(changes, code):
    _kind, finding = drill_chuck_findings(replace(CHUCK, **changes), DRILL_12)
    assert finding.code == code


@pytest.mark.parametrize("kind", CUTTER_KINDS)
def test_a_drill_chuck_takes_what_drills_and_nothing_else(kind):
    finding, _range = drill_chuck_findings(CHUCK, CutterPart(kind=kind, shank_um=6_000))
    if kind in ("drill", "countersink", "reamer", "boring_bit"):
        assert (finding.code, finding.level) == ("chuck.kind_suits", Level.PASS)
    elif kind == "tap":
        assert (finding.code, finding.level) == ("chuck.tap", Level.STOP_SOFT)
    else:
        assert (finding.code, finding.level) == ("chuck.side_load", Level.STOP_HARD)


def test_drilling_kinds_are_kinds():
    assert set(CUTTER_KINDS) > DRILLING_KINDS


def test_a_cutter_of_no_known_kind_is_not_passed_in_a_drill_chuck():
    finding, _range = drill_chuck_findings(CHUCK, CutterPart(shank_um=6_000))
    assert (finding.code, finding.level) == ("chuck.kind_not_known", Level.UNKNOWN)


# Shank and square of DIN 371 and DIN 376 taps: M8 8 x 6.2, M10 10 x 8, M16 12 x 9.
@pytest.mark.parametrize(
    ("seat_um", "square_um", "code", "level"),
    [
        (6_200, 6_200, "tap.square_same", Level.PASS),
        (6_200, 6_201, "tap.square_differs", Level.STOP_HARD),
        (6_200, 6_199, "tap.square_differs", Level.STOP_HARD),
        (6_200, 6_300, "tap.square_differs", Level.STOP_HARD),  # DIN 10 and ISO 237 differ
        (8_000, 9_000, "tap.square_differs", Level.STOP_HARD),
        (None, 9_000, "tap.square_not_known", Level.UNKNOWN),
        (9_000, None, "tap.square_not_known", Level.UNKNOWN),
    ],
)
def test_the_square_of_the_tap_is_that_of_its_seat(seat_um, square_um, code, level):
    finding = square_finding(seat_um, square_um)
    assert (finding.code, finding.level) == (code, level)
    holder, tap = HolderPart(clamping="tap", square_um=seat_um), replace(TAP, square_um=square_um)
    assert finding in tapping_findings(holder, None, tap)
    in_collet = tapping_findings(HolderPart(clamping="collet"), ColletPart(square_um=seat_um), tap)
    assert (finding in in_collet) is (seat_um is not None)


@pytest.mark.parametrize("kind", [kind for kind in CUTTER_KINDS if kind != "tap"])
def test_a_tap_holder_takes_taps_only(kind):
    holder = HolderPart(clamping="tap", square_um=9_000)
    said = troubles(tapping_findings(holder, None, replace(TAP, kind=kind)))
    assert said == {"tap.other_cutter": "stop_hard"}


def test_a_cutter_of_no_known_kind_is_not_passed_in_a_tap_holder():
    holder = HolderPart(clamping="tap", square_um=9_000)
    said = troubles(tapping_findings(holder, None, replace(TAP, kind=None)))
    assert said == {"tap.kind_not_known": "unknown"}


def test_another_cutter_in_a_tapping_collet_is_a_check():
    collet, holder = ColletPart(square_um=9_000), HolderPart(clamping="collet")
    said = tapping_findings(holder, collet, replace(TAP, kind="end_mill"))
    assert levels(said) == {"tap.collet_for_taps": "check"}


@pytest.mark.parametrize(
    ("clamping", "expected"),
    [
        ("collet", {"tap.rigid_only": "note"}),
        ("side_lock", {"tap.rigid_only": "note"}),
        ("hydraulic", {"tap.rigid_only": "note"}),
        ("shrink", {"tap.rigid_only": "note"}),
        ("milling_chuck", {"tap.rigid_only": "note"}),
        ("drill_chuck", {}),
        ("arbor", {}),
        (None, {}),
    ],
)
def test_a_tap_held_by_friction_is_for_rigid_tapping(clamping, expected):
    holder, collet = HolderPart(clamping=clamping), ColletPart()
    assert levels(tapping_findings(holder, collet, TAP)) == expected
    assert tapping_findings(holder, collet, replace(TAP, kind="drill")) == []


@pytest.mark.parametrize("clamping", ["tap", "collet", "hydraulic"])
def test_a_tap_without_its_pitch_is_noted(clamping):
    holder = HolderPart(clamping=clamping)
    said = levels(tapping_findings(holder, None, replace(TAP, pitch_um=None)))
    assert said["tap.pitch_not_known"] == "note"
    assert "tap.pitch_not_known" not in levels(tapping_findings(holder, None, TAP))


# Keys and slots after DIN 138 and ISO 240, from memory: 8 in 8.4, 10 in 10.4, 12 in 12.4 ...
@pytest.mark.parametrize(
    ("key_um", "slot_um", "code", "level"),
    [
        (10_000, 10_400, "arbor.keys_fit", Level.PASS),
        (20_000, 20_500, "arbor.keys_fit", Level.PASS),
        (10_000, 10_000, "arbor.keys_fit", Level.PASS),
        (10_001, 10_000, "arbor.key_too_wide", Level.STOP_HARD),
        (10_000, 10_500, "arbor.keys_fit", Level.PASS),
        (10_000, 10_501, "arbor.keys_loose", Level.CHECK),
        (8_000, 10_400, "arbor.keys_loose", Level.CHECK),
        (12_000, 10_400, "arbor.key_too_wide", Level.STOP_HARD),
        (None, 10_400, "arbor.keys_not_known", Level.UNKNOWN),
        (10_000, None, "arbor.keys_not_known", Level.UNKNOWN),
    ],
)
def test_the_keys_of_the_arbor_drive_the_cutter(key_um, slot_um, code, level):
    arbor = HolderPart(clamping="arbor", key_um=key_um)
    (finding,) = arbor_findings(arbor, CutterPart(keyway_um=slot_um))
    assert (finding.code, finding.level) == (code, level)


@pytest.mark.parametrize(
    ("spigot_um", "height_um", "noted"),
    [
        (19_000, 40_000, False),
        (39_999, 40_000, False),
        (40_000, 40_000, True),
        (None, 40_000, False),
        (19_000, None, False),
    ],
)
def test_a_spigot_as_long_as_the_cutter_is_noted(spigot_um, height_um, noted):
    arbor = HolderPart(clamping="arbor", key_um=10_000, spigot_um=spigot_um)
    said = levels(arbor_findings(arbor, CutterPart(keyway_um=10_400, overall_um=height_um)))
    assert said.get("arbor.spigot_long") == ("note" if noted else None)


@pytest.mark.parametrize(
    ("clamping", "cutter", "expected"),
    [
        ("arbor", CutterPart(shank_um=12_000), {"cutter.no_bore": "stop_hard"}),
        ("arbor", CutterPart(shank_measured_um=12_000), {"cutter.no_bore": "stop_hard"}),
        ("arbor", CutterPart(bore_um=22_000), {}),
        ("arbor", CutterPart(), {}),
        ("collet", CutterPart(bore_um=22_000), {"cutter.no_shank": "stop_hard"}),
        ("drill_chuck", CutterPart(bore_um=22_000), {"cutter.no_shank": "stop_hard"}),
        ("collet", CutterPart(shank_um=12_000), {}),
        ("collet", CutterPart(), {}),
    ],
)
def test_bores_go_on_arbors_and_shanks_in_chucks(clamping, cutter, expected):
    assert levels(mount_findings(HolderPart(clamping=clamping), cutter)) == expected


SEALED = NutPart(sealed=True, seal_max_um=12_000, seal_min_um=11_500)


@pytest.mark.parametrize(
    ("shank_um", "expected", "holds"),
    [
        (12_000, {"seal.shank_fits": "pass"}, True),
        (12_001, {"seal.shank_too_large": "stop_hard"}, False),
        (11_500, {"seal.shank_fits": "pass"}, True),
        (11_499, {"seal.shank_too_small": "check"}, False),
        (None, {"seal.range_not_known": "unknown"}, None),
    ],
)
def test_the_sealing_disk_includes_the_shank(shank_um, expected, holds):
    cutter = CutterPart(shank_um=shank_um)
    assert levels(seal_findings(SEALED, cutter)) == expected
    assert seal_holds(SEALED, cutter) is holds


@pytest.mark.parametrize("end", ["seal_max_um", "seal_min_um"])
def test_a_disk_of_unknown_range_is_unknown(end):
    nut, cutter = replace(SEALED, **{end: None}), CutterPart(shank_um=12_000)
    assert levels(seal_findings(nut, cutter)) == {"seal.range_not_known": "unknown"}
    assert seal_holds(nut, cutter) is None


@pytest.mark.parametrize(
    ("nut", "holds"), [(NutPart(sealed=False), False), (NutPart(), None), (None, None)]
)
def test_a_nut_that_does_not_seal_is_asked_for_no_range(nut, holds):
    assert seal_findings(nut, CutterPart(shank_um=12_000)) == []
    assert seal_holds(nut, CutterPart(shank_um=12_000)) is holds


def test_a_drill_chuck_without_a_marked_speed_is_a_check():
    built = BY_CLAMPING["drill_chuck"]
    built = replace(built, holder=replace(built.holder, max_rpm=None))
    said = troubles(stack_findings(built, LIMITS, Stage.RELEASE, TABLES))
    assert said == {"speed.limit_not_known": "check"}
