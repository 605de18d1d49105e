"""Machines: the interface of the table, limits in order, and the pull stud or none."""

from uuid import uuid4

import pytest

from assemblies.actions import machines, readings
from assemblies.actions.readings import reading_of
from assemblies.models import Machine
from crib.actions.once import do_once
from crib.reference import tapers
from crib.rules.refusal import NotAllowed
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db


def save(machine, role="lead", submission=None, by=None):
    return machines.save_machine(
        by=by or makers.person(role), submission=submission or uuid4(), machine=machine
    )


def unsaved(**fields):
    given = {"mark": "R7", "name": "Router 7", "interface": "ISO 30 router", "stud_pattern": "A"}
    return Machine(**given | fields)


@pytest.mark.parametrize("interface", sorted(row.code for row in tapers()))
def test_every_interface_of_the_table_is_taken(interface):
    save(unsaved(interface=interface))

    assert Machine.objects.get().interface == interface


@pytest.mark.parametrize(
    ("fields", "code", "field"),
    [
        ({"interface": "ISO 30"}, "machine.interface", "interface"),
        ({"interface": ""}, "machine.interface", "interface"),
        ({"mark": ""}, "machine.not_valid", "mark"),
        ({"mark": "   "}, "machine.not_valid", ""),
        ({"name": ""}, "machine.not_valid", "name"),
        ({"stud_pattern": ""}, "machine.not_valid", ""),
        ({"speed_min_rpm": 9, "speed_max_rpm": 8}, "machine.not_valid", ""),
        ({"override_ceiling_percent": 99}, "machine.not_valid", ""),
        ({"turns_cw": False, "turns_ccw": False}, "machine.not_valid", ""),
        ({"tool_change": "robot"}, "machine.not_valid", "tool_change"),
    ],
)
def test_what_is_no_machine(fields, code, field):
    refused = made.refusal(save, unsaved(**fields))

    assert refused.code == code
    if field:
        assert refused.field == field


def test_a_mark_is_given_once_whatever_its_case():
    save(unsaved())

    assert made.code_of(save, unsaved(mark="r7")) == "machine.not_valid"


def test_a_machine_without_stud_keeps_no_pattern():
    save(unsaved(interface="HSK-A63", uses_stud=False, stud_pattern="A"))

    assert Machine.objects.get().stud_pattern == ""


def test_a_limit_changed_later_counts_at_the_next_check():
    scene = made.Scene.ready()
    scene.machine.length_max_um = made.GAUGE_LENGTH_UM - 1

    save(scene.machine)

    assert scene.codes() == {"machine.length_over_limit"}


# ---- how its control reads programs
@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("", ""),
        ("m11, M10;12", "M10 M11 M12"),
        ("M010 M10", "M10"),
        ("M9999", "M9999"),
        (" ".join(f"M{n}" for n in range(70, 90)), " ".join(f"M{n}" for n in range(70, 90))),
    ],
)
def test_harmless_m_codes_are_kept_in_order_and_once(typed, kept):
    save(unsaved(harmless_m_codes=typed))

    assert Machine.objects.get().harmless_m_codes == kept


@pytest.mark.parametrize(
    "typed",
    [
        *(f"M{n}" for n in (*range(10), 30, 48, 49, 60, 96, 97, 98, 99, 198)),
        # Source: DIN 66025-2, from memory: start with coolant, stop at an angle.
        *("M13", "M14", "M19"),
        *("M17", "M29"),
        *("M10000", "M-10", "M10.1", "Q10", "M", "ten", "M10 /", "M٣"),
        " ".join(f"M{n}" for n in range(70, 91)),
    ],
)
def test_m_codes_that_may_not_be_passed_over_are_refused(typed):
    refused = made.refusal(save, unsaved(harmless_m_codes=f"M10 {typed}"))

    assert (refused.code, refused.field) == ("machine.m_codes", "harmless_m_codes")


@pytest.mark.parametrize(("back_off_um", "taken"), [(0, True), (10_000, True), (10_001, False)])
def test_a_back_off_beyond_a_peck_is_a_slip(back_off_um, taken):
    if taken:
        save(unsaved(peck_back_off_um=back_off_um))
        assert Machine.objects.get().peck_back_off_um == back_off_um
    else:
        code = made.code_of(save, unsaved(peck_back_off_um=back_off_um))
        assert code == "machine.back_off"


@pytest.mark.parametrize("field", ["number_names", "zero_at", "default_units"])
def test_a_setting_that_is_none_of_the_choices_is_refused(field):
    refused = made.refusal(save, unsaved(**{field: "odd"}))

    assert (refused.code, refused.field) == ("machine.not_valid", field)


STAGED = made.PROGRAM.replace("G1 Z-3", "T7\nG1 Z-3")


def changed(machine, **fields):
    """The machine saved with other settings; what the page says then."""
    submission = uuid4()
    for name, value in fields.items():
        setattr(machine, name, value)
    save(machine, submission=submission)
    return machines.saved_in_words(submission)


def test_with_other_settings_the_approved_programs_are_read_anew():
    machine, other = made.machine(), made.machine()
    here, elsewhere = made.revision(text=STAGED), made.approved(other)
    made.confirm(here)
    made.approve(here, machine)

    words = changed(machine, t_alone_changes=True)

    assert words.startswith("Machine saved. 1 program approved here read anew. 1 program no longer")
    called = reading_of(here, machine).tool_uses.values_list("tool_number", flat=True)
    assert sorted(called) == [5, 7]
    assert reading_of(elsewhere, machine) is None
    # The standard way stands for the other machine, as it was.
    assert [use.tool_number for use in reading_of(here, other).tool_uses.all()] == [5]


def test_a_tool_number_that_only_the_new_way_sees_is_proposed_and_not_confirmed():
    machine = made.machine()
    revision = made.revision(text=STAGED)
    made.confirm(revision)
    made.approve(revision, machine)

    changed(machine, t_alone_changes=True)

    assert {r.tool_number: r.is_confirmed for r in revision.requirements.all()} == {
        5: True,
        7: False,
    }


def test_what_the_new_way_reads_counts_at_the_spindle():
    scene = made.Scene.ready()
    assert scene.word() == "match"

    changed(scene.machine, harmless_m_codes="M10")

    assert scene.word() == "match"
    scene.revision.readings.exclude(settings_key="standard").update(complete=False)
    assert scene.word() == "cant_tell"


@pytest.mark.parametrize(
    "fields", [{"name": "Other"}, {"number_names": "tool"}, {"zero_at": "table"}]
)
def test_what_does_not_touch_the_reading_reads_nothing(monkeypatch, fields):
    machine = made.machine()
    made.approved(machine)
    monkeypatch.setattr(readings, "read_program", lambda *given: pytest.fail("it was read"))

    assert changed(machine, **fields) == "Machine saved."


def test_back_in_a_known_way_nothing_is_read_twice(monkeypatch):
    machine = made.machine()
    made.approved(machine)
    changed(machine, default_units="inch")
    monkeypatch.setattr(readings, "read_program", lambda *given: pytest.fail("it was read"))

    assert changed(machine, default_units="mm") == "Machine saved."
    assert changed(machine, default_units="inch") == "Machine saved."


def test_what_is_too_much_for_one_form_is_left_unread_and_said(monkeypatch):
    machine = made.machine()
    first, second = made.approved(machine), made.approved(machine)
    monkeypatch.setattr(machines, "MOST_READ_AT_ONCE", first.size_bytes)

    words = changed(machine, default_units="inch")

    assert "1 program approved here read anew. 1 program not read yet" in words
    found = [reading_of(revision, machine) for revision in (first, second)]
    assert [reading is None for reading in found] == [False, True]


def test_one_file_that_cannot_be_read_keeps_no_machine_from_being_saved(monkeypatch):
    machine = made.machine()
    made.approved(machine)
    monkeypatch.setattr(readings, "MOST_TOOL_CHANGES", 0)

    assert "1 program not read yet" in changed(machine, default_units="inch")
    assert Machine.objects.get().default_units == "inch"


def test_programs_are_read_before_the_records_are_held(monkeypatch):
    machine, order = made.machine(), []
    made.approved(machine)
    read = readings.read_program
    monkeypatch.setattr(
        readings, "read_program", lambda *given: order.append("read") or read(*given)
    )

    def holding(**given):
        order.append("held")
        return do_once(**given)

    monkeypatch.setattr(machines, "do_once", holding)
    changed(machine, default_units="inch")

    assert order == ["read", "held"]


@pytest.mark.parametrize("role", ["operator", "toolroom", "programmer", "buyer"])
def test_only_lead_and_admin_change_machines(role):
    with pytest.raises(NotAllowed):
        save(unsaved(), role)

    assert not Machine.objects.exists()


def test_the_same_form_sent_twice_is_one_machine():
    by, once = makers.person("lead"), uuid4()

    answers = [save(unsaved(), submission=once, by=by) for _ in range(2)]

    assert [done.repeated for done in answers] == [False, True]
    assert Machine.objects.count() == 1
