"""The station of a session: shown on every page, and asked of the database only where it is."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.urls import reverse

from assemblies.actions.machines import save_machine
from assemblies.models import Machine, Station
from tests import makers

pytestmark = pytest.mark.django_db


@pytest.fixture
def router(db):
    machine = Machine(mark="R9", name="Router 9", interface="ISO 30 router", stud_pattern="A")
    save_machine(by=makers.person("lead"), submission=uuid4(), machine=machine)
    return machine


def choose(client, machine):
    return client.post(reverse("assemblies:station"), {"machine": machine.mark_key, "revision": ""})


def test_the_chosen_machine_stands_on_every_page(client, router):
    client.force_login(makers.person("operator"))
    assert choose(client, router).status_code == 302
    assert Station.objects.get().machine == router
    for name in ("crib:item_list", "assemblies:machine_list", "crib:help"):
        assert "Router 9" in client.get(reverse(name)).text


def test_a_session_without_a_station_asks_for_none(client, router, django_assert_max_num_queries):
    client.force_login(makers.person("operator"))
    with django_assert_max_num_queries(3) as asked:
        client.get(reverse("crib:help"))
    assert not any("station" in query["sql"] for query in asked.captured_queries)


def test_signing_out_forgets_the_station(client, router):
    client.force_login(makers.person("operator"))
    choose(client, router)
    client.post(reverse("crib:sign_out"))
    client.force_login(makers.person("operator"))
    assert "Router 9" not in client.get(reverse("crib:help")).text


def test_another_session_has_a_station_of_its_own(client, router):
    client.force_login(makers.person("operator"))
    choose(client, router)
    other = type(client)()
    other.force_login(makers.person("operator"))
    assert "Router 9" not in other.get(reverse("crib:help")).text
