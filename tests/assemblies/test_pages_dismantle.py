"""The pages that take an assembly apart and make another one like it."""

from __future__ import annotations

from copy import deepcopy
from uuid import uuid4

import pytest
from django.urls import reverse

from assemblies.models import Assembly, Build
from crib.models import Act, Piece
from tests import assembly_makers as made
from tests.crib.pages import signed_in, text_of

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def standing(module_rows):
    """A released assembly, its parts, and a toolroom person's browser."""
    some = made.some_parts()
    return made.released(some), some, signed_in("toolroom")


@pytest.fixture
def shop(standing):
    return deepcopy(standing)


def address(name, assembly):
    return reverse(f"assemblies:{name}", args=[assembly.number])


def fates(**changed):
    usual = {f"goes_to_{role}": "fit" for role in ("holder", "collet", "nut", "cutter")}
    return usual | {"afterwards": "keep", "reason": "job is over", "submission": uuid4()} | changed


# ---- taken apart
def test_the_page_names_every_part_with_its_mark_and_its_drawer(shop):
    assembly, some, client = shop
    page = client.get(address("dismantle", assembly))
    text = text_of(page)
    assert [part.role for part, _, _ in page.context["rows"]] == [
        "holder",
        "collet",
        "nut",
        "cutter",
    ]
    assert all(piece.mark in text for piece in (some.holder, some.collet, some.cutter))
    assert some.drawer.code in text


def test_only_the_cutter_may_go_out_for_sharpening(shop):
    assembly, _, client = shop
    form = client.get(address("dismantle", assembly)).context["form"]
    offered = {
        role: {code for code, _ in form.fields[f"goes_to_{role}"].choices}
        for role in ("collet", "cutter")
    }
    assert "regrind" in offered["cutter"]
    assert "regrind" not in offered["collet"]


def test_one_page_moves_all_parts_and_leads_to_the_empty_draft(shop):
    assembly, some, client = shop
    sent = fates(goes_to_cutter="regrind", note_cutter="dull")
    answer = client.post(address("dismantle", assembly), sent)
    assert answer["Location"] == address("bench", assembly)
    assert Piece.objects.get(pk=some.cutter.pk).condition == "regrind"
    assert Build.objects.get(assembly=assembly, live=True).is_draft
    again = client.post(address("dismantle", assembly), sent)
    assert again["Location"] == address("bench", assembly)
    assert Act.objects.filter(kind="build.dismantle").count() == 1


def test_a_retired_number_leads_to_its_page_and_has_no_steps_left(shop):
    assembly, _, client = shop
    answer = client.post(address("dismantle", assembly), fates(afterwards="retire"))
    assert answer["Location"] == address("assembly_detail", assembly)
    for name in ("dismantle", "copy"):
        page = client.get(address(name, assembly))
        assert page["Location"] == address("assembly_detail", assembly)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"goes_to_collet": "quarantine"}, "note_collet"),
        ({"goes_to_collet": "regrind", "note_collet": "dull"}, "goes_to_collet"),
        ({"goes_to_nut": ""}, "goes_to_nut"),
        ({"reason": ""}, "reason"),
        ({"afterwards": "burn"}, "afterwards"),
        ({"note_nut": "x" * 121}, "note_nut"),
    ],
)
def test_a_bad_answer_names_its_field_and_moves_nothing(shop, changed, field):
    assembly, some, client = shop
    answer = client.post(address("dismantle", assembly), fates(**changed))
    assert list(answer.context["form"].errors) == [field]
    assert "Nothing was moved" in text_of(answer)
    assert Piece.objects.get(pk=some.holder.pk).place == assembly.contents


def test_the_page_says_how_it_came_out_of_the_machine_and_whether_it_is_still_in_it():
    scene, client = made.Scene.ready(), signed_in("toolroom")
    load = scene.load().load
    page = client.get(address("dismantle", scene.assembly))
    assert page.context["last_load"] == load
    assert reverse("assemblies:take_out", args=[load.pk]) in page.content.decode()
    client.post(
        reverse("assemblies:take_out", args=[load.pk]),
        {"submission": uuid4(), "out_as": "worn", "note": "squeals"},
    )
    text = text_of(client.get(address("dismantle", scene.assembly)))
    assert "Came out of" in text
    assert "squeals" in text


def test_an_empty_draft_has_a_page_that_says_so(shop):
    _, _, client = shop
    page = client.get(address("dismantle", made.started()))
    assert "There are no parts in it" in text_of(page)


# ---- another one like it
def test_the_page_says_what_it_would_take_and_what_is_missing(shop):
    assembly, some, client = shop
    page = client.get(address("copy", assembly))
    assert [part.role for part in page.context["missing"]] == ["holder", "collet", "cutter"]
    assert "3 of 4 not in stock" in text_of(page)
    assert some.drawer.code in text_of(page)


def test_a_copy_leads_to_its_bench_where_the_figures_stand_beside(shop):
    assembly, some, client = shop
    sent = {"submission": uuid4(), "name": "spare", "meant_for": ""}
    answer = client.post(address("copy", assembly), sent)
    copied = Assembly.objects.latest("id")
    assert answer["Location"] == address("bench", copied)
    assert client.post(address("copy", assembly), sent)["Location"] == answer["Location"]
    page = client.get(answer["Location"])
    form = page.context["figures_form"]
    assert form["stickout_um"].help_text == f"{assembly.number} r1: 47.0 mm"
    assert form["stickout_um"].value() is None
    assert f"{assembly.number} r1 has {some.collet.item.code}" in text_of(page)


def test_a_copy_is_for_a_tool_number_that_exists(shop):
    assembly, _, client = shop
    sent = {"submission": uuid4(), "meant_for": "99999"}
    answer = client.post(address("copy", assembly), sent)
    assert list(answer.context["form"].errors) == ["meant_for"]
    assert Assembly.objects.count() == 1


@pytest.mark.parametrize("role", ["operator", "programmer", "buyer", "lead"])
def test_other_roles_neither_take_apart_nor_copy(shop, role):
    assembly, _, _ = shop
    client = signed_in(role)
    for name in ("dismantle", "copy"):
        assert client.get(address(name, assembly)).status_code == 403
        assert client.post(address(name, assembly), fates()).status_code == 403
    assert Build.objects.get(assembly=assembly, live=True).revision == 1


def test_the_pages_ask_a_fixed_number_of_times(shop, django_assert_num_queries):
    assembly, _, client = shop
    with django_assert_num_queries(6):
        client.get(address("dismantle", assembly))
    with django_assert_num_queries(21):
        client.get(address("copy", assembly))
