"""An approval, and an answer carried on, hold for what was read and stated when they were given.

Expected answers follow from the rule of the house: who approves or confirms answers for what they
saw, and for nothing that came later; no outside source.
"""

from uuid import uuid4

import pytest

from assemblies.actions import carried as carried_on
from assemblies.actions import machines, programs, readings
from assemblies.models import Machine, ToolUse
from crib.rules.refusal import Refused
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db

#: Nobody says in which units: the machine decides.
NO_UNITS = made.PROGRAM.replace("G21 G90", "G90").replace("Z-3", "Z-1")


def change(machine, **settings):
    """The settings of a control put otherwise, as on its page; what the page says then."""
    submission, row = uuid4(), Machine.objects.get(pk=machine.pk)
    for name, value in settings.items():
        setattr(row, name, value)
    machines.save_machine(by=makers.person("lead"), submission=submission, machine=row)
    return machines.saved_in_words(submission)


FARTHER = made.PROGRAM.replace("X100", "X200")


def next_revision(scene):
    """The next revision takes the place of the first one, its answer carried on; the first one."""
    first, scene.revision = scene.revision, made.revision(str(scene.revision.program), "B", FARTHER)
    made.approve(scene.revision, scene.machine)
    assert scene.word() == "match"
    return first


@pytest.fixture
def scene():
    return made.Scene.ready()


@pytest.fixture
def unitless(scene):
    scene.revision = made.revision(text=NO_UNITS)
    made.confirm(scene.revision)
    made.approve(scene.revision, scene.machine)
    assert scene.word() == "match"
    return scene


# ---- the control reads it in another way
def test_settings_that_change_what_is_read_end_the_approval(unitless):
    words = change(unitless.machine, default_units="inch")

    assert "1 program no longer approved here" in words
    assert unitless.codes() == {"program.withdrawn"}
    made.approve(unitless.revision, unitless.machine)
    assert unitless.word() == "match"


def test_they_end_it_on_that_machine_only(unitless):
    here, there = unitless.machine, made.machine()
    made.approve(unitless.revision, there)
    change(here, default_units="inch")

    unitless.machine = there
    assert unitless.word() == "match"


def test_back_to_the_settings_of_before_it_stays_ended(unitless):
    change(unitless.machine, default_units="inch")
    change(unitless.machine, default_units="mm")

    assert unitless.codes() == {"program.withdrawn"}


@pytest.mark.parametrize(
    "settings", [{"default_units": "inch"}, {"harmless_m_codes": "M10"}, {"peck_back_off_um": 500}]
)
def test_settings_that_change_nothing_in_the_program_leave_it_approved(scene, settings):
    assert "no longer" not in change(scene.machine, **settings)
    assert scene.word() == "match"


def test_what_could_not_be_read_in_the_new_way_is_not_approved_in_it(unitless, monkeypatch):
    monkeypatch.setattr(machines, "MOST_READ_AT_ONCE", 0)
    change(unitless.machine, default_units="inch")
    monkeypatch.undo()
    programs.read_again(by=made.programmer(), submission=uuid4(), revision=unitless.revision)

    assert unitless.codes() == {"program.withdrawn"}


# ---- another reader reads it
def read_before_as(revision, **figures):
    """What an older reader made of it."""
    revision.readings.update(reader_version=1)
    ToolUse.objects.filter(reading__revision=revision).update(**figures)


def read_again(scene):
    programs.read_again(by=made.programmer(), submission=uuid4(), revision=scene.revision)


def test_a_newer_reader_that_reads_something_else_ends_the_approval(scene):
    read_before_as(scene.revision, spindle_speed_max_rpm=9_000)
    read_again(scene)

    assert scene.codes() == {"program.withdrawn"}


@pytest.mark.parametrize("certain", [True, False])
def test_a_newer_reader_that_reads_the_same_ends_nothing(scene, certain):
    read_before_as(scene.revision, speed_exact=certain)
    read_again(scene)

    assert scene.word() == "match"


def test_the_revision_before_is_read_anew_with_the_next_one_and_judged_by_that(scene):
    read_before_as(scene.revision, spindle_speed_max_rpm=9_000)
    made.revision(str(scene.revision.program), "B", FARTHER)

    assert readings.is_current(readings.reading_of(scene.revision, scene.machine))
    assert scene.codes() == {"program.withdrawn"}


def test_another_machine_that_shares_the_reading_does_not_keep_its_approval_by_it(scene):
    there = made.machine()
    read_before_as(scene.revision, spindle_speed_max_rpm=9_000)
    made.approve(scene.revision, there)

    assert scene.codes() == {"program.withdrawn"}
    scene.machine = there
    assert scene.word() == "match"


# ---- an answer that was carried on is put right where it came from
def test_an_answer_put_right_is_asked_again_where_it_was_carried_to(scene):
    first = next_revision(scene)

    made.confirm(first, diameter_um=10_000)

    row = scene.revision.requirements.get()
    assert (row.is_confirmed, row.carried_from) == (False, None)
    assert row.asked_again_because == "T5 was stated anew for revision A"
    assert scene.codes() == {"program.withdrawn", "program.requirement_not_confirmed"}


def test_it_is_asked_again_in_every_revision_that_carried_it_on(scene):
    first, name = scene.revision, scene.revision.program.name
    later = [
        made.revision(name, label, made.PROGRAM.replace("X100", f"X{label}00"))
        for label in ("2", "3")
    ]
    made.confirm(first)  # the same again: nothing is put right
    assert [row.requirements.get().is_confirmed for row in later] == [True, True]

    made.confirm(later[0], stickout_min_um=40_000)
    assert [row.requirements.get().is_confirmed for row in (first, *later)] == [True, True, False]

    made.confirm(first, diameter_um=10_000)
    assert later[0].requirements.get().is_confirmed


def test_an_answer_of_its_own_is_asked_of_nobody_again(scene):
    first = next_revision(scene)
    made.confirm(scene.revision)

    made.confirm(first, diameter_um=10_000)

    assert scene.word() == "match"


def test_another_program_is_asked_nothing(scene):
    other = made.approved(scene.machine)
    made.confirm(scene.revision, diameter_um=10_000)

    assert other.requirements.get().is_confirmed


# ---- an answer that was carried on, on a machine that reads otherwise than those of that day
@pytest.fixture
def carried(scene):
    """B leaves out G21, which on a machine in mm changes nothing; then one in inch comes."""
    made.confirm(made.revision("SHELF", "A", NO_UNITS.replace("G90", "G21 G90")))
    scene.revision = made.revision("SHELF", "B", NO_UNITS)
    assert scene.revision.requirements.get().carried_from is not None
    scene.machine = made.machine(default_units="inch")
    return scene


def test_it_does_not_hold_there_and_the_approval_says_so(carried):
    refused = made.refusal(made.approve, carried.revision, carried.machine)

    assert (refused.code, refused.field) == ("approval.carried", "reason")
    assert "T5" in refused.text
    made.confirm(carried.revision)
    made.approve(carried.revision, carried.machine)
    assert carried.word() == "match"


def test_approved_with_a_reason_it_is_asked_again(carried):
    made.approve(carried.revision, carried.machine, "first part under watch")

    assert carried.codes() == {"program.requirement_not_confirmed"}
    assert "deeper" in carried.revision.requirements.get().asked_again_because


def test_where_the_machine_reads_both_alike_it_holds(scene):
    scene.revision = made.revision(str(scene.revision.program), "B", FARTHER)
    scene.machine = made.machine(default_units="inch")

    made.approve(scene.revision, scene.machine)

    assert scene.revision.requirements.get().carried_from is not None
    assert scene.word() == "match"


def test_where_the_older_one_cannot_be_read_that_way_it_does_not_hold(carried, monkeypatch):
    def refuse(revision, machine):
        raise Refused("program.not_a_program", "no")

    monkeypatch.setattr(carried_on, "read_missing", refuse)

    assert made.code_of(made.approve, carried.revision, carried.machine) == "approval.carried"
