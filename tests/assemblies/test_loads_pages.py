"""Pages about where assemblies are: taking out, borrowing, putting back, the list, the file."""

from __future__ import annotations

import csv
import io
from uuid import uuid4

import pytest
from django.urls import reverse

from assemblies.actions import loads
from assemblies.models import Load, Sighting
from tests import assembly_makers as made
from tests import makers
from tests.assemblies.load_makers import changer, held, out, put
from tests.crib.pages import fill_in, send_twice, signed_in, text_of

pytestmark = pytest.mark.django_db


def of(assembly) -> str:
    return reverse("assemblies:whereabouts_of", args=[assembly.number])


def taking_out(load) -> str:
    return reverse("assemblies:take_out", args=[load.pk])


# ---- taking out
@pytest.mark.parametrize("by", ["label", "number", "mark"])
def test_a_scan_leads_to_the_three_buttons(by):
    assembly = made.released()
    label = made.label_of(assembly)
    load = put(assembly, changer(), 4)
    mark = assembly.current_build.parts.get(role="holder").piece.mark
    entry = {"label": label.code, "number": str(assembly.number), "mark": mark}[by]
    answer = signed_in("operator").get("/scan/where/", {"entry": entry}, follow=True)
    assert answer.redirect_chain[-1][0] == of(assembly)
    page = answer.content.decode()
    assert f'action="{taking_out(load)}"' in page
    for edge in ("good", "worn", "broken"):
        assert f'name="out_as" value="{edge}"' in page


@pytest.mark.parametrize("edge", ["good", "worn", "broken"])
def test_one_tap_takes_out_and_says_where_it_goes_on(edge):
    assembly, machine = made.released(), changer()
    load = put(assembly, machine, 4)
    client = signed_in("operator")
    page = client.get(taking_out(load))
    answer = client.post(
        taking_out(load), {"submission": page.context["form"]["submission"].value(), "out_as": edge}
    )
    assert answer["Location"] == of(assembly)
    assert held(machine) == []
    assert Load.objects.get().out_as == edge
    assert ("quarantined" in text_of(client.get(of(assembly))).lower()) == (edge == "broken")


def test_a_double_tap_takes_out_once():
    load = put(made.started(), changer(), 4)
    first, second, acts = send_twice(signed_in("operator"), taking_out(load), out_as="good")
    assert (first.status_code, second.status_code, acts) == (302, 302, 1)


@pytest.mark.parametrize("typed", [{}, {"out_as": "sharp"}, {"out_as": "good", "note": "x" * 121}])
def test_a_bad_answer_takes_nothing_out(typed):
    machine = changer()
    load = put(made.started(), machine, 4)
    answer = fill_in(signed_in("operator"), taking_out(load), **typed)
    assert answer.status_code == 200
    assert answer.context["form"].errors
    assert len(held(machine)) == 1


def test_enter_in_the_note_does_not_say_that_it_is_good():
    load = put(made.started(), changer(), 4)
    page = signed_in("operator").get(taking_out(load)).content.decode()
    form = page[page.index('<form class="form"') :]
    assert form.index('<button type="submit" disabled hidden>') < form.index('value="good"')


def test_what_somebody_else_took_out_meanwhile_is_said():
    load = put(made.started(), changer(), 4)
    client = signed_in("operator")
    page = client.get(taking_out(load))
    out(load)
    form = {"submission": page.context["form"]["submission"].value(), "out_as": "good"}
    assert "already" in text_of(client.post(taking_out(load), form))
    assert client.get(taking_out(load))["Location"] == of(load.assembly)


def test_a_load_that_is_none_is_a_404():
    assert signed_in("operator").get("/takeout/99/").status_code == 404


def test_the_page_that_waits_for_a_scan_has_one_field_for_it():
    page = signed_in("operator").get("/takeout/").content.decode()
    assert page.count("data-scan") == 1
    assert 'action="/scan/where/"' in page


def test_an_entry_that_is_nothing_of_ours_is_said_and_counted():
    client = signed_in("operator")
    assert client.get("/scan/where/", {"entry": "9999"}).status_code == 404
    assert client.get("/scan/where/", {"entry": "NOT-OURS"}).status_code == 404
    assert client.get("/scan/where/")["Location"] == "/whereabouts/"


# ---- borrowing and putting back
def test_what_is_in_no_machine_can_be_taken_along_with_one_tap():
    assembly, machine = made.released(), changer()
    client = signed_in("operator")
    client.post(reverse("assemblies:station"), {"machine": machine.mark_key, "revision": ""})
    page = client.get(of(assembly))
    assert f"I take it to {machine.name}" in text_of(page)
    answer = client.post(
        reverse("assemblies:borrow", args=[assembly.number]),
        {"submission": page.context["borrow"]["submission"].value(), "machine": machine.mark_key},
    )
    assert answer["Location"] == of(assembly)
    row = Sighting.objects.get()
    assert (row.kind, row.machine, row.by) == ("borrowed", machine, client.person)


def test_what_for_can_be_said():
    assembly = made.released()
    address = reverse("assemblies:borrow", args=[assembly.number])
    fill_in(signed_in("operator"), address, note="test cut")
    assert Sighting.objects.get().note == "test cut"


def test_the_rack_it_came_from_is_one_tap():
    assembly, rack = made.released(), makers.place("RACK B3")
    loads.put_back(by=made.operator(), submission=uuid4(), assembly=assembly, place=rack)
    page = text_of(signed_in("operator").get(of(assembly)))
    assert "Back in RACK B3" in page


def test_putting_back_counts_once():
    assembly, rack = made.released(), makers.place()
    address = reverse("assemblies:put_back", args=[assembly.number])
    first, second, acts = send_twice(signed_in("operator"), address, place=rack.pk)
    assert (first.status_code, second.status_code, acts) == (302, 302, 1)
    assert made.again(assembly).stands_at == rack


@pytest.mark.parametrize("name", ["borrow", "put_back"])
def test_a_tool_in_a_machine_is_asked_for_first(name):
    assembly = made.released()
    put(assembly, changer(), 4)
    address = reverse(f"assemblies:{name}", args=[assembly.number])
    answer = fill_in(signed_in("operator"), address, place=makers.place().pk)
    assert "Take it out first" in text_of(answer)
    assert not Sighting.objects.exists()


def test_who_only_looks_is_offered_nothing():
    assembly = made.released()
    page = signed_in("buyer").get(of(assembly)).content.decode()
    assert reverse("assemblies:borrow", args=[assembly.number]) not in page
    assert reverse("assemblies:put_back", args=[assembly.number]) not in page


def test_an_assembly_that_is_none_is_a_404():
    assert signed_in("operator").get("/whereabouts/9999/").status_code == 404


# ---- the list and its file
def test_an_empty_list_says_that_all_is_well():
    page = text_of(signed_in("operator").get("/whereabouts/"))
    assert "Everything is where it is expected." in page


def borrowed():
    assembly, by = made.released(), makers.person("operator", first_name="Wyn")
    loads.borrow(by=by, submission=uuid4(), assembly=assembly, note="=1+1")
    return assembly


@pytest.mark.parametrize(("role", "named"), [("operator", False), ("lead", True)])
def test_the_list_names_people_to_leads_only(role, named):
    assembly = borrowed()
    page = text_of(signed_in(role).get("/whereabouts/"))
    assert str(assembly.number) in page
    assert ("Wyn" in page) == named


@pytest.mark.parametrize(("role", "named"), [("operator", False), ("lead", True)])
def test_the_file_has_the_same_lines_and_runs_nothing(role, named):
    assembly = borrowed()
    answer = signed_in(role).get("/whereabouts/list.csv")
    head, row = csv.reader(io.StringIO(answer.content.decode("utf-8-sig")))
    assert ("Who" in head, "Wyn" in row) == (named, named)
    line = dict(zip(head, row, strict=True))
    assert (line["Assembly"], line["Why"], line["Days"]) == (str(assembly.number), "Borrowed", "0")
    assert line["Note"] == "'=1+1"


def test_worn_tools_are_listed_for_the_toolroom():
    assembly = made.released()
    out(put(assembly, changer(), 4), "worn", note="burnt")
    page = signed_in("toolroom").get("/whereabouts/")
    assert [load.assembly for load in page.context["worn"]] == [assembly]
    assert "burnt" in text_of(page)


def test_the_page_asks_as_often_for_many_as_for_one(django_assert_num_queries):
    client, machine = signed_in("lead"), changer()
    for pocket in range(1, 3):
        out(put(made.started(), machine, pocket, tool_number=pocket), "worn")
    with django_assert_num_queries(9):
        client.get("/whereabouts/")
    for pocket in range(3, 8):
        out(put(made.started(), machine, pocket, tool_number=pocket), "worn")
    with django_assert_num_queries(9):
        assert len(client.get("/whereabouts/").context["worn"]) == 7


# ---- where it is, in words
def test_a_borrowed_assembly_says_so_and_names_nobody_to_an_operator():
    assembly, machine = made.released(), changer()
    loads.borrow(
        by=made.operator(), submission=uuid4(), assembly=assembly, machine=machine, place=None
    )
    said = text_of(signed_in("operator").get(of(assembly)))
    assert f"Borrowed: for {machine}" in said
    assert str(Sighting.objects.get().by) not in said.split("Acting")[1].split("not you?")[1]


def test_nobody_is_asked_to_take_a_quarantined_tool_to_a_machine():
    assembly = made.released()
    client = signed_in("operator")
    address = reverse("assemblies:borrow", args=[assembly.number])
    form = f'action="{address}"'
    assert form in client.get(of(assembly)).content.decode()
    type(assembly).objects.filter(pk=assembly.pk).update(state="quarantined", state_note="broken")
    page = client.get(of(assembly))
    assert form not in page.content.decode()
    assert "Quarantined: broken. Bring it to the toolroom." in text_of(page)
