"""Ways on and back that a newcomer looks for."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.urls import reverse

from crib.actions.instruments import save_instrument
from crib.models import Instrument
from tests import makers
from tests.crib.pages import signed_in

pytestmark = pytest.mark.django_db


def test_an_instrument_leads_back_to_all_of_them():
    wrench = Instrument(mark="W-1", kind="wrench")
    save_instrument(by=makers.person("toolroom"), submission=uuid4(), instrument=wrench)
    page = signed_in("operator").get(reverse("crib:instrument_detail", args=[wrench.pk]))
    assert f'class="button" href="{reverse("crib:instrument_list")}"' in page.content.decode()


@pytest.mark.parametrize(
    ("role", "led"),
    [("toolroom", True), ("lead", True), ("admin", True), ("operator", False), ("buyer", False)],
)
def test_the_first_page_leads_those_to_the_toolroom_who_work_with_it(role, led):
    tiles = signed_in(role).get("/").context["tiles"]
    assert ("Toolroom" in {tile.label for tile in tiles}) == led
