"""Answers that were wrong once: a mark passed over, an end asked too late, no room for a length."""

from dataclasses import replace

import pytest

from assemblies.rules.fit import stack_findings
from assemblies.rules.shrink_fit import is_carbide_shank
from assemblies.rules.stack import ShopLimits, Stage, StudPart, StudState
from assemblies.rules.torque_aim import torque_aim
from tests.assemblies.stacks import BY_CLAMPING, STACK, TABLES, levels, troubles

LIMITS = ShopLimits()


def changed(built, part, **values):
    return replace(built, **{part: replace(getattr(built, part), **values)})


def judged(built, limits=LIMITS):
    return stack_findings(built, limits, Stage.RELEASE, TABLES)


def trouble(built):
    return troubles(judged(built))


def test_every_way_of_clamping_still_agrees():
    assert [name for name, built in BY_CLAMPING.items() if trouble(built)] == []


@pytest.mark.parametrize(
    ("marked_um", "found"),
    [(38_000, {}), (38_001, {"grip.too_short": "stop_soft"})],
)
def test_the_mark_on_a_collet_chuck_has_to_be_met_as_well(marked_um, found):
    assert trouble(changed(STACK, "holder", grip_min_um=marked_um)) == found


def test_a_shank_known_by_its_measure_alone_is_advised_twice_its_diameter():
    # ER25 of 34 mm: 80 % are 27.2 mm, twice a shank of 16 mm are 32 mm.
    built = changed(STACK, "collet", length_um=34_000, clamp_max_um=16_000, clamp_min_um=15_000)
    built = changed(built, "cutter", shank_um=None, shank_measured_um=16_000)
    built = changed(built, "figures", grip_um=30_000)
    assert levels(judged(built))["grip.below_advice"] == "check"


@pytest.mark.parametrize(("torque_mnm", "level"), [(100_000, None), (100_001, "check")])
def test_a_shank_outside_h7_has_the_torque_of_its_measured_size(torque_mnm, level):
    # nut_torque.csv, ER25 standard: 80 to 100 N·m up to 7.5 mm, 104 to 130 N·m above.
    built = changed(STACK, "nut", series="ER25")
    built = changed(built, "cutter", shank_um=8_000, shank_measured_um=7_500)
    built = changed(built, "figures", torque_mnm=torque_mnm)
    assert trouble(built).get("torque.above") == level
    assert torque_aim(built, TABLES.torque_bands).most_mnm == 100_000


@pytest.mark.parametrize(
    ("range_um", "found"),
    [
        ({"seal_max_um": 11_999}, {"seal.shank_too_large": "stop_hard"}),
        ({"seal_max_um": 12_000}, {"seal.range_not_known": "unknown"}),
        ({"seal_min_um": 12_001}, {"seal.shank_too_small": "check"}),
        ({"seal_min_um": 12_000}, {"seal.range_not_known": "unknown"}),
    ],
)
def test_one_known_end_of_a_sealing_disk_refuses(range_um, found):
    assert trouble(changed(STACK, "nut", sealed=True, **range_um)) == found


def test_a_disk_known_to_be_too_small_keeps_no_coolant_in():
    built = replace(STACK, coolant_wanted=True, collet=replace(STACK.collet, sealed=False))
    built = changed(built, "nut", sealed=True, seal_max_um=11_999)
    assert trouble(built)["coolant.closed"] == "stop_soft"


# Overall 83 mm, stick-out 40 mm: 43 mm of shank go in; 0.5 mm is the tolerance of the closure.
@pytest.mark.parametrize("clamping", ["side_lock", "hydraulic", "shrink", "milling_chuck", "tap"])
@pytest.mark.parametrize(
    ("depth_um", "found"),
    [(42_500, {}), (42_499, {"gauge.does_not_close": "check"})],
)
def test_what_does_not_stick_out_has_room_in_the_bore(clamping, depth_um, found):
    built = changed(BY_CLAMPING[clamping], "figures", grip_um=42_000)
    built = changed(built, "holder", bore_depth_um=depth_um)
    assert trouble(built) == found


@pytest.mark.parametrize(
    ("stickout_um", "found"),
    [(39_500, {}), (39_499, {"length.arbor_fixed": "check"})],
)
def test_on_an_arbor_the_whole_height_of_the_cutter_stands_out(stickout_um, found):
    figures = {"stickout_um": stickout_um, "gauge_length_um": 90_000 + stickout_um}
    assert trouble(changed(BY_CLAMPING["arbor"], "figures", **figures)) == found


@pytest.mark.parametrize("clamping", ["milling_chuck", "drill_chuck", "tap"])
def test_a_torque_marked_on_any_chuck_is_compared(clamping):
    built = changed(BY_CLAMPING[clamping], "holder", screw_torque_mnm=20_000)
    assert trouble(built) == {"screw.not_known": "unknown"}
    assert trouble(changed(built, "figures", torque_mnm=5_000)) == {"screw.below": "check"}
    assert trouble(changed(built, "figures", torque_mnm=20_000)) == {}


@pytest.mark.parametrize(
    ("nose_um", "found"),
    [
        (75_000, {}),
        (75_001, {"envelope.neighbours": "check"}),
        (125_001, {"envelope.neighbours": "check", "envelope.diameter_over": "stop_hard"}),
    ],
)
def test_a_nose_wider_than_the_cutter_has_to_pass_the_changer(nose_um, found):
    assert trouble(changed(BY_CLAMPING["shrink"], "holder", nose_diameter_um=nose_um)) == found


def test_a_small_cutter_is_named_by_the_limit_that_the_shop_has_set():
    built = changed(STACK, "cutter", max_rpm=None)
    found = judged(built, ShopLimits(mark_needed_from_um=12_500))
    text = next(f.text for f in found if f.code == "speed.small_cutter_unmarked")
    assert "12.50" in text
    assert "16" not in text


@pytest.mark.parametrize(
    "material", ["Solid carbide head on steel shank", "solid carbide, brazed", "steel body"]
)
def test_carbide_at_the_cutting_end_is_no_carbide_shank(material):
    assert not is_carbide_shank(material)


@pytest.mark.parametrize(
    ("pattern", "missing"), [("not_used", None), ("B", "stop_hard"), (None, "stop_hard")]
)
def test_no_stud_is_missed_where_the_drawbar_takes_none(pattern, missing):
    built = changed(BY_CLAMPING["shrink"], "holder", interface="Morse 3")
    built = changed(built, "machine", interface="Morse 3", stud_pattern=pattern)
    found = trouble(replace(built, stud=StudPart(StudState.NONE_FITTED)))
    assert found.get("stud.missing") == missing
    assert found["stud.need_not_known"] == "unknown"


@pytest.mark.parametrize(
    ("clamping", "values", "code"),
    [
        ("collet", {"max_mass_g": 959}, "envelope.mass_over"),
        ("shrink", {"max_moment_mnm": 666}, "envelope.moment_over"),
    ],
)
def test_two_figures_that_differ_never_print_alike(clamping, values, code):
    found = judged(changed(BY_CLAMPING[clamping], "machine", **values))
    text = next(f.text for f in found if f.code == code)
    first, second = (part.split(". ")[0] for part in text.split(" limit "))
    assert first.split()[-2] != second.split()[0].rstrip(".")


def test_a_stick_out_above_its_limit_prints_as_more():
    built = changed(BY_CLAMPING["milling_chuck"], "figures", stickout_um=72_001)
    text = next(f.text for f in judged(built) if f.code == "stickout.long")
    assert text.startswith("Stick-out 6.1 ×")


def test_a_least_grip_that_is_not_known_is_read_and_not_measured():
    built = changed(BY_CLAMPING["milling_chuck"], "holder", grip_min_um=None)
    found = next(f for f in judged(built) if f.code == "grip.need_not_known")
    assert found.remedy.startswith("Read it")
