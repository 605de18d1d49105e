"""Parts into a draft and out again: the ledger follows, and nothing is in two places."""

from uuid import uuid4

import pytest

from assemblies.actions import build, part_returns, parts
from assemblies.actions.part_choices import entry_item, longest_grip_text, slots_of
from assemblies.actions.stack_facts import parts_of
from assemblies.models import AssemblyState, BuildPart
from crib.actions import pieces, stock
from crib.actions.places import account
from crib.models import (
    Condition,
    InsertFacts,
    ItemKind,
    Movement,
    Piece,
    PlaceKind,
    Reason,
)
from crib.rules.refusal import NotAllowed
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db


def take_out(assembly, role, goes_to=part_returns.FIT, note="", by=None):
    return parts.take_out(
        by=by or made.toolroom(),
        submission=uuid4(),
        assembly=assembly,
        role=role,
        goes_to=goes_to,
        note=note,
    )


def retire(assembly, reason="worn out", by=None):
    return parts.retire(
        by=by or made.toolroom(), submission=uuid4(), assembly=assembly, reason=reason
    )


def put_down(assembly, place, by=None):
    return parts.put_down(
        by=by or made.toolroom(), submission=uuid4(), assembly=assembly, place=place
    )


def set_condition(piece, condition, note="cracked"):
    piece.refresh_from_db()
    return pieces.set_condition(
        by=made.toolroom(), submission=uuid4(), piece=piece, condition=condition, note=note
    )


def at(item, place):
    return Movement.objects.on_hand(item.pk, place.pk)


def in_it(assembly):
    return {part.role: part for part in BuildPart.objects.filter(build__assembly=assembly, live=1)}


def insert_item(home, quantity):
    item = makers.item(ItemKind.INSERT, home_place=home)
    InsertFacts.objects.create(item=item, edges=2)
    return makers.stocked(item, home, quantity) if quantity else item


def with_seats(drawer, seats=4, **facts):
    item = makers.cutter_item(seats=seats, **facts)
    item.home_place = drawer
    item.save()
    return makers.piece(item, drawer)


# ---- in
def test_a_marked_piece_and_a_loose_part_move_to_the_assembly():
    some, assembly = made.some_parts(), made.started()

    made.put(assembly, some.cutter.item, some.cutter)
    made.put(assembly, some.nut)

    assert (at(some.cutter.item, assembly.contents), at(some.nut, assembly.contents)) == (1, 1)
    assert (at(some.cutter.item, some.drawer), at(some.nut, some.drawer)) == (0, 4)
    assert Piece.objects.get(pk=some.cutter.pk).place == assembly.contents
    assert set(in_it(assembly)) == {"cutter", "nut"}
    reasons = Movement.objects.filter(to_place=assembly.contents).values_list("reason", flat=True)
    assert set(reasons) == {Reason.BUILD}


def test_what_is_replaced_goes_back_to_its_drawer():
    some, other, assembly = made.some_parts(), made.some_parts(), made.started()
    made.put(assembly, some.cutter.item, some.cutter)

    made.put(assembly, other.cutter.item, other.cutter)

    assert Piece.objects.get(pk=some.cutter.pk).place == some.drawer
    assert in_it(assembly)["cutter"].piece == other.cutter
    assert at(some.cutter.item, assembly.contents) == 0


def test_a_replaced_piece_that_was_set_aside_meanwhile_goes_to_quarantine():
    some, other, assembly = made.some_parts(), made.some_parts(), made.started()
    made.put(assembly, some.cutter.item, some.cutter)
    set_condition(some.cutter, Condition.QUARANTINED)

    made.put(assembly, other.cutter.item, other.cutter)

    assert Piece.objects.get(pk=some.cutter.pk).place.kind == PlaceKind.QUARANTINE


def test_without_a_home_a_part_goes_back_where_it_came_from():
    item, drawer, assembly = makers.nut_item(), makers.place(), made.started()
    makers.stocked(item, drawer, 1)
    made.put(assembly, item)

    take_out(assembly, "nut")

    assert at(item, drawer) == 1


def test_the_part_with_the_most_homelike_place_is_taken_first():
    home, other = makers.place("Z HOME"), makers.place("A OTHER")
    item = makers.nut_item()
    item.home_place = home
    item.save()
    for drawer in (other, home):
        makers.stocked(item, drawer, 1)

    made.put(made.started(), item)

    assert (at(item, home), at(item, other)) == (0, 1)


def test_what_may_not_go_into_a_draft():
    some, assembly = made.some_parts(), made.started()
    spare, none_left = makers.item(), makers.nut_item()
    worn = made.some_parts().collet
    set_condition(worn, Condition.WORN)
    taken = made.some_parts().cutter
    made.put(made.started(), taken.item, taken)

    assert made.code_of(made.put, assembly, spare) == "part.kind"
    assert made.code_of(made.put, assembly, none_left) == "part.none_left"
    assert made.code_of(made.put, assembly, some.holder.item) == "part.holder_unmarked"
    assert made.code_of(made.put, assembly, some.nut, some.cutter) == "part.other_item"
    assert made.code_of(made.put, assembly, worn.item, worn) == "part.out_of_service"
    assert made.code_of(made.put, assembly, taken.item, taken) == "part.not_in_stock"


def test_a_page_opened_before_the_piece_was_taken_does_not_take_it_too():
    some = made.some_parts()
    old_page = Piece.objects.select_related("place").get(pk=some.cutter.pk)
    made.put(made.started(), some.cutter.item, some.cutter)

    assert old_page.place == some.drawer
    refused = made.code_of(made.put, made.started(), old_page.item, old_page)
    assert refused == "stock.piece_elsewhere"


def test_a_piece_issued_to_a_person_is_not_built_in():
    some, assembly = made.some_parts(), made.started()
    stock.issue(
        by=made.operator(),
        submission=uuid4(),
        item=some.cutter.item,
        quantity=1,
        from_place=some.drawer,
        piece=some.cutter,
    )
    some.cutter.refresh_from_db()

    assert made.code_of(made.put, assembly, some.cutter.item, some.cutter) == "part.not_in_stock"


def test_the_parts_of_a_made_build_do_not_change():
    assembly, some = made.built(), made.some_parts()

    assert made.code_of(made.put, assembly, some.cutter.item, some.cutter) == "build.made"
    assert made.code_of(take_out, assembly, "cutter") == "build.made"


def test_what_is_built_in_is_not_taken_through_the_stock_pages():
    some = made.some_parts()
    assembly = made.released(some)
    some.cutter.refresh_from_db()

    code = made.code_of(
        stock.issue,
        by=made.operator(),
        submission=uuid4(),
        item=some.cutter.item,
        quantity=1,
        from_place=assembly.contents,
        piece=some.cutter,
    )

    assert code == "stock.not_a_rack"


# ---- inserts
def test_inserts_fill_every_seat():
    drawer, assembly = makers.place(), made.started()
    cutter, inserts = with_seats(drawer, 4), insert_item(drawer, 10)
    made.put(assembly, cutter.item, cutter)

    made.put(assembly, inserts)

    assert in_it(assembly)["insert"].quantity == 4
    assert (at(inserts, assembly.contents), at(inserts, drawer)) == (4, 6)


def test_inserts_need_seats_and_enough_of_them():
    drawer, assembly = makers.place(), made.started()
    cutter, inserts = with_seats(drawer, 4), insert_item(drawer, 3)

    assert made.code_of(made.put, assembly, inserts) == "part.no_seats"
    made.put(assembly, cutter.item, cutter)
    assert made.code_of(made.put, assembly, inserts) == "part.none_left"


@pytest.mark.parametrize(
    ("seats", "code"),
    [(6, "insert.seat_empty"), (4, "insert.seats_filled"), (2, "insert.seats_not_known")],
)
def test_inserts_are_counted_against_the_cutter_that_is_in_now(seats, code):
    drawer, assembly = makers.place(), made.started()
    first, inserts = with_seats(drawer, 4), insert_item(drawer, 10)
    made.put(assembly, first.item, first)
    made.put(assembly, inserts)
    second = with_seats(drawer, seats)

    made.put(assembly, second.item, second)

    assert code in {f.code for f in build.preview(assembly.current_build)}


def test_inserts_of_another_item_than_the_cutter_takes_do_not_fill_its_seats():
    drawer, assembly = makers.place(), made.started()
    right, wrong = insert_item(drawer, 4), insert_item(drawer, 4)
    cutter = with_seats(drawer, 4, insert_item=right)
    made.put(assembly, cutter.item, cutter)

    made.put(assembly, wrong)

    found = {f.code for f in build.preview(assembly.current_build)}
    assert "insert.seats_not_known" in found
    assert "insert.seats_filled" not in found


# ---- out
@pytest.mark.parametrize(
    ("goes_to", "kind", "condition", "reason"),
    [
        (part_returns.FIT, PlaceKind.STORAGE, Condition.IN_SERVICE, Reason.UNBUILD),
        (part_returns.QUARANTINE, PlaceKind.QUARANTINE, Condition.QUARANTINED, Reason.QUARANTINE),
        (part_returns.REGRIND, PlaceKind.REGRIND, Condition.REGRIND, Reason.MOVE),
        (part_returns.WORN, PlaceKind.QUARANTINE, Condition.WORN, Reason.QUARANTINE),
        (part_returns.GONE, PlaceKind.GONE, Condition.SCRAPPED, Reason.SCRAP),
    ],
)
def test_where_a_part_goes_that_is_taken_out(goes_to, kind, condition, reason):
    some, assembly = made.some_parts(), made.started()
    made.put(assembly, some.cutter.item, some.cutter)

    take_out(assembly, "cutter", goes_to, "chipped")

    piece = Piece.objects.get(pk=some.cutter.pk)
    assert (piece.place.kind, piece.condition) == (kind, condition)
    assert piece.movements.first().reason == reason
    assert in_it(assembly) == {}
    assert at(piece.item, assembly.contents) == 0


def test_a_loose_part_is_scrapped_by_number():
    some, assembly = made.some_parts(), made.started()
    made.put(assembly, some.nut)

    take_out(assembly, "nut", part_returns.GONE, "thread torn")

    assert at(some.nut, account(PlaceKind.GONE)) == 1


def test_what_taking_out_refuses():
    some, assembly = made.some_parts(), made.started()
    made.put(assembly, some.cutter.item, some.cutter)

    assert made.code_of(take_out, assembly, "nut") == "part.not_there"
    assert made.code_of(take_out, assembly, "cutter", "elsewhere") == "part.destination"
    assert made.code_of(take_out, assembly, "cutter", part_returns.QUARANTINE) == "part.reason"
    assert made.code_of(take_out, assembly, "cutter", part_returns.GONE, " ") == "part.reason"


def test_a_part_without_any_drawer_stays_in():
    item, drawer, assembly = makers.nut_item(), makers.place(), made.started()
    makers.stocked(item, drawer, 1)
    made.put(assembly, item)
    drawer.kind = PlaceKind.PERSON
    drawer.save()

    assert made.code_of(take_out, assembly, "nut") == "part.no_home"


# ---- retired
def test_retiring_returns_the_parts_and_keeps_the_list_of_the_made_build():
    some = made.some_parts()
    assembly = made.released(some)
    last = assembly.current_build
    set_condition(some.collet, Condition.WORN)

    retire(assembly)

    places = {p.item.kind: Piece.objects.get(pk=p.pk).place for p in (some.holder, some.cutter)}
    assert places == {"holder": some.drawer, "cutter": some.drawer}
    assert Piece.objects.get(pk=some.collet.pk).place.kind == PlaceKind.QUARANTINE
    assert at(some.nut, some.drawer) == 5
    assert last.parts.count() == 4
    assert set(last.parts.values_list("live", flat=True)) == {False}
    stored = made.again(assembly)
    assert (stored.state, stored.state_note) == (AssemblyState.RETIRED, "worn out")
    assert stored.current_build is None


def test_a_part_of_a_retired_assembly_goes_into_another():
    some = made.some_parts()
    retire(made.released(some))
    some.holder.refresh_from_db()

    other = made.started()
    made.put(other, some.holder.item, some.holder)

    assert in_it(other)["holder"].piece == some.holder


def test_a_retired_assembly_is_left_alone():
    assembly, some = made.released(), made.some_parts()
    retire(assembly)

    assert made.code_of(retire, assembly) == "assembly.retired"
    assert made.code_of(made.put, assembly, some.nut) == "assembly.retired"
    assert made.code_of(made.make, assembly) == "assembly.retired"
    assert made.code_of(made.let_go, assembly) == "assembly.retired"
    assert made.code_of(made.record, assembly, runout=8) == "assembly.retired"
    assert made.code_of(put_down, assembly, some.drawer) == "assembly.retired"


def test_retiring_needs_a_reason():
    assert made.code_of(retire, made.built(), " ") == "retire.reason"


# ---- where it stands
def test_an_assembly_is_put_down_in_a_rack():
    assembly, rack = made.released(), makers.place("RACK B3")

    put_down(assembly, rack, by=made.operator())

    assert made.again(assembly).stands_at == rack


def test_an_assembly_is_not_put_down_in_another_one():
    code = made.code_of(put_down, made.released(), made.started().contents)

    assert code == "place.not_a_rack"


# ---- who, and once
@pytest.mark.parametrize("role", ["operator", "programmer", "buyer", "lead"])
def test_only_toolroom_and_admin_handle_parts(role):
    some, by = made.some_parts(), makers.person(role)
    assembly = made.drafted(some)
    before = made.written()

    for attempt in (
        lambda: made.put(assembly, some.nut, by=by),
        lambda: take_out(assembly, "nut", by=by),
        lambda: retire(assembly, by=by),
    ):
        with pytest.raises(NotAllowed):
            attempt()

    assert made.written() == before


def test_the_same_form_sent_twice_moves_once():
    some, assembly, by = made.some_parts(), made.started(), made.toolroom()
    once, twice, thrice = uuid4(), uuid4(), uuid4()
    acts = {
        once: lambda: parts.put_part(by=by, submission=once, assembly=assembly, item=some.nut),
        twice: lambda: parts.take_out(by=by, submission=twice, assembly=assembly, role="nut"),
        thrice: lambda: parts.retire(by=by, submission=thrice, assembly=assembly, reason="old"),
    }

    for act in acts.values():
        assert not act().repeated
        before = made.written()
        assert act().repeated
        assert made.written() == before


# ---- choices
def test_choices_name_only_what_lies_in_a_rack_and_fits():
    some, other = made.some_parts(), made.some_parts(collet={"series": "ER25"})
    assembly = made.started()
    made.put(assembly, some.holder.item, some.holder)
    set_condition(some.cutter, Condition.WORN)

    slots = {slot.role: slot for slot in slots_of(assembly.current_build, in_it(assembly))}

    collets = {choice.entry: choice.likely for choice in slots["collet"].choices}
    assert collets == {some.collet.mark: True, other.collet.mark: False}
    assert [c.entry for c in slots["cutter"].choices] == [other.cutter.mark]
    assert [c.entry for c in slots["holder"].choices] == [other.holder.mark]
    assert {c.entry for c in slots["nut"].choices} == {some.nut.code, other.nut.code}
    assert "insert" not in slots


def test_an_entry_is_a_mark_first_and_a_code_next():
    some = made.some_parts()

    assert entry_item(f" {some.cutter.mark.lower()} ") == (some.cutter.item, some.cutter)
    assert entry_item(some.nut.code) == (some.nut, None)
    assert entry_item("nothing of ours") == (None, None)


def test_what_is_left_of_the_cutter_is_told_only_where_it_is_known():
    assembly = made.drafted()
    by_role = parts_of(assembly.current_build)

    assert "36.0 mm" in longest_grip_text(by_role, 47_000)
    assert longest_grip_text(by_role, None) == ""
    assert longest_grip_text(by_role, 83_000) == ""
    assert longest_grip_text({}, 47_000) == ""
