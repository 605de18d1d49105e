"""The order of assembly: each way of clamping has its own, with the numbers of the very stack."""

from dataclasses import replace

import pytest

from assemblies.rules.build_steps import StepNumbers, build_steps, least_grip_um
from assemblies.rules.cautions import BUILD_STEPS, bench_cautions
from assemblies.rules.stack import (
    BuildFigures,
    ColletPart,
    CutterPart,
    HolderPart,
    NutPart,
    ShopLimits,
    SleevePart,
    Stack,
)
from assemblies.rules.torque_aim import TorqueAim
from crib.reference import tables
from crib.rules.standards import CLAMPING_KINDS

COLLET = ColletPart(series="ER32", clamp_max_um=12_000, clamp_min_um=11_000, length_um=40_000)
CUTTER = CutterPart(shank_um=12_000, plain_shank_um=41_000, overall_um=83_000)
IN_A_COLLET = Stack(
    holder=HolderPart(clamping="collet", series="ER32"),
    collet=COLLET,
    nut=NutPart(series="ER32"),
    cutter=CUTTER,
)
NOTHING_KNOWN = StepNumbers()
NUMBERS = StepNumbers(26_667, TorqueAim("nut", 136_000), "W-1", 121_500)


def steps(stack, numbers=NOTHING_KNOWN):
    return {step.key: step for step in build_steps(stack, numbers)}


def held(clamping, **facts):
    return Stack(holder=HolderPart(clamping=clamping, **facts), cutter=CUTTER)


#: Order of doing it; common practice, held against the makers' usual books from memory.
WALKS = {
    "collet": "clean snap start insert by_hand torque measure label",
    "side_lock": "clean open insert seat torque measure label",
    "shrink": "clean heat insert cool measure label",
    "hydraulic": "clean open insert torque measure label",
    "milling_chuck": "clean open insert close measure label",
    "arbor": "clean keys seat by_hand torque measure label",
    "drill_chuck": "clean insert close key_out measure label",
    "tap": "clean insert secure float measure label",
}


def test_every_way_of_clamping_has_its_walk():
    assert set(WALKS) == set(CLAMPING_KINDS)


@pytest.mark.parametrize("clamping", WALKS)
def test_the_steps_come_in_the_order_of_doing_them(clamping):
    assert list(steps(held(clamping))) == WALKS[clamping].split()


@pytest.mark.parametrize("stack", [Stack(), Stack(holder=HolderPart())])
def test_without_a_way_of_clamping_the_general_steps_stand(stack):
    assert [step.text for step in build_steps(stack, StepNumbers())] == list(BUILD_STEPS)


def test_the_numbers_of_the_stack_stand_in_the_steps():
    stack = replace(IN_A_COLLET, figures=BuildFigures(stickout_um=45_000))
    said = steps(stack, NUMBERS)
    assert "12–11" in said["snap"].text
    assert "at least 26.7 mm" in said["insert"].text
    assert "Stick-out 45.0 mm" in said["insert"].text
    assert "wrench W-1 to 136 N·m" in said["torque"].text
    assert "dial in 121.5 N·m" in said["torque"].text
    assert {step.gap for step in said.values()} == {""}


def test_without_an_adapter_nothing_else_is_dialled_in():
    said = steps(IN_A_COLLET, replace(NUMBERS, setting_mnm=136_000))
    assert "dial in" not in said["torque"].text


def test_a_number_that_is_not_known_is_said_to_be_missing():
    said = steps(IN_A_COLLET)
    assert said["insert"].gap == "least grip not known"
    assert said["torque"].gap == "torque not known"


def test_a_collet_is_in_its_nut_before_anything_else_goes_on_the_nose():
    keys = list(steps(IN_A_COLLET))
    assert keys.index("snap") < keys.index("start") < keys.index("insert") < keys.index("torque")


@pytest.mark.parametrize("clamping", ["side_lock", "hydraulic", "milling_chuck"])
def test_a_sleeve_goes_in_before_the_shank(clamping):
    sleeve = replace(held(clamping), sleeve=SleevePart())
    keys = list(steps(sleeve))
    assert keys.index("sleeve") < keys.index("insert")
    assert "sleeve" in steps(sleeve)["clean"].text


def test_a_chuck_that_stays_closed_is_never_tightened_empty():
    for clamping in ("hydraulic", "milling_chuck"):
        assert "empty" in steps(held(clamping))["open"].text


def test_a_hydraulic_screw_is_turned_to_its_stop_with_a_torque_only_where_one_is_marked():
    plain = steps(held("hydraulic"), StepNumbers(aim=TorqueAim("screw")))["torque"]
    assert ("N·m" in plain.text, plain.gap) == (False, "")
    marked = steps(held("hydraulic"), StepNumbers(aim=TorqueAim("screw", 6_000)))["torque"]
    assert "6 N·m" in marked.text


@pytest.mark.parametrize(("seats", "words"), [(1, "the insert"), (4, "all 4 inserts")])
def test_inserts_are_seated_before_the_cutter_is_held(seats, words):
    stack = replace(held("arbor"), cutter=CutterPart(bore_um=22_000, insert_seats=seats))
    said = steps(stack)
    assert words in said["inserts"].text
    assert list(said).index("inserts") < list(said).index("seat")


def test_a_sealing_disk_is_put_in_with_its_range():
    sealed = NutPart(series="ER32", sealed=True, seal_max_um=12_000, seal_min_um=11_500)
    said = steps(replace(IN_A_COLLET, nut=sealed))
    assert "12–11.5" in said["seal"].text


# ---- least grip
@pytest.mark.parametrize(
    ("stack", "least_um"),
    [
        # Two thirds of a collet 40 mm long, worked by hand: 26.667 mm.
        (IN_A_COLLET, 26_667),
        (replace(IN_A_COLLET, cutter=replace(CUTTER, marked_grip_um=30_000)), 30_000),
        (replace(IN_A_COLLET, collet=None), None),
        (held("arbor"), None),
        (Stack(), None),
    ],
)
def test_the_least_grip_is_that_of_the_grip_rules(stack, least_um):
    assert least_grip_um(stack, ShopLimits(), tables()) == least_um


# ---- cautions
def test_cautions_speak_of_the_way_of_clamping_in_hand():
    def words(clamping):
        return " ".join(bench_cautions(clamping, "26.7"))

    assert "Heat-proof gloves" in words("shrink")
    assert "Heat-proof gloves" not in words("collet")
    assert "torque wrench" not in words("shrink")
    assert "smaller shank" not in words("side_lock")
    assert "at least 26.7 mm" in words("hydraulic")
    assert "at least" not in words("arbor")
    assert words(None) == words("collet")


def test_a_caution_without_its_number_is_left_out():
    assert not [text for text in bench_cautions("collet") if "{" in text]
    assert len(bench_cautions("collet")) == len(bench_cautions("collet", "26.7")) - 1
