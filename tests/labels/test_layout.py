"""Places of texts: shrinking, ellipsis, drop order, and what is never cut."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labels.rules.layout import (
    CAPITAL,
    ELLIPSIS,
    UM_PER_POINT,
    Content,
    Keep,
    LabelTooSmall,
    Page,
    Row,
    Words,
    cut_text,
    lay_out,
    size_for_capitals,
)

PAGE = Page(57_000, 32_000, 1_000, 18_500, 500)


def measure(text, bold, size_pt):
    """A typeface whose letters are all 0.6 of its size wide."""
    return 0.6 * len(text) * size_pt * UM_PER_POINT


def content(*, body=(), left="1044 r3", cutter="cutter", keep=Keep.CUT):
    return Content(
        head=Row("head", left=(Words(left, 4500, 4000),)),
        body=body,
        feet=(
            Row("parts", left=(Words(cutter, 2200, 2000, keep=keep),)),
            Row("code", right=(Words("7K2M-9QXR-4", 2200, 2000),)),
        ),
        drop_order=("parts",),
    )


def lines(count):
    return tuple(Row(f"line {n}", left=(Words("98.4 mm", 2300, 2200),)) for n in range(count))


def placed(layout, row):
    return next(words for words in layout.placed if words.row == row)


def capital_um(words):
    return words.size_pt * UM_PER_POINT * CAPITAL


@pytest.mark.parametrize("cap_um", [1600, 2000, 2200, 3000, 4000])
def test_a_size_is_the_smallest_quarter_point_that_reaches_the_height(cap_um):
    size = size_for_capitals(cap_um)
    assert size * 4 == int(size * 4)
    assert size * UM_PER_POINT * CAPITAL >= cap_um > (size - 0.25) * UM_PER_POINT * CAPITAL


def test_a_long_number_shrinks_to_its_floor_and_is_whole():
    layout = lay_out(content(left="1044 r3 HOL-071"), PAGE, measure)
    words = placed(layout, "head")
    assert words.text == "1044 r3 HOL-071"
    assert 4000 <= capital_um(words) < 4500


def test_a_number_too_long_at_its_floor_refuses_the_label():
    with pytest.raises(LabelTooSmall, match="1044 r3 HOLDER-0717"):
        lay_out(content(left="1044 r3 HOLDER-0717"), PAGE, measure)


def test_a_long_description_shrinks_then_ends_in_an_ellipsis():
    words = placed(lay_out(content(cutter="compression spiral " * 5), PAGE, measure), "parts")
    assert words.text.endswith(ELLIPSIS)
    assert 2000 <= capital_um(words) < 2200


def test_words_that_are_all_or_nothing_go_and_are_named():
    layout = lay_out(content(cutter="x" * 80, keep=Keep.DROP), PAGE, measure)
    assert layout.dropped == ("parts: " + "x" * 80,)
    assert "parts" not in {words.row for words in layout.placed}


def test_the_first_of_the_drop_order_goes_when_lines_are_many():
    assert lay_out(content(body=lines(5)), PAGE, measure).dropped == ()
    layout = lay_out(content(body=lines(8)), PAGE, measure)
    assert layout.dropped == ("parts",)
    assert {f"line {n}" for n in range(8)} <= {words.row for words in layout.placed}


def test_what_must_stay_and_does_not_fit_refuses_the_label():
    with pytest.raises(LabelTooSmall):
        lay_out(content(body=lines(12)), PAGE, measure)


def test_a_symbol_taller_than_its_room_refuses_the_label():
    with pytest.raises(LabelTooSmall):
        lay_out(content(), Page(57_000, 32_000, 1_000, 25_000, 500), measure)


CUTS = [
    ("compression spiral 12.7 mm", 20, "compression spiral…"),
    ("compression spiral 12.7 mm", 24, "compression spiral…"),
    ("surfacing 1 1/4 in", 11, "surfacing…"),
    ("surfacing 1 1/4 in", 13, "surfacing…"),
    ("ER32 13–12 sealed", 13, "ER32 13–12 se…"),
    ("ER32 13–12 sealed", 9, "…"),
    ("compression spiral", 4, "comp…"),
]


@pytest.mark.parametrize(("text", "length", "cut"), CUTS)
def test_a_cut_never_leaves_part_of_a_number(text, length, cut):
    assert cut_text(text, length) == cut


@given(st.text(alphabet="ab 19./-", min_size=1, max_size=30), st.integers(1, 29))
def test_every_figure_before_an_ellipsis_stood_in_a_whole_word(text, length):
    kept = cut_text(text, length).removesuffix(ELLIPSIS)
    words = text.split(" ")
    assert all(part in words for part in kept.split(" ")[:-1])
    assert len(kept) <= length
    last = kept.split(" ")[-1]
    assert not any(c.isdigit() for c in last)
