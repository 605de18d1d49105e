"""Another assembly like one that stands: parts from stock, figures never."""

from uuid import uuid4

import pytest

from assemblies.actions.copying import copy_assembly, copy_plan
from assemblies.models import Assembly, AssemblyState
from crib.actions.stock import issue
from crib.models import Condition, Movement, Piece
from crib.rules.refusal import NotAllowed
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db


def copy(assembly, by=None, submission=None, **given):
    done = copy_assembly(
        by=by or made.toolroom(), submission=submission or uuid4(), assembly=assembly, **given
    )
    return Assembly.objects.get(number=int(done.result))


def spares(some):
    """A second piece of each marked part, in the drawer."""
    return {
        name: makers.piece(getattr(some, name).item, some.drawer)
        for name in ("holder", "collet", "cutter")
    }


def parts_in(assembly):
    return {part.role: part for part in assembly.current_build.parts.all()}


def test_a_copy_takes_other_pieces_of_the_same_items_under_a_new_number():
    some = made.some_parts()
    assembly, more = made.released(some), spares(some)

    copied = copy(assembly, name="for Router 2")

    parts = parts_in(copied)
    assert copied.number == assembly.number + 1
    assert (copied.state, copied.name) == (AssemblyState.DRAFT, "for Router 2")
    assert {role: part.piece for role, part in parts.items()} == {**more, "nut": None}
    assert Piece.objects.get(pk=more["holder"].pk).place == copied.contents
    assert Movement.objects.on_hand(some.nut.pk, copied.contents_id) == 1
    assert assembly.current_build.parts.count() == 4


def test_figures_are_not_copied_and_the_source_is_remembered():
    some = made.some_parts()
    assembly = made.released(some)
    spares(some)

    draft = copy(assembly).current_build

    assert draft.copied_from == assembly.current_build
    assert (draft.stickout_um, draft.grip_um, draft.torque_mnm) == (None, None, None)
    assert not draft.measurements.exists()
    assert draft.meant_for is None


def test_what_is_not_in_stock_is_left_out_and_listed():
    some = made.some_parts()
    assembly = made.released(some)
    plan = {part.role: part.in_stock for part in copy_plan(assembly.current_build)}
    assert plan == {"holder": False, "collet": False, "cutter": False, "nut": True}
    assert set(parts_in(copy(assembly))) == {"nut"}


def test_a_piece_out_of_service_or_taken_out_is_not_in_stock():
    some = made.some_parts()
    assembly, more = made.released(some), spares(some)
    Piece.objects.filter(pk=more["collet"].pk).update(condition=Condition.WORN)
    issue(
        by=made.operator(),
        submission=uuid4(),
        item=some.cutter.item,
        quantity=1,
        from_place=some.drawer,
        piece=more["cutter"],
    )
    assert set(parts_in(copy(assembly))) == {"holder", "nut"}


def test_a_loose_part_is_taken_before_a_marked_one_but_never_a_holder():
    some = made.some_parts()
    assembly, more = made.released(some), spares(some)
    for item in (some.collet.item, some.holder.item):
        makers.stocked(item, some.drawer, 1)
    parts = parts_in(copy(assembly))
    assert parts["collet"].piece is None
    assert parts["holder"].piece == more["holder"]


def test_inserts_are_copied_for_every_seat_or_not_at_all():
    drawer, assembly = makers.place(), made.started()
    cutter, insert = makers.cutter_item(seats=4), makers.item("insert")
    makers.stocked(cutter, drawer, 2)
    makers.stocked(insert, drawer, 11)
    made.put(assembly, cutter)
    made.put(assembly, insert)

    assert parts_in(copy(assembly))["insert"].quantity == 4
    assert "insert" not in parts_in(copy(assembly))


def test_a_copy_for_another_machine_is_meant_for_its_tool_number():
    some = made.some_parts()
    assembly = made.released(some)
    spares(some)
    wanted = made.confirm(made.revision())
    assert copy(assembly, meant_for=wanted).current_build.meant_for == wanted


def test_an_empty_or_retired_assembly_is_not_copied():
    assert made.code_of(copy, made.started()) == "copy.empty"
    retired = made.released()
    made.parts.retire(by=made.toolroom(), submission=uuid4(), assembly=retired, reason="old")
    assert made.code_of(copy, retired) == "assembly.retired"


def test_the_same_page_sent_twice_makes_one_copy():
    assembly, by, number = made.released(), made.toolroom(), uuid4()
    first = copy(assembly, by=by, submission=number)
    assert copy(assembly, by=by, submission=number) == first
    assert Assembly.objects.count() == 2


@pytest.mark.parametrize("role", ["operator", "programmer", "buyer", "lead"])
def test_only_toolroom_and_admin_copy(role):
    assembly = made.built()
    with pytest.raises(NotAllowed):
        copy(assembly, by=makers.person(role))
    assert Assembly.objects.count() == 1
