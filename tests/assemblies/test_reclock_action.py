"""Keeping a re-clock test: what it writes, what it ends, and what it refuses."""

from __future__ import annotations

from uuid import uuid4

import pytest

from assemblies.actions import reclock as testing
from assemblies.actions.build import quarantine, start_rebuild
from assemblies.actions.reclock import ENDED_BY, MOST_UM, ReclockReadings
from assemblies.models import Assembly, AssemblyState, Build, Measurement, Reclocking
from crib.models import Act, Instrument
from crib.rules.refusal import NotAllowed
from tests import assembly_makers as asm
from tests import makers

pytestmark = pytest.mark.django_db


def read(**changed) -> ReclockReadings:
    usual = {
        "turned": "collet",
        "first_um": 14,
        "first_deg": 30,
        "second_um": 6,
        "second_deg": 200,
        "read_on": "shank",
        "distance_um": 36_000,
    }
    return ReclockReadings(**usual | changed)


def record(assembly: Assembly, revision: int = 1, by=None, submission=None, **changed):
    return testing.record_reclock(
        by=by or asm.toolroom(),
        submission=submission or uuid4(),
        assembly=assembly,
        revision=revision,
        readings=read(**changed),
    )


@pytest.fixture(scope="module")
def standing(module_rows):
    """One released assembly, as r1."""
    return asm.released().pk


@pytest.fixture
def released(db, standing) -> Assembly:
    return asm.again(Assembly.objects.get(pk=standing))


def live(assembly: Assembly) -> Build:
    return assembly.builds.get(live=True)


def test_the_test_is_kept_as_it_was_read(released):
    meter = Instrument.objects.create(mark="D-02", kind="indicator", step_um=1, uncertainty_um=2)
    done = record(released, measured_with=meter)
    row = Reclocking.objects.get(pk=int(done.result))
    assert (row.build.revision, row.turned, row.read_on) == (1, "collet", "shank")
    assert (row.first_um, row.first_deg, row.second_um, row.second_deg) == (14, 30, 6, 200)
    assert testing.reclocked(row).finding.code == "reclock.part"


def test_a_loosened_assembly_is_another_revision_and_not_released(released):
    before = live(released)
    record(released)
    after, now = live(released), asm.again(released)
    assert (now.state, now.state_note) == (AssemblyState.BUILT, ENDED_BY)
    assert (after.revision, after.released_at) == (2, None)
    assert (after.release_findings, after.release_reason) == ([], "")
    assert (after.stickout_um, after.torque_mnm) == (before.stickout_um, None)
    kept = {(p.role, p.item_id, p.piece_id) for p in before.parts.all()}
    assert {(p.role, p.item_id, p.piece_id) for p in after.parts.all()} == kept
    old = Build.objects.get(pk=before.pk)
    assert (old.live, old.end_reason) == (False, ENDED_BY)
    assert old.released_at is not None


def test_the_length_of_before_is_not_carried_over(released):
    record(released)
    assert set(Measurement.objects.latest_by_quantity(live(released).pk)) == {"runout"}


def test_a_holder_turned_in_the_spindle_leaves_the_assembly_as_it_is(released):
    before = live(released)
    record(released, turned="holder")
    assert asm.again(released).state == AssemblyState.RELEASED
    assert live(released).pk == before.pk
    assert live(released).measurements.filter(note="re-clock test").count() == 2


def test_a_bar_in_place_of_the_cutter_loosens_it_whatever_is_turned(released):
    record(released, turned="holder", read_on="bar")
    assert asm.again(released).state == AssemblyState.BUILT
    assert live(released).revision == 2


def test_its_label_no_longer_leads_to_a_match():
    scene = asm.Scene.ready()
    assert scene.word() == "match"
    record(scene.assembly)
    assert scene.word() == "stop"


def test_both_readings_count_as_runout_of_their_own_revision(released):
    record(released)
    first, second = (
        Measurement.objects.filter(build__revision=n, quantity="runout").first() for n in (1, 2)
    )
    assert (first.value_um, first.clock_deg, first.distance_um) == (14, 30, 36_000)
    assert (second.value_um, second.clock_deg, second.read_on) == (6, 200, "shank")


def test_the_act_tells_what_it_said(released):
    done = record(released)
    act = Act.objects.get(pk=done.act_id)
    assert (act.kind, act.about) == ("build.reclock", f"assembly {released.number}")
    assert act.details["note"].startswith("Collet 0.010")


def test_a_quarantined_assembly_may_be_tested_and_stays_quarantined(released):
    quarantine(by=asm.toolroom(), submission=uuid4(), assembly=released, note="runs out")
    record(released)
    assert asm.again(released).state == AssemblyState.QUARANTINED


def test_sent_twice_it_counts_once(released):
    submission, by = uuid4(), asm.toolroom()
    first = record(released, by=by, submission=submission)
    again = record(released, by=by, submission=submission)
    assert again.repeated
    assert again.result == first.result
    assert Reclocking.objects.count() == 1


@pytest.mark.parametrize(
    ("changed", "code"),
    [
        ({"turned": "nut"}, "reclock.part"),
        ({"turned": "sleeve"}, "reclock.part"),
        ({"read_on": "flutes"}, "reclock.place"),
        ({"read_on": ""}, "reclock.place"),
        ({"turned": "cutter", "read_on": "bar"}, "reclock.place"),
        ({"first_um": MOST_UM + 1}, "reclock.too_large"),
        ({"second_um": 14_000}, "reclock.too_large"),
        ({"first_deg": 360}, "reclock.clock"),
        ({"second_deg": 360}, "reclock.clock"),
        ({"revision": 2}, "reclock.other_revision"),
    ],
)
def test_what_tells_nothing_is_refused(released, changed, code):
    assert asm.code_of(record, released, **changed) == code


def test_the_largest_runout_and_the_last_degree_are_taken(released):
    record(released, first_um=MOST_UM, second_deg=359)
    assert Reclocking.objects.get().first_um == MOST_UM


def test_a_draft_is_refused(released):
    start_rebuild(by=asm.toolroom(), submission=uuid4(), assembly=released, reason="cleaning")
    assert asm.code_of(record, released) == "reclock.draft"


def test_only_who_may_build_may_test(released):
    with pytest.raises(NotAllowed):
        record(released, by=makers.person("operator"))
    assert not Reclocking.objects.exists()


def test_tests_are_found_by_assembly_and_by_piece(released):
    record(released)
    collet = live(released).parts.get(role="collet").piece
    nobody = makers.piece(makers.collet_item(), makers.place())
    assert [one.row.turned for one in testing.reclocks_of_assembly(released)] == ["collet"]
    assert len(testing.reclocks_with_piece(collet.mark_key)) == 1
    assert testing.reclocks_with_piece(nobody.mark_key) == []
