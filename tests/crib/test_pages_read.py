"""Pages to read, people, and the first admin."""

from __future__ import annotations

import io

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse

from crib.models import Act, Person
from crib.reference import all_tables
from tests import makers
from tests.crib.pages import fill_in, send_twice, signed_in, text_of

pytestmark = pytest.mark.django_db
NEW_PERSON = {
    "username": "rowan",
    "first_name": "Rowan",
    "is_operator": "on",
    "is_active": "on",
    "password": "long-enough-for-a-shop",
}


@pytest.mark.parametrize("table", all_tables(), ids=lambda table: table.name)
def test_every_table_is_shown_with_source_and_confidence_on_each_row(table):
    page = signed_in("operator").get(reverse("crib:reference_table", kwargs={"name": table.name}))
    heads = {"Source", "Confidence"}
    assert all(heads <= {column for column, _ in row} for row in page.context["rows"])
    assert len(page.context["rows"]) == len(table.rows) > 0


def test_the_list_of_tables_leads_to_each():
    page = signed_in("operator").get("/tables/").content.decode()
    assert all(f"/tables/{table.name}/" in page for table in all_tables())


def test_a_table_that_is_none_is_not_found():
    assert signed_in("operator").get("/tables/none-such/").status_code == 404


@pytest.mark.parametrize("words", ["MATCH", "CHECK", "STOP", "CAN'T TELL", "not checked", "said"])
def test_the_help_page_has_the_four_words_and_what_cannot_be_seen(words):
    assert words in text_of(signed_in("operator").get("/help/")).replace("&#x27;", "'")


def test_the_style_page_opens():
    assert signed_in("operator").get("/style/").status_code == 200


# ---- people
def test_people_are_the_admins_business():
    other = makers.person("operator")
    paths = ["/people/", "/people/new/", f"/people/{other.pk}/"]
    for role in ("operator", "toolroom", "programmer", "buyer", "lead"):
        assert {signed_in(role).get(path).status_code for path in paths} == {403}
    assert {signed_in("admin").get(path).status_code for path in paths} == {200}


def test_a_new_person_sent_twice_is_one_person():
    first, second, acts = send_twice(signed_in("admin"), "/people/new/", **NEW_PERSON)
    assert first["Location"] == second["Location"] == "/people/"
    person = Person.objects.get(username="rowan")
    assert (acts, person.roles) == (1, {"operator"})
    assert person.check_password(NEW_PERSON["password"])


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("username", ""),
        ("username", "taken"),
        ("username", "no blanks"),
        ("password", ""),
        ("password", "short"),
        ("initials", "ABCDE"),
    ],
)
def test_a_bad_entry_names_its_field_and_adds_nobody(field, typed):
    makers.person(username="taken")
    client = signed_in("admin")
    answer = fill_in(client, "/people/new/", **NEW_PERSON | {field: typed})
    assert list(answer.context["form"].errors) == [field]
    assert not Person.objects.filter(first_name="Rowan").exists()


def test_a_password_is_never_shown_and_empty_keeps_the_old_one():
    person = makers.person("operator", username="rowan")
    client = signed_in("admin")
    path = f"/people/{person.pk}/"
    assert "scrypt" not in client.get(path).content.decode()
    fill_in(client, path, **NEW_PERSON | {"password": ""})
    person.refresh_from_db()
    assert person.check_password(makers.PASSWORD)


def test_an_admin_who_changes_the_own_password_stays_signed_in():
    client = signed_in("admin")
    me = client.person
    typed = {"username": me.username, "is_admin": "on", "is_active": "on"}
    fill_in(client, f"/people/{me.pk}/", **typed, password="another-long-one")
    assert client.get("/people/").status_code == 200


def test_the_last_admin_stays_admin():
    client = signed_in("admin")
    me = client.person
    answer = fill_in(client, f"/people/{me.pk}/", username=me.username, is_active="on")
    assert list(answer.context["form"].errors) == ["is_admin"]


# ---- the first admin
def make_admin(monkeypatch, password, name="ada"):
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{password}\n"))
    said = io.StringIO()
    call_command("make_admin", name, stdout=said)
    return said.getvalue()


def test_the_first_admin_is_made_on_the_command_line(monkeypatch):
    assert "ada" in make_admin(monkeypatch, "long-enough-for-a-shop")
    person = Person.objects.get()
    assert (person.roles, person.check_password("long-enough-for-a-shop")) == ({"admin"}, True)
    assert Act.objects.get().kind == "person.first_admin"


@pytest.mark.parametrize(
    ("password", "name"), [("short", "ada"), ("", "ada"), ("long-enough-for-a-shop", "no blanks")]
)
def test_a_bad_first_admin_is_refused(monkeypatch, password, name):
    with pytest.raises(CommandError):
        make_admin(monkeypatch, password, name)
    assert not Person.objects.exists()


def test_a_shop_with_an_admin_gets_no_second_one_by_command(monkeypatch):
    makers.person("admin")
    with pytest.raises(CommandError):
        make_admin(monkeypatch, "long-enough-for-a-shop")
    assert Person.objects.count() == 1


def test_the_admin_of_the_example_shop_does_not_count(monkeypatch):
    makers.person("admin", is_demo=True)
    make_admin(monkeypatch, "long-enough-for-a-shop")
    assert Person.objects.filter(is_demo=False, is_admin=True).count() == 1
