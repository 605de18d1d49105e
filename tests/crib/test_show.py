"""How numbers, levels and shapes are printed on a page."""

from __future__ import annotations

import re

import pytest

from crib.rules.finding import Level
from crib.templatetags import show

VERDICT_KEYS = ["match", "check", "stop", "cant_tell"]


@pytest.mark.parametrize(
    ("printed", "wanted"),
    [
        (show.mm(12700), "12.70"),
        (show.mm(45000, 1), "45.0"),
        (show.mm(12713, 1), "12.713"),
        (show.mm(None), "not known"),
        (show.length(12700, True), "12.70 mm = 1/2 in"),
        (show.length(12700), "12.70 mm"),
        (show.length(None, True), "not known"),
        (show.torque(80000), "80 N·m"),
        (show.torque(7500), "7.5 N·m"),
        (show.torque(None), "not known"),
        (show.rpm(18000), "18000 1/min"),
        (show.rpm(0), "0 1/min"),
        (show.rpm(None), "not known"),
        (show.figure(12.7, "mm"), "12.70 mm"),
        (show.figure(0.028, "mm"), "0.028 mm"),
        (show.figure(0.02, "mm"), "0.020 mm"),
        (show.figure(6.355, "mm"), "6.355 mm"),
        (show.figure(12000, "1/min"), "12000 1/min"),
        (show.figure(100.0, "mm"), "100.00 mm"),
        (show.figure(3, ""), "3"),
        (show.figure(None, "mm"), "not known"),
    ],
)
def test_a_number_is_printed_as_people_read_it(printed, wanted):
    assert printed == wanted


def test_every_level_has_a_word_and_a_shape_of_its_own():
    words = {show.level_word(level) for level in Level}
    shapes = {show.level_icon(level) for level in Level}
    assert len(words) == len(shapes) == len(Level)


def test_every_verdict_has_a_shape_of_its_own():
    shapes = {show.verdict_icon(key) for key in VERDICT_KEYS}
    assert len(shapes) == len(show.VERDICT_WORDS) == len(VERDICT_KEYS)


def test_a_frozen_finding_prints_the_same_word_as_a_fresh_one():
    for level in Level:
        assert show.level_word(str(level)) == show.level_word(level)


@pytest.mark.parametrize("printer", [show.level_word, show.level_icon, show.verdict_icon])
def test_a_level_that_is_none_is_refused_rather_than_shown_as_harmless(printer):
    with pytest.raises(KeyError):
        printer("fine")


def test_a_match_and_a_pass_share_the_tick_and_nothing_else_has_it():
    tick = show.verdict_icon("match")
    assert [level for level in Level if show.level_icon(level) == tick] == [Level.PASS]
    assert [key for key in VERDICT_KEYS if show.verdict_icon(key) == tick] == ["match"]


@pytest.mark.parametrize("number", [0, 5, 12, 987, 6543210])
def test_an_engraved_t_number_has_one_stroke_a_sign_and_its_text_for_readers(number):
    drawn = show.engraved_t(number)
    assert f'<span class="visually-hidden">T{number}</span>' in drawn
    assert drawn.count("<path") == len(f"T{number}")


def test_no_two_engraved_figures_are_drawn_alike():
    strokes = [
        re.search(r' d="([^"]+)"', show.engraved_t(n).split("<path")[2])[1] for n in range(10)
    ]
    assert len(set(strokes)) == 10


def test_what_is_no_number_is_never_engraved():
    with pytest.raises(ValueError, match="5A"):
        show.engraved_t("5A")


@pytest.mark.parametrize("level", list(Level))
def test_no_shape_carries_a_style_the_policy_would_refuse(level):
    assert "style" not in show.level_icon(level)
