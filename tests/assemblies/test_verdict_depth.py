"""How deep the program goes, against stick-out and flutes. Depths worked by hand."""

import pytest

from assemblies.rules.depth import Reach, reach_findings, top_of_work_um
from crib.rules.finding import Level


def said(deepest_z_um=-22_000, exact=True, top_um=0, stickout_um=45_000, flute_um=42_000):
    reach = Reach(
        deepest_z_um=deepest_z_um,
        depth_exact=exact,
        top_um=top_um,
        stickout_um=stickout_um,
        flute_um=flute_um,
    )
    return reach_findings(reach)


def codes(findings):
    return [finding.code for finding in findings]


@pytest.mark.parametrize(
    ("stated_um", "zero_is_top", "top_um"),
    [
        (None, True, 0),
        (None, False, None),
        (None, None, None),
        (18_000, False, 18_000),
        (18_000, True, 18_000),
        (0, False, 0),
        (-3_000, True, -3_000),
    ],
)
def test_what_was_stated_for_the_program_comes_before_the_machine(stated_um, zero_is_top, top_um):
    assert top_of_work_um(stated_um, zero_is_top) == top_um


@pytest.mark.parametrize(
    ("deepest_z_um", "top_um", "expected"),
    [
        (-45_000, 0, ["depth.within", "depth.flute"]),
        (-45_001, 0, ["depth.stick_out", "depth.flute"]),
        (-42_000, 0, ["depth.within"]),
        (-42_001, 0, ["depth.within", "depth.flute"]),
        # 18 mm board, zero on the spoil board, 0.2 into it: 18.2 deep
        (-200, 18_000, ["depth.within"]),
        # 50.8 mm board, cut 2 in deep: 50.8
        (0, 50_800, ["depth.stick_out", "depth.flute"]),
        # zero above the work: 3 mm of air do not count
        (-48_000, -3_000, ["depth.within", "depth.flute"]),
        (-48_001, -3_000, ["depth.stick_out", "depth.flute"]),
        (-1, 0, ["depth.within"]),
        (0, 0, ["depth.not_compared"]),
        (5_000, 0, ["depth.not_compared"]),
    ],
)
def test_the_depth_counts_from_the_top_of_the_work(deepest_z_um, top_um, expected):
    assert codes(said(deepest_z_um, top_um=top_um)) == expected


@pytest.mark.parametrize(
    "unknown",
    [{"deepest_z_um": None}, {"top_um": None}, {"deepest_z_um": None, "exact": False}],
)
def test_a_depth_nobody_knows_is_a_note_and_no_agreement(unknown):
    found = said(**unknown)
    assert [(f.code, f.level) for f in found] == [("depth.not_compared", Level.NOTE)]


@pytest.mark.parametrize("exact", [False, None])
def test_at_least_so_deep_never_agrees_but_can_be_too_deep(exact):
    assert codes(said(-22_000, exact)) == ["depth.not_compared"]
    assert codes(said(-45_001, exact)) == ["depth.stick_out", "depth.flute"]


def test_a_tool_without_recorded_lengths_is_not_compared():
    found = said(stickout_um=None, flute_um=None)
    assert [(f.code, f.level) for f in found] == [("depth.not_compared", Level.NOTE)] * 2


def test_too_deep_for_the_stick_out_is_a_check_and_for_the_flutes_a_note():
    levels = {f.code: f.level for f in said(-50_000)}
    assert levels == {"depth.stick_out": Level.CHECK, "depth.flute": Level.NOTE}


def test_each_depth_carries_its_numbers_and_says_where_the_top_is():
    deep, flute = said(-30_000, top_um=18_000)
    assert (deep.measured, deep.limit, deep.unit) == (48.0, 45.0, "mm")
    assert (flute.measured, flute.limit, flute.unit) == (48.0, 42.0, "mm")
    assert all("Z18.0" in finding.remedy for finding in (deep, flute))


@pytest.mark.parametrize("exact", [True, False])
@pytest.mark.parametrize("lengths", [(945_005, 942_005), (None, None), (98_001, 97_001)])
def test_the_longest_sentence_fits_the_screen(lengths, exact):
    stickout_um, flute_um = lengths
    for finding in said(-948_005, exact, stickout_um=stickout_um, flute_um=flute_um):
        assert len(finding.text) <= 70, finding.text
