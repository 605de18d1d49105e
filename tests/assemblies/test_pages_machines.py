"""Machines: the list, one machine, adding and changing it."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.urls import reverse

from assemblies.models import Machine
from crib.models import Act
from tests import makers
from tests.assemblies import spindle_shop
from tests.crib.pages import fill_in, send_twice, signed_in, text_of

pytestmark = pytest.mark.django_db

NEW = {
    "mark": "R2",
    "name": "Router 2",
    "interface": "ISO 30 router",
    "uses_stud": "on",
    "stud_pattern": "B",
    "tool_change": "carousel",
    "pockets": "12",
    "speed_min_rpm": "6000",
    "speed_max_rpm": "24000",
    "override_ceiling_percent": "100",
    "turns_cw": "on",
    "length_max_um": "120",
    "diameter_max_um": "90",
    "is_router": "on",
}


def detail(mark):
    return reverse("assemblies:machine_detail", args=[mark])


def edit(mark):
    return reverse("assemblies:machine_edit", args=[mark])


@pytest.fixture
def machine():
    return spindle_shop.router(makers.person("lead"))


def test_an_empty_list_says_what_to_do_next_to_those_who_may():
    assert 'href="/machines/new/"' in signed_in("lead").get("/machines/").content.decode()
    page = signed_in("operator").get("/machines/")
    assert "No machine is recorded yet." in text_of(page)
    assert 'href="/machines/new/"' not in page.content.decode()


def test_a_machine_is_added_once_in_whole_units():
    first, second, acts = send_twice(signed_in("lead"), "/machines/new/", **NEW)
    assert first["Location"] == second["Location"] == detail("R2")
    row = Machine.objects.get()
    assert (row.length_max_um, row.speed_max_rpm, row.turns_ccw, acts) == (
        120_000,
        24_000,
        False,
        1,
    )


@pytest.mark.parametrize("mark", ["R/2", "R 2", "R?2", "R#2", "Ü-2", "R/edit/2"])
def test_a_mark_with_any_sign_has_its_pages(mark):
    client = signed_in("lead")
    answer = fill_in(client, "/machines/new/", **NEW | {"mark": mark})
    assert answer["Location"] == detail(mark)
    assert client.get(detail(mark)).status_code == 200
    assert client.get(edit(mark)).context["form"]["mark"].value() == mark
    assert client.get("/machines/").status_code == 200


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("mark", {"mark": ""}),
        ("mark", {"mark": "M" * 13}),
        ("mark", {"mark": "new"}),
        ("mark", {"mark": "R/Edit"}),
        ("name", {"name": ""}),
        ("interface", {"interface": "ISO 31"}),
        ("stud_pattern", {"stud_pattern": ""}),
        ("speed_max_rpm", {"speed_max_rpm": "5999"}),
        ("speed_max_rpm", {"speed_max_rpm": "fast"}),
        ("override_ceiling_percent", {"override_ceiling_percent": "99"}),
        ("override_ceiling_percent", {"override_ceiling_percent": "301"}),
        ("length_max_um", {"length_max_um": "0"}),
        ("length_max_um", {"length_max_um": "H-07"}),
        ("pockets", {"pockets": "-1"}),
        ("tool_change", {"tool_change": "robot"}),
        ("submission", {"submission": "x"}),
    ],
)
def test_a_bad_entry_names_its_field_and_adds_nothing(field, typed):
    answer = fill_in(signed_in("lead"), "/machines/new/", **NEW | typed)
    assert list(answer.context["form"].errors) == [field]
    assert not Machine.objects.exists()


def test_a_spindle_that_turns_neither_way_is_refused():
    typed = {name: value for name, value in NEW.items() if name != "turns_cw"}
    answer = fill_in(signed_in("lead"), "/machines/new/", **typed)
    assert answer.context["form"].errors
    assert not Machine.objects.exists()


def test_a_mark_is_given_once_whatever_its_case(machine):
    answer = fill_in(signed_in("lead"), "/machines/new/", **NEW | {"mark": "r1"})
    assert answer.context["form"].errors
    assert Machine.objects.count() == 1


def test_a_taper_without_a_stud_keeps_no_pattern():
    typed = {name: value for name, value in NEW.items() if name != "uses_stud"}
    fill_in(signed_in("lead"), "/machines/new/", **typed | {"interface": "HSK-A63"})
    assert (Machine.objects.get().uses_stud, Machine.objects.get().stud_pattern) == (False, "")


def test_a_limit_emptied_is_not_recorded_and_says_so(machine):
    client = signed_in("lead")
    fill_in(client, edit("R1"), **NEW | {"mark": "R1", "length_max_um": "", "speed_max_rpm": ""})
    page = text_of(client.get(detail("r1")))
    assert "highest not recorded" in page
    assert Machine.objects.get().length_max_um is None


def test_a_machine_shows_what_was_loaded_last_and_its_approved_programs():
    shop = spindle_shop.open_shop()
    page = text_of(signed_in("operator").get(detail("R1")))
    assert "Nothing has been recorded as loaded here yet." in page
    assert str(shop.revision) in page
    assert "Nothing has been decided here yet." in page


def test_a_withdrawn_program_is_no_longer_listed():
    shop = spindle_shop.open_shop()
    spindle_shop.approve(
        shop.lead, shop.revision, shop.machine, state="withdrawn", reason="wrong S"
    )
    assert signed_in("operator").get(detail("R1")).context["programs"] == []


def test_a_machine_asks_as_often_for_three_programs_as_for_one(django_assert_num_queries):
    shop = spindle_shop.open_shop()
    client = signed_in("operator")
    with django_assert_num_queries(7):
        client.get(detail("R1"))
    for name in ("HM-1", "HM-2"):
        revision = spindle_shop.program_revision(shop.programmer, name=name)
        spindle_shop.approve(shop.lead, revision, shop.machine, reason="first run")
    with django_assert_num_queries(7):
        client.get(detail("R1"))


def test_a_machine_that_does_not_exist_is_a_404():
    assert signed_in("lead").get(detail("R9")).status_code == 404
    assert signed_in("lead").get(edit("R9")).status_code == 404


def test_only_lead_and_admin_change_machines(machine):
    for role in ("operator", "toolroom", "programmer", "buyer"):
        client = signed_in(role)
        assert client.get(detail("R1")).status_code == 200
        for address in ("/machines/new/", edit("R1")):
            assert client.get(address).status_code == 403
            assert client.post(address, NEW | {"submission": uuid4()}).status_code == 403
    assert Machine.objects.count() == 1
    assert Act.objects.filter(kind="machine.save").count() == 1
