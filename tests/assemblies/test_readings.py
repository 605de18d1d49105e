"""Readings: one file read in each way in which a machine of the shop reads."""

from uuid import uuid4

import pytest

from assemblies.actions import approvals, programs, readings
from assemblies.models import ApprovalState, Machine, ProgramApproval, Reading
from crib.rules.refusal import NotAllowed
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db

STAGED = made.PROGRAM.replace("G1 Z-3", "T7\nG1 Z-3")


def ways_of(revision):
    return sorted(revision.readings.values_list("settings_key", flat=True))


def numbers(reading):
    return sorted(use.tool_number for use in reading.tool_uses.all())


@pytest.fixture
def machines():
    """Three ways of reading in one shop, the standard one shared by two machines."""
    return {
        "plain": made.machine(),
        "plain too": made.machine(number_names="tool", zero_at="table"),
        "inch": made.machine(default_units="inch"),
        "alone": made.machine(t_alone_changes=True, harmless_m_codes="M11 M10"),
    }


def test_a_file_is_read_once_for_each_way_and_not_for_each_machine(machines):
    revision = made.revision(text=STAGED)

    assert ways_of(revision) == ["inch", "standard", "t-alone;m10,m11"]
    found = {name: readings.reading_of(revision, m) for name, m in machines.items()}
    assert found["plain"] == found["plain too"] == readings.reading_of(revision)
    assert numbers(found["plain"]) == [5]
    assert numbers(found["alone"]) == [5, 7]


def test_a_machine_that_came_later_has_no_reading_until_the_approval_makes_it():
    revision = made.revision(text=STAGED)
    machine = made.machine(t_alone_changes=True)
    made.confirm(revision)
    assert readings.reading_of(revision, machine) is None

    made.approve(revision, machine, "first part under watch")

    assert numbers(readings.reading_of(revision, machine)) == [5, 7]


def test_a_tool_number_that_only_this_machine_calls_has_to_be_confirmed_for_its_approval():
    revision, machine = made.revision(text=STAGED), made.machine(t_alone_changes=True)
    made.confirm(revision)

    refused = made.refusal(made.approve, revision, machine)

    assert refused.code == "approval.unconfirmed"
    assert "T7" in refused.text
    made.approve(revision, made.machine())


def test_withdrawing_reads_nothing(monkeypatch):
    revision, machine = made.revision(), made.machine(default_units="inch")
    monkeypatch.setattr(readings, "read_program", lambda *given: pytest.fail("it was read"))

    made.withdraw(revision, machine)

    assert ways_of(revision) == ["standard"]


def test_an_approval_reads_what_an_older_reader_left():
    revision, machine = made.revision(), made.machine()
    made.confirm(revision)
    revision.readings.update(reader_version=1)

    made.approve(revision, machine)

    assert readings.is_current(readings.reading_of(revision, machine))


def test_settings_changed_under_an_approval_refuse_it(monkeypatch):
    revision, machine = made.revision(), made.machine()
    made.confirm(revision)
    read = approvals.read_missing

    def meanwhile(revision, machine):
        found = read(revision, machine)
        Machine.objects.filter(pk=machine.pk).update(default_units="inch")
        return found

    monkeypatch.setattr(approvals, "read_missing", meanwhile)

    with pytest.raises(readings.Refused) as refused:
        made.approve(revision, machine)

    assert refused.value.code == "approval.settings_changed"
    assert not ProgramApproval.objects.exists()
    monkeypatch.undo()
    made.approve(revision, Machine.objects.get(pk=machine.pk))


def test_read_again_reads_every_way_and_keeps_what_was_stated(machines):
    revision = made.revision(text=STAGED)
    made.confirm(revision)
    stated = list(revision.requirements.values_list("tool_number", "confirmed_at"))
    old = set(revision.readings.values_list("pk", flat=True))
    revision.readings.update(reader_version=1)
    revision.readings.filter(settings_key="inch").delete()

    programs.read_again(by=made.programmer(), submission=uuid4(), revision=revision)

    assert ways_of(revision) == ["inch", "standard", "t-alone;m10,m11"]
    assert all(readings.is_current(row) for row in revision.readings.all())
    assert old.isdisjoint(revision.readings.values_list("pk", flat=True))
    assert list(revision.requirements.values_list("tool_number", "confirmed_at")) == stated


def test_a_reading_left_from_settings_nobody_has_stays_away_from_the_others():
    machine = made.machine(default_units="inch")
    revision = made.revision()
    machine.default_units = "mm"
    machine.save()

    programs.read_again(by=made.programmer(), submission=uuid4(), revision=revision)

    assert readings.reading_of(revision, machine).settings_key == "standard"
    assert ways_of(revision) == ["inch", "standard"]


@pytest.mark.parametrize("role", ["operator", "toolroom", "buyer"])
def test_nobody_without_the_right_has_a_file_read(monkeypatch, role):
    revision, machine = made.revision(), made.machine(default_units="inch")
    monkeypatch.setattr(readings, "read_program", lambda *given: pytest.fail("it was read"))
    by = makers.person(role)

    with pytest.raises(NotAllowed):
        programs.read_again(by=by, submission=uuid4(), revision=revision)
    with pytest.raises(NotAllowed):
        approvals.set_approval(
            by=by,
            submission=uuid4(),
            revision=revision,
            machine=machine,
            state=ApprovalState.APPROVED,
        )
    assert Reading.objects.count() == 1


def test_a_note_about_a_tool_is_kept_with_it_and_one_about_nothing_is_not():
    text = made.PROGRAM.replace("H5", "H6")
    use = made.revision(text=text).readings.get().tool_uses.get()

    assert {note["code"] for note in use.details["notes"]} == {"length-offset"}


def test_fixed_offsets_of_a_machine_silence_the_note_there_and_only_there():
    fixed, plain = made.machine(fixed_length_offsets=True), made.machine()
    revision = made.revision(text=made.PROGRAM.replace("H5", "H6"))

    def codes(machine):
        use = readings.reading_of(revision, machine).tool_uses.get()
        return {note["code"] for note in use.details["notes"]}

    assert "length-offset" not in codes(fixed)
    assert "length-offset" in codes(plain)
