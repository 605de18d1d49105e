"""Estimates look at the worst that was read: runout never seems smaller than it may be."""

import pytest

from assemblies.rules.sums.estimates import (
    EstimateFacts,
    LifeSoFar,
    ProgramCut,
    chip_load,
    life_so_far,
    rim_speed,
    runout_share,
)

#: By hand: 3600 / (2 · 12000) = 0.150 mm and 3600 / (2 · 18000) = 0.100 mm a tooth.
CUT = ProgramCut("T5 in P A", speed_max_rpm=18_000, speed_min_rpm=12_000, feed_max_mm_min=3_600)
FACTS = EstimateFacts(kind="end_mill", diameter_um=12_000, teeth=2, runout_um=12, cut=CUT)


def with_cut(**changed):
    cut = {"speed_max_rpm": 18_000, "speed_min_rpm": 12_000, "feed_max_mm_min": 3_600} | changed
    return EstimateFacts(
        kind="end_mill", diameter_um=12_000, teeth=2, runout_um=12, cut=ProgramCut("T5", **cut)
    )


def test_chip_load_is_the_thickest_and_runout_is_a_share_of_the_thinnest():
    assert chip_load(FACTS).text == "Up to 0.150 mm a tooth in T5 in P A."
    assert runout_share(FACTS).text == "Runout is 12 % of the chip load: noticeable."


def test_teeth_cut_from_the_thinnest_of_the_small_to_the_thickest_of_the_large_chip():
    # Two teeth: 0.100 - 0.012 and 0.150 + 0.012.
    assert runout_share(FACTS).lines[0].startswith("Teeth cut between 0.088 and 0.162 mm")


def test_the_smaller_of_feed_by_the_minute_and_by_the_turn_counts_for_runout():
    assert "24 %" in runout_share(with_cut(feed_per_turn_mm=0.1)).text
    assert "12 %" in runout_share(with_cut(feed_per_turn_mm=0.4)).text


def test_a_speed_known_at_one_end_only_counts_for_runout():
    assert "8 %" in runout_share(with_cut(speed_max_rpm=None)).text


def test_a_program_not_fully_read_is_said_with_every_figure_that_hangs_on_it():
    facts = with_cut(exact=False)
    for estimate in (chip_load(facts), runout_share(facts), rim_speed(facts)):
        assert any("not fully read" in line for line in estimate.lines)


@pytest.mark.parametrize(
    ("used_minutes", "shown"),
    [(30_000, "500 of 500"), (30_001, "501 of 500"), (30_240, "504 of 500"), (90, "1.5 of 500")],
)
def test_a_life_past_its_limit_never_prints_as_the_limit(used_minutes, shown):
    life = LifeSoFar("collet C-06", used_minutes, 30_000, ("Entered by hand",))
    assert f"about {shown} h" in life_so_far([life]).text
