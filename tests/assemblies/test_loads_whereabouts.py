"""Not where expected: each way onto the list, and each way off it again."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from assemblies.actions import build, loads, parts
from assemblies.actions.spindle import choose_station
from assemblies.actions.whereabouts import came_out_worn, missing_lines
from assemblies.models import Assembly, Build, Sighting
from crib.models import Act
from tests import assembly_makers as made
from tests import makers
from tests.assemblies.load_makers import changer, out, put

pytestmark = pytest.mark.django_db

HOURS = timedelta(hours=1)


@pytest.fixture
def later(monkeypatch):
    """Moves the clock on: `later(13 * HOURS)`."""
    real, moved = timezone.now, [timedelta()]
    monkeypatch.setattr(timezone, "now", lambda: real() + moved[0])

    def move(by: timedelta) -> None:
        moved[0] += by

    return move


def missing() -> list[tuple[int, str]]:
    return [(line.assembly.number, line.why) for line in missing_lines()]


def borrow(assembly, **where):
    loads.borrow(by=made.operator(), submission=uuid4(), assembly=assembly, **where)


def put_back(assembly):
    place = makers.place()
    loads.put_back(by=made.operator(), submission=uuid4(), assembly=assembly, place=place)


def put_down(assembly):
    parts.put_down(by=made.operator(), submission=uuid4(), assembly=assembly, place=makers.place())


def rebuild(assembly):
    build.start_rebuild(by=made.toolroom(), submission=uuid4(), assembly=assembly, reason="dull")


def retire(assembly):
    Assembly.objects.filter(pk=assembly.pk).update(state="retired")


def load_again(assembly):
    put(assembly, changer(), 1)


def test_where_nothing_was_moved_nothing_is_missing():
    made.started()
    assert missing() == []


def test_what_was_borrowed_is_on_the_list_with_person_and_place():
    assembly, machine = made.started(), changer()
    borrow(assembly, machine=machine, note="test cut")
    (line,) = missing_lines()
    assert (line.why, line.last_seen, line.note) == ("Borrowed", f"for {machine}", "test cut")
    assert line.person.is_operator


def test_borrowed_without_saying_where_says_so():
    borrow(made.started())
    assert missing_lines()[0].last_seen == "not said where to"


@pytest.mark.parametrize("way", [put_back, put_down, load_again, rebuild, retire])
def test_each_way_off_the_list_of_borrowed_tools(way):
    assembly = made.released()
    borrow(assembly)
    way(assembly)
    assert missing() == []


@pytest.mark.parametrize("way", [put_back, put_down, load_again, rebuild, retire])
def test_each_way_off_the_list_of_tools_taken_out(way):
    assembly = made.released()
    out(put(assembly, changer(), 4))
    assert missing() == [(assembly.number, "Taken out")]
    way(assembly)
    assert missing() == []


def test_what_was_put_down_before_is_missing_all_the_same():
    assembly = made.released()
    put_down(assembly)
    out(put(assembly, changer(), 4))
    assert missing() == [(assembly.number, "Taken out")]


def test_a_tool_whose_place_the_next_one_took_is_somewhere_too():
    machine, first = made.machine(), made.started()
    put(first, machine)
    put(made.started(), machine)
    assert missing() == [(first.number, "Taken out")]


def test_taken_out_and_then_borrowed_is_one_line():
    assembly = made.started()
    out(put(assembly, changer(), 4))
    borrow(assembly)
    assert missing() == [(assembly.number, "Borrowed")]


def test_borrowed_loaded_and_taken_out_is_a_tool_taken_out():
    assembly = made.started()
    borrow(assembly)
    out(put(assembly, changer(), 4))
    assert missing() == [(assembly.number, "Taken out")]


def test_how_it_came_out_is_said():
    machine = changer()
    out(put(made.started(), machine, 4), "worn", note="burnt")
    (line,) = missing_lines()
    assert (line.last_seen, line.note) == (f"{machine}, pocket 4, worn", "burnt")


# ---- left in under another program
def loaded_for_a_program():
    machine, revision = changer(), made.revision()
    load = put(made.started(), machine, 4, revision=revision)
    return load, machine, revision


def choose(machine, revision):
    choose_station(by=made.operator(), session_key=str(uuid4()), machine=machine, revision=revision)


@pytest.mark.parametrize(("hours", "listed"), [(11, False), (13, True)])
def test_a_tool_of_another_program_is_listed_after_twelve_hours(later, hours, listed):
    load, machine, _ = loaded_for_a_program()
    choose(machine, made.revision())
    later(hours * HOURS)
    expected = [(load.assembly.number, "May not be there")] if listed else []
    assert missing() == expected


def test_a_tool_of_the_program_that_stands_is_where_expected(later):
    _, machine, revision = loaded_for_a_program()
    choose(machine, made.revision())
    choose(machine, revision)
    later(100 * HOURS)
    assert missing() == []


@pytest.mark.parametrize("chosen", ["nothing", "no program", "elsewhere"])
def test_where_no_other_program_is_known_nothing_is_claimed(later, chosen):
    _, machine, _ = loaded_for_a_program()
    if chosen == "no program":
        choose(machine, None)
    elif chosen == "elsewhere":
        choose(changer(), made.revision())
    later(100 * HOURS)
    assert missing() == []


# ---- order, worn tools, cost
def borrowed_on(assembly, at):
    by = made.operator()
    act = Act.objects.create(kind="assembly.borrow", by=by)
    Sighting.objects.create(assembly=assembly, kind="borrowed", act=act, by=by, at=at)


@pytest.mark.parametrize(("hours", "days"), [(0, 0), (23, 0), (24, 1), (47, 1), (48, 2), (100, 4)])
def test_days_are_whole_ones(hours, days):
    assembly = made.started()
    Build.objects.update(started_at=timezone.now() - 200 * HOURS)
    borrowed_on(assembly, timezone.now() - hours * HOURS)
    assert [line.days for line in missing_lines()] == [days]


def test_the_oldest_stands_first():
    first, second = made.started(), made.started()
    Build.objects.update(started_at=timezone.now() - 200 * HOURS)
    borrowed_on(first, timezone.now() - 1 * HOURS)
    borrowed_on(second, timezone.now() - 50 * HOURS)
    assert [line.assembly for line in missing_lines()] == [second, first]


def test_worn_tools_are_listed_until_they_are_rebuilt_or_come_out_good():
    machine, one, two = changer(), made.released(), made.released()
    out(put(one, machine, 1, tool_number=1), "worn")
    out(put(two, machine, 2, tool_number=2), "worn")
    assert {load.assembly for load in came_out_worn()} == {one, two}
    rebuild(one)
    out(put(two, machine, 2, tool_number=2), "good")
    assert came_out_worn() == []


def test_a_worn_tool_loaded_again_and_moved_on_without_a_word_stays_worn():
    machine, assembly = made.machine(), made.released()
    out(put(assembly, machine), "worn")
    put(assembly, machine)
    put(made.started(), machine)
    assert [load.assembly for load in came_out_worn()] == [assembly]


def test_the_list_asks_as_often_for_many_as_for_one(django_assert_num_queries):
    machine = changer()
    with django_assert_num_queries(6):
        missing_lines()
    for pocket in range(1, 5):
        assembly = made.started()
        borrow(assembly)
        out(put(assembly, machine, pocket, tool_number=pocket))
        put(made.started(), machine, pocket, tool_number=pocket)
    with django_assert_num_queries(6):
        assert len(missing_lines()) == 4
