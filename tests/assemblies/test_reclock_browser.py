"""The re-clock test on a tablet, with a thumb and without a script."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests import assembly_makers as asm
from tests import makers


@pytest.mark.django_db(transaction=True)
def test_the_test_is_walked_with_a_thumb(open_page):
    assembly, person = asm.released(), makers.person("toolroom")
    page = open_page("tablet", person=person, java_script_enabled=False)
    page.goto(reverse("assemblies:reclock", args=[assembly.number]))
    for label in ("Collet", "Shank, round"):
        page.get_by_label(label).first.check()
    page.get_by_role("button", name="Next").click()
    for tile in page.locator(".reclock label:has(input[type=radio])").all():
        box = tile.bounding_box()
        assert min(box["width"], box["height"]) >= 48
    page.get_by_label("Runout (TIR)").fill("0.060")
    page.get_by_label("1", exact=True).check()
    page.get_by_role("button", name="Next").click()
    page.get_by_role("button", name="It is turned and clamped").click()
    page.get_by_label("Runout (TIR)").fill("0.060")
    page.get_by_label("7", exact=True).check()
    page.get_by_role("button", name="Keep the test").click()
    page.get_by_text("Collet 0.060, rest of the stack 0.000: 0.060 bigger.").wait_for()
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
