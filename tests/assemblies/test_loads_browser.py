"""Filling a changer with a hand scanner, and without scripts; and no barrier on its pages."""

from __future__ import annotations

from uuid import uuid4

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from assemblies.actions import build
from assemblies.models import Load
from tests import assembly_makers as made
from tests.assemblies.load_makers import FillingShop, held, slots
from tests.journeys import chain

pytestmark = pytest.mark.django_db(transaction=True)


def clean(page) -> None:
    for width, scheme in ((1280, "light"), (390, "dark")):
        page.set_viewport_size({"width": width, "height": 844})
        page.emulate_media(color_scheme=scheme)
        violations = Axe().run(page).response["violations"]
        assert [(found["id"], len(found["nodes"])) for found in violations] == []


def at_filling(page, shop: FillingShop) -> None:
    page.goto(f"/station/?machine={shop.machine.mark}")
    page.get_by_role("button", name=str(shop.revision)).click()
    page.goto(f"/machines/{shop.machine.mark}/fill/")


def compare(page, shop: FillingShop, **shown) -> None:
    page.get_by_role("link", name="Compare with the control").click()
    for tool, number in shown.items():
        assembly = shop.assemblies[int(tool[1:])]
        page.locator(f"#id_shown_{assembly.number}").fill(number)
    clean(page)
    page.get_by_role("button", name="Marks and numbers agree").click()


def test_scan_after_scan_needs_no_touch_and_a_stop_interrupts(open_page):
    shop = FillingShop.open(slots(4), tools=3)
    page = open_page(person=made.operator())
    at_filling(page, shop)
    for tool in (1, 2):
        with page.expect_navigation():
            chain.scan(page, shop.codes[tool])
    expect(page.locator(".fill-line")).to_have_count(2)
    clean(page)
    build.quarantine(
        by=made.operator(), submission=uuid4(), assembly=shop.assemblies[3], note="dropped"
    )
    with page.expect_navigation():
        chain.scan(page, shop.codes[3])
    expect(page.locator(".verdict-stop")).to_contain_text("Quarantined: dropped")
    page.goto(f"/machines/{shop.machine.mark}/fill/")
    assert not Load.objects.exists()
    compare(page, shop, t1="1", t2="2")
    expect(page.get_by_text("2 tools recorded")).to_be_visible()
    build.start_rebuild(
        by=made.toolroom(), submission=uuid4(), assembly=shop.assemblies[2], reason="dull"
    )
    page.reload()
    expect(page.locator(".load-doubt-stop")).to_have_count(1)
    clean(page)
    assert held(shop.machine) == [(tool, shop.assemblies[tool].number) for tool in (1, 2)]


def test_a_changer_is_filled_without_scripts(open_page):
    shop = FillingShop.open(slots(4), tools=1)
    page = open_page("phone", person=made.operator(), java_script_enabled=False)
    at_filling(page, shop)
    expect(page.get_by_label("Hand scanner")).to_be_focused()
    page.keyboard.type(shop.codes[1])
    page.keyboard.press("Enter")
    page.get_by_role("link", name="Compare with the control").click()
    page.locator(f"#id_shown_{shop.assemblies[1].number}").fill("1")
    page.get_by_role("button", name="Marks and numbers agree").click()
    expect(page.get_by_text("1 tool recorded")).to_be_visible()
    assert held(shop.machine) == [(1, shop.assemblies[1].number)]
