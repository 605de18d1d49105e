"""The limits of the shop as rules: spans, the stored form, and what cannot be read."""

from __future__ import annotations

from dataclasses import fields

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assemblies.rules.book.front import rules_asked_by
from assemblies.rules.grip import GRIP_RULES, collet_grip_findings
from assemblies.rules.runout import runout_limit_um
from assemblies.rules.shop_setting_rows import SETTINGS, Kind
from assemblies.rules.shop_settings import (
    MOST_BANDS,
    InForce,
    NotASetting,
    limits_from,
    read_stored,
    setting_named,
    shown_value,
    span_text,
    to_stored,
    usual,
    value_in,
    with_value,
)
from assemblies.rules.stack import ColletPart, CutterPart
from assemblies.rules.stack import ShopLimits as BenchLimits
from assemblies.rules.verdict.facts import ShopLimits as SpindleLimits
from crib.rules.finding import Level

NAMES = [setting.name for setting in SETTINGS]
NUMBERS = [s for s in SETTINGS if s.kind in (Kind.LENGTH, Kind.WHOLE)]
USUAL_BANDS = [[3_000, 5], [6_000, 10], [12_000, 15], [None, 25]]


def test_every_limit_of_bench_and_spindle_is_a_setting_and_stands_once():
    limits = {f.name for f in fields(BenchLimits)} | {f.name for f in fields(SpindleLimits)}
    assert sorted(NAMES) == sorted(limits - {"bench"})


def test_every_setting_changes_a_rule_of_the_book():
    assert [name for name in NAMES if not rules_asked_by(name)] == []


def test_the_usual_value_lies_in_its_span_and_reads_back():
    read_back = {name: read_stored(name, to_stored(name, usual(name))) for name in NAMES}
    assert read_back == {name: usual(name) for name in NAMES}


@pytest.mark.parametrize("setting", NUMBERS, ids=lambda s: s.name)
def test_a_number_is_taken_at_the_ends_of_its_span_and_refused_beyond(setting):
    for inside in (setting.least, setting.most):
        assert read_stored(setting.name, inside) == inside
        assert value_in(limits_from({setting.name: inside}), setting.name) == inside
    for outside in (setting.least - 1, setting.most + 1):
        with pytest.raises(NotASetting):
            read_stored(setting.name, outside)


# ---- nothing that is stored can take a limit away
NONSENSE = ["", "500", 1.0, True, [], {}, [None], {"value": 500}, -1, 10**12, "no_such_rule"]


@pytest.mark.parametrize("stored", NONSENSE, ids=repr)
def test_a_stored_value_that_cannot_be_read_leaves_the_usual_limit_and_says_so(stored):
    for name in NAMES:
        limits = limits_from({name: stored})
        assert limits.spindle == SpindleLimits(), name
        assert [(f.code, f.level) for f in limits.faults] == [("limit.not_readable", Level.CHECK)]


def test_a_name_that_is_no_setting_changes_nothing_and_is_named():
    limits = limits_from({"grip_check": False, "bench": 3})
    assert limits.spindle == SpindleLimits()
    assert [f.code for f in limits.faults] == ["limit.not_a_setting"] * 2


def test_back_to_usual_is_no_fault():
    assert limits_from(dict.fromkeys(NAMES)) == InForce()


def test_only_the_hours_of_a_collet_can_be_left_uncounted():
    taken = [name for name in NAMES if not limits_from({name: "not_counted"}).faults]
    assert taken == ["collet_hours_limit"]
    assert limits_from({taken[0]: "not_counted"}).bench.collet_hours_limit is None


@pytest.mark.parametrize(
    "bands",
    [
        pytest.param([], id="none"),
        pytest.param([[3_000, 5]], id="the last has an end"),
        pytest.param([[None, 5], [None, 10]], id="an end is missing in the middle"),
        pytest.param([[6_000, 5], [3_000, 10], [None, 25]], id="diameters fall"),
        pytest.param([[3_000, 5], [3_000, 10], [None, 25]], id="a diameter twice"),
        pytest.param([[3_000, 10], [None, 5]], id="runout falls"),
        pytest.param([[0, 5], [None, 10]], id="no diameter"),
        pytest.param([[500_001, 5], [None, 10]], id="no cutter is so large"),
        pytest.param([[None, 0]], id="no runout"),
        pytest.param([[None, 101]], id="a tenth and more"),
        pytest.param([[None, None]], id="no limit"),
        pytest.param([[3_000, 5.0], [None, 10]], id="not whole"),
        pytest.param([[True, 5], [None, 10]], id="not a length"),
        pytest.param([[3_000], [None, 10]], id="half a band"),
        pytest.param([3_000, 5], id="not in pairs"),
        pytest.param([[i, 5] for i in range(1, MOST_BANDS + 1)] + [[None, 9]], id="too many"),
    ],
)
def test_bands_that_would_leave_a_cutter_without_a_sound_limit_are_refused(bands):
    with pytest.raises(NotASetting):
        read_stored("runout_bands_um", bands)
    assert limits_from({"runout_bands_um": bands}).bench == BenchLimits()


@pytest.mark.parametrize(
    "bands",
    [
        pytest.param([[None, 1]], id="one band, the least"),
        pytest.param([[None, 100]], id="one band, the most"),
        pytest.param([[3_000, 5], [6_000, 5], [None, 5]], id="all alike"),
        pytest.param([[i, i] for i in range(1, MOST_BANDS)] + [[None, 9]], id="as many as can be"),
        pytest.param(USUAL_BANDS, id="the usual"),
    ],
)
def test_sound_bands_are_taken(bands):
    limits = limits_from({"runout_bands_um": bands})
    assert limits.faults == ()
    assert limits.bench.runout_bands_um == tuple(tuple(band) for band in bands)


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=9),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=3), inner),
    max_leaves=9,
)


@given(st.sampled_from(NAMES), JSON, st.integers(min_value=1, max_value=500_000))
def test_whatever_is_stored_every_cutter_keeps_a_runout_limit(name, stored, diameter_um):
    limits = limits_from({name: stored}).bench
    assert 1 <= runout_limit_um(diameter_um, False, limits) <= 100
    assert limits.grip_rule in GRIP_RULES


# ---- what no setting lowers
@pytest.mark.parametrize("rule", GRIP_RULES)
def test_no_grip_rule_lets_less_than_two_thirds_of_the_collet_pass(rule):
    limits = limits_from({"grip_rule": rule}).bench
    collet = ColletPart(length_um=40_000)
    # A thick, long shank, so that every named rule is known; 2/3 of 40 mm is 26.667 mm.
    cutter = CutterPart(shank_um=6_000, plain_shank_um=30_000, overall_um=90_000)
    found = collet_grip_findings(26_666, collet, cutter, limits, [], False)
    assert (found[0].code, found[0].level) == ("grip.too_short", Level.STOP_SOFT)


def test_a_mark_on_the_shank_is_asked_for_whatever_the_shop_says():
    limits = limits_from({"grip_rule": "two_diameters"}).bench
    cutter = CutterPart(
        shank_um=6_000, plain_shank_um=38_000, overall_um=90_000, marked_grip_um=33_000
    )
    found = collet_grip_findings(32_999, ColletPart(length_um=40_000), cutter, limits, [], False)
    assert found[0].code == "grip.too_short"


def test_the_mark_of_en_847_is_never_asked_for_later_than_the_standard_does():
    assert setting_named("mark_needed_from_um").most == 16_000


# ---- what both ask
def test_bench_and_spindle_ask_the_same_limit_where_both_ask_it():
    limits = limits_from({"rim_caution_m_s": 40, "mark_needed_from_um": 10_000})
    assert (limits.bench.rim_caution_m_s, limits.spindle.rim_caution_m_s) == (40, 40)
    assert limits.bench.mark_needed_from_um == limits.spindle.marked_speed_from_um == 10_000


def test_one_changed_limit_leaves_the_others():
    before = limits_from({"closure_um": 300})
    after = with_value(before, "remeasure_after_days", 90)
    assert (after.bench.closure_um, after.spindle.remeasure_after_days) == (300, 90)
    with pytest.raises(KeyError):
        with_value(before, "bench", BenchLimits())


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("closure_um", 500, "0.50 mm"),
        ("shank_spare_um", 1_000, "1.0 mm"),
        ("collet_hours_limit", None, "not counted"),
        ("collet_hours_limit", 500, "500 h"),
        ("runout_stop_factor", 2, "2 times"),
        ("grip_rule", "full_collet", "the full collet"),
        ("rim_caution_m_s", 50, "50 m/s"),
        ("remeasure_after_days", 180, "180 days"),
        ("runout_bands_um", ((3_000, 5), (None, 25)), "to Ø 3.00: 0.005 mm; above: 0.025 mm"),
    ],
)
def test_a_value_is_shown_in_its_unit(name, value, words):
    assert shown_value(name, value) == words


def test_every_setting_says_where_its_usual_value_comes_from_and_why_its_span_ends():
    assert all(s.usual_from and s.beyond.endswith(".") and span_text(s) for s in SETTINGS)
