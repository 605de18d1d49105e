"""The pages of the part finder: asking, picking a cutter, results, and starting a stack."""

from __future__ import annotations

from copy import deepcopy
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from assemblies.models import Assembly
from crib.models import Item
from tests import assembly_makers as made
from tests import makers
from tests.crib.pages import signed_in, text_of

pytestmark = pytest.mark.django_db

FIND = reverse("assemblies:part_finder")
START = reverse("assemblies:part_finder_start")


@pytest.fixture(scope="module")
def kept(module_rows):
    """Parts, a machine, a program for it, and three people's browsers."""
    parts, machine = made.some_parts(), made.machine()
    revision = made.approved(machine, stickout_min_um=45_000)
    clients = {role: signed_in(role) for role in ("toolroom", "buyer")}
    return parts, machine, revision.requirements.get(tool_number=made.TOOL), clients


@pytest.fixture
def shop(kept):
    return deepcopy(kept)


def ask(shop, role: str = "toolroom", **typed):
    parts, machine, _, clients = shop
    return clients[role].get(
        FIND, {"cutter": parts.cutter.item.code, "machine": machine.mark} | typed
    )


def test_the_empty_page_asks_and_answers_nothing(shop):
    page = shop[3]["buyer"].get(FIND)
    assert page.status_code == 200
    assert "found" not in page.context


def test_a_crib_without_cutters_says_what_to_do(shop):
    Item.objects.filter(kind="cutter").update(is_retired=True)
    assert "No cutter with its sizes is on record." in text_of(shop[3]["buyer"].get(FIND))


def test_a_stack_is_a_card_with_marks_places_and_lengths(shop):
    parts = shop[0]
    said = text_of(ask(shop))
    for words in (parts.holder.mark, parts.collet.mark, parts.nut.code, parts.drawer.code):
        assert words in said
    assert "Stick-out 43.0 mm" in said
    assert "Grip 40.0 mm" in said
    assert "no reading" in said


def test_an_inch_stick_out_is_read(shop):
    assert "44.450 mm" in text_of(ask(shop, stickout_um="1 3/4 in"))


def test_words_that_are_no_code_list_the_cutters_they_may_mean(shop):
    page = ask(shop, cutter="cutter tests", speed_rpm="18000")
    code = shop[0].cutter.item.code
    assert [item.code for item, _ in page.context["pick_links"]] == [code]
    (link,) = [query for _, query in page.context["pick_links"]]
    assert shop[3]["toolroom"].get(f"{FIND}?{link}").context["question"].speed_rpm == 18_000


def test_words_that_no_cutter_has_are_said_at_the_field(shop):
    page = ask(shop, cutter="unheard of")
    assert page.context["form"].errors["cutter"]


@pytest.mark.parametrize(
    "typed", [{"stickout_um": "far"}, {"speed_rpm": "-1"}, {"machine": "9999"}]
)
def test_what_cannot_be_read_is_said_at_its_field(shop, typed):
    page = ask(shop, **typed)
    assert list(page.context["form"].errors) == list(typed)
    assert "found" not in page.context


def test_the_tool_number_of_a_program_fills_in_machine_stick_out_and_speed(shop):
    page = ask(shop, machine="", meant_for=shop[2].pk)
    question = page.context["question"]
    assert (question.machine, question.stickout_um) == (shop[1], 45_000)
    assert page.context["filled"][-1] == "speed 18000 1/min"


def test_the_tool_number_alone_lists_the_cutters_it_asks_for(shop):
    wrong = makers.cutter_item(kind="drill")
    page = ask(shop, cutter="", meant_for=shop[2].pk)
    codes = [item.code for item, _ in page.context["pick_links"]]
    assert shop[0].cutter.item.code in codes
    assert wrong.code not in codes


def test_without_stock_it_says_so_and_what_would_help(shop):
    other = makers.cutter_item(shank_um=8_000, diameter_um=8_000)
    makers.piece(other, shop[0].drawer)
    said = text_of(ask(shop, cutter=other.code))
    assert "Nothing in the racks makes a whole stack without a stop." in said
    assert "Get: collet ER32 8–7" in said


def test_a_cutter_that_is_not_in_the_racks_is_said(shop):
    said = text_of(ask(shop, cutter=makers.cutter_item().code))
    assert "None of this cutter lies in the racks fit for use." in said


def test_only_who_may_build_can_start(shop):
    assert "Start this assembly" in text_of(ask(shop))
    assert "Start this assembly" not in text_of(ask(shop, "buyer"))
    assert shop[3]["buyer"].post(START, {}).status_code == 403


def entries(shop) -> str:
    return ask(shop).context["cards"][0].entries


def test_starting_leads_to_the_bench_with_every_part_in(shop):
    answer = shop[3]["toolroom"].post(START, {"submission": uuid4(), "parts": entries(shop)})
    number = Assembly.objects.order_by("-number").first().number
    assert answer.url == reverse("assemblies:bench", args=[number])
    draft = Assembly.objects.get(number=number).current_build
    assert sorted(part.role for part in draft.parts.all()) == ["collet", "cutter", "holder", "nut"]


def test_the_lengths_proposed_are_said_at_the_bench_and_not_filled_in(shop):
    sent = {"submission": uuid4(), "parts": entries(shop), "stickout_um": 43_000, "grip_um": 40_000}
    page = shop[3]["toolroom"].post(START, sent, follow=True)
    assert "Proposed: stick-out 43.0 mm, grip 40.0 mm." in text_of(page)
    assert Assembly.objects.order_by("-number").first().current_build.stickout_um is None


def test_a_program_goes_along_as_the_purpose(shop):
    sent = {"submission": uuid4(), "parts": entries(shop), "meant_for": shop[2].pk}
    shop[3]["toolroom"].post(START, sent)
    assert Assembly.objects.order_by("-number").first().current_build.meant_for == shop[2]


def test_a_part_taken_meanwhile_is_said_and_the_list_stands_again(shop):
    parts, listed = shop[0], entries(shop)
    made.put(made.started(), parts.collet.item, parts.collet)
    asked = f"cutter={parts.cutter.item.code}"
    answer = shop[3]["toolroom"].post(
        START, {"submission": uuid4(), "parts": listed, "asked": asked}
    )
    assert answer.status_code == 422
    assert parts.collet.mark in answer.context["refusal"][0]
    assert answer.context["question"].cutter == parts.cutter.item


def test_a_stranger_is_asked_to_sign_in():
    assert Client().get(FIND).status_code == 302


def test_the_page_asks_as_often_for_many_pieces_as_for_few(shop, django_assert_num_queries):
    parts = shop[0]
    ask(shop)
    for more in (0, 4):
        for of in (parts.holder, parts.collet, parts.cutter):
            for _ in range(more):
                makers.piece(of.item, parts.drawer)
        with django_assert_num_queries(17):
            ask(shop)


def test_long_lists_show_the_best_first_and_the_rest_on_demand(shop):
    parts = shop[0]
    for n in range(9):
        makers.piece(makers.holder_item(gauge_length_um=60_000 + n), parts.drawer)
    assert (len(ask(shop).context["cards"]), ask(shop).context["left_out"]) == (8, 2)
    assert len(ask(shop, all="1").context["cards"]) == 10
