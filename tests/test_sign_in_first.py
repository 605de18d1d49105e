"""Signing in again: a form that came too late leads back to a page that can be opened."""

from urllib.parse import parse_qs, urlsplit

import pytest
from django.test import Client
from django.urls import get_resolver, reverse

from config.sign_in_first import _takes_get
from tests import makers
from tests.test_permissions import TABLE, addresses

HERE = "http://testserver"


def next_of(answer):
    """Where the sign-in leads afterwards."""
    assert answer.status_code == 302
    return parse_qs(urlsplit(answer["Location"]).query)["next"][0]


@pytest.mark.parametrize(
    ("came_from", "then"),
    [
        (f"{HERE}/assemblies/1044/bench/", "/assemblies/1044/bench/"),
        (f"{HERE}/items/?q=collet", "/items/?q=collet"),
        # A refused form is shown again where it was sent to.
        (f"{HERE}/assemblies/1044/bench/put/", "/assemblies/1044/bench/"),
        (f"{HERE}/assemblies/1044/stud/", "/assemblies/1044/"),
        (f"{HERE}/programs/3/approval/", "/programs/3/"),
        (f"{HERE}/sign-out/", "/"),
        (f"{HERE}/no/such/page/", "/"),
        (f"{HERE}//elsewhere.example/", "/"),
        ("https://elsewhere.example/items/", "/"),
        ("javascript:alert(1)", "/"),
        ("", "/"),
    ],
)
def test_a_form_sent_after_the_session_ended_leads_back_to_its_page(client, db, came_from, then):
    sent = client.post(
        "/assemblies/1044/bench/put/", {"entry": "H-07"}, headers={"referer": came_from}
    )

    assert next_of(sent) == then


def test_a_page_that_was_asked_for_is_opened_after_the_sign_in(client, db):
    assert next_of(client.get("/items/?q=er25")) == "/items/?q=er25"


def test_the_page_after_the_sign_in_answers(client, db):
    person = makers.person("toolroom")
    sent = client.post(
        "/programs/3/approval/", headers={"referer": f"{HERE}/running-low/K-1/ordered/"}
    )
    typed = {"username": person.username, "password": makers.PASSWORD, "next": next_of(sent)}

    assert client.post(reverse("crib:sign_in"), typed, follow=True).status_code == 200


def test_addresses_that_take_forms_only_are_known_as_such(client, db):
    """Held against what each address really answers to a plain look."""
    client.force_login(makers.person("admin", "lead", "toolroom"))
    views = {name: pattern.callback for name, pattern in addresses(get_resolver())}
    answers = {name: client.get(reverse(name, kwargs=kwargs)) for name, kwargs, _ in TABLE}
    forms_only = {name for name, answer in answers.items() if answer.status_code == 405}

    assert forms_only == {name for name, view in views.items() if not _takes_get(view)}
    assert len(forms_only) > 5


def test_a_form_whose_mark_ran_out_says_that_nothing_was_written():
    """Without `db`: a page that asked the database would fail here."""
    strict = Client(enforce_csrf_checks=True)
    page = strict.post("/sign-in/", {"username": "a"}, headers={"referer": f"{HERE}/help/"})

    assert page.status_code == 403
    assert "Nothing was written. Open it again." in page.text
    assert 'href="/help/"' in page.text
    assert page["Content-Security-Policy"]
