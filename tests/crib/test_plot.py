"""Plots: ticks that read well, everything on the paper, marks told apart, no style in the SVG.

Outside check of the ticks: P. Heckbert, "Nice numbers for graph labels" (Graphics Gems, 1990), from
memory: data from 105 to 543 are labelled 100, 200 … 600 in steps of 100.
"""

import itertools
import re
from datetime import date, timedelta
from decimal import Decimal
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as some

from crib.rules.plot import (
    HEIGHT,
    LEFT,
    RIGHT,
    TOP,
    WIDTH,
    WORD_HEIGHT,
    Level,
    Line,
    Mark,
    Point,
    Scale,
    Series,
    plot_of,
)
from crib.rules.plot_svg import mark_svg, plot_svg
from crib.rules.plot_ticks import day_ticks, number_ticks, round_step

MM = Scale("mm", 1000)


# ---- ticks
def test_the_published_example():
    assert number_ticks((Decimal(105), Decimal(543)), 5) == [Decimal(n * 100) for n in range(1, 7)]


@pytest.mark.parametrize(
    ("low", "high", "ticks"),
    [
        ("0", "0.015", ["0.000", "0.005", "0.010", "0.015"]),
        ("0.008", "0.008", ["0.00790", "0.00795", "0.00800", "0.00805", "0.00810"]),
        ("-3", "4", ["-4", "-2", "0", "2", "4"]),
        ("0", "0", ["-1.0", "-0.5", "0.0", "0.5", "1.0"]),
        ("97", "97.03", ["97.000", "97.005", "97.010"]),
    ],
)
def test_steps_are_one_two_or_five(low, high, ticks):
    assert [str(t) for t in number_ticks((Decimal(low), Decimal(high)), 6)][: len(ticks)] == ticks


@given(
    some.decimals(-(10**6), 10**6, places=3), some.decimals(0, 10**6, places=3), some.integers(2, 9)
)
def test_ticks_hold_both_ends_and_are_not_many(low, span, most):
    ticks = number_ticks((low, low + span), most)

    assert ticks[0] <= low
    assert ticks[-1] >= low + span
    assert 2 <= len(ticks) <= most + 2
    assert len({b - a for a, b in itertools.pairwise(ticks)}) == 1


@pytest.mark.parametrize(("span", "most"), [(0, 5), (-1, 5), (1, 0)])
def test_nothing_is_not_parted(span, most):
    with pytest.raises(ValueError, match="nothing"):
        round_step(Decimal(span), most)


@pytest.mark.parametrize(
    ("first", "last", "texts"),
    [
        (date(2026, 5, 1), date(2026, 5, 1), ["1 May"]),
        (date(2026, 5, 1), date(2026, 5, 3), ["1 May", "2 May", "3 May"]),
        (date(2026, 5, 4), date(2026, 6, 1), ["4 May", "11 May", "18 May", "25 May", "1 Jun"]),
        (date(2026, 5, 5), date(2026, 6, 1), ["11 May", "18 May", "25 May", "1 Jun"]),
        (date(2026, 1, 1), date(2026, 5, 31), ["Jan", "Feb", "Mar", "Apr", "May"]),
        (date(2025, 11, 2), date(2026, 9, 30), ["Jan", "Mar", "May", "Jul", "Sep"]),
        (date(2024, 5, 2), date(2026, 4, 30), ["Jul", "Jan", "Jul", "Jan"]),
        (date(2021, 1, 1), date(2026, 4, 30), ["2021", "2022", "2023", "2024", "2025", "2026"]),
        (date(2001, 6, 1), date(2026, 4, 30), ["2005", "2010", "2015", "2020", "2025"]),
    ],
)
def test_days_are_marked_by_the_calendar(first, last, texts):
    marks = [tick.text for tick in day_ticks(first, last)]

    assert [mark if len(mark) != 8 else mark[:3] for mark in marks] == texts


@given(some.dates(date(1990, 1, 1), date(2090, 1, 1)), some.integers(0, 20_000))
def test_day_ticks_lie_between_their_ends_and_are_at_most_six(first, span):
    last = first + timedelta(days=span)
    places = [tick.at for tick in day_ticks(first, last)]

    assert len(places) <= 6
    assert all(first.toordinal() <= place <= last.toordinal() for place in places)
    assert places == sorted(set(places))


# ---- shapes
DAY = date(2026, 5, 1).toordinal()
points = some.lists(
    some.tuples(some.floats(700_000, 760_000), some.integers(0, 10**7)), min_size=1, max_size=12
)


@given(points, some.lists(some.integers(0, 10**7), max_size=3), some.booleans())
def test_every_point_and_level_is_on_the_paper(places, levels, by_days):
    plot = plot_of(
        [Series("r", tuple(Point(*place) for place in places))],
        [Level(y, "limit") for y in levels],
        MM,
        by_days=by_days,
    )

    corners = [(mark.x, mark.y) for mark in plot.marks]
    corners += [corner for line in plot.lines if line.look != "axis" for corner in line.points]
    assert len(plot.marks) == len(places)
    assert all(LEFT <= x <= WIDTH - RIGHT and TOP <= y <= HEIGHT for x, y in corners)


def test_higher_is_higher_and_later_is_further_right():
    one, two = plot_of([Series("r", (Point(DAY, 8), Point(DAY + 9, 12)))], [], MM).marks

    assert two.x > one.x
    assert two.y < one.y


def test_half_the_way_up_the_scale_is_half_the_way_up_the_paper():
    scale = Scale("mm", 1000, starts_at_zero=True)
    plot = plot_of([Series("r", (Point(1, 0), Point(2, 10), Point(3, 20)))], [], scale)
    low, middle, high = (mark.y for mark in plot.marks)

    assert middle == pytest.approx((low + high) / 2, abs=0.01)


def test_without_a_point_there_is_no_plot():
    assert plot_of([Series("r", ())], [Level(15, "limit")], MM) is None


def test_the_unit_stands_once_and_inches_are_inches():
    for scale, top in ((MM, "26.0 mm"), (Scale("in", 25_400), "1.020 in")):
        words = plot_of([Series("r", (Point(1, 25_400), Point(2, 25_908)))], [], scale).words
        assert [w.text for w in words if w.text.endswith(scale.unit)] == [top]


@pytest.mark.parametrize(("from_zero", "ends"), [(False, (95, 105)), (True, (0, 100))])
def test_a_flat_row_is_not_blown_up(from_zero, ends):
    scale = Scale("mm", 1, starts_at_zero=from_zero, least_span=10)
    words = plot_of([Series("r", (Point(1, 100), Point(2, 100)))], [], scale).words
    figures = [float(w.text.split()[0]) for w in words if w.anchor == "end"]

    assert (min(figures), max(figures)) == pytest.approx(ends, abs=1)


def test_names_of_levels_never_overlap():
    levels = [Level(y, f"limit {y}") for y in (15, 14, 13, 2)]
    plot = plot_of([Series("r", (Point(1, 1), Point(2, 1000)))], levels, MM)
    heights = sorted(word.y for word in plot.words if word.text.startswith("limit"))

    gaps = [b - a for a, b in itertools.pairwise(heights)]
    assert min(gaps) >= WORD_HEIGHT


# ---- SVG
def written(name='Runout <1044> & "r3"'):
    series = [
        Series(f"{name} {mark}", (Point(DAY + n, n), Point(DAY + n + 5, n)), mark)
        for n, mark in enumerate(Mark)
    ]
    levels = [Level(n, f"{name} {line}", line) for n, line in enumerate(Line)]
    return plot_svg(plot_of(series, levels, MM), key="p", title=name, description=name)


def test_the_svg_is_sound_named_and_free_of_style_and_script():
    text = written()
    root = ElementTree.fromstring(text)

    assert [child.tag for child in root][:2] == ["title", "desc"]
    assert root.attrib["role"] == "img"
    assert root.attrib["aria-labelledby"].split() == ["p-name", "p-text"]
    assert not re.search(r"style=|<script|<style|on\w+=|href", text)


def test_each_series_has_a_form_of_its_own():
    forms = {mark_svg(mark) for mark in Mark}

    assert len(forms) == len(Mark)
    assert all(ElementTree.fromstring(form).tag == "svg" for form in forms)
