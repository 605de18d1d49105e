"""Reading a stack from JSON: every field has a name, and nothing odd gets through."""

import json
from dataclasses import fields

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assemblies.rules.stack import ShopLimits, Stack, Stage
from assemblies.rules.stack_json import MOST_BYTES, NotAStack, read_stack
from assemblies.rules.stack_json_names import ENTRIES, LIMIT_ENTRIES, PARTS
from tests.assemblies.stacks import BY_CLAMPING

USUAL = ShopLimits()


def read(document):
    return read_stack(json.dumps(document).encode(), USUAL)


def slips_of(data):
    with pytest.raises(NotAStack) as refused:
        read_stack(data if isinstance(data, bytes) else data.encode(), USUAL)
    return {slip.path: slip.expected for slip in refused.value.slips}


# ---- every field has a name
def test_every_part_of_a_stack_has_a_name():
    assert {field.name for field in fields(Stack)} == {*PARTS, "coolant_wanted"}


@pytest.mark.parametrize("part", PARTS)
def test_every_field_of_a_part_has_a_name_of_its_own(part):
    named = [entry.field for entry in ENTRIES[part].values()]
    assert named == [field.name for field in fields(PARTS[part])]


def test_every_limit_of_the_bench_has_a_name():
    named = {entry.field for entry in LIMIT_ENTRIES.values()}
    assert named == {field.name for field in fields(ShopLimits)}


#: One of these is taken by every reader; none is what a part has by itself.
SAMPLES = [
    *(2, "M40x1.5", True, "end_mill", "collet", "hydraulic", "HB", "right", "mini"),
    *("worn", "fitted", "cw", ["cw"], 110),
]


@pytest.mark.parametrize(
    ("part", "name"), [(part, name) for part, names in ENTRIES.items() for name in names]
)
def test_every_name_fills_its_field(part, name):
    empty = PARTS[part]()
    field = ENTRIES[part][name].field
    filled = []
    for sample in SAMPLES:
        try:
            filled.append(getattr(getattr(read({part: {name: sample}}).stack, part), field))
        except NotAStack:
            continue
    assert filled
    assert all(value != getattr(empty, field) for value in filled)


#: Factors by the end of a name: what a number of the JSON becomes in a rule.
FACTORS = {"_mm": 1000, "_nm": 1000, "grade": 10, "_deg": 10}


def written(stack):
    """A stack as the JSON that should read back as it."""
    document = {}
    for part, entries in ENTRIES.items():
        if (facts := getattr(stack, part)) is not None:
            document[part] = {
                name: as_written(name, getattr(facts, entry.field))
                for name, entry in entries.items()
                if getattr(facts, entry.field) not in (None, "")
            }
    return document


def as_written(name, value):
    if isinstance(value, frozenset):
        return sorted(value)
    factor = next((by for ending, by in FACTORS.items() if name.endswith(ending)), None)
    return value / factor if factor else value


@pytest.mark.parametrize("way", BY_CLAMPING)
def test_a_written_stack_reads_back_as_itself(way):
    assert read(written(BY_CLAMPING[way])).stack == BY_CLAMPING[way]


def test_null_is_not_recorded():
    asked = read({"stud": {"condition": None, "pattern": None, "state": None}, "cutter": None})
    assert (asked.stack.stud.condition, asked.stack.stud.pattern) == (None, None)
    assert asked.stack.stud.state == "unknown"
    assert asked.stack.cutter is None
    assert read({"call": {"speed_rpm": None}}).stack.call.speed_rpm is None


@pytest.mark.parametrize(
    ("given_stage", "stage"),
    [({}, "release"), ({"stage": None}, "release"), ({"stage": "build"}, "build")],
)
def test_a_stack_without_a_stage_is_asked_for_every_figure(given_stage, stage):
    assert read(given_stage).stage == Stage(stage)


# ---- lengths: 1 in = 25.4 mm exactly
@pytest.mark.parametrize(
    ("written_as", "um"),
    [
        ("12.7", 12_700),
        ('"12.7"', 12_700),
        ('"12,7 mm"', 12_700),
        ('"1/2 in"', 12_700),
        ("1.27e1", 12_700),
        ('"1/64 in"', 397),
        ("0.001", 1),
        ("10000", 10_000_000),
    ],
)
def test_a_length_is_a_number_or_a_text_with_its_unit(written_as, um):
    data = f'{{"cutter": {{"shank_mm": {written_as}}}}}'.encode()
    assert read_stack(data, USUAL).stack.cutter.shank_um == um


NO_LENGTHS = [
    *("-1", "0", "0.0001", "10000.001", "1e308", "-1e308", "1e400", "1e99999999999999999999"),
    *("9e999999", "1" * 400, "0." + "3" * 400, "NaN", "Infinity", "-Infinity", "true", "false"),
    *('""', '" "', '"nan"', '"12.7.1"', '"-1"', '"1/0 in"', '"12 ft"', '"²"', '"\\ud800"'),
    *('"' + "9" * 60 + '"', "[]", "[12]", "{}", '{"mm": 12}'),
]


@pytest.mark.parametrize("written_as", NO_LENGTHS, ids=lambda text: text[:12])
def test_what_is_no_length_is_named_by_its_place(written_as):
    slips = slips_of(f'{{"cutter": {{"shank_mm": {written_as}}}}}')
    assert list(slips) == ["cutter.shank_mm"]
    assert slips["cutter.shank_mm"].startswith("a length in mm")
    assert slips["cutter.shank_mm"].isprintable()


@pytest.mark.parametrize(
    ("part", "name", "good", "bad"),
    [
        ("figures", "torque_nm", [(0, 0), (56.5, 56_500)], [-0.1, 10_000.5, "136", True]),
        ("machine", "max_rpm", [(1, 1), (24_000.0, 24_000)], [0, 0.5, 500_001, "24000", True]),
        ("call", "speed_rpm", [(0, 0), (18_000, 18_000)], [-1, 1e308, [18_000]]),
        ("cutter", "mass_g", [(1, 1), (120, 120)], [0, 1.5, "120 g", False]),
        ("holder", "balance_grade", [(2.5, 25)], [0, -2.5, 2.55, 1e9, "G2.5", True]),
        ("machine", "moment_plane_mm", [(-15, -15_000), ("-15", -15_000), (0, 0)], ["--15", -1e5]),
        ("figures", "stickout_mm", [(0, 0), (45, 45_000)], [-0.001, "long", True]),
        ("cutter", "mark", [(" K-01 ", "K-01")], ["", " ", "a\nb", "\ud800", "x" * 121, 7]),
        ("cutter", "hand", [("right", "right"), ("left", "left")], ["Right", "", 1, ["right"]]),
        ("collet", "sealed", [(True, True), (False, False)], [0, 1, "true", "yes"]),
        ("machine", "rotations", [(["cw"], {"cw"})], [[], "cw", ["m3"], [["cw"]], [True]]),
        ("collet", "runout_class", [(1, 1), (2, 2)], [0, 3, 1.5, True]),
        ("machine", "override_ceiling_percent", [(100, 100), (300, 300)], [99, 301, 120.5]),
        ("stud", "state", [("fitted", "fitted")], ["on", True, {}]),
    ],
)
def test_a_value_is_taken_up_to_its_ends_and_no_further(part, name, good, bad):
    for value, kept in good:
        stack = read({part: {name: value}}).stack
        assert getattr(getattr(stack, part), ENTRIES[part][name].field) == kept
    for value in bad:
        assert list(slips_of(json.dumps({part: {name: value}}))) == [f"{part}.{name}"], value


BANDS = [[3, 0.005], [None, 0.1]]


@pytest.mark.parametrize(
    ("limit", "good", "bad"),
    [
        ("closure_mm", [(0.02, 20), ("0,5", 500), (2, 2_000)], [0.019, 2.001, -1, "wide", True]),
        ("grip_rule", [("full_collet", "full_collet")], ["half", 1, []]),
        ("collet_hours_limit", [(50, 50), ("not_counted", None)], [49, 2001, "never", 50.5]),
        ("router_runout_factor", [(1, 1), (3, 3)], [0, 4, "2"]),
        (
            "runout_bands_mm",
            [(BANDS, ((3_000, 5), (None, 100)))],
            [BANDS[:1], [], "x", [[1, 2, 3]]],
        ),
        ("runout_bands_mm", [([[None, 0.1]], ((None, 100),))], [[[None, 0.101]], [3], [[True, 1]]]),
    ],
)
def test_a_limit_stays_in_the_span_in_which_a_shop_may_set_it(limit, good, bad):
    for value, kept in good:
        limits = read({"limits": {limit: value}}).limits
        assert getattr(limits, LIMIT_ENTRIES[limit].field) == kept
    for value in bad:
        assert list(slips_of(json.dumps({"limits": {limit: value}}))) == [f"limits.{limit}"], value


def test_a_limit_that_is_null_stays_the_usual_one():
    assert read({"limits": dict.fromkeys(LIMIT_ENTRIES)}).limits == USUAL


# ---- names
def test_several_slips_are_told_at_once_each_by_its_place():
    parts = '"cutter": {"shank_mm": "x", "kynd": 1}, "nut": [], "nut": 5, "hodler": {}'
    slips = slips_of(f'{{"stage": "soon", {parts}}}')
    assert set(slips) == {"stage", "cutter.shank_mm", "cutter.kynd", "nut", "hodler"}
    assert "kind" in slips["cutter.kynd"]
    assert "holder" in slips["hodler"]


@pytest.mark.parametrize(
    ("text", "path"),
    [
        ('{"stage": "build", "stage": "release"}', "stage"),
        ('{"cutter": {"shank_mm": 12, "shank_mm": 12}}', "cutter.shank_mm"),
        ('{"cutter": {}, "cutter": {"shank_mm": 12}}', "cutter"),
    ],
)
def test_a_name_that_stands_there_twice_is_refused(text, path):
    assert slips_of(text) == {path: "this name once"}


def test_a_name_of_odd_letters_is_shown_in_plain_ones():
    (path,) = slips_of(json.dumps({"\ud800\n\x1b" + "x" * 9_000: 1}))
    assert path.isprintable()
    assert len(path) < 60


def test_a_cutter_with_a_shank_and_a_bore_is_no_cutter():
    for name in ("shank_mm", "shank_measured_mm"):
        assert list(slips_of(json.dumps({"cutter": {name: 12, "bore_mm": 22}}))) == ["cutter"]


# ---- files that are no stack
@pytest.mark.parametrize(
    ("data", "path"),
    [
        (b"", "the file"),
        (b" \n\t", "the file"),
        (b"\xef\xbb\xbf{}", "byte 1"),
        (b"\xff\xfe{\x00}\x00", "byte 1"),
        (b'{"stage": "b\xe9"}', "byte 13"),
        (b"{", "line 1, column 2"),
        (b'{"stage": "build",}', "line 1, column 19"),
        (b"{}{}", "line 1, column 3"),
        (b"[]", "the file"),
        (b"null", "the file"),
        (b"12", "the file"),
        (b"NaN", "the file"),
        (b'"{}"', "the file"),
        (b"[" * MOST_BYTES, "the file"),
        (b'{"cutter":' * (MOST_BYTES // 10), "the file"),
        (b"[" * 10_000_000, "the file"),
        (b"\x00" * 100, "line 1, column 1"),
    ],
    ids=lambda value: repr(value)[:24],
)
def test_what_is_no_stack_at_all_is_said_in_one_sentence(data, path):
    assert list(slips_of(data)) == [path]


NAMES = st.sampled_from([*PARTS, "stage", "limits", "coolant_wanted", "x"])
INNER = st.sampled_from(sorted({n for names in ENTRIES.values() for n in names} | {*LIMIT_ENTRIES}))
VALUES = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda inside: st.lists(inside, max_size=3) | st.dictionaries(INNER, inside, max_size=3),
    max_leaves=6,
)


@settings(max_examples=150, deadline=None)
@given(st.dictionaries(NAMES, VALUES | st.dictionaries(INNER, VALUES, max_size=4), max_size=4))
def test_whatever_json_says_is_a_stack_or_is_refused_with_places(document):
    try:
        slips, stack = [], read(document).stack
    except NotAStack as refused:
        slips, stack = refused.slips, None
    assert (stack is None) == bool(slips)
    assert all(slip.path and slip.expected for slip in slips)
