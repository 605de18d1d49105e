"""Each way of clamping: whole stacks that pass, and what is missed when a fact is not recorded."""

from dataclasses import fields, replace

import pytest

from assemblies.rules.fit import seat_findings, stack_findings
from assemblies.rules.stack import (
    BuildFigures,
    ColletPart,
    CutterPart,
    HolderPart,
    NutPart,
    ShopLimits,
    SleevePart,
    Stack,
    Stage,
)
from crib.rules.finding import Level
from crib.rules.standards import CLAMPING_KINDS, SLEEVED
from tests.assemblies.stacks import (
    ARBOR_STACK,
    BY_CLAMPING,
    COLLET,
    END_MILL,
    FACE_MILL,
    HYDRAULIC_SLEEVE,
    NUT,
    STACK,
    TABLES,
    levels,
    troubles,
)

LIMITS = ShopLimits()


def seats(built):
    return troubles(seat_findings(built, LIMITS, TABLES))


def found(built, stage=Stage.RELEASE):
    return troubles(stack_findings(built, LIMITS, stage, TABLES))


def without(built, path):
    part, name = path.split(".")
    return replace(built, **{part: replace(getattr(built, part), **{name: None})})


def test_every_way_of_clamping_has_its_whole_stack():
    assert set(BY_CLAMPING) == set(CLAMPING_KINDS)
    assert {name for name, built in BY_CLAMPING.items() if built.sleeve} <= SLEEVED


@pytest.mark.parametrize("clamping", CLAMPING_KINDS)
@pytest.mark.parametrize("stage", Stage)
def test_a_stack_in_which_everything_agrees_passes(clamping, stage):
    findings = stack_findings(BY_CLAMPING[clamping], LIMITS, stage, TABLES)
    assert troubles(findings) == {}
    assert sum(f.level == Level.PASS for f in findings) > 10


#: Facts without which nobody can say whether the parts go together.
NEEDED_BY_SEAT = {
    "collet": "holder.series holder.nose_thread collet.series collet.clamp_max_um"
    " collet.clamp_min_um nut.series nut.thread cutter.shank_um",
    "arbor": "holder.bore_um holder.key_um cutter.keyway_um cutter.bore_um",
    "side_lock": "holder.bore_um cutter.shank_form",
    "hydraulic": "holder.bore_um cutter.shank_form sleeve.suits sleeve.outer_um sleeve.bore_um",
    "shrink": "holder.bore_um cutter.shank_form cutter.material",
    "milling_chuck": "holder.bore_um",
    "drill_chuck": "holder.bore_um holder.bore_min_um cutter.kind",
    "tap": "holder.bore_um holder.square_um cutter.square_um cutter.kind",
}
SEAT_FACTS = [(seat, path) for seat, paths in NEEDED_BY_SEAT.items() for path in paths.split()]


@pytest.mark.parametrize(("clamping", "path"), SEAT_FACTS)
def test_a_fact_of_the_seat_that_is_missing_is_unknown(clamping, path):
    assert "unknown" in seats(without(BY_CLAMPING[clamping], path)).values()


@pytest.mark.parametrize("clamping", sorted(set(CLAMPING_KINDS) - {"collet", "arbor"}))
def test_a_shank_that_is_not_known_fits_no_seat(clamping):
    built = BY_CLAMPING[clamping]
    nameless = replace(built.cutter, shank_um=None, shank_measured_um=None)
    assert "unknown" in seats(replace(built, cutter=nameless)).values()


@pytest.mark.parametrize("clamping", CLAMPING_KINDS)
def test_a_holder_of_which_only_the_clamping_is_known_is_never_passed(clamping):
    built = replace(BY_CLAMPING[clamping], holder=HolderPart(clamping=clamping))
    assert "unknown" in seats(built).values()


#: Figures asked for at release, beside those of every stack.
NEEDED_FIGURES = {
    "arbor": "figures.torque_mnm holder.screw_torque_mnm",
    "side_lock": "figures.torque_mnm holder.screw_torque_mnm figures.grip_um",
    "hydraulic": "figures.grip_um sleeve.length_um",
    "shrink": "figures.grip_um",
    "milling_chuck": "figures.grip_um holder.grip_min_um",
    "drill_chuck": "figures.grip_um holder.max_rpm",
    "tap": "figures.grip_um",
}
FIGURES_BY_SEAT = [(seat, path) for seat, paths in NEEDED_FIGURES.items() for path in paths.split()]


@pytest.mark.parametrize(("clamping", "path"), FIGURES_BY_SEAT)
def test_a_figure_that_is_missing_is_asked_for_at_release(clamping, path):
    assert set(found(without(BY_CLAMPING[clamping], path)).values()) <= {"unknown", "check"}
    assert found(without(BY_CLAMPING[clamping], path))


@pytest.mark.parametrize("clamping", CLAMPING_KINDS)
def test_figures_are_not_asked_for_while_it_is_being_built(clamping):
    fresh = replace(BY_CLAMPING[clamping], figures=BuildFigures(), machine=None, call=None)
    assert found(fresh, Stage.BUILD) == {}
    assert "gauge.not_known" in found(fresh, Stage.RELEASE)


@pytest.mark.parametrize("clamping", sorted(set(CLAMPING_KINDS) - {"collet"}))
def test_only_a_collet_chuck_takes_collet_and_nut(clamping):
    built = replace(BY_CLAMPING[clamping], collet=COLLET, nut=NUT)
    assert seats(built) == {"collet.no_seat": "stop_hard", "nut.no_seat": "stop_hard"}


@pytest.mark.parametrize("clamping", sorted(set(CLAMPING_KINDS) - {"arbor"}))
def test_a_cutter_with_a_bore_needs_an_arbor(clamping):
    assert seats(replace(BY_CLAMPING[clamping], cutter=FACE_MILL))["cutter.no_shank"] == "stop_hard"


def test_a_cutter_with_a_shank_does_not_go_on_an_arbor():
    assert seats(replace(ARBOR_STACK, cutter=END_MILL)) == {"cutter.no_bore": "stop_hard"}


@pytest.mark.parametrize("clamping", sorted(set(CLAMPING_KINDS) - SLEEVED))
def test_a_sleeve_in_a_holder_that_takes_none_is_refused(clamping):
    built = replace(BY_CLAMPING[clamping], sleeve=HYDRAULIC_SLEEVE)
    assert seats(built) == {"sleeve.no_seat": "stop_hard"}


# Common practice: inch and metric shanks that lie side by side.
@pytest.mark.parametrize(
    ("seat_um", "shank_um"),
    [(6_000, 6_350), (6_350, 6_000), (12_000, 12_700), (12_700, 12_000), (10_000, 9_525)],
)
@pytest.mark.parametrize("clamping", ["side_lock", "shrink", "milling_chuck", "tap", "hydraulic"])
def test_an_inch_shank_in_a_metric_bore_is_refused(clamping, seat_um, shank_um):
    built = BY_CLAMPING[clamping]
    cutter = replace(built.cutter, shank_um=shank_um, shank_measured_um=None)
    holder = replace(built.holder, bore_um=seat_um)
    assert seats(replace(built, holder=holder, cutter=cutter, sleeve=None)) == {
        "bore.differs": "stop_hard"
    }


def test_an_inch_shank_in_a_metric_sleeve_is_refused():
    cutter = replace(END_MILL, shank_um=12_700, shank_measured_um=None)
    assert seats(replace(BY_CLAMPING["hydraulic"], cutter=cutter)) == {
        "sleeve.bore_differs": "stop_hard"
    }


def test_parts_are_compared_before_there_is_a_holder():
    early = Stack(collet=COLLET, sleeve=HYDRAULIC_SLEEVE, cutter=CutterPart(shank_um=25_000))
    assert seats(early) == {
        "holder.clamping_not_known": "unknown",
        "collet.shank_too_large": "stop_hard",
        "sleeve.bore_differs": "stop_hard",
    }


def test_the_seat_asks_for_no_figure_and_no_speed():
    bare = replace(STACK, figures=BuildFigures(), machine=None, call=None)
    assert levels(seat_findings(bare, LIMITS, TABLES)) == levels(
        seat_findings(STACK, LIMITS, TABLES)
    )


@pytest.mark.parametrize("clamping", CLAMPING_KINDS)
def test_the_front_door_says_all_that_the_seat_says(clamping):
    built = BY_CLAMPING[clamping]
    whole = stack_findings(built, LIMITS, Stage.RELEASE, TABLES)
    assert [f for f in seat_findings(built, LIMITS, TABLES) if f not in whole] == []


def test_parts_of_nothing_are_unknown_in_every_seat():
    for clamping in CLAMPING_KINDS:
        empty = Stack(
            holder=HolderPart(clamping=clamping),
            collet=ColletPart(),
            nut=NutPart(),
            sleeve=SleevePart(),
            cutter=CutterPart(),
        )
        said = seat_findings(empty, LIMITS, TABLES)
        assert [f.code for f in said if f.level == Level.PASS] == []
        assert "unknown" in levels(said).values()


PARTS = ("holder", "collet", "nut", "sleeve", "cutter", "stud")


@pytest.mark.parametrize("clamping", CLAMPING_KINDS)
def test_what_is_missing_is_never_called_impossible(clamping):
    built = BY_CLAMPING[clamping]
    # A shank known by measuring alone is compared as measured; that is another test.
    built = replace(
        built, coolant_wanted=True, cutter=replace(built.cutter, shank_measured_um=None)
    )
    for part in PARTS:
        whole = getattr(built, part)
        for field in fields(whole) if whole is not None else ():
            lacking = replace(built, **{part: replace(whole, **{field.name: None})})
            stops = {code for code, level in seats(lacking).items() if level.startswith("stop")}
            assert stops == set(), (part, field.name, stops)
