"""The part finder on plain facts: what is found, in which order, why others fall out."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assemblies.rules.finder.facts import Found, Shelved, Stock
from assemblies.rules.finder.front import find_stacks
from assemblies.rules.finder.lengths import shortest_stickout_um
from assemblies.rules.fit import stack_findings
from assemblies.rules.stack import HolderPart, ProgramCall, Stage, StudPart, StudState
from crib.rules.finding import stops
from tests.assemblies.finder_stock import (
    LIMITS,
    SOUGHT,
    chuck,
    collet,
    cutter,
    every_stack,
    holder,
    nut,
    random_stock,
    sleeve,
)
from tests.assemblies.stacks import CUTTER, NUT, TABLES


def found(*parts: Shelved, elsewhere=(), **changed) -> Found:
    stock = Stock(tuple(parts), tuple(elsewhere))
    return find_stacks(replace(SOUGHT, **changed), stock, LIMITS, TABLES)


def marks(answer: Found) -> list[tuple[str, ...]]:
    return [tuple(part.shown for part in stack.parts) for stack in answer.stacks]


def reasons(answer: Found) -> list[str]:
    return [group.text for group in answer.dropped]


# ---- against the slow way
@pytest.fixture(scope="module")
def many():
    """A hundred random questions with the finder's answers."""
    asked = [random_stock(seed) for seed in range(100)]
    return [(*each, find_stacks(*each, LIMITS, TABLES)) for each in asked]


def test_trying_every_combination_finds_the_same_stacks_in_the_same_order(many):
    for sought, stock, answer in many:
        assert marks(answer) == every_stack(sought, stock)


def test_the_random_stocks_hold_stacks_of_several_kinds(many):
    """Else the comparison with the slow way would compare nothing."""
    kinds = {tuple(p.kind for p in stack.parts) for *_, found in many for stack in found.stacks}
    assert kinds >= {
        ("holder", "collet", "nut", "cutter"),
        ("holder", "sleeve", "cutter"),
        ("holder", "cutter"),
    }


def test_no_stack_found_would_be_stopped_at_the_bench(many):
    for *_, answer in many:
        for stack in answer.stacks:
            assert stops(stack_findings(stack.stack, LIMITS, Stage.BUILD, TABLES)) == []


def test_every_part_is_in_a_stack_or_falls_out_once(many):
    for _, stock, answer in many:
        used = {m for stack in answer.stacks for part in stack.parts for m in part.marks}
        fallen = [mark for group in answer.dropped for mark in group.shown]
        assert sorted([*used, *fallen]) == sorted(part.mark for part in stock.on_shelf)


# ---- what is found
def test_parts_that_go_together_are_one_stack():
    assert marks(found(holder(), collet(), nut(), cutter())) == [("H-1", "C-1", "N-1", "K-1")]


@pytest.mark.parametrize(
    ("parts", "expected"),
    [
        ([chuck()], [("H-9", "K-1")]),
        ([chuck(bore_um=20_000), sleeve()], [("H-9", "S-1", "K-1")]),
        ([chuck(clamping="milling_chuck", bore_um=20_000), sleeve()], []),
        ([chuck(clamping="side_lock")], []),
        ([chuck(clamping="shrink")], [("H-9", "K-1")]),
        ([chuck(clamping="drill_chuck", bore_um=13_000, bore_min_um=1_000)], []),
        ([chuck(clamping="arbor", bore_um=27_000)], []),
        ([chuck(clamping="something else")], []),
    ],
)
def test_each_way_of_clamping_takes_what_its_rules_allow(parts, expected):
    made = replace(CUTTER, shank_form="HA", material="carbide", marked_grip_um=30_000)
    answer = found(*parts, cutter(shank_form="HA", material="carbide"), cutter=made)
    assert marks(answer) == expected


def test_a_drill_goes_into_a_drill_chuck():
    drill = {"kind": "drill", "shank_um": 8_000, "diameter_um": 8_000}
    jaws = chuck(clamping="drill_chuck", bore_um=13_000, bore_min_um=1_000)
    assert marks(found(jaws, cutter(**drill), cutter=replace(CUTTER, **drill)))


def test_a_shell_cutter_goes_on_its_arbor_and_sticks_out_by_its_height():
    shell = {
        "kind": "face_mill",
        "shank_um": None,
        "bore_um": 27_000,
        "overall_um": 48_000,
        "diameter_um": 63_000,
        "keyway_um": 12_400,
    }
    arbor = chuck(clamping="arbor", bore_um=27_000, key_um=12_000, spigot_um=21_000)
    answer = found(arbor, cutter(**shell), cutter=replace(CUTTER, **shell), stickout_um=60_000)
    assert answer.stacks[0].stack.figures.stickout_um == 48_000
    assert "length.arbor_fixed" in {f.code for f in answer.stacks[0].doubts}


def test_a_tap_goes_into_a_tap_holder_only_with_its_square():
    tap = {"kind": "tap", "shank_um": 8_000, "square_um": 6_200, "diameter_um": 10_000}
    shelf = [
        chuck("H-8", clamping="tap", bore_um=8_000, square_um=6_200),
        chuck("H-9", clamping="tap", bore_um=8_000, square_um=7_000),
    ]
    answer = found(*shelf, cutter(**tap), cutter=replace(CUTTER, **tap))
    assert marks(answer) == [("H-8", "K-1")]


def test_without_a_cutter_in_the_racks_nothing_can_be_built():
    answer = found(holder(), collet(), nut())
    assert not answer.stacks
    assert not answer.cutter_on_shelf
    assert answer.unlocks[0].to_get == ("cutter K",)


SEATED = {"insert_seats": 2, "empty_seats": None}


def with_inserts(*inserts: Shelved, code: str = "I-INS") -> Found:
    parts = holder(), collet(), nut(), cutter(**SEATED), *inserts
    return found(*parts, insert_code=code, cutter=replace(CUTTER, **SEATED))


def test_inserts_that_fill_every_seat_are_part_of_the_stack():
    lots = [Shelved("insert", "I-INS", count=2, place="DRAWER")]
    stack = with_inserts(*lots).stacks[0]
    assert stack.part("insert").shown == "I-INS"
    assert "insert.seats_filled" in {f.code for f in stack.findings}


def test_too_few_inserts_at_one_place_are_to_be_got_first():
    apart = [Shelved("insert", "I-INS", count=1, place=place) for place in ("DRAWER 1", "DRAWER 2")]
    answer = with_inserts(*apart)
    assert not answer.stacks
    assert answer.unlocks[0].to_get == ("2 inserts I-INS",)
    assert "2 inserts: 2 needed at one place" in reasons(answer)


def test_seats_whose_insert_is_not_recorded_are_a_doubt():
    assert "insert.seats_not_known" in {f.code for f in with_inserts(code="").stacks[0].doubts}


def test_parts_alike_are_one_candidate_with_all_their_marks():
    two = [replace(collet(mark), code="I-C") for mark in ("C-2", "C-1")]
    answer = found(holder(), *two, nut(), cutter())
    assert len(answer.stacks) == 1
    assert answer.stacks[0].part("collet").marks == ("C-1", "C-2")


def test_a_collet_with_too_many_hours_is_no_like_of_a_fresh_one():
    tired = replace(collet("C-2", hours=600), code="I-C")
    answer = found(holder(), replace(collet(), code="I-C"), tired, nut(), cutter())
    assert [len(stack.doubts) for stack in answer.stacks] == [0, 1]


# ---- order
def test_a_stack_without_a_doubt_comes_before_a_shorter_one_with_one():
    short = holder("H-2", gauge_length_um=40_000, max_rpm=None)
    assert marks(found(short, holder(), collet(), nut(), cutter()))[0][0] == "H-1"


def test_the_collet_of_the_very_size_comes_first():
    wide = collet("C-0", clamp_max_um=12_500, clamp_min_um=11_500)
    assert marks(found(holder(), wide, collet(), nut(), cutter()))[0][1] == "C-1"


def test_the_shorter_holder_comes_first():
    long = holder("H-0", gauge_length_um=60_000)
    assert marks(found(long, holder(), collet(), nut(), cutter()))[0][0] == "H-1"


def test_the_collet_that_ran_truer_comes_first_and_one_without_readings_last():
    three = [collet("C-0"), collet("C-2", [9, 9, 30]), collet("C-3", [8, 12])]
    order = [row[1] for row in marks(found(holder(), *three, nut(), cutter()))]
    assert order == ["C-2", "C-3", "C-0"]


# ---- lengths
def test_without_a_wish_the_shortest_stick_out_is_proposed():
    """Overall 83, plain shank 40 less 1 clear of the fillet: 44 stay out, 39 are held."""
    figures = found(holder(), collet(), nut(), cutter()).stacks[0].stack.figures
    assert (figures.stickout_um, figures.grip_um) == (44_000, 39_000)


@pytest.mark.parametrize(
    ("stickout_um", "grip_um", "code"),
    [
        (43_900, 39_000, "grip.fillet_in_holder"),
        (44_000, 39_000, None),
        (50_000, 33_000, None),
        (56_333, 26_667, "grip.below_advice"),
    ],
)
def test_the_grip_follows_from_the_stick_out(stickout_um, grip_um, code):
    """Collet 40 long; two thirds of it are 26.667; held is what is inside and plain."""
    stack = found(holder(), collet(), nut(), cutter(), stickout_um=stickout_um).stacks[0]
    assert stack.stack.figures.grip_um == grip_um
    assert [f.code for f in stack.doubts if f.code.startswith("grip.")][:1] == [code] * bool(code)


def test_too_little_grip_at_the_wanted_stick_out_falls_out():
    answer = found(holder(), collet(), nut(), cutter(), stickout_um=56_334)
    assert not answer.stacks
    assert "1 holder: Grip 26.666 mm. Needs 26.7 mm (two thirds of the collet)" in reasons(answer)


def test_what_reaches_deeper_than_the_collet_is_not_counted_as_held():
    """34 long collet, 39 inside, all of it plain: 34 are held."""
    short = collet(length_um=34_000)
    assert found(holder(), short, nut(), cutter()).stacks[0].stack.figures.grip_um == 34_000


def test_a_length_that_is_not_recorded_is_said_and_proposes_nothing():
    stack = found(holder(), collet(), nut(), cutter(overall_um=None)).stacks[0]
    assert stack.stack.figures.stickout_um is None
    assert "grip.not_proposed" in {f.code for f in stack.doubts}


def test_a_bore_less_deep_than_the_shank_keeps_the_cutter_further_out():
    shallow = HolderPart(clamping="hydraulic", bore_depth_um=30_000)
    assert shortest_stickout_um(shallow, CUTTER, LIMITS) == 53_000


# ---- why others fall out, and what would help
def test_a_part_that_only_goes_with_what_is_missing_says_with_what():
    answer = found(holder(), collet(), nut())
    assert set(reasons(answer)) == {
        f"1 {kind}: only with cutter K" for kind in ("holder", "collet", "nut")
    }


def test_a_part_stopped_where_its_like_holds_tells_its_own_stop():
    """60 mm of collet want 40 mm of grip, two thirds of it; 39 mm are plain."""
    answer = found(holder(), collet(), collet("C-2", length_um=60_000), nut(), cutter())
    assert reasons(answer) == ["1 collet: Grip 39.0 mm. Needs 40.0 mm (two thirds of the collet)"]


def test_reasons_are_counted_together_and_near_misses_named():
    parts = [
        holder(),
        holder("H-2", interface="HSK-A63"),
        holder("H-3", interface="HSK-A63"),
        holder("H-4", stud=StudPart(StudState.FITTED, "A")),
        collet("C-2", clamp_max_um=11_650, clamp_min_um=10_650),
        collet("C-3", clamp_max_um=6_000, clamp_min_um=5_000),
        collet("C-4", clamp_max_um=7_000, clamp_min_um=6_000),
        collet("C-5", series="ER25"),
        nut("N-2", thread="M32x1.5"),
        cutter(),
    ]
    assert reasons(found(*parts)) == [
        "1 holder: no nut ER32 M40x1.5 in the racks",
        "2 holders: other interface",
        "1 holder: other pull stud",
        "1 collet: no ER25 holder in the racks would do",
        "1 collet: shank 0.35 larger",
        "2 collets: shank more than 1 mm larger",
        "1 nut: other thread",
        "1 cutter: no holder in the racks takes it",
    ]


@pytest.mark.parametrize(
    ("parts", "to_get"),
    [
        ([holder(), nut()], ("collet ER32 12–11",)),
        ([holder(), collet()], ("nut ER32 M40x1.5",)),
        ([holder()], ("collet ER32 12–11", "nut ER32 M40x1.5")),
        ([holder(stud=StudPart(StudState.FITTED, "A")), collet(), nut()], ("pull stud B",)),
        (
            [chuck(bore_um=20_000)],
            ("reduction sleeve 20.00 to 12.00, hydraulic chuck",),
        ),
        ([collet(), nut()], ("holder ISO 30 router, ER32 M40x1.5",)),
    ],
)
def test_the_nearest_purchase_that_would_help_is_named(parts, to_get):
    form = {"shank_form": "HA", "material": "carbide"}
    answer = found(*parts, cutter(**form), cutter=replace(CUTTER, **form))
    assert not answer.stacks
    assert answer.unlocks[0].to_get == to_get
    assert not answer.unlocks[0].stack.stopped


def test_a_stud_that_lies_in_the_racks_is_named_with_its_place():
    other = holder(stud=StudPart(StudState.FITTED, "A"))
    stock = Stock((other, collet(), nut(), cutter()), studs=(("A", "D1"), ("B", "D2")))
    answer = find_stacks(SOUGHT, stock, LIMITS, TABLES)
    assert answer.unlocks[0].to_get == ("pull stud B from D2",)


def test_what_stops_every_stack_is_said_once():
    """Machine and cutter bear 24000: whatever is in the racks, more is too fast."""
    shelf = [holder(), collet(), nut(), cutter()]
    assert found(*shelf, call=ProgramCall(24_000)).against == ()
    answer = found(*shelf, call=ProgramCall(24_001))
    assert [f.code for f in answer.against] == ["speed.over_limit"]
    assert not answer.stacks


def test_a_purchase_that_would_not_help_is_not_named():
    """A collet of the right size changes nothing on a holder that may not turn so fast."""
    assert found(holder(max_rpm=10_000), nut(), cutter()).unlocks == ()


def test_what_is_in_use_elsewhere_is_named_with_its_place_only_where_it_would_do():
    away = [
        replace(collet("C-6"), place="in 1041, released, rack B2"),
        replace(collet("C-7", clamp_max_um=8_000, clamp_min_um=7_000), place="in 1042"),
    ]
    answer = found(holder(), nut(), cutter(), elsewhere=away)
    assert [(a.shown, a.where, a.goes_with) for a in answer.away] == [
        ("C-6", "in 1041, released, rack B2", "H-1")
    ]


def test_other_pieces_of_the_cutter_are_always_named():
    away = [replace(cutter("K-9"), place="out for re-sharpening")]
    answer = found(holder(), collet(), nut(), elsewhere=away)
    assert answer.away[0].shown == "K-9"


def test_a_speed_alone_asks_nothing_about_the_way_of_turning():
    stack = found(holder(), collet(), nut(), cutter()).stacks[0]
    assert "rotation.program_not_known" not in {f.code for f in stack.findings}


def test_a_part_whose_series_is_not_recorded_is_never_proposed():
    answer = found(holder(), collet(series=None), nut(), cutter())
    assert not answer.stacks
    assert "1 collet: series not recorded" in reasons(answer)


def test_a_nut_without_a_thread_on_record_is_a_doubt_and_no_pass():
    bare = Shelved("nut", "I-N", replace(NUT, thread=None), place="DRAWER", count=3)
    stack = found(holder(), collet(), bare, cutter()).stacks[0]
    assert "nut.thread_not_known" in {f.code for f in stack.doubts}
