"""The quick way is the general way, only quicker: the same figures to the last digit."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assemblies.rules.nc import reader
from assemblies.rules.nc.quick import patterns
from assemblies.rules.nc.reader import walk_text
from assemblies.rules.nc.reading import ProgramReading, ReaderSettings


def both_ways(text, **machine):
    """The reading of the quick way and that of the general way."""
    return [
        walk_text(text, ProgramReading("", 0), ReaderSettings(**machine), quick=quick).as_dict()
        for quick in (True, False)
    ]


def numbers(largest=30):
    whole = st.integers(-largest * 1000, largest * 1000)
    forms = st.sampled_from(["{:.3f}", "{:.1f}", "{:.0f}", "{:+.2f}", "{:.0f}."])
    return st.builds(lambda n, form: form.format(n / 1000), whole, forms)


def words(letters):
    """Some of `letters` in their order, each with a number."""
    parts = [st.one_of(st.just(""), numbers().map(letter.__add__)) for letter in letters]
    return st.tuples(*parts).map(lambda found: " ".join(word for word in found if word))


MOVES = st.one_of(
    st.builds("{}{}".format, st.sampled_from(["", "G0", "G1", "G01 ", "g1"]), words("XYZ")),
    st.builds("{} {}".format, st.sampled_from(["", "G2", "G03", "G3"]), words("XYZIJ")),
    st.builds("{} {}".format, st.sampled_from(["G2", "G3"]), words("XYZR")),
    st.builds("X{} F{}".format, numbers(), st.sampled_from(["0", "90", "120.5"])),
)
OTHERS = st.sampled_from(
    "G91|G90|G20|G21|G18|G17|G55|G54|M5|S900 M3|T2 M6|T1 M6|G92 X1|G28 Z0|G53 G0 Z0|G95 F1|G94 F70"
    "|G93|F33|G41 D1|G40|/X3|G81 X1 Z-2 R1|G80|X#1|#1=5|A5|N100000 X1|X1..2|X-|(X9)|M98 P2".split(
        "|"
    )
)
PROGRAMS = st.lists(st.one_of(MOVES, MOVES, MOVES, OTHERS), max_size=30)


@settings(max_examples=250, deadline=None)
@given(PROGRAMS, st.booleans())
def test_both_ways_read_any_mixture_of_blocks_alike(blocks, increments):
    head = ["G21 G90 T1 M6", "S900 M3 F50", "G0 X0 Y0 Z5", "G1 Z-1"]
    rest = ["M30", "O2", "X4 Y5", "X6", "M99"]
    text = "\n".join([*head, *blocks, *rest, ""])
    quick, general = both_ways(text, counts_least_increments=increments)
    assert quick == general


def a_long_program(seed):
    """Lines, arcs of both kinds, rapids and feeds, in the usual order of words."""
    dice = random.Random(seed)
    lines = ["G21 G90 T1 M6", "S900 M3 F50", "G0 X0 Y0 Z5", "G1 Z-1", "X1"]
    for _ in range(400):
        x, y = (round(dice.uniform(-40, 40), 3) for _ in "xy")
        lines += dice.choice(
            [
                [f"X{x} Y{y}"],
                [f"G1 X{x} Z{-abs(y)}", f"Y{y}"],
                [f"G0 Z5. X{x}", f"G1 Z-2. F{abs(x):.0f}0"],
                [f"G2 X{x} Y{y} R90. F200", "G1 X0"],
                ["G1 X10. Y0", "G3 X0 Y10. I-10. Z-3.", "G1 X1."],
                ["N20 G0 X1", "T2 M6", "S1 M3", "G0 X0", "G1 X2 F10"],
                ["G2 X5 Y5", "G1 X0"],
            ]
        )
    return "\n".join([*lines, "M30", ""])


@pytest.mark.parametrize("seed", range(6))
def test_both_ways_read_a_long_program_alike(seed):
    quick, general = both_ways(a_long_program(seed))
    assert quick == general


def test_plain_blocks_do_go_the_quick_way(monkeypatch):
    general = []
    taken = reader.take_apart
    monkeypatch.setattr(reader, "take_apart", lambda *args: general.append(1) or taken(*args))
    moves = [f"X{n}. Y{n}." for n in range(50)] + ["G2 X60. Y49. R30.", "G3 X49. I-5.5", "G0 Z5."]
    text = "\n".join(["G21 T1 M6", "S1 M3 F9", "G0 X0 Y0 Z0", "G1 X1", *moves, "M30", ""])
    reading = walk_text(text, ProgramReading("", 0), ReaderSettings())
    assert reading.complete
    assert (len(general), reading.block_count) == (5, 58)


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("X1 Y2 Z3\n", True),
        ("N10G1X1.Y-.5\n", True),
        ("G01 X1 F200 \n", True),
        ("x1 y2\n", True),
        ("G2 X1 I1 J2\n", True),
        ("G3 X1 R5\n", True),
        ("G1 F200\n", False),
        ("Y2 X1\n", False),
        ("X1 (A)\n", False),
        ("X1e3\n", False),
        ("X1 X2\n", False),
        ("X12345678901\n", False),
        ("X٣\n", False),
        ("G1 X1 M8\n", False),
        ("X1", False),
    ],
)
def test_only_blocks_of_plain_words_are_plain(text, plain):
    assert (patterns(5, with_points=False).block.match(text) is not None) is plain


PROGRAM = [
    ["G90", "G17"],
    ["T4", "M6", "S9000", "M3"],
    ["G0", "X1", "Y2", "Z0.5"],
    ["G1", "Z-0.25", "F30"],
    ["X3", "Y1.5"],
    ["G2", "X4", "Y2.5", "I1", "J0"],
    ["G3", "X5", "Y3.5", "R1"],
    ["G81", "X6", "Z-1", "R0.1", "F12"],
    ["X7"],
    ["G80"],
    ["G4", "P2"],
    ["M30"],
]
FIGURES = ("feed_path_length", "rapid_path_length", "cutting_time", "deepest_z", "deepest_z_rapid")


def figures(lines, unit="G21", scale=1.0):
    reading = walk_text("\n".join([unit, *lines, ""]), ProgramReading("", 0), ReaderSettings())
    assert reading.complete
    use = reading.tool_uses[4]
    found = {name: getattr(use, name) / scale for name in FIGURES}
    return found | {"cutting_time": use.cutting_time, "dwell_time": use.dwell_time}


METRIC = figures([" ".join(block) for block in PROGRAM])


def test_inches_are_the_same_program_25_4_times_as_large():
    inch = figures([" ".join(block) for block in PROGRAM], unit="G20", scale=25.4)
    assert inch == pytest.approx(METRIC, rel=1e-12)


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_order_blanks_case_and_comments_change_no_figure(data):
    filler = st.sampled_from(["", "", " ", "\t", "  ", "(X9 Z-99)"])
    lines = []
    for block in PROGRAM:
        order = data.draw(st.permutations(block))
        text = "".join(word + data.draw(filler) for word in order)
        lines.append(text.lower() if data.draw(st.booleans()) else text)
    assert figures(lines) == METRIC
