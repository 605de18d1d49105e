"""Estimates of one assembly: what they say, what they leave out, and what they do not know."""

from __future__ import annotations

from dataclasses import replace
from uuid import uuid4

import pytest
from django.template.loader import render_to_string

from assemblies.actions.build import start_rebuild
from assemblies.actions.estimates import cut_of, estimates_of
from assemblies.actions.stack_facts import parts_of, stack_of
from assemblies.models import Build
from assemblies.rules.stack import ShopLimits
from assemblies.rules.sums.estimates import (
    EstimateFacts,
    LifeSoFar,
    ProgramCut,
    bending,
    chip_load,
    estimates,
    largest_chip_um,
    life_so_far,
    rim_speed,
    runout_share,
)
from crib.models import Act, Use
from tests import assembly_makers as made
from tests import makers

CUT = ProgramCut("T5 in P A", 18_000, 18_000, 3_600)
FULL = EstimateFacts(
    kind="compression",
    diameter_um=12_000,
    teeth=2,
    stickout_um=60_000,
    compared_um=50_000,
    compared_with="revision r1",
    runout_um=10,
    cut=CUT,
    lives=(LifeSoFar("collet C-06", 19_800, 30_000, ("Entered by hand",)),),
)


def but(**changed) -> EstimateFacts:
    return replace(FULL, **changed)


def test_with_every_fact_known_nothing_is_missing():
    made_of = estimates(FULL)
    assert [one.code for one in made_of] == [
        "estimate.bending",
        "estimate.chip_load",
        "estimate.runout_share",
        "estimate.rim_speed",
        "estimate.life",
    ]
    assert all(one.is_known and not one.missing for one in made_of)
    assert all(one.formula and one.source and one.assumed for one in made_of)


@pytest.mark.parametrize(
    ("kind", "has_bore", "left_out"),
    [
        ("drill", False, {"estimate.bending"}),
        ("reamer", False, {"estimate.bending"}),
        ("tap", False, {"estimate.bending", "estimate.chip_load", "estimate.runout_share"}),
        ("probe", False, {"estimate.bending", "estimate.chip_load", "estimate.runout_share"}),
        ("face_mill", True, {"estimate.bending"}),
        ("face_mill", False, set()),
    ],
)
def test_what_means_nothing_for_a_cutter_is_left_out(kind, has_bore, left_out):
    all_codes = {one.code for one in estimates(FULL)}
    found = {one.code for one in estimates(but(kind=kind, has_bore=has_bore))}
    assert all_codes - found == left_out


@pytest.mark.parametrize(
    ("rule", "changed", "missing"),
    [
        (bending, {"stickout_um": None}, "stick-out"),
        (bending, {"compared_um": None}, "a stick-out to compare with"),
        (chip_load, {"teeth": None}, "number of teeth"),
        (chip_load, {"teeth": 0}, "number of teeth"),
        (chip_load, {"cut": None}, "a program that it is built for"),
        (chip_load, {"cut": ProgramCut("T5", 18_000, 18_000)}, "feed in the program"),
        (chip_load, {"cut": ProgramCut("T5", None, None, 900)}, "speed in the program"),
        (runout_share, {"runout_um": None}, "runout"),
        (runout_share, {"cut": None}, "chip load"),
        (rim_speed, {"diameter_um": None}, "cutting diameter"),
        (rim_speed, {"cut": None}, "a program that it is built for"),
        (rim_speed, {"cut": ProgramCut("T5")}, "speed in the program"),
    ],
)
def test_what_was_not_known_is_named_and_nothing_is_claimed(rule, changed, missing):
    found = rule(but(**changed))
    assert not found.is_known
    assert missing in found.missing


def test_a_life_without_minutes_is_not_called_new():
    found = life_so_far([LifeSoFar("cutter K-1", None, None)])
    assert (found.text, found.missing) == ("", ("minutes of cutter K-1",))


def test_a_life_without_a_limit_says_so():
    found = life_so_far([LifeSoFar("cutter K-1", 90, None, ("Entered by hand",))])
    assert found.text == "cutter K-1: about 1.5 h, no limit recorded (entered by hand)."


@pytest.mark.parametrize(
    ("cut", "chip_um"),
    [
        (ProgramCut("T5", 18_000, 18_000, 3_600), 100),
        # The thickest chip is the fastest feed at the slowest speed.
        (ProgramCut("T5", 18_000, 9_000, 3_600), 200),
        (ProgramCut("T5", feed_per_turn_mm=0.5), 250),
        (ProgramCut("T5", 18_000, 18_000, 3_600, 0.5), 250),
        (ProgramCut("T5", 18_000, 0, 3_600), None),
    ],
)
def test_the_chip_load_is_the_largest_that_the_program_asks_for(cut, chip_um):
    assert largest_chip_um(but(cut=cut)) == chip_um


@pytest.mark.parametrize(
    ("runout_um", "word"),
    [(10, "small"), (11, "noticeable"), (25, "noticeable"), (26, "large"), (0, "small")],
)
def test_runout_is_weighed_by_the_chip(runout_um, word):
    assert runout_share(but(runout_um=runout_um)).text.endswith(f"{word}.")


def test_a_program_that_was_not_fully_read_leaves_a_doubt():
    doubtful = ProgramCut("T5", 18_000, 18_000, 3_600, exact=False)
    assert chip_load(but(cut=doubtful)).lines
    assert not chip_load(FULL).lines


def test_a_longer_stickout_is_compared_by_its_third_power():
    assert "1.7 times" in bending(FULL).text
    assert "Bends as far as" in bending(but(stickout_um=50_000)).text
    assert "0.58 times" in bending(but(stickout_um=50_000, compared_um=60_000)).text


@pytest.mark.parametrize(
    ("diameter_um", "shank_um", "line"),
    [
        (12_000, 12_000, "Stick-out is 5 times Ø 12.00."),
        (20_000, 12_000, "Stick-out is 5 times Ø 12.00."),
        (6_000, 12_000, "Stick-out is 10 times Ø 6.00."),
        (12_000, None, "Stick-out is 5 times Ø 12.00."),
    ],
)
def test_the_thinner_of_cutter_and_shank_counts_against_the_stickout(diameter_um, shank_um, line):
    assert bending(but(diameter_um=diameter_um, shank_um=shank_um)).lines == (line,)


# ---- rows of the database
@pytest.fixture
def assembly(db):
    return made.released()


def of(assembly, call=None, **handed_in):
    build = Build.objects.select_related("assembly", "meant_for__revision__program").get(
        assembly=assembly, live=True
    )
    return {one.code: one for one in estimates_of(build, call, **handed_in)}


def meant_for(assembly, **changed):
    wanted = made.confirm(made.revision(), **changed)
    Build.objects.filter(assembly=assembly, live=True).update(meant_for=wanted)
    return wanted


def test_an_empty_draft_has_no_estimates(db):
    assert of(made.started()) == {}


def test_a_build_that_is_meant_for_nothing_names_what_it_lacks(assembly):
    found = of(assembly)
    assert not found["estimate.chip_load"].is_known
    assert not found["estimate.life"].is_known
    assert not found["estimate.bending"].is_known


def test_a_build_is_estimated_for_the_tool_number_it_is_meant_for(assembly):
    wanted = meant_for(assembly, stickout_min_um=40_000, stickout_max_um=50_000)
    found = of(assembly)
    assert found["estimate.chip_load"].text == f"Up to 0.111 mm a tooth in T5 in {wanted.revision}."
    assert "7.2 % of the chip load" in found["estimate.runout_share"].text
    assert "11.3 m/s at S18000" in found["estimate.rim_speed"].text
    assert (
        "1.6 times as far as at 40.0 mm (shortest that T5 allows)" in found["estimate.bending"].text
    )


def test_another_program_can_be_handed_in(assembly):
    assert "T9 in Z" in of(assembly, ProgramCut("T9 in Z", 9_000))["estimate.rim_speed"].text


def test_a_tool_number_that_the_program_never_calls_has_no_cut(assembly):
    wanted = made.confirm(made.revision(), tool_number=7)
    assert cut_of(wanted) is None


def test_the_revision_before_is_compared_while_the_cutter_is_the_same(assembly):
    start_rebuild(by=made.toolroom(), submission=uuid4(), assembly=assembly, reason="shorter")
    made.set_figures(assembly, stickout_um=40_000)
    found = of(assembly)["estimate.bending"]
    assert "as at 47.0 mm (revision r1)" in found.text
    Build.objects.get(assembly=assembly, live=True).parts.filter(role="cutter").update(
        item=makers.cutter_item(), piece=None
    )
    assert not of(assembly)["estimate.bending"].is_known


def test_hours_are_those_charged_to_the_marked_parts_with_their_basis(assembly):
    piece = Build.objects.get(assembly=assembly, live=True).parts.get(role="collet").piece
    act = Act.objects.first()
    for minutes, basis in ((12_000, "by_hand"), (6_000, "by_hand"), (1_800, "estimate")):
        Use.objects.create(piece=piece, minutes=minutes, basis=basis, act=act)
    found = of(assembly)["estimate.life"]
    assert f"collet {piece.mark}: about 330 of 500 h" in found.text
    assert "entered by hand, estimate from time in the spindle" in found.text
    assert len(found.missing) == 1  # the cutter's minutes


def test_a_page_that_has_the_facts_already_asks_three_more_questions(
    assembly, django_assert_num_queries
):
    meant_for(assembly)
    build = Build.objects.select_related("meant_for__revision__program").get(
        assembly=assembly, live=True
    )
    handed_in = {"stack": stack_of(build), "parts": parts_of(build), "limits": ShopLimits()}
    with django_assert_num_queries(3):
        estimates_of(build, **handed_in)


def _split(found) -> dict:
    """What the assembly page hands to the card."""
    return {
        "estimates": [one for one in found if one.is_known],
        "lacking": [one for one in found if not one.is_known],
    }


def test_the_card_marks_each_figure_and_names_what_is_not_known(assembly):
    meant_for(assembly)
    found = list(of(assembly).values())
    page = render_to_string("assemblies/_estimates.html", _split(found))
    assert page.count(">Estimate<") == sum(one.is_known for one in found)
    assert "minutes of collet" in page
    assert render_to_string("assemblies/_estimates.html", _split([])).strip() == ""
