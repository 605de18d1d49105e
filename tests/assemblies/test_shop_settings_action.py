"""Changing a limit of the shop: who may, what is kept, and what follows at bench and spindle."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from assemblies.actions.build import preview
from assemblies.actions.limit_effect import effect_of
from assemblies.actions.rule_uses import last_uses
from assemblies.actions.shop_limits import current_limits, limits_in_force, spindle_limits
from assemblies.actions.shop_settings import change_limit, limits_now
from assemblies.models import Build
from assemblies.rules.book.front import rule_of
from assemblies.rules.shop_settings import InForce, with_value
from assemblies.rules.stack import ShopLimits, Stage
from crib.models import Act, SettingChange
from crib.models.append_only import CannotBeChanged
from crib.rules.finding import Level
from crib.rules.refusal import NotAllowed, Refused
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def scene(module_rows):
    """An assembly that is a MATCH for T5 with the usual limits."""
    return made.Scene.ready()


@pytest.fixture
def lead():
    return makers.person("lead")


def last_of(name: str) -> int:
    row = SettingChange.objects.filter(name=name).order_by("-pk").first()
    return row.pk if row else 0


def change(name, value, *, by=None, reason="agreed with the toolroom", **more):
    given = {"seen": last_of(name), "submission": uuid4()} | more
    return change_limit(
        by=by or makers.person("lead"), name=name, value=value, reason=reason, **given
    )


def stored(name, value, by):
    """A row as no action would write it."""
    act = Act.objects.create(kind="limit.change", by=by)
    return SettingChange.objects.create(name=name, value=value, reason="x", act=act, by=by)


# ---- who may, and what is kept
@pytest.mark.parametrize("role", ["operator", "toolroom", "programmer", "buyer"])
def test_only_leads_and_admins_change_a_limit(role):
    with pytest.raises(NotAllowed):
        change("closure_um", 300, by=makers.person(role))
    assert not SettingChange.objects.exists()


def test_a_change_is_kept_with_what_was_before_who_and_why(lead):
    change("closure_um", 300, by=lead, reason=" presetter is new ")
    change("closure_um", 200, by=lead, reason="and good")
    rows = SettingChange.objects.order_by("pk").values_list("value", "before", "reason", "by")
    assert list(rows) == [
        (300, None, "presetter is new", lead.pk),
        (200, 300, "and good", lead.pk),
    ]
    assert current_limits().closure_um == 200


def test_the_usual_value_takes_the_own_one_back(lead):
    change("closure_um", 300, by=lead)
    change("closure_um", 500, by=lead)
    assert SettingChange.objects.order_by("-pk").first().value is None
    assert current_limits() == ShopLimits()


def test_a_history_is_never_changed(lead):
    change("closure_um", 300, by=lead)
    row = SettingChange.objects.get()
    row.value = 9_000
    with pytest.raises(CannotBeChanged):
        row.save()
    with pytest.raises(CannotBeChanged):
        SettingChange.objects.update(value=9_000)


@pytest.mark.parametrize(
    ("name", "value", "more", "code"),
    [
        ("no_such", 3, {}, "limit.no_such"),
        ("bench", 3, {}, "limit.no_such"),
        ("closure_um", 2_001, {}, "limit.outside_span"),
        ("closure_um", None, {}, "limit.outside_span"),
        ("runout_bands_um", ((3_000, 5),), {}, "limit.outside_span"),
        ("grip_rule", "as you like", {}, "limit.outside_span"),
        ("closure_um", 300, {"reason": "  "}, "limit.reason"),
        ("closure_um", 500, {}, "limit.same"),
        ("closure_um", 300, {"seen": 99_999}, "limit.changed_meanwhile"),
    ],
)
def test_what_is_no_sound_change_is_refused(lead, name, value, more, code):
    with pytest.raises(Refused) as refused:
        change(name, value, by=lead, **more)
    assert refused.value.code == code
    assert not SettingChange.objects.exists()
    assert not Act.objects.filter(kind="limit.change").exists()


def test_a_change_over_one_that_was_not_seen_is_refused(lead):
    seen = last_of("closure_um")
    change("closure_um", 300, by=lead)
    with pytest.raises(Refused) as refused:
        change("closure_um", 700, by=makers.person("admin"), seen=seen)
    assert refused.value.code == "limit.changed_meanwhile"
    assert current_limits().closure_um == 300


def test_the_same_form_sent_twice_counts_once(lead):
    given = {"by": lead, "seen": 0, "submission": uuid4()}
    first, second = change("closure_um", 300, **given), change("closure_um", 300, **given)
    assert (first.repeated, second.repeated) == (False, True)
    assert SettingChange.objects.count() == 1


# ---- reading them
def test_all_limits_are_read_with_one_query_however_often_they_were_changed(lead):
    for um in (300, 200, 100):
        change("closure_um", um, by=lead)
    change("remeasure_after_days", 90, by=lead)
    for ask in (current_limits, spindle_limits, limits_in_force, limits_now):
        with CaptureQueriesContext(connection) as queries:
            ask()
        assert len(queries) == 1
    assert (current_limits().closure_um, spindle_limits().remeasure_after_days) == (100, 90)


@pytest.mark.parametrize("nonsense", ["wide open", 10**9, [], {"a": 1}, True])
def test_a_row_that_cannot_be_read_leaves_the_usual_limit_and_is_named(lead, nonsense):
    stored("runout_stop_factor", nonsense, lead)
    stored("no_such", nonsense, lead)
    found = limits_in_force()
    assert found.bench == ShopLimits()
    assert {f.code for f in found.faults} == {"limit.not_readable", "limit.not_a_setting"}


def test_a_row_that_cannot_be_read_is_put_right_by_setting_the_limit(lead):
    stored("closure_um", "wide", lead)
    change("closure_um", 500, by=lead)
    assert limits_in_force() == InForce()


# ---- bench and spindle
def test_the_bench_asks_with_the_limit_of_today():
    draft = made.drafted().current_build
    assert "grip.enough" in {f.code for f in preview(draft, Stage.BUILD)}
    change("grip_rule", "full_collet")
    assert "grip.too_short" in {f.code for f in preview(draft, Stage.BUILD)}


CHANGES = [
    pytest.param("grip_rule", "full_collet", "stop", "grip.too_short", id="grip"),
    pytest.param("runout_bands_um", ((None, 3),), "check", "runout.over", id="runout"),
    pytest.param("runout_bands_um", ((None, 1),), "stop", "runout.far_over", id="far runout"),
]


@pytest.mark.parametrize(("name", "value", "word", "code"), CHANGES)
def test_the_spindle_judges_anew_and_what_was_frozen_stays(scene, name, value, word, code):
    assert scene.word() == "match"
    frozen = Build.objects.values_list("findings", "release_findings").get(
        pk=scene.assembly.current_build.pk
    )
    check = scene.load()
    said = check.findings

    change(name, value)

    assert scene.word() == word
    assert code in scene.codes()
    check.refresh_from_db()
    assert check.findings == said
    assert frozen == Build.objects.values_list("findings", "release_findings").get(
        pk=scene.assembly.current_build.pk
    )


def test_a_limit_taken_back_makes_it_a_match_again(scene):
    change("grip_rule", "full_collet")
    assert scene.word() == "stop"
    change("grip_rule", "two_thirds_collet")
    assert scene.word() == "match"


def test_a_milder_limit_takes_back_no_caution_that_was_accepted():
    """Closed by 0.6 mm, accepted with a reason; with 1 mm allowed the bench would not ask."""
    some = made.some_parts(cutter={"shank_um": 11_400}, nut={"torque_max_mnm": 200_000})
    scene = made.Scene.ready(some, reason="no other collet here")
    assert "collet.closed_far" in scene.codes()
    change("collet_closing_um", 1_000)
    assert "collet.closed_far" in scene.codes()


def test_a_lower_size_for_marks_is_asked_for_at_the_spindle_as_well():
    """Ø 12 without a marked speed: usual under 16 mm, a check once the shop asks from 10 mm."""
    scene = made.Scene.ready(made.some_parts(cutter={"n_max_rpm": None}))
    assert "speed.limit_not_known" not in scene.codes()
    change("mark_needed_from_um", 10_000)
    assert "speed.limit_not_known" in scene.codes()


def test_an_older_measurement_is_a_check_from_the_day_the_limit_says(scene):
    facts = scene.checked().facts
    change("remeasure_after_days", 30)
    limits = scene.checked().facts.limits
    assert limits.remeasure_after_days == 30
    assert facts.limits.remeasure_after_days == 180
    assert replace(limits, remeasure_after_days=180) == facts.limits


# ---- what a change would do
def effect(name, value):
    before = limits_in_force()
    return effect_of(name, before, with_value(before, name, value))


def test_the_released_assemblies_that_would_get_another_answer_are_named(scene):
    number = scene.assembly.number
    assert effect("grip_rule", "full_collet").stricter == (number,)
    assert effect("grip_rule", "three_quarters_collet").changed == 0
    change("grip_rule", "full_collet")
    back = effect("grip_rule", "two_thirds_collet")
    assert (back.milder, back.stricter, back.looked_at) == ((number,), (), 1)


@pytest.mark.parametrize(("days_later", "named"), [(30, False), (31, True), (181, False)])
def test_age_counts_from_the_readings(scene, monkeypatch, days_later, named):
    """Past 180 days it is a check with either limit, so nothing would change any more."""
    later = timezone.localdate() + timedelta(days=days_later)
    monkeypatch.setattr("assemblies.actions.limit_effect.timezone.localdate", lambda: later)
    found = effect("remeasure_after_days", 30)
    assert (found.looked_at, found.stricter) == (1, (scene.assembly.number,) * named)


def test_what_is_asked_with_a_program_is_said_not_to_be_counted(scene):
    found = effect("rim_caution_m_s", 10)
    assert found.asks_program
    assert found.looked_at == 0


# ---- when a rule last spoke
def test_the_last_word_of_a_rule_is_found_at_the_bench_and_at_the_spindle(scene):
    change("runout_bands_um", ((None, 3),))
    scene.load(reason="agreed")
    with CaptureQueriesContext(connection) as queries:
        uses = last_uses()
    spoke = uses.last[rule_of("runout.over").key]
    assert (spoke.number, spoke.level) == (scene.assembly.number, Level.CHECK)
    assert spoke.check is not None
    # Of the torque the draft's findings told only a pass.
    assert rule_of("torque.inside").key not in uses.last
    assert len(queries) == 2
