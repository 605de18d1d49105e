"""Two people at one machine at the same moment, on a database that commits."""

from __future__ import annotations

from uuid import uuid4

import pytest

from assemblies.actions import loads
from assemblies.models import AssemblyState, Load, SpindleCheck
from crib.models import Act
from tests import assembly_makers as made
from tests.assemblies.load_makers import changer, held, out, put
from tests.crib.test_two_at_once import at_once, meet_after, refusals

pytestmark = pytest.mark.django_db(transaction=True)

RACES = range(2)
__all__ = ["meet_after"]


def puts(machine, assembly, pocket, tool_number):
    by = made.operator()
    return lambda: put(assembly, machine, pocket, tool_number, by=by)


@pytest.mark.parametrize("race", RACES)
def test_one_pocket_is_filled_once(race, meet_after):
    machine, first, second = changer(), made.started(), made.started()
    meet_after((loads, "_check_pocket"))

    answers = at_once(puts(machine, first, 4, 1), puts(machine, second, 4, 2))

    assert refusals(answers) == ["load.pocket_taken"]
    assert [pocket for pocket, _ in held(machine)] == [4]
    assert SpindleCheck.objects.count() == Act.objects.filter(kind="check.decide").count() == 1


@pytest.mark.parametrize("race", RACES)
def test_one_number_is_given_once(race, meet_after):
    machine, first, second = changer(), made.started(), made.started()
    meet_after((loads, "_check_pocket"))

    answers = at_once(puts(machine, first, 3, 5), puts(machine, second, 4, 5))

    assert refusals(answers) == ["load.number_taken"]
    assert Load.objects.filter(out_at=None, tool_number=5).count() == 1


@pytest.mark.parametrize("race", RACES)
def test_in_a_spindle_one_follows_the_other(race):
    machine, first, second = made.machine(), made.started(), made.started()

    answers = at_once(puts(machine, first, None, 1), puts(machine, second, None, 2))

    assert refusals(answers) == []
    assert len(held(machine)) == 1
    assert Load.objects.count() == 2


@pytest.mark.parametrize("race", RACES)
def test_two_tools_that_change_places_do_not_wait_for_each_other(race):
    one, two, first, second = made.machine(), made.machine(), made.started(), made.started()
    put(first, one, None, 1)
    put(second, two, None, 2)

    answers = at_once(puts(two, first, None, 1), puts(one, second, None, 2))

    assert refusals(answers) == []
    assert held(two) == [(None, first.number)]
    assert held(one) == [(None, second.number)]


@pytest.mark.parametrize("race", RACES)
def test_a_tool_comes_out_once(race):
    load, people = put(made.started(), changer(), 4), [made.operator() for _ in range(2)]

    answers = at_once(*(lambda by=by: out(load, by=by) for by in people))

    assert refusals(answers) == ["load.out_already"]
    assert Act.objects.filter(kind="load.take_out").count() == 1


@pytest.mark.parametrize("race", RACES)
def test_one_form_sent_twice_at_once_is_one_answer(race):
    load, by, once = put(made.started(), changer(), 4), made.operator(), uuid4()

    answers = at_once(*[lambda: out(load, by=by, submission=once)] * 2)

    assert sorted(done.repeated for done in answers) == [False, True]


@pytest.mark.parametrize("race", RACES)
def test_a_broken_tool_is_never_left_released_by_somebody_who_loads_it(race):
    assembly, machine, by = made.released(), changer(), made.operator()
    load = put(assembly, machine, 4)

    at_once(lambda: out(load, "broken", by=by), puts(changer(), made.again(assembly), 1, made.TOOL))

    assert made.again(assembly).state in (AssemblyState.QUARANTINED, AssemblyState.RELEASED)
    load.refresh_from_db()
    broken = made.again(assembly).state == AssemblyState.QUARANTINED
    assert (load.out_as == "broken") == broken
