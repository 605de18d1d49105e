"""What to tighten to, before anybody pulls: the mark first, the usual figure with its spread."""

from decimal import Decimal

import pytest

from assemblies.rules.stack import CutterPart, HolderPart, NutPart, Stack
from assemblies.rules.torque_aim import TorqueAim, aim_lines, tightened, torque_aim
from crib.reference import torque_bands

BANDS = torque_bands()
#: N·m of one lbf·ft: 4.448 221 615 260 5 N times 0.3048 m, both exact by definition.
NM_PER_LBF_FT = Decimal("4.4482216152605") * Decimal("0.3048")


def aim(series="ER32", nut_type="standard", shank_um=12_000, **nut):
    nut = NutPart(series=series, nut_type=nut_type, **nut)
    return torque_aim(Stack(nut=nut, cutter=CutterPart(shank_um=shank_um)), BANDS)


@pytest.mark.parametrize(
    ("series", "shank_um", "low_lbf_ft", "high_lbf_ft"),
    [
        ("ER20", 10_000, 50, None),
        ("ER25", 12_000, 70, 80),
        ("ER32", 12_000, 90, 110),
        ("ER40", 20_000, 100, 130),
        ("ER50", 20_000, 140, None),
    ],
)
def test_the_spread_begins_and_ends_where_the_public_chart_does(
    series, shank_um, low_lbf_ft, high_lbf_ft
):
    """A public chart for solid nuts in lbf·ft; where ours is higher, ours ends the spread."""
    said = aim(series, shank_um=shank_um)
    assert said.found_low_mnm == round(low_lbf_ft * NM_PER_LBF_FT) * 1000
    if high_lbf_ft is not None:
        assert said.found_high_mnm in (
            round(high_lbf_ft * NM_PER_LBF_FT) * 1000,
            said.aim_mnm,
        )


def test_the_usual_figure_names_its_origin_and_how_far_texts_differ():
    said = aim()
    assert (said.aim_mnm, said.most_mnm, said.is_marked) == (136_000, 170_000, False)
    first, *rest = aim_lines(said)
    assert first == "Tighten the nut to 136 N·m, at most 170: usual figure, no mark recorded."
    assert any("122 to 149" in line for line in rest)


def test_a_mark_on_the_nut_beats_the_table_and_reduces_nothing():
    said = aim(shank_um=2_000, recommended_mnm=80_000, max_mnm=100_000)
    assert (said.aim_mnm, said.most_mnm, said.is_marked) == (80_000, 100_000, True)
    assert said.full_mnm is None
    assert aim_lines(said)[0].endswith("marked on it.")


@pytest.mark.parametrize(
    ("shank_um", "aim_mnm", "full_mnm"),
    [
        (4_500, 56_000, 104_000),
        (4_501, 80_000, 104_000),
        (7_500, 80_000, 104_000),
        (7_501, 104_000, None),
    ],
)
def test_the_reduction_for_a_small_shank_is_named(shank_um, aim_mnm, full_mnm):
    """ER25, the bands of the shop table (from memory): more above 7.5 mm than below."""
    said = aim("ER25", shank_um=shank_um)
    assert (said.aim_mnm, said.full_mnm) == (aim_mnm, full_mnm)
    assert any("small shank" in line for line in aim_lines(said)) is (full_mnm is not None)


@pytest.mark.parametrize(("shank_um", "below_um"), [(13_999, 14_000), (14_000, None)])
def test_the_chart_for_small_shanks_is_told_below_its_limit_only(shank_um, below_um):
    assert aim(shank_um=shank_um).chart_below_um == below_um


def test_a_nut_that_no_table_knows_has_no_aim_and_says_so():
    said = aim("ER99")
    assert said.aim_mnm is None
    assert "No torque on record" in aim_lines(said)[0]


def test_a_nut_without_a_shank_has_no_aim_but_its_mark():
    nut = NutPart(series="ER32", nut_type="standard")
    assert torque_aim(Stack(nut=nut), BANDS).aim_mnm is None
    marked = NutPart(series="ER32", nut_type="standard", recommended_mnm=90_000)
    assert torque_aim(Stack(nut=marked), BANDS).aim_mnm == 90_000


@pytest.mark.parametrize(
    ("clamping", "what"),
    [
        ("collet", "nut"),
        ("side_lock", "screw"),
        ("hydraulic", "screw"),
        ("arbor", "screw"),
        ("shrink", "nothing"),
        ("milling_chuck", "nothing"),
        ("drill_chuck", "nothing"),
        ("tap", "nothing"),
        (None, "nut"),
    ],
)
def test_what_is_tightened_follows_from_the_way_of_clamping(clamping, what):
    assert tightened(HolderPart(clamping=clamping)) == what


def test_without_a_holder_a_torque_is_asked_for():
    assert tightened(None) == "nut"


def test_a_marked_screw_is_tightened_wherever_it_is():
    holder = HolderPart(clamping="milling_chuck", screw_torque_mnm=6_000)
    said = torque_aim(Stack(holder=holder), BANDS)
    assert (said.tightens, said.aim_mnm) == ("screw", 6_000)


def test_a_screw_without_a_mark_is_not_given_the_torque_of_a_nut():
    holder = HolderPart(clamping="side_lock")
    said = torque_aim(Stack(holder=holder, nut=NutPart(series="ER32")), BANDS)
    assert (said.tightens, said.aim_mnm) == ("screw", None)
    assert "clamping screw" in aim_lines(said)[0]


def test_where_nothing_is_tightened_nothing_is_said():
    assert aim_lines(torque_aim(Stack(holder=HolderPart(clamping="shrink")), BANDS)) == ()
    assert aim_lines(TorqueAim()) == ()
