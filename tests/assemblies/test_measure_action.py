"""Readings: kept one by one, and what a moved value does to a released build."""

from uuid import uuid4

import pytest

from assemblies.actions import build, measure
from assemblies.actions.measure import Reading
from assemblies.models import AssemblyState, Build, Measurement
from crib.rules.refusal import NotAllowed
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db


def live(assembly):
    return Build.objects.get(assembly=assembly, live=True)


def values(build_):
    read = Measurement.objects.latest_by_quantity(build_.pk)
    return {name: row.value_um for name, row in read.items()}


def test_readings_are_kept_with_who_and_with_what():
    assembly, by = made.built(), made.toolroom()
    reading = Reading(
        quantity="runout", value_um=8, distance_um=30_000, instrument="D-3", note="cold"
    )

    measure.record_measurements(by=by, submission=uuid4(), assembly=assembly, readings=[reading])

    row = Measurement.objects.get()
    assert (row.build, row.by) == (live(assembly), by)
    assert (row.value_um, row.distance_um, row.instrument) == (8, 30_000, "D-3")


def test_the_last_reading_counts_and_the_first_one_stays():
    assembly = made.built()
    for value in (12_000, 11_990):
        made.record(assembly, diameter=value)

    assert values(live(assembly)) == {"diameter": 11_990}
    assert Measurement.objects.count() == 2


def test_what_is_not_measured():
    assert made.code_of(made.record, made.drafted(), runout=8) == "measure.draft"
    assert made.code_of(made.record, made.built()) == "measure.nothing"


@pytest.mark.parametrize(
    ("quantity", "value", "refused"),
    [
        ("gauge_length", 0, True),
        ("gauge_length", 1, False),
        ("diameter", 0, True),
        ("diameter", -12_000, True),
        ("runout", 0, False),
        ("runout", -1, True),
        ("corner_radius", 0, False),
        ("corner_radius", -1, True),
    ],
)
def test_a_reading_has_a_possible_size(quantity, value, refused):
    assembly = made.built()
    if refused:
        assert made.code_of(made.record, assembly, **{quantity: value}) == "measure.zero"
    else:
        made.record(assembly, **{quantity: value})
        assert values(live(assembly)) == {quantity: value}


def test_one_bad_reading_keeps_none_of_the_page():
    assert made.code_of(made.record, made.built(), runout=8, diameter=0) == "measure.zero"


def test_a_quarantined_assembly_is_not_measured():
    old_page = made.measured()
    build.quarantine(
        by=made.operator(), submission=uuid4(), assembly=made.again(old_page), note="dropped"
    )

    assert old_page.state == AssemblyState.BUILT
    assert made.code_of(made.record, old_page, runout=8) == "measure.quarantined"


# ---- on a released build
@pytest.mark.parametrize(
    ("quantity", "value", "revision"),
    [
        ("gauge_length", 97_020, 1),
        ("gauge_length", 96_980, 1),
        ("gauge_length", 97_021, 2),
        ("gauge_length", 96_979, 2),
        ("diameter", 12_010, 1),
        ("diameter", 11_990, 1),
        ("diameter", 12_011, 2),
        ("diameter", 11_989, 2),
        ("runout", 29, 1),
        ("corner_radius", 500, 2),  # never read before
    ],
)
def test_only_a_value_that_moved_makes_a_new_revision(quantity, value, revision):
    assembly = made.released()

    made.record(assembly, **{quantity: value})

    assert live(assembly).revision == revision
    state = AssemblyState.RELEASED if revision == 1 else AssemblyState.BUILT
    assert made.again(assembly).state == state
    assert values(live(assembly))[quantity] == value


def test_small_steps_are_held_against_the_release_and_not_against_each_other():
    assembly = made.released()
    made.record(assembly, gauge_length=97_015)
    assert live(assembly).revision == 1

    made.record(assembly, gauge_length=97_030)

    assert live(assembly).revision == 2


def test_the_next_revision_is_the_same_build_with_the_readings_that_hold():
    assembly, by = made.released(), made.toolroom()
    old = live(assembly)

    made.record(assembly, by=by, gauge_length=98_000)

    new = live(assembly)
    same = ("stickout_um", "grip_um", "torque_mnm", "findings", "accepted_reason")
    assert [getattr(new, name) for name in same] == [getattr(old, name) for name in same]
    assert (new.built_by, new.released_at) == (by, None)
    assert values(new) == {"gauge_length": 98_000, "diameter": 12_000, "runout": 8}
    assert values(old)["gauge_length"] == 97_000
    pairs = [set(b.parts.values_list("role", "item", "piece", "quantity")) for b in (old, new)]
    assert pairs[0] == pairs[1]
    carried = new.measurements.get(quantity="runout")
    assert carried.note == "carried over from r1"


def test_the_next_revision_is_meant_for_the_same_tool_number():
    assembly, wanted = made.drafted(), made.confirm(made.revision())
    build.set_purpose(by=made.toolroom(), submission=uuid4(), assembly=assembly, meant_for=wanted)
    made.make(assembly)
    made.record(assembly, gauge_length=97_000, diameter=12_000, runout=8)
    made.let_go(assembly)

    made.record(assembly, gauge_length=98_000)

    assert live(assembly).meant_for == wanted


def test_a_moved_value_voids_the_label_until_the_new_one_is_released():
    scene = made.Scene.ready()

    made.record(scene.assembly, diameter=11_980)

    assert {"label.void_rebuilt", "assembly.not_released"} <= scene.codes()
    made.let_go(scene.assembly)
    assert scene.codes() == {"label.void_rebuilt"}
    scene.label = made.label_of(scene.assembly)
    assert scene.word() == "match"


def test_a_build_that_is_not_released_may_move_as_it_likes():
    assembly = made.measured()

    made.record(assembly, gauge_length=90_000)

    assert live(assembly).revision == 1


# ---- who, and once
@pytest.mark.parametrize("role", ["operator", "programmer", "buyer", "lead"])
def test_only_toolroom_and_admin_measure(role):
    assembly = made.built()

    with pytest.raises(NotAllowed):
        made.record(assembly, by=makers.person(role), runout=8)

    assert not Measurement.objects.exists()


def test_the_same_form_sent_twice_is_one_reading_and_one_revision():
    assembly, by, once = made.released(), made.toolroom(), uuid4()
    readings = [Reading(quantity="gauge_length", value_um=98_000)]

    first, again = (
        measure.record_measurements(by=by, submission=once, assembly=assembly, readings=readings)
        for _ in range(2)
    )

    assert (first.repeated, again.repeated) == (False, True)
    assert live(assembly).revision == 2
    assert live(assembly).measurements.filter(quantity="gauge_length").count() == 2
