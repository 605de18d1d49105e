"""The dry run of a sheet says what a check would say: the same facts, the same verdict."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.utils import timezone

from assemblies.actions import setup_sheet_checks
from assemblies.actions.loads import take_out
from assemblies.actions.setup_sheet_checks import BY_NUMBER, Fetched, checks_of
from assemblies.actions.setup_sheet_places import open_loads
from assemblies.actions.setup_sheet_rows import rows_of
from assemblies.actions.spindle import check
from assemblies.models import Assembly, Build, Load
from labels.actions.resolve_code import label_facts
from labels.models import Label
from tests import assembly_makers, makers


@pytest.fixture(autouse=True)
def one_moment(monkeypatch):
    """Both ways look at the same second, so that no age ticks on between them."""
    now = timezone.now()
    monkeypatch.setattr(timezone, "now", lambda: now)


def live_builds() -> list[Build]:
    return list(Build.objects.filter(live=True).select_related("assembly__contents__parent"))


def in_one_go(revision, machine, numbers, labels=None):
    builds = live_builds()
    loads = open_loads(machine, [build.assembly for build in builds])
    asked = [(build, number) for build in builds for number in numbers]
    return checks_of(asked, revision, Fetched(machine, rows_of(builds), loads), labels or {})


def one_by_one(revision, machine, build, number, label=BY_NUMBER):
    return check(
        assembly=Assembly.objects.get(pk=build.assembly_id),
        label=label,
        machine=machine,
        revision=revision,
        tool_number=number,
    )


@pytest.fixture
def scene(db) -> assembly_makers.Scene:
    return assembly_makers.Scene.ready()


def same_in_both(scene) -> None:
    build = Build.objects.select_related("assembly").get(assembly=scene.assembly, live=True)
    label = label_facts(Label.objects.select_related("build__assembly").get(build=build))
    number = assembly_makers.TOOL
    found = in_one_go(scene.revision, scene.machine, [number], {build.pk: label})
    expected = one_by_one(scene.revision, scene.machine, build, number, label)
    assert found[build.pk, number].facts == expected.facts
    assert found[build.pk, number].verdict == expected.verdict


def test_a_scanned_label_would_be_a_match_in_both(scene):
    same_in_both(scene)


def test_a_loaded_tool_is_already_here_in_both(scene):
    scene.load()
    assert Load.objects.filter(out_at=None).count() == 1
    same_in_both(scene)


def test_a_tool_that_came_out_worn_is_told_in_both(scene):
    scene.load()
    load = Load.objects.get(out_at=None)
    take_out(by=makers.person("operator"), submission=uuid4(), load=load, out_as="worn")
    same_in_both(scene)


def test_a_tool_that_was_refused_as_dull_is_told_in_both(scene):
    scene.refuse("dull")
    same_in_both(scene)


def test_a_tool_in_another_machine_is_told_in_both(scene):
    scene.load()
    other = assembly_makers.machine()
    build = live_builds()[0]
    number = assembly_makers.TOOL
    found = in_one_go(scene.revision, other, [number])[build.pk, number]
    assert found.facts.control.seen_elsewhere
    assert found.facts == one_by_one(scene.revision, other, build, number).facts


def test_values_entered_for_a_number_are_told_in_both(scene):
    scene.load()
    found = in_one_go(scene.revision, scene.machine, [assembly_makers.TOOL])
    (checked,) = found.values()
    assert checked.facts.control.confirmed_length_um == assembly_makers.GAUGE_LENGTH_UM
    same_in_both(scene)


def test_an_assembly_that_was_only_looked_up_is_never_a_match(scene):
    (checked,) = in_one_go(scene.revision, scene.machine, [assembly_makers.TOOL]).values()
    assert checked.word_key == "check"
    assert {f.code for f in checked.verdict.findings} >= setup_sheet_checks.UNTIL_SCANNED


def test_nothing_asked_costs_nothing(scene, django_assert_num_queries):
    with django_assert_num_queries(0):
        assert checks_of([], scene.revision, Fetched(scene.machine, {}, []), {}) == {}
