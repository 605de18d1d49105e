"""Readings typed in a real browser, with figures and Enter only; no barrier on these pages."""

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from assemblies.models import Measurement
from crib.models import Instrument
from tests import assembly_makers as made

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.looks]


def test_what_counts_is_said_while_typing_and_kept_by_enter(open_page):
    assembly = made.built()
    page = open_page(person=made.toolroom(), screen="phone")
    page.goto(f"/assemblies/{assembly.number}/measure/")
    page.get_by_label("Gauge length").fill("97.02+97.05+97.03")

    expect(page.locator("#seen")).to_contain_text("97.030 mm")
    expect(page.locator("#seen")).to_contain_text("median of 3")
    assert not Measurement.objects.exists()

    page.get_by_label("Instrument", exact=True).press("Enter")
    page.wait_for_url("**/release/")
    assert Measurement.objects.get().readings_um == [97_020, 97_050, 97_030]

    wrench = Instrument.objects.create(mark="W-1", kind="wrench", months_between=12)
    for address in (
        f"/assemblies/{assembly.number}/measure/",
        f"/assemblies/{assembly.number}/weigh/",
        f"/assemblies/{assembly.number}/history/",
        "/instruments/",
        f"/instruments/{wrench.pk}/",
        "/instruments/new/wrench/",
    ):
        page.goto(address)
        violations = Axe().run(page).response["violations"]
        assert (address, [found["id"] for found in violations]) == (address, [])
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), address
