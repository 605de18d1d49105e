"""Suppliers: the list and the form."""

from __future__ import annotations

import pytest

from crib.models import Supplier
from tests.crib.pages import fill_in, send_twice, signed_in, text_of

pytestmark = pytest.mark.django_db


def test_no_suppliers_is_said():
    assert "No suppliers yet" in text_of(signed_in("buyer").get("/suppliers/"))


def test_a_delivery_time_not_recorded_is_said():
    Supplier.objects.create(name="Invented Supply")
    assert "not recorded" in text_of(signed_in("operator").get("/suppliers/"))


def test_a_new_supplier_sent_twice_is_one_supplier():
    first, second, acts = send_twice(
        signed_in("buyer"), "/suppliers/new/", name="Invented Supply", lead_working_days=6
    )
    assert first["Location"] == second["Location"] == "/suppliers/"
    assert (Supplier.objects.get().lead_working_days, acts) == (6, 1)


def test_a_supplier_is_changed():
    made = Supplier.objects.create(name="Invented Supply", lead_working_days=6)
    fill_in(signed_in("buyer"), f"/suppliers/{made.pk}/", name="Invented Supply")
    made.refresh_from_db()
    assert made.lead_working_days is None


@pytest.mark.parametrize(
    ("field", "typed"),
    [("name", ""), ("name", "Taken Supply"), ("lead_working_days", "-1"), ("note", "x" * 201)],
)
def test_a_bad_entry_names_its_field_and_adds_nobody(field, typed):
    Supplier.objects.create(name="Taken Supply")
    good = {"name": "Invented Supply", "lead_working_days": 6}
    answer = fill_in(signed_in("buyer"), "/suppliers/new/", **good | {field: typed})
    assert list(answer.context["form"].errors) == [field]
    assert Supplier.objects.count() == 1


def test_suppliers_are_kept_by_those_who_keep_items():
    assert signed_in("operator").get("/suppliers/new/").status_code == 403
    assert signed_in("operator").post("/suppliers/new/", {"name": "x"}).status_code == 403


@pytest.mark.parametrize(
    ("role", "leads_on"),
    [
        ("operator", False),
        ("programmer", False),
        ("lead", False),
        ("toolroom", True),
        ("buyer", True),
        ("admin", True),
    ],
)
def test_a_name_leads_to_the_form_only_for_those_who_may_open_it(role, leads_on):
    made = Supplier.objects.create(name="Invented Supply")
    client, address = signed_in(role), f"/suppliers/{made.pk}/"
    assert (f'href="{address}"' in client.get("/suppliers/").content.decode()) == leads_on
    assert (client.get(address).status_code == 200) == leads_on
