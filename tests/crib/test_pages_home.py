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


def test_an_empty_shop_begins_with_the_first_steps_in_their_order():
    client = signed_in("admin")
    steps = client.get("/").context["first_steps"]
    addresses = [step.url for step in steps]
    assert addresses == [
        "/people/new/",
        "/places/new/",
        "/suppliers/new/",
        "/items/new/",
        "/machines/new/",
        "/programs/new/",
        "/assemblies/new/",
    ]
    assert {client.get(address).status_code for address in addresses} == {200}

    makers.item()

    assert client.get("/").context["first_steps"] == []
    assert "First steps" not in client.get("/").text


def test_a_first_step_of_somebody_else_says_whose_it_is():
    steps = {step.label: step for step in signed_in("buyer").get("/").context["first_steps"]}
    assert steps["Items"].url
    assert (steps["Machines"].url, steps["Machines"].who) == ("", "Lead, Admin")


@pytest.mark.parametrize(
    ("role", "asked"),
    [("toolroom", True), ("lead", True), ("operator", False), ("buyer", False)],
)
def test_refusals_are_fetched_for_those_who_put_them_right(role, asked):
    page = signed_in(role).get("/").text
    assert ('hx-get="/assemblies/refused/"' in page) == asked
    assert ('<a href="/assemblies/refused/">' in page) == asked


def test_the_first_page_asks_few_questions_of_the_database(django_assert_max_num_queries):
    place = makers.place()
    for _ in range(5):
        makers.stocked(makers.collet_item(), place)
        makers.item(minimum_kept=4)
    client = signed_in(*["operator", "toolroom", "buyer", "admin"])
    with django_assert_max_num_queries(12):
        client.get("/")


def test_the_toolroom_is_led_to_what_is_quarantined_and_what_is_not_in_its_rack():
    ways = {tile.label: tile.url for tile in signed_in("toolroom").get("/").context["tiles"]}
    assert ways["Quarantined"] == "/assemblies/?state=quarantined"
    assert ways["Not where expected"] == "/whereabouts/"
    others = {tile.label for tile in signed_in("operator").get("/").context["tiles"]}
    assert not {"Quarantined", "Not where expected"} & others


@pytest.mark.parametrize(
    ("role", "asked"),
    [("toolroom", True), ("lead", True), ("operator", False), ("buyer", False), ("admin", False)],
)
def test_only_those_who_are_asked_for_a_pin_are_led_to_theirs(role, asked):
    assert ('href="/my-pin/"' in signed_in(role).get("/").content.decode()) == asked
