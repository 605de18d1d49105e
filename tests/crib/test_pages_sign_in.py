"""Signing in and out, and the pages for those who may not."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from tests import makers
from tests.crib.pages import signed_in, text_of

pytestmark = pytest.mark.django_db
SIGN_IN = "/sign-in/"


def attempt(client: Client, person, password=makers.PASSWORD, **more):
    return client.post(SIGN_IN, {"username": person.username, "password": password, **more})


def test_the_right_password_leads_home(client):
    answer = attempt(client, makers.person("operator"))
    assert (answer.status_code, answer["Location"]) == (302, "/")


def test_a_wrong_password_is_refused_and_the_name_kept(client):
    person = makers.person("operator")
    answer = attempt(client, person, "not this one")
    assert answer.status_code == 200
    assert person.username in answer.content.decode()
    assert "_auth_user_id" not in client.session


def test_the_page_asked_for_comes_after_signing_in(client):
    asked = client.get("/items/?q=nut")
    assert asked["Location"] == "/sign-in/?next=/items/%3Fq%3Dnut"
    answer = attempt(client, makers.person("operator"), next="/items/?q=nut")
    assert answer["Location"] == "/items/?q=nut"


@pytest.mark.parametrize(
    "elsewhere",
    ["https://elsewhere.test/", "//elsewhere.test/", r"\\elsewhere.test", "javascript:alert(1)"],
)
def test_signing_in_never_leads_to_another_server(client, elsewhere):
    page = client.get(SIGN_IN, {"next": elsewhere})
    assert "elsewhere" not in page.content.decode()
    answer = attempt(client, makers.person("operator"), next=elsewhere)
    assert answer["Location"] == "/"


@pytest.mark.parametrize(("demo", "is_in"), [(True, True), (False, False)])
def test_people_of_the_example_shop_get_in_only_while_the_demo_is_on(client, settings, demo, is_in):
    settings.DEMO = demo
    attempt(client, makers.person("operator", is_demo=True))
    assert ("_auth_user_id" in client.session) is is_in


def test_too_many_wrong_passwords_are_answered_in_words(client, settings):
    settings.AXES_FAILURE_LIMIT = 3
    person = makers.person("operator")
    answers = [attempt(client, person, "wrong") for _ in range(3)]
    assert [answer.status_code for answer in answers] == [200, 200, 429]
    assert "15 minutes" in text_of(answers[-1])
    assert attempt(client, person).status_code == 429


def test_signing_out_needs_a_click_and_ends_the_session():
    client = signed_in("operator")
    assert client.get(reverse("crib:sign_out")).status_code == 405
    assert client.post(reverse("crib:sign_out"))["Location"] == SIGN_IN
    assert "_auth_user_id" not in client.session


def test_nobody_sees_a_page_without_signing_in(client):
    for name in ("home", "item_list", "place_list", "movements", "reorder", "reference", "help"):
        assert client.get(reverse(f"crib:{name}")).status_code == 302, name


def test_the_page_for_another_role_names_the_roles_that_may():
    answer = signed_in("operator").get(reverse("crib:people"))
    assert answer.status_code == 403
    assert "Admin" in text_of(answer)
    assert answer.context["role_names"] == ["Admin"]


def test_a_person_without_a_role_gets_a_home_page_that_says_so():
    client = signed_in()
    assert "has no role" in text_of(client.get("/"))
    assert client.get("/items/").status_code == 403
