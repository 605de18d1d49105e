"""The drawing in full: every way of clamping, every kind of cutter, true to its figures."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import fields, replace
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assemblies.reference import nut_size
from assemblies.rules.drawing.paper import placed_in_full
from assemblies.rules.drawing.sheet import SCALES, Anchor, half_width_um
from assemblies.rules.drawing.side import NutForm, SideFacts, Stroke, TaperForm, side_view
from assemblies.rules.drawing.svg import svg_file
from assemblies.rules.drawing.taper import cone_top_um
from crib.rules.cutter_kinds import CUTTER_KINDS
from crib.rules.standards import CLAMPING_KINDS
from tests.assemblies.drawing_stacks import STACKS

each_stack = pytest.mark.parametrize("facts", STACKS.values(), ids=STACKS)
ROOM_UM, LETTER_UM = (124_000, 92_000), 2_200


def full(facts):
    return placed_in_full(side_view(facts), *ROOM_UM, LETTER_UM)


def of(view, stroke):
    return [trace for trace in view.traces if trace.stroke is stroke]


def mirrored(traces):
    return sorted(sorted((-x, y) for x, y in trace.points) for trace in traces)


def as_is(traces):
    return sorted(sorted(trace.points) for trace in traces)


# ---------------------------------------------------------------- all principles
@each_stack
def test_what_is_on_record_is_drawn_solid_and_its_tip_stands_at_the_measured_length(facts):
    view = side_view(facts)
    assert set(view.missing) <= {"body of the cutter"}
    assert max(y for trace in view.traces for _, y in trace.points) == facts.gauge_length_um
    outline = [y for trace in of(view, Stroke.OUTLINE) for _, y in trace.points]
    assert max(outline) == facts.gauge_length_um


@each_stack
def test_an_outline_is_closed_and_the_same_on_both_sides_of_the_axis(facts):
    view = side_view(facts)
    assert all(trace.closed for trace in of(view, Stroke.OUTLINE))
    for stroke in (Stroke.OUTLINE, Stroke.HIDDEN, Stroke.UNKNOWN):
        assert mirrored(of(view, stroke)) == as_is(of(view, stroke))


def test_no_two_ways_of_clamping_look_alike_on_the_same_sizes():
    plain = STACKS["side_lock"]
    looks = [
        frozenset(trace.points for trace in side_view(replace(plain, clamping=way)).traces)
        for way in CLAMPING_KINDS
    ]
    # Each has several lines that the other has not; the rest is the same spindle side and cutter.
    for one, other in itertools.combinations(looks, 2):
        assert min(len(one - other), len(other - one)) >= 2


def test_no_two_spindle_sides_look_alike_on_the_same_sizes():
    plain = STACKS["side_lock"]
    looks = {
        frozenset(trace.points for trace in side_view(replace(plain, taper=form)).traces)
        for form in TaperForm
    }
    assert len(looks) == len(TaperForm)


@each_stack
def test_the_nose_is_as_wide_as_recorded_and_ends_at_the_face(facts):
    face_um = facts.gauge_length_um - facts.stickout_um
    ends = {
        max(x for x, _ in trace.points)
        for trace in of(side_view(facts), Stroke.OUTLINE)
        if any(y <= face_um for _, y in trace.points)
    }
    assert facts.nose_diameter_um // 2 in ends or facts.clamping == "shrink"


#: DIN 69882-8, from memory: 4.5 degrees to each side, measured from the nose upwards.
def test_a_shrink_nose_widens_by_four_and_a_half_degrees():
    facts = STACKS["shrink"]
    (body, *_) = of(side_view(facts), Stroke.OUTLINE)
    (wide, top), (nose, face) = body.points[2], body.points[3]
    assert nose == facts.nose_diameter_um // 2
    assert math.degrees(math.atan((wide - nose) / (face - top))) == pytest.approx(4.5, abs=0.01)


def test_the_shank_inside_is_hidden_and_as_long_as_the_grip():
    for name, facts in STACKS.items():
        if facts.is_arbor:
            continue
        face_um = facts.gauge_length_um - facts.stickout_um
        half = facts.shank_um // 2
        corners = {(-half, face_um - facts.grip_um), (half, face_um)}
        hidden = of(side_view(facts), Stroke.HIDDEN)
        assert any(corners <= set(trace.points) for trace in hidden), name


def test_a_sleeve_is_drawn_round_the_shank_and_dashed_only_where_its_length_is_known():
    facts = STACKS["hydraulic"]
    outer = facts.sleeve_um // 2

    def sleeve(one):
        return [
            trace
            for trace in of(side_view(one), Stroke.HIDDEN)
            if max(x for x, _ in trace.points) == outer
            and trace.points[2][1] - trace.points[1][1] == 50_000
        ]

    assert len(sleeve(facts)) == 1
    unknown = replace(facts, sleeve_length_um=None)
    assert sleeve(unknown) == []
    assert "sleeve length" in side_view(unknown).missing


def test_an_arbor_hides_its_spigot_in_the_cutter_and_shows_its_key():
    facts = STACKS["arbor"]
    face_um = facts.gauge_length_um - facts.stickout_um
    hidden = {trace.points for trace in of(side_view(facts), Stroke.HIDDEN)}
    end = face_um + 19_000
    assert ((-11_000, face_um), (11_000, face_um), (11_000, end), (-11_000, end)) in hidden
    widths = {max(x for x, _ in t.points) for t in of(side_view(facts), Stroke.FORM) if t.closed}
    assert facts.key_um // 2 in widths


@pytest.mark.parametrize(("field", "missing"), [("spigot_um", "spigot"), ("key_um", "key")])
def test_a_spigot_or_key_without_a_size_is_dashed_and_said(field, missing):
    view = side_view(replace(STACKS["arbor"], **{field: None}))
    before = len(of(side_view(STACKS["arbor"]), Stroke.UNKNOWN))
    assert missing in view.missing
    assert len(of(view, Stroke.UNKNOWN)) == before + 1


@pytest.mark.parametrize(
    ("stud", "stroke"),
    [("fitted", Stroke.FORM), ("unknown", Stroke.UNKNOWN), ("none_fitted", None), ("", None)],
)
def test_a_pull_stud_is_drawn_where_one_is_in_and_dashed_where_nobody_said(stud, stroke):
    facts = replace(STACKS["side_lock"], stud=stud)
    view, top = side_view(facts), cone_top_um(facts)
    above = {t.stroke for t in view.traces if t.closed and min(y for _, y in t.points) < top}
    assert above == ({stroke} if stroke else set())
    assert ("pull stud" in view.missing) is (stud == "unknown")


def test_a_way_of_clamping_that_nobody_recorded_is_said_and_its_nose_dashed():
    view = side_view(replace(STACKS["side_lock"], clamping=None))
    assert "way of clamping" in view.missing
    assert of(view, Stroke.UNKNOWN)


# ---------------------------------------------------------------- nuts from the table
#: ISO 15488 series in the trade, from memory of shop tables: the CSV says so with each row.
@pytest.mark.parametrize(
    ("series", "style", "form", "outside_um"),
    [
        ("ER32", "standard", NutForm.SLOTTED, 50_000),
        ("ER11", "standard", NutForm.HEX, 19_000),
        ("ER16", "mini", NutForm.MINI, 22_000),
        ("er 40", "standard", NutForm.SLOTTED, 63_000),
    ],
)
def test_a_nut_without_a_recorded_size_has_the_usual_one_of_its_series(
    series, style, form, outside_um
):
    size = nut_size(series, style)
    assert (size.form, size.outside_um) == (form, outside_um)


@pytest.mark.parametrize(("series", "style"), [("ER32", "mini"), ("TG100", "standard"), (None, "")])
def test_a_series_or_style_outside_the_table_has_no_usual_nut(series, style):
    assert nut_size(series, style) is None


def test_a_nut_by_the_table_is_form_only_and_said_to_be_so():
    view = side_view(replace(STACKS["er_router"], nose_diameter_um=None))
    nut = [t for t in of(view, Stroke.FORM) if max(x for x, _ in t.points) == 25_000 and t.closed]
    assert nut
    assert "nose diameter" in view.missing
    assert "usual size of its series" in view.description
    (callout,) = [c for c in view.callouts if "nut" in c.text]
    assert not callout.known


# ---------------------------------------------------------------- tips
#: Handbook rule: the point of a 118 degree drill is 0.3 of its diameter; of 135 degrees 0.207;
#: a V of 90 degrees is half as high as wide, one of 60 degrees 0.866 of its width.
@pytest.mark.parametrize(
    ("kind", "tenths", "share"),
    [
        ("drill", 1180, 0.300),
        ("drill", 1350, 0.207),
        ("v_groove", 900, 0.500),
        ("countersink", 600, 0.866),
        ("chamfer", 900, 0.500),
    ],
)
def test_a_point_is_as_high_as_its_angle_says(kind, tenths, share):
    facts = replace(STACKS["drill_chuck"], kind=kind, diameter_um=10_000, point_angle_tenths=tenths)
    point = of(side_view(facts), Stroke.OUTLINE)[-1]
    heights = [y for _, y in point.points]
    assert (max(heights) - min(heights)) / 10_000 == pytest.approx(share, abs=0.001)
    assert (0, facts.gauge_length_um) in point.points


def test_a_point_whose_angle_nobody_recorded_is_dashed_and_said():
    view = side_view(replace(STACKS["drill_chuck"], point_angle_tenths=None))
    assert "point angle" in view.missing
    tip = STACKS["drill_chuck"].gauge_length_um
    assert any((0, tip) in trace.points for trace in of(view, Stroke.UNKNOWN))
    assert not any((0, tip) in trace.points for trace in of(view, Stroke.OUTLINE))


def test_a_point_longer_than_the_cutting_part_ends_in_a_flat():
    facts = replace(STACKS["milling_chuck"], flute_um=4_000)
    point = of(side_view(facts), Stroke.OUTLINE)[-1]
    # 90 degrees: 4 mm up, so 4 mm in from the 10 mm of half the diameter.
    assert max(x for x, y in point.points if y == facts.gauge_length_um) == 6_000


def test_a_ball_is_half_a_circle_of_the_cutting_diameter():
    facts = STACKS["er_hollow"]
    ball, middle = of(side_view(facts), Stroke.OUTLINE)[-1], facts.gauge_length_um - 3_000
    round_part = [(x, y) for x, y in ball.points if y > middle]
    assert all(math.hypot(x, y - middle) == pytest.approx(3_000, abs=1) for x, y in round_part)


def test_a_tap_has_the_turns_of_its_pitch_and_a_lead_at_the_tip():
    facts = STACKS["tap"]
    thread = of(side_view(facts), Stroke.OUTLINE)[-1]
    crests = [y for x, y in thread.points if x == 5_000]
    # 24 mm at 1.5 mm are 16 turns, of which three make the lead.
    assert len(crests) == 13
    assert {b - a for a, b in itertools.pairwise(crests)} == {1_500}
    # ISO 68-1, from memory: the profile is 0.6134 of the pitch deep.
    assert min(x for x, _ in thread.points if x > 0) == 5_000 - 920


@pytest.mark.parametrize("kind", ["t_slot", "saw"])
def test_a_disc_is_as_thick_as_its_cutting_length(kind):
    facts = replace(STACKS["side_lock"], kind=kind, diameter_um=40_000, flute_um=6_000)
    disc = of(side_view(facts), Stroke.OUTLINE)[-1]
    heights = {y for _, y in disc.points}
    assert heights == {facts.gauge_length_um - 6_000, facts.gauge_length_um}
    assert max(x for x, _ in disc.points) == 20_000


def test_inserts_reach_the_cutting_diameter_and_the_tip():
    facts = STACKS["arbor"]
    reach = [p for t in of(side_view(facts), Stroke.OUTLINE) for p in t.points]
    assert (31_500, facts.gauge_length_um) in reach
    assert (-31_500, facts.gauge_length_um) in reach


@pytest.mark.parametrize("seats", [0, 2])
def test_a_round_over_is_hollow_by_its_radius_with_inserts_or_without(seats):
    facts = replace(
        STACKS["side_lock"], kind="round_over", diameter_um=26_000, corner_radius_um=3_000,
        seats=seats,
    )  # fmt: skip
    edge = of(side_view(facts), Stroke.OUTLINE)[-1]
    tip = facts.gauge_length_um
    assert max(x for x, y in edge.points if y == tip) == 10_000
    curve = [(x, y) for x, y in edge.points if x > 0 and tip - 3_000 <= y < tip]
    assert all(math.hypot(x - 13_000, y - tip) == pytest.approx(3_000, abs=1) for x, y in curve)


def test_a_profile_that_no_figure_describes_is_dashed_and_said():
    view = side_view(replace(STACKS["side_lock"], kind="profile"))
    assert "profile" in view.missing
    tip = STACKS["side_lock"].gauge_length_um
    assert any(y == tip for t in of(view, Stroke.UNKNOWN) for _, y in t.points)


def rises(facts):
    """Whether the flutes rise to the right: +1, to the left: -1; both for a compression cutter."""
    face_um = facts.gauge_length_um - facts.stickout_um
    start = facts.gauge_length_um - facts.flute_um
    lines = [
        t.points
        for t in of(side_view(facts), Stroke.FORM)
        if len(t.points) > 2 and not t.closed and t.points[0][1] >= max(start, face_um)
    ]
    return {1 if (b[0] - a[0]) * (a[1] - b[1]) > 0 else -1 for a, *_, b in lines}


@pytest.mark.parametrize(
    ("kind", "left_hand", "sides"),
    [
        ("spiral_up", False, {1}),
        ("spiral_down", False, {-1}),
        ("compression", False, {1, -1}),
        ("drill", True, {-1}),
        ("end_mill", False, {1}),
        ("straight", False, set()),
    ],
)
def test_flutes_turn_the_way_the_cutter_throws_its_chips(kind, left_hand, sides):
    facts = replace(STACKS["shrink"], kind=kind, left_hand=left_hand, point_angle_tenths=1180)
    assert rises(facts) == sides


# ---------------------------------------------------------------- figures
def test_measured_stands_plain_and_the_record_in_brackets():
    facts = replace(STACKS["side_lock"], diameter_um=15_970, gauge_length_um=107_100)
    view = side_view(facts)
    assert view.length.text == "gauge length 107.1 (107.0)"
    assert view.diameter.text == "Ø 15.97 (16.00)"
    (holder,) = view.before
    assert holder.text == "holder 63.1 (63.0)"


def test_what_was_never_measured_has_its_record_in_brackets_only():
    view = side_view(replace(STACKS["side_lock"], gauge_length_um=None))
    assert view.length.text == "gauge length not known (107.0)"
    assert not view.length.known
    assert view.before[0].text == "holder (63.0)"


def test_the_table_has_both_sides_and_says_which_is_missing():
    facts = replace(STACKS["side_lock"], corner_radius_um=1_950, corner_is_measured=True,
                    nominal_corner_um=2_000, gauge_length_um=None)  # fmt: skip
    rows = {row.name: (row.measured, row.nominal) for row in side_view(facts).figures}
    assert rows["Gauge length"] == ("", "107.0")
    assert rows["Cutting Ø"] == ("16.00", "16.00")
    assert rows["Corner radius"] == ("1.95", "2.00")
    assert rows["Stick-out"] == ("44.0", "")


# ---------------------------------------------------------------- on paper
@each_stack
def test_a_length_on_paper_is_the_length_divided_by_the_scale(facts):
    view, drawing = side_view(facts), full(facts)
    wanted = [view.length, view.stickout, *view.before, *view.after]
    lines = [t for t in drawing.traces if t.stroke is Stroke.DIMENSION and len(t.points) == 2]
    upright = [
        abs(b[1] - a[1]) for t in lines for a, b in [t.points] if a[0] == b[0] and a[1] != b[1]
    ]
    for measure in wanted:
        on_paper = (measure.end[1] - measure.start[1]) / drawing.scale
        assert any(abs(length - on_paper) <= 1 for length in upright), measure.name


def boxes(drawing):
    """Each text with the room it is given: left, top, right, bottom [um]."""
    for words in drawing.letterings:
        half, high = half_width_um(words.text, words.size_um), words.size_um // 2
        x, y = words.x_um, words.y_um
        if words.anchor is Anchor.END:
            yield words.text, (x - 2 * half, y - high, x, y + high)
        elif words.upright:
            yield words.text, (x - high, y - half, x + high, y + half)
        else:
            yield words.text, (x - half, y - high, x + half, y + high)


@each_stack
def test_no_text_lies_on_another_or_leaves_the_paper(facts):
    drawing = full(facts)
    found = list(boxes(drawing))
    for text, (left, top, right, bottom) in found:
        assert left >= 0, text
        assert top >= -1, text
        assert right <= drawing.width_um, text
        assert bottom <= drawing.height_um + 1, text
    for (one, a), (other, b) in itertools.combinations(found, 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, (one, other)


@each_stack
def test_every_dimension_and_callout_is_written_once(facts):
    view, drawing = side_view(facts), full(facts)
    measures = (view.length, view.stickout, view.diameter, *view.before, *view.after)
    wanted = sorted([*(m.text for m in measures), *(c.text for c in view.callouts), "gauge line"])
    assert sorted(words.text for words in drawing.letterings) == wanted


any_length = st.one_of(st.none(), st.integers(0, 400_000))
anything = st.builds(
    SideFacts,
    **{f.name: any_length for f in fields(SideFacts) if f.name.endswith("_um")},
    taper=st.sampled_from(TaperForm),
    nut_form=st.sampled_from(NutForm),
    clamping=st.sampled_from([None, *CLAMPING_KINDS]),
    kind=st.sampled_from([None, *CUTTER_KINDS]),
    stud=st.sampled_from(["", "fitted", "none_fitted", "unknown"]),
    shank_form=st.sampled_from(["", "HA", "HB", "HE", "square"]),
    point_angle_tenths=st.one_of(st.none(), st.integers(0, 3600)),
    teeth=st.one_of(st.none(), st.integers(0, 60)),
    seats=st.integers(0, 40),
    left_hand=st.booleans(),
    diameter_is_nominal=st.booleans(),
    bought_in_inches=st.booleans(),
)


@settings(max_examples=60, deadline=None)
@given(anything)
def test_any_record_is_drawn_inside_its_paper_and_no_part_crosses_the_axis(facts):
    view = side_view(facts)
    # A turned part starts at its left; only circles are filled and start at the right.
    for trace in (t for t in view.traces if t.filled and t.points[0][0] <= 0):
        assert all(x >= 0 for x, _ in trace.points[1 : len(trace.points) // 2 + 1])
    drawing = placed_in_full(view, *ROOM_UM, LETTER_UM)
    assert drawing.scale in SCALES
    assert drawing.height_um <= ROOM_UM[1]
    for trace in drawing.traces:
        assert all(-1 <= x <= ROOM_UM[0] + 1 for x, _ in trace.points)
        assert all(-1 <= y <= drawing.height_um + 1 for _, y in trace.points)


@settings(max_examples=60, deadline=None)
@given(anything)
def test_nothing_is_solid_whose_figure_is_missing(facts):
    view = side_view(facts)
    if facts.tip_um is None or facts.diameter_um is None or facts.flute_um is None:
        tip = max(y for trace in view.traces for _, y in trace.points)
        assert not view.length.known or facts.gauge_length_um is not None
        cutting = [t for t in of(view, Stroke.OUTLINE) if any(y == tip for _, y in t.points)]
        assert facts.tip_um is not None or cutting == []


# ---------------------------------------------------------------- as a file
@each_stack
def test_the_file_is_well_formed_says_what_it_shows_and_has_no_style(facts):
    view = side_view(facts)
    text = svg_file(full(facts), title="1044 <r3>", description=view.description)
    root = ElementTree.fromstring(text)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert [one.text for one in root[:2]] == ["1044 <r3>", view.description]
    for one in root.iter():
        assert not {"style", "class"} & one.attrib.keys()
    assert not re.search(r"<style|<script|\bon\w+=|href", text)


@each_stack
def test_every_line_of_the_file_has_its_looks_with_it(facts):
    root = ElementTree.fromstring(svg_file(full(facts), title="", description=""))
    shapes = [one for one in root.iter() if one.tag.endswith(("polygon", "polyline"))]
    assert shapes
    assert all({"fill", "stroke", "stroke-width"} <= one.attrib.keys() for one in shapes)
