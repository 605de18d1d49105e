"""The list of items, one item, and its forms."""

from __future__ import annotations

import pytest
from django.urls import reverse

from crib.models import CutterFacts, Item, ItemKind
from tests import makers
from tests.crib.pages import fill_in, send_twice, signed_in, text_of

pytestmark = pytest.mark.django_db
LIST = "/items/"
COLLET = {
    "code": "K-08",
    "description": "1/2 in collet",
    "pack_size": "1",
    "series": "ER32",
    "clamp_max_um": "1/2 in",
    "clamp_min_um": "11.7",
}


def codes(answer) -> list[str]:
    return [row.record.code for row in answer.context["table"].rows]


def test_an_empty_list_says_so_and_leads_those_who_may_to_the_first_item():
    assert "No items yet" in text_of(signed_in("operator").get(LIST))
    assert reverse("crib:item_kinds") not in signed_in("operator").get(LIST).content.decode()
    assert reverse("crib:item_kinds") in signed_in("toolroom").get(LIST).content.decode()


@pytest.mark.parametrize("words", ["k-07", "COLLET seven", "art 9", "m-55", " Seven  "])
def test_search_finds_by_code_words_article_and_mark_in_any_case(words):
    collet = makers.collet_item()
    Item.objects.filter(pk=collet.pk).update(code="K-07")
    collet.refresh_from_db()
    collet.description, collet.supplier_article = "Collet seven", "ART 9"
    collet.save()
    makers.piece(collet, makers.place(), mark="M-55")
    makers.item(code="OTHER")
    assert codes(signed_in("operator").get(LIST, {"q": words})) == ["K-07"]


@pytest.mark.parametrize("words", ["%", "_", "'; drop", "Ω", "x" * 200])
def test_odd_words_find_nothing_and_break_nothing(words):
    makers.item(code="PLAIN")
    answer = signed_in("operator").get(LIST, {"q": words, "page": "no", "sort": "nonsense"})
    assert answer.status_code == 200


def test_the_list_can_be_narrowed_to_a_kind_and_leaves_retired_items_out():
    collet = makers.collet_item()
    makers.nut_item()
    makers.item(ItemKind.COLLET, is_retired=True)
    assert codes(signed_in("operator").get(LIST, {"kind": "collet"})) == [collet.code]


def test_the_list_counts_pieces_in_racks_and_on_order():
    item = makers.stocked(makers.item(minimum_kept=9), makers.place(), 5)
    client = signed_in("buyer")
    url = reverse("crib:mark_ordered", kwargs={"code": item.code})
    form = client.get("/running-low/").context["to_order"][0].form
    client.post(url, {"submission": str(form["submission"].value()), "quantity": 4})
    row = client.get(LIST).context["table"].rows[0]
    assert [row.get_cell(name) for name in ("usable", "built_in", "on_order")] == [5, 0, 4]
    assert row.get_cell("minimum_kept") == 9


def test_the_list_asks_as_few_questions_for_many_items_as_for_one(django_assert_max_num_queries):
    place = makers.place()
    for make in (makers.collet_item, makers.nut_item, makers.holder_item, makers.cutter_item):
        for _ in range(4):
            makers.stocked(make(), place)
    client = signed_in("operator")
    with django_assert_max_num_queries(12):
        assert len(codes(client.get(LIST))) == 16


def test_long_lists_come_in_pages():
    for _ in range(51):
        makers.item()
    client = signed_in("operator")
    assert len(client.get(LIST).context["table"].page.object_list) == 50
    assert len(client.get(LIST, {"page": 2}).context["table"].page.object_list) == 1


@pytest.mark.parametrize("kind", ItemKind.values)
def test_every_kind_has_a_form(kind):
    answer = signed_in("toolroom").get(reverse("crib:item_new", kwargs={"kind": kind}))
    assert answer.status_code == 200
    assert 'name="submission"' in answer.content.decode()


def test_there_is_no_form_for_a_kind_that_is_none():
    assert signed_in("toolroom").get("/items/new/hammer/").status_code == 404


def test_a_collet_typed_in_inches_is_kept_in_micrometres_and_shown_in_both():
    answer = fill_in(signed_in("toolroom"), "/items/new/collet/", **COLLET)
    assert answer["Location"] == "/items/K-08/"
    item = Item.objects.get()
    assert (item.facts.clamp_max_um, item.facts.clamp_min_um) == (12_700, 11_700)
    assert item.bought_in_inches
    assert "12.70 mm = 1/2 in" in text_of(signed_in("operator").get("/items/K-08/"))


def test_an_inch_and_a_half_in_a_small_collet_is_refused_and_half_an_inch_offered():
    typed = COLLET | {"clamp_max_um": "1.5 in", "clamp_min_um": "37.1"}
    answer = fill_in(signed_in("toolroom"), "/items/new/collet/", **typed)
    errors = answer.context["facts_form"].errors
    assert "1/2 in" in errors["clamp_max_um"][0]
    assert "1.5 in" in answer.content.decode()
    assert not Item.objects.exists()


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("clamp_max_um", "forty"),
        ("clamp_max_um", "-3"),
        ("clamp_max_um", "0"),
        ("clamp_max_um", "1/0 in"),
        ("clamp_min_um", ""),
        ("series", "ER99"),
        ("n_max_rpm", "0"),
        ("n_max_rpm", "99999999999999999999"),
        ("length_um", "99999999"),
        ("code", ""),
        ("pack_size", "0"),
        ("use_per_week", "-1"),
        ("price_cents", "1.234"),
        ("submission", "not-a-number"),
    ],
)
def test_a_bad_entry_names_its_field_and_writes_nothing(field, typed):
    client = signed_in("toolroom")
    answer = fill_in(client, "/items/new/collet/", **COLLET | {field: typed})
    assert answer.status_code == 200
    bad = {**answer.context["form"].errors, **answer.context["facts_form"].errors}
    assert list(bad) == [field]
    assert not Item.objects.exists()


def test_a_torque_is_typed_in_newton_metres():
    typed = {"code": "N-1", "description": "nut", "pack_size": 1, "series": "ER32"}
    typed |= {"style": "standard", "torque_recommended_mnm": "56,5", "torque_max_mnm": "136"}
    fill_in(signed_in("toolroom"), "/items/new/nut/", **typed)
    facts = Item.objects.get().facts
    assert (facts.torque_recommended_mnm, facts.torque_max_mnm) == (56_500, 136_000)


def test_the_form_of_a_new_item_sent_twice_counts_once():
    first, second, acts = send_twice(signed_in("toolroom"), "/items/new/collet/", **COLLET)
    assert first["Location"] == second["Location"] == "/items/K-08/"
    assert (Item.objects.count(), acts) == (1, 1)


def test_a_rename_sent_twice_counts_once():
    item = makers.collet_item()
    url = reverse("crib:item_edit", kwargs={"code": item.code})
    first, second, acts = send_twice(signed_in("toolroom"), url, **COLLET)
    assert first["Location"] == second["Location"] == "/items/K-08/"
    assert acts == 1


def test_the_form_of_a_stored_item_shows_its_lengths_exactly():
    item = makers.cutter_item(diameter_um=397)
    page = signed_in("toolroom").get(reverse("crib:item_edit", kwargs={"code": item.code}))
    assert 'value="0.397"' in page.content.decode()


def test_saving_an_unchanged_form_changes_no_fact():
    item = makers.cutter_item(corner_radius_um=0, diameter_um=6_351)
    client = signed_in("toolroom")
    url = reverse("crib:item_edit", kwargs={"code": item.code})
    page = client.get(url)
    shown = {}
    for form in (page.context["form"], page.context["facts_form"]):
        shown |= {f.html_name: "" if f.value() is None else f.value() for f in form}
    shown = {name: value for name, value in shown.items() if value is not False}
    before = CutterFacts.objects.filter(item=item).values().get()
    assert client.post(url, shown).status_code == 302
    assert CutterFacts.objects.filter(item=item).values().get() == before


def test_the_page_of_an_item_says_what_is_not_recorded():
    item = makers.cutter_item(flute_um=None)
    page = signed_in("operator").get(reverse("crib:item_detail", kwargs={"code": item.code}))
    lines = {line.label: line for line in page.context["facts"]}
    assert (lines["Flute length"].known, lines["Flute length"].text) == (False, "not recorded")
    assert lines["Overall length"].text == "83.0 mm"


def test_the_page_of_an_item_without_facts_says_nothing_can_be_checked():
    item = makers.item(ItemKind.COLLET)
    page = signed_in("operator").get(reverse("crib:item_detail", kwargs={"code": item.code}))
    assert "nothing of it can be checked" in text_of(page)


def test_the_page_of_an_item_lists_stock_by_place():
    rack, drawer = makers.place("RACK B3"), makers.place("DRAWER 1")
    item = makers.stocked(makers.stocked(makers.nut_item(), rack, 3), drawer, 2)
    page = signed_in("operator").get(reverse("crib:item_detail", kwargs={"code": item.code}))
    assert page.context["stock"] == [(drawer, 2), (rack, 3)]


def test_an_item_is_found_by_its_code_in_any_case_and_with_any_sign():
    makers.item(code="Ø 12/R2")
    assert signed_in("operator").get("/items/ø 12/r2/").status_code == 200
    for path in ("/items/none-such/", "/items/%00/", "/pieces/%00/", f"/places/{'9' * 30}/"):
        assert signed_in("operator").get(path).status_code == 404, path


@pytest.mark.parametrize(
    ("role", "labels"),
    [
        ("operator", ["Take out", "Give back"]),
        ("buyer", ["Book in", "Mark a piece", "Change"]),
        ("programmer", []),
    ],
)
def test_the_page_of_an_item_offers_what_the_person_may_do(role, labels):
    item = makers.nut_item()
    page = signed_in(role).get(reverse("crib:item_detail", kwargs={"code": item.code}))
    assert [label for _, label in page.context["links"]] == labels


def test_the_page_of_an_item_asks_few_questions(django_assert_max_num_queries):
    place = makers.place()
    item = makers.stocked(makers.holder_item(), place)
    for _ in range(6):
        makers.piece(item, place)
    client = signed_in("toolroom")
    with django_assert_max_num_queries(14):
        client.get(reverse("crib:item_detail", kwargs={"code": item.code}))
