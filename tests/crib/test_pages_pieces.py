"""Marked pieces: a new mark, condition, stud, history."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.urls import reverse

from crib.actions.once import do_once
from crib.actions.pieces import add_use
from crib.models import Condition, Movement, Piece, StudState
from tests import makers
from tests.crib.pages import fill_in, send_twice, signed_in, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture
def rack():
    return makers.place("RACK B3")


@pytest.fixture
def holder(rack):
    return makers.piece(makers.holder_item(), rack, mark="H-07")


def new_url(item):
    return reverse("crib:piece_new", kwargs={"code": item.code})


def test_a_new_mark_is_booked_in_and_shown(rack):
    item = makers.holder_item()
    typed = {"mark": "H-09", "place": rack.pk, "stud_state": "fitted", "stud_pattern": "A"}
    answer = fill_in(signed_in("toolroom"), new_url(item), **typed)
    assert answer["Location"] == "/pieces/H-09/"
    piece = Piece.objects.get()
    assert (piece.place, piece.stud_pattern, piece.movements.get().reason) == (rack, "A", "receive")


def stock_at(item, rack):
    return Movement.objects.on_hand(item.pk, rack.pk)


@pytest.mark.parametrize(("origin", "after"), [("loose", 3), ("further", 4)])
def test_where_unmarked_pieces_lie_it_is_asked_which_part_gets_the_mark(rack, origin, after):
    item = makers.stocked(makers.collet_item(), rack, 3)
    client = signed_in("toolroom")
    page = client.get(new_url(item))
    assert page.context["form"]["origin"].value() == "loose"
    assert f"one of the 3 unmarked pieces here: 3 at {rack.code}" in page.text

    _, second, acts = send_twice(client, new_url(item), mark="C-9", place=rack.pk, origin=origin)

    assert (second["Location"], acts) == ("/pieces/C-9/", 1)
    assert (stock_at(item, rack), Piece.objects.get().place) == (after, rack)
    assert "Mark given" in text_of(client.get("/pieces/C-9/")) or origin == "further"


def test_the_last_unmarked_piece_is_marked_once_by_a_form_sent_twice(rack):
    item = makers.stocked(makers.collet_item(), rack, 1)
    typed = {"mark": "C-9", "place": rack.pk, "origin": "loose"}
    _, second, acts = send_twice(signed_in("toolroom"), new_url(item), **typed)
    assert (second.status_code, acts, stock_at(item, rack)) == (302, 1, 1)


def test_where_none_lies_unmarked_nothing_is_asked(rack):
    item = makers.collet_item()
    makers.piece(item, rack, "C-1")
    client = signed_in("toolroom")
    assert "origin" not in client.get(new_url(item)).context["form"].fields

    _, second, acts = send_twice(client, new_url(item), mark="C-9", place=rack.pk)

    assert (second.status_code, acts, stock_at(item, rack)) == (302, 1, 2)


def test_at_a_place_with_none_unmarked_the_answer_is_refused(rack):
    item = makers.stocked(makers.collet_item(), rack, 3)
    elsewhere = makers.place()
    typed = {"mark": "C-9", "place": elsewhere.pk, "origin": "loose"}
    answer = fill_in(signed_in("toolroom"), new_url(item), **typed)
    assert answer.context["form"].errors.keys() == {"place"}
    assert not Piece.objects.exists()


def test_a_part_that_was_here_before_is_no_delivery(rack):
    typed = {"mark": "C-01", "place": rack.pk, "opening": "on"}
    fill_in(signed_in("toolroom"), new_url(makers.collet_item()), **typed)
    assert Piece.objects.get().movements.get().reason == "opening"


def test_a_new_mark_sent_twice_counts_once(rack):
    item = makers.collet_item()
    first, second, acts = send_twice(
        signed_in("toolroom"), new_url(item), mark="C-01", place=rack.pk
    )
    assert first["Location"] == second["Location"]
    assert (Piece.objects.count(), acts) == (1, 1)


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("mark", ""),
        ("mark", "h-07"),
        ("mark", "A/B"),
        ("mark", ".."),
        ("place", ""),
        ("place", "999999"),
        ("stud_state", "welded"),
        ("stud_pattern", "missing"),
    ],
)
def test_a_bad_entry_names_its_field_and_writes_nothing(holder, rack, field, typed):
    good = {"mark": "H-08", "place": rack.pk, "stud_state": "none_fitted"}
    if (field, typed) == ("stud_pattern", "missing"):
        field, bad = "mark", {"stud_state": "fitted", "stud_pattern": ""}
    else:
        bad = {field: typed}
    answer = fill_in(signed_in("toolroom"), new_url(holder.item), **good | bad)
    assert answer.status_code == 200
    assert field in answer.context["form"].errors
    assert Piece.objects.count() == 1


def test_the_page_tells_where_it_is_and_what_is_fitted(holder):
    page = text_of(signed_in("operator").get("/pieces/h-07/"))
    assert "RACK B3" in page
    assert "Fitted: A" in page


def test_a_stud_not_recorded_is_said():
    piece = makers.piece(
        makers.holder_item(), makers.place(), stud_state=StudState.UNKNOWN, stud_pattern=""
    )
    page = signed_in("operator").get(reverse("crib:piece_detail", kwargs={"mark": piece.mark}))
    assert "Not recorded" in text_of(page)


def test_hours_are_shown_against_their_limit(rack):
    piece = makers.piece(makers.collet_item(life_limit_minutes=30_000), rack)

    def work(act):
        add_use(act=act, piece=piece, minutes=27_600, basis="carried_over")

    by = makers.person("admin")
    do_once(submission=uuid4(), kind="test", by=by, needs="items.edit", work=work)
    page = signed_in("operator").get(reverse("crib:piece_detail", kwargs={"mark": piece.mark}))
    assert page.context["hours"] == "460 h of 500 h"


def test_a_condition_is_set_and_stands_in_the_history(holder):
    url = reverse("crib:piece_condition", kwargs={"mark": "H-07"})
    client = signed_in("toolroom")
    first, _, acts = send_twice(client, url, condition="quarantined", note="dropped")
    assert (first["Location"], acts) == ("/pieces/H-07/", 1)
    holder.refresh_from_db()
    assert holder.condition == Condition.QUARANTINED
    history = client.get("/pieces/H-07/").context["history"]
    assert "Condition set" in [line.what for line in history]
    assert [line.at for line in history] == sorted((h.at for h in history), reverse=True)


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"condition": "worn", "note": " "}, "note"),
        ({"condition": "melted", "note": "x"}, "condition"),
        ({"condition": "worn", "note": "x" * 121}, "note"),
    ],
)
def test_a_condition_without_a_reason_is_refused(holder, typed, field):
    url = reverse("crib:piece_condition", kwargs={"mark": "H-07"})
    answer = fill_in(signed_in("toolroom"), url, **typed)
    assert list(answer.context["form"].errors) == [field]
    holder.refresh_from_db()
    assert holder.condition == Condition.IN_SERVICE


def test_a_stud_is_recorded_once(holder):
    url = reverse("crib:piece_stud", kwargs={"mark": "H-07"})
    _, _, acts = send_twice(signed_in("toolroom"), url, stud_state="fitted", stud_pattern="B")
    holder.refresh_from_db()
    assert (holder.stud_pattern, acts) == ("B", 1)


def test_a_fitted_stud_needs_its_pattern(holder):
    url = reverse("crib:piece_stud", kwargs={"mark": "H-07"})
    answer = fill_in(signed_in("toolroom"), url, stud_state="fitted", stud_pattern="")
    assert list(answer.context["form"].errors) == ["stud_pattern"]


def test_only_those_who_keep_items_set_conditions(holder):
    for name in ("piece_condition", "piece_stud"):
        url = reverse(f"crib:{name}", kwargs={"mark": "H-07"})
        assert signed_in("operator").get(url).status_code == 403
        assert signed_in("operator").post(url, {}).status_code == 403


def test_an_unknown_mark_is_not_found():
    assert signed_in("operator").get("/pieces/H-99/").status_code == 404


def test_the_page_asks_few_questions(holder, django_assert_max_num_queries):
    client = signed_in("toolroom")
    url = reverse("crib:piece_condition", kwargs={"mark": "H-07"})
    for state in ("quarantined", "in_service", "worn", "in_service"):
        fill_in(client, url, condition=state, note="again")
    with django_assert_max_num_queries(12):
        client.get("/pieces/H-07/")
