"""Booking in, taking out, giving back; places; the list of movements."""

from __future__ import annotations

import pytest
from django.urls import reverse

from crib.models import Movement, OrderLine, Place
from tests import makers
from tests.crib.pages import fill_in, send_twice, signed_in, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def rack():
    return makers.place("RACK B3")


@pytest.fixture
def nut(rack):
    return makers.stocked(makers.nut_item(), rack, 5)


def url(name, item):
    return reverse(f"crib:{name}", kwargs={"code": item.code})


def here(item, place):
    return Movement.objects.on_hand(item.pk, place.pk)


@pytest.mark.parametrize(
    ("name", "role", "left"),
    [("stock_receive", "buyer", 7), ("stock_issue", "operator", 3)],
)
def test_stock_moves_once_however_often_the_form_is_sent(nut, rack, name, role, left):
    first, second, acts = send_twice(signed_in(role), url(name, nut), quantity=2, place=rack.pk)
    assert first["Location"] == second["Location"] == url("item_detail", nut)
    assert (here(nut, rack), acts) == (left, 1)


def test_taking_the_last_piece_twice_is_one_taking(rack):
    item = makers.stocked(makers.nut_item(), rack, 1)
    _, second, acts = send_twice(
        signed_in("operator"), url("stock_issue", item), quantity=1, place=rack.pk
    )
    assert (second.status_code, here(item, rack), acts) == (302, 0, 1)


def test_what_was_taken_out_comes_back(nut, rack):
    client = signed_in("operator")
    fill_in(client, url("stock_issue", nut), quantity=2, place=rack.pk)
    fill_in(client, url("stock_give_back", nut), quantity=1, place=rack.pk)
    assert here(nut, rack) == 4


def test_a_marked_piece_goes_out_and_comes_back_by_its_mark(rack):
    item = makers.holder_item()
    piece = makers.piece(item, rack, mark="H-07")
    client = signed_in("operator")
    page = client.get(url("stock_issue", item), {"piece": piece.pk})
    assert page.context["form"]["piece"].value() == piece.pk
    fill_in(client, url("stock_issue", item), quantity=1, place=rack.pk, piece=piece.pk)
    piece.refresh_from_db()
    assert piece.place.kind == "person"
    fill_in(client, url("stock_give_back", item), quantity=1, place=rack.pk, piece=piece.pk)
    piece.refresh_from_db()
    assert piece.place == rack


@pytest.mark.parametrize(
    ("name", "field", "typed"),
    [
        ("stock_issue", "quantity", {"quantity": 6}),
        ("stock_issue", "quantity", {"quantity": 0}),
        ("stock_issue", "quantity", {"quantity": "1.5"}),
        ("stock_issue", "quantity", {"quantity": "9" * 30}),
        ("stock_issue", "place", {"place": ""}),
        ("stock_issue", "place", {"place": "x"}),
        ("stock_issue", "submission", {"submission": ""}),
        ("stock_receive", "quantity", {"quantity": 100_001}),
        ("stock_receive", "note", {"note": "x" * 121}),
        ("stock_give_back", "quantity", {"quantity": 1}),
    ],
)
def test_a_bad_entry_names_its_field_and_moves_nothing(nut, rack, name, field, typed):
    client = signed_in("toolroom")
    answer = fill_in(client, url(name, nut), **{"quantity": 1, "place": rack.pk} | typed)
    assert answer.status_code == 200
    assert list(answer.context["form"].errors) == [field]
    assert (here(nut, rack), Movement.objects.count()) == (5, 1)


def test_nothing_is_received_into_an_account(nut, rack):
    client = signed_in("operator")
    fill_in(client, url("stock_issue", nut), quantity=1, place=rack.pk)
    taken = Place.objects.get(kind="person")
    answer = fill_in(signed_in("buyer"), url("stock_receive", nut), quantity=1, place=taken.pk)
    assert list(answer.context["form"].errors) == ["place"]


@pytest.fixture
def line(nut):
    act = nut.movements.get().act
    return OrderLine.objects.create(item=nut, quantity=10, act=act, by=act.by)


def test_an_order_line_is_booked_in_with_what_is_open_and_closes_when_complete(line, nut, rack):
    client = signed_in("buyer")
    book_in = reverse("crib:receive_line", kwargs={"pk": line.pk})
    assert client.get(book_in).context["form"]["quantity"].value() == 10
    fill_in(client, book_in, quantity=4, place=rack.pk)
    assert client.get(book_in).context["form"]["quantity"].value() == 6
    _, second, acts = send_twice(client, book_in, quantity=6, place=rack.pk)
    line.refresh_from_db()
    assert (second.status_code, acts, line.closed, here(nut, rack)) == (302, 1, True, 15)


@pytest.mark.parametrize(
    ("first", "then", "said"),
    [
        (None, 10, "Book in: {code}, recorded."),
        (None, 50, "50 booked in, 10 were ordered."),
        (4, 6, "Book in: {code}, recorded."),
        (4, 7, "7 booked in, 6 of 10 ordered were still to come."),
    ],
)
def test_more_than_a_line_still_has_is_booked_in_and_said(line, nut, rack, first, then, said):
    client = signed_in("buyer")
    book_in = reverse("crib:receive_line", kwargs={"pk": line.pk})
    if first:
        fill_in(client, book_in, quantity=first, place=rack.pk)
        client.get("/")  # reads the message away
    answer = fill_in(client, book_in, quantity=then, place=rack.pk)

    messages = [str(m) for m in client.get(answer["Location"]).context["messages"]]
    assert messages == [said.format(code=nut.code)]
    assert here(nut, rack) == 5 + (first or 0) + then


def test_a_complete_line_takes_no_more(line, nut, rack):
    OrderLine.objects.filter(pk=line.pk).update(closed=True)
    book_in = reverse("crib:receive_line", kwargs={"pk": line.pk})
    answer = fill_in(signed_in("buyer"), book_in, quantity=1, place=rack.pk)
    assert answer.context["form"].non_field_errors()
    assert here(nut, rack) == 5


def test_the_item_page_leads_to_its_open_line(line, nut):
    book_in = reverse("crib:receive_line", kwargs={"pk": line.pk})
    assert book_in in signed_in("buyer").get(url("item_detail", nut)).content.decode()
    assert book_in not in signed_in("operator").get(url("item_detail", nut)).content.decode()


@pytest.mark.parametrize(
    ("name", "role"),
    [
        ("stock_receive", "operator"),
        ("stock_receive", "programmer"),
        ("stock_issue", "buyer"),
        ("stock_give_back", "programmer"),
    ],
)
def test_stock_is_closed_to_other_roles(nut, rack, name, role):
    answer = signed_in(role).post(url(name, nut), {"quantity": 1, "place": rack.pk})
    assert answer.status_code == 403
    assert Movement.objects.count() == 1


# ---- the list of movements
def test_movements_are_listed_newest_first_and_by_item(nut, rack):
    other = makers.stocked(makers.collet_item(), rack, 1)
    client = signed_in("operator")
    rows = client.get("/movements/").context["table"].rows
    assert [row.record.item for row in rows] == [other, nut]
    rows = client.get("/movements/", {"item": nut.code.upper()}).context["table"].rows
    assert [row.record.item for row in rows] == [nut]


def test_no_movements_is_said():
    client = signed_in("operator")
    assert "Nothing has been moved yet" in text_of(client.get("/movements/"))
    assert "Nothing of X-1" in text_of(client.get("/movements/", {"item": "X-1"}))


def test_the_list_of_movements_asks_few_questions(rack, django_assert_max_num_queries):
    for _ in range(8):
        makers.piece(makers.collet_item(), rack)
    client = signed_in("operator")
    with django_assert_max_num_queries(6):
        client.get("/movements/")


# ---- places
def test_no_places_is_said():
    assert "No places yet" in text_of(signed_in("toolroom").get("/places/"))


def test_places_stand_as_a_tree_with_what_is_in_each(nut, rack):
    makers.place("SHELF 1", parent=rack)
    makers.place("ANOTHER")
    rows = signed_in("operator").get("/places/").context["racks"]
    assert [(row.above, row.place.code, row.pieces, row.items) for row in rows] == [
        ((), "ANOTHER", 0, 0),
        ((), "RACK B3", 5, 1),
        (("RACK B3",), "SHELF 1", 0, 0),
    ]


def test_a_place_lists_what_lies_there(nut, rack):
    makers.piece(makers.holder_item(), rack, mark="H-07")
    page = text_of(signed_in("operator").get(f"/places/{rack.pk}/"))
    assert nut.code in page
    assert "H-07" in page
    empty = makers.place("EMPTY")
    assert "Nothing lies here" in text_of(signed_in("operator").get(f"/places/{empty.pk}/"))


def test_a_new_place_sent_twice_is_one_place(rack):
    first, second, acts = send_twice(
        signed_in("toolroom"), "/places/new/", code="DRAWER 1", name="nuts", parent=rack.pk
    )
    made = Place.objects.get(code="DRAWER 1")
    assert first["Location"] == second["Location"] == f"/places/{made.pk}/"
    assert acts == 1


@pytest.mark.parametrize(("code", "name"), [("", "x"), ("rack b3", ""), ("D", "x" * 81)])
def test_a_bad_place_is_refused_with_its_field(rack, code, name):
    answer = fill_in(signed_in("toolroom"), "/places/new/", code=code, name=name)
    assert set(answer.context["form"].errors) <= {"code", "name"}
    assert answer.context["form"].errors
    assert Place.objects.count() == 1


def test_a_place_cannot_stand_inside_itself(rack):
    shelf = makers.place("SHELF 1", parent=rack)
    answer = fill_in(
        signed_in("toolroom"), f"/places/{rack.pk}/edit/", code="RACK B3", parent=shelf.pk
    )
    assert list(answer.context["form"].errors) == ["parent"]


def test_an_account_of_the_ledger_is_no_rack_to_edit(nut, rack):
    account = Place.objects.get(kind="supplier")
    assert signed_in("toolroom").get(f"/places/{account.pk}/edit/").status_code == 404


def test_places_are_changed_by_the_toolroom_only(rack):
    for path in ("/places/new/", f"/places/{rack.pk}/edit/"):
        assert signed_in("buyer").get(path).status_code == 403
