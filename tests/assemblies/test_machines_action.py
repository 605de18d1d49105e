"""Machines: the interface of the table, limits in order, and the pull stud or none."""

from uuid import uuid4

import pytest

from assemblies.actions import machines
from assemblies.models import Machine
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
