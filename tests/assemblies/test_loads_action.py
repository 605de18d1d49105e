"""Putting in, taking out, borrowing and putting back: what is written, and what is refused."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from assemblies.actions import build, loads
from assemblies.models import Assembly, AssemblyState, Decision, Load, Sighting
from crib.models import Act
from crib.rules.refusal import NotAllowed, Refused
from tests import assembly_makers as made
from tests import makers
from tests.assemblies.load_makers import changer, decided, held, out, put, slots

pytestmark = pytest.mark.django_db


@pytest.fixture
def by_hand():
    return made.machine()


def code_of(run, *args, **kwargs) -> str:
    return made.code_of(run, *args, **kwargs)


# ---- putting in
def test_a_load_says_what_went_where_under_which_number_and_why():
    machine, assembly = changer(), made.started()
    load = put(assembly, machine, 4)
    assert (load.pocket, load.tool_number, load.out_at) == (4, made.TOOL, None)
    assert load.build == assembly.current_build
    assert load.spindle_check.assembly == assembly


def test_in_a_spindle_the_next_tool_takes_the_place_of_the_last(by_hand):
    first, second = made.started(), made.started()
    old = put(first, by_hand)
    put(second, by_hand)
    old.refresh_from_db()
    assert (old.out_at is not None, old.out_as) == (True, "")
    assert held(by_hand) == [(None, second.number)]


def test_the_next_tool_may_have_the_same_number_as_the_last_in_the_spindle(by_hand):
    put(made.started(), by_hand, tool_number=5)
    put(made.started(), by_hand, tool_number=5)
    assert Load.objects.filter(out_at=None).count() == 1


def test_an_assembly_leaves_the_machine_it_was_in():
    there, here, assembly = changer(), changer(), made.started()
    put(assembly, there, 2)
    put(assembly, here, 7)
    assert (held(there), held(here)) == ([], [(7, assembly.number)])


def test_the_same_tool_checked_again_is_one_open_load():
    machine, assembly = changer(), made.started()
    first = put(assembly, machine, 2)
    put(assembly, machine, 2)
    first.refresh_from_db()
    assert first.out_note == "checked again"
    assert held(machine) == [(2, assembly.number)]


def test_a_load_into_the_spindle_leaves_the_pockets_alone():
    machine, pocketed, other = changer(), made.started(), made.started()
    put(pocketed, machine, 3, tool_number=3)
    put(other, machine, None, tool_number=9)
    assert held(machine) == [(None, other.number), (3, pocketed.number)]


@pytest.mark.parametrize(
    ("pocket", "code"),
    [(0, "load.pocket_unknown"), (1, ""), (12, ""), (13, "load.pocket_unknown")],
)
def test_a_pocket_is_one_that_the_machine_has(pocket, code):
    machine, assembly = changer(12), made.started()
    if code:
        assert code_of(put, assembly, machine, pocket) == code
    else:
        assert put(assembly, machine, pocket).pocket == pocket


def test_a_machine_without_a_changer_has_no_pockets(by_hand):
    assert code_of(put, made.started(), by_hand, 1) == "load.no_pockets"


def test_a_pocket_that_still_holds_a_tool_is_refused():
    machine = changer()
    put(made.started(), machine, 4, tool_number=1)
    assert code_of(put, made.started(), machine, 4, tool_number=2) == "load.pocket_taken"


@pytest.mark.parametrize(("pocket_of_first", "pocket"), [(3, 4), (3, None), (None, 4)])
def test_a_number_that_another_tool_holds_here_is_refused(pocket_of_first, pocket):
    machine = changer()
    put(made.started(), machine, pocket_of_first, tool_number=5)
    assert code_of(put, made.started(), machine, pocket, tool_number=5) == "load.number_taken"


def test_a_number_is_free_again_once_its_tool_is_out():
    machine, second = changer(), made.started()
    out(put(made.started(), machine, 3, tool_number=5))
    assert put(second, machine, 3, tool_number=5).pocket == 3


def test_two_tools_without_a_number_do_not_hold_it_against_each_other():
    machine = changer()
    put(made.started(), machine, 1, tool_number=None)
    put(made.started(), machine, 2, tool_number=None)
    assert len(held(machine)) == 2


@pytest.mark.parametrize(
    ("tool_number", "pocket", "goes_to"),
    [(1, None, 1), (12, None, 12), (13, None, None), (0, None, None), (5, 5, 5), (None, 4, 4)],
)
def test_where_t_names_the_pocket_t_says_where_it_goes(tool_number, pocket, goes_to):
    assert put(made.started(), slots(12), pocket, tool_number).pocket == goes_to


@pytest.mark.parametrize("pocket", [4, 6])
def test_where_t_names_the_pocket_no_other_pocket_is_taken(pocket):
    code = code_of(put, made.started(), slots(), pocket, tool_number=5)
    assert code == "load.pocket_is_number"


def test_where_t_names_the_tool_no_pocket_is_guessed():
    assert put(made.started(), changer(), None, tool_number=5).pocket is None


def test_a_load_without_a_revision_is_refused():
    assert code_of(put, made.started(), changer(), 1, build=None) == "load.no_build"


def test_a_refused_tool_is_never_put_in():
    row = decided(made.started(), changer(), decision=Decision.REFUSED, reason="dull")
    with pytest.raises(ValueError, match="loaded"):
        loads.put_in(act=row.act, spindle_check=row, pocket=1)


def test_a_refusal_leaves_the_old_place_of_the_assembly_as_it_was():
    there, here, assembly = changer(), changer(), made.started()
    put(made.started(), here, 4, tool_number=1)
    put(assembly, there, 2, tool_number=2)
    assert code_of(put, assembly, here, 4, tool_number=2) == "load.pocket_taken"
    assert held(there) == [(2, assembly.number)]


def test_where_the_look_missed_a_load_the_table_refuses_the_second(monkeypatch):
    machine = changer()
    put(made.started(), machine, 4, tool_number=1)
    monkeypatch.setattr(loads, "_open_loads", lambda *_: [])
    code = code_of(put, made.started(), machine, 4, tool_number=2)
    assert code == "load.taken_meanwhile"


# ---- taking out
@pytest.mark.parametrize(
    ("out_as", "state"),
    [("good", "released"), ("worn", "released"), ("broken", "quarantined")],
)
def test_what_comes_out_broken_is_quarantined_at_once(out_as, state):
    assembly = made.released()
    load = put(assembly, changer(), 4)
    out(load, out_as, note="edge chipped")
    load.refresh_from_db()
    assert (load.out_as, load.out_note, load.out_by.is_operator) == (out_as, "edge chipped", True)
    assert made.again(assembly).state == state


def test_a_broken_tool_says_where_it_came_from():
    assembly, machine = made.released(), changer()
    out(put(assembly, machine, 4), "broken")
    assert machine.name in made.again(assembly).state_note


def test_a_quarantined_tool_can_come_out_broken_too():
    assembly = made.released()
    load = put(assembly, changer(), 4)
    build.quarantine(by=made.operator(), submission=uuid4(), assembly=assembly, note="dropped")
    out(load, "broken")
    assert made.again(assembly).state_note == "dropped"


def test_the_same_form_twice_takes_out_once():
    load, by, once = put(made.started(), changer(), 4), made.operator(), uuid4()
    first, second = (out(load, by=by, submission=once) for _ in range(2))
    assert (first.repeated, second.repeated) == (False, True)
    assert first.result == second.result == str(load.pk)


def test_the_same_form_with_another_answer_hears_what_was_said_first():
    load, by, once = put(made.started(), changer(), 4), made.operator(), uuid4()
    out(load, "good", by=by, submission=once)
    assert code_of(out, load, "broken", by=by, submission=once) == "load.answered"


def test_what_is_out_does_not_come_out_again():
    load = put(made.started(), changer(), 4)
    out(load)
    assert code_of(out, load) == "load.out_already"


def test_how_it_came_out_is_one_of_three():
    assert code_of(out, put(made.started(), changer(), 4), "sharp") == "load.edge"


@pytest.mark.parametrize("role", ["programmer", "buyer", "admin"])
def test_taking_out_is_for_those_who_decide_at_the_spindle(role):
    load = put(made.started(), changer(), 4)
    with pytest.raises(NotAllowed):
        out(load, by=makers.person(role))


def test_a_stop_in_the_middle_leaves_nothing_half_done(monkeypatch):
    assembly = made.released()
    load = put(assembly, changer(), 4)

    def fails(**_):
        raise RuntimeError("power cut")

    monkeypatch.setattr(loads, "quarantine_in_act", fails)
    before = made.written()
    with pytest.raises(RuntimeError), transaction.atomic():
        out(load, "broken")
    assert made.written() == before


# ---- the table itself
def test_a_closed_load_is_never_opened_again():
    load = put(made.started(), changer(), 4)
    out(load)
    with pytest.raises(IntegrityError), transaction.atomic():
        Load.objects.filter(pk=load.pk).update(out_at=None, out_by=None, out_as="")


def test_a_load_does_not_change_its_pocket():
    load = put(made.started(), changer(), 4)
    with pytest.raises(IntegrityError), transaction.atomic():
        Load.objects.filter(pk=load.pk).update(pocket=5)


def test_a_load_is_never_deleted(append_only_guard):
    load = put(made.started(), changer(), 4)
    with pytest.raises(IntegrityError), transaction.atomic():
        Load.objects.filter(pk=load.pk).delete()


@pytest.mark.parametrize(
    "second",
    [
        {"assembly": "first"},
        {"pocket": 4},
        {"tool_number": 1},
    ],
    ids=["one assembly twice", "one pocket twice", "one number twice"],
)
def test_the_table_takes_no_second_claim(second):
    machine, first = changer(), made.started()
    put(first, machine, 4, tool_number=1)
    row = decided(made.started(), machine, 2)
    fields = {"assembly": row.assembly, "pocket": 5, "tool_number": 2} | second
    if fields["assembly"] == "first":
        fields["assembly"] = first
    with pytest.raises(IntegrityError), transaction.atomic():
        Load.objects.create(machine=machine, build=row.build, spindle_check=row, **fields)


def test_the_table_takes_no_second_tool_in_a_spindle(by_hand):
    put(made.started(), by_hand, tool_number=1)
    row = decided(made.started(), by_hand, 2)
    with pytest.raises(IntegrityError), transaction.atomic():
        Load.objects.create(
            machine=by_hand,
            assembly=row.assembly,
            build=row.build,
            spindle_check=row,
            tool_number=2,
        )


# ---- borrowing and putting back
def borrow(assembly, by=None, **where):
    return loads.borrow(by=by or made.operator(), submission=uuid4(), assembly=assembly, **where)


def put_back(assembly, place, by=None):
    return loads.put_back(
        by=by or made.operator(), submission=uuid4(), assembly=assembly, place=place
    )


def test_borrowing_says_who_has_it_and_where_it_goes():
    assembly, machine, by = made.started(), changer(), made.operator()
    borrow(assembly, by, machine=machine, note="test cut")
    row = Sighting.objects.get()
    assert (row.kind, row.machine, row.note, row.by) == ("borrowed", machine, "test cut", by)


def test_putting_back_moves_the_assembly_and_is_seen():
    assembly, rack = made.started(), makers.place("RACK B3")
    borrow(assembly)
    put_back(assembly, rack)
    assert made.again(assembly).stands_at == rack
    assert Sighting.objects.first().kind == "returned"
    assert Act.objects.get(kind="assembly.put_down").details == {"place": "RACK B3"}


@pytest.mark.parametrize("step", [borrow, lambda a: put_back(a, makers.place())])
def test_a_tool_in_a_machine_comes_out_first(step):
    assembly = made.started()
    put(assembly, changer(), 4)
    with pytest.raises(Refused) as refused:
        step(assembly)
    assert refused.value.code == "load.still_in"
    assert not Sighting.objects.exists()


def test_an_assembly_is_put_back_in_a_rack_only():
    assembly, other = made.started(), made.started()
    assert code_of(put_back, assembly, other.contents) == "place.not_a_rack"


def test_a_retired_assembly_is_not_borrowed():
    assembly = made.started()
    Assembly.objects.filter(pk=assembly.pk).update(state=AssemblyState.RETIRED)
    build.end_build(assembly.current_build, "worn out")
    assert code_of(borrow, assembly) == "assembly.retired"


@pytest.mark.parametrize("role", ["programmer", "buyer"])
def test_borrowing_is_for_those_who_move_things(role):
    with pytest.raises(NotAllowed):
        borrow(made.started(), makers.person(role))


# ---- reading
def test_free_pockets_are_those_that_nothing_is_in():
    machine = changer(5)
    put(made.started(), machine, 2, tool_number=1)
    out(put(made.started(), machine, 3, tool_number=2))
    put(made.started(), machine, None, tool_number=3)
    assert loads.free_pockets(machine) == [1, 3, 4, 5]


def test_a_machine_without_a_changer_has_no_free_pockets(by_hand):
    assert loads.free_pockets(by_hand) == []


def test_every_pocket_has_its_line_and_one_beyond_the_last_is_not_hidden():
    machine = changer(4)
    last = put(made.started(), machine, 4)
    machine.pockets = 2
    machine.save()
    found = loads.lines_of(machine, loads.loads_in(machine))
    lines = [(line.pocket, line.load) for line in found]
    assert lines == [(1, None), (2, None), (4, last)]


@pytest.mark.parametrize(
    ("minutes", "said"),
    [
        (0, "0 min ago"),
        (59, "59 min ago"),
        (60, "1 h ago"),
        (2879, "47 h ago"),
        (2880, "2 days ago"),
    ],
)
def test_ages_are_said_in_one_unit(minutes, said):
    now = timezone.now()
    assert loads.ago(now - timedelta(minutes=minutes), now) == said
