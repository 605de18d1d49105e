"""The first page, by role."""

from __future__ import annotations

import pytest

from crib.models import Condition, OrderLine
from tests import makers
from tests.crib.pages import signed_in, text_of

pytestmark = pytest.mark.django_db


def test_the_buyer_sees_how_many_lines_are_low():
    makers.item(minimum_kept=4)
    makers.item(minimum_kept=2)
    tile = next(t for t in signed_in("buyer").get("/").context["tiles"] if t.figure is not None)
    assert (tile.label, tile.figure) == ("Running low", 2)


def test_late_deliveries_are_counted_only_when_there_are_any():
    client = signed_in("buyer")
    assert "Late deliveries" not in text_of(client.get("/"))
    act = makers.stocked(makers.item(), makers.place()).movements.get().act
    OrderLine.objects.create(
        item=makers.item(), quantity=5, due_on="2020-01-01", act=act, by=client.person
    )
    assert "Late deliveries" in text_of(client.get("/"))


def test_the_toolroom_sees_pieces_out_of_service():
    piece = makers.piece(makers.holder_item(), makers.place(), mark="H-77")
    client = signed_in("toolroom")
    assert "H-77" not in text_of(client.get("/"))
    piece.condition, piece.condition_note = Condition.QUARANTINED, "dropped"
    piece.save()
    assert "dropped" in text_of(client.get("/"))


@pytest.mark.parametrize("role", ["operator", "toolroom", "programmer", "buyer", "lead", "admin"])
def test_everybody_can_search_from_the_first_page(role):
    assert 'name="q"' in signed_in(role).get("/").content.decode()


def test_the_first_page_asks_few_questions_of_the_database(django_assert_max_num_queries):
    place = makers.place()
    for _ in range(5):
        makers.stocked(makers.collet_item(), place)
        makers.item(minimum_kept=4)
    client = signed_in(*["operator", "toolroom", "buyer", "admin"])
    with django_assert_max_num_queries(12):
        client.get("/")
