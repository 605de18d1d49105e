"""Every step of the day with scripts switched off: slower, but never a dead button."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from assemblies.models import Build, SpindleCheck
from crib.models import Movement, Reason
from tests import assembly_makers, makers
from tests.journeys import chain

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def plain(open_page):
    """Open a phone without scripts for somebody."""
    return lambda person: open_page("phone", person=person, java_script_enabled=False)


def test_an_assembly_is_put_together_and_built_without_scripts(plain):
    shop = chain.almost_empty_shop()
    page = plain(shop.toolroom)
    assembly = chain.start_assembly(page, "cabinet sides")
    chain.put_in(page, "H-07", "C-21", shop.nut.code, shop.cutter.code)
    chain.set_figures(page, grip="20")
    page.get_by_role("button", name="Keep figures").click()
    expect(page.locator("#findings .finding-stop_soft")).to_contain_text("Grip 20.0 mm")
    chain.set_figures(page)
    chain.build(page)
    build = Build.objects.get(assembly=assembly)
    assert (build.revision, build.stickout_um, build.grip_um) == (1, 47_000, 35_000)
    assert build.parts.count() == 4


def test_a_tool_is_looked_at_and_loaded_without_scripts(plain):
    scene = assembly_makers.Scene.ready()
    page = plain(assembly_makers.operator())
    page.goto(f"/S/{scene.label.code}")
    chain.choose_station(page, scene.machine, scene.revision)
    expect(page.locator(".verdict-word")).to_have_text("MATCH")
    expect(page.get_by_role("group", name="Keypad")).to_be_hidden()
    page.get_by_label("Read it off the control and key it").fill(str(assembly_makers.TOOL))
    page.get_by_role("button", name="Loaded").click()
    expect(page.get_by_role("heading", level=1)).to_have_text(f"Loaded: T{assembly_makers.TOOL}")
    check = SpindleCheck.objects.get()
    assert (check.verdict, check.decision) == ("match", "loaded")
    assert check.shown_number == assembly_makers.TOOL


def test_a_label_code_typed_into_the_bar_leads_to_its_verdict_without_scripts(plain):
    scene = assembly_makers.Scene.ready()
    page = plain(assembly_makers.operator())
    page.goto("/station/")
    chain.choose_station(page, scene.machine, scene.revision)
    page.goto("/items/")
    page.get_by_label("Scan a label, or type").fill(scene.label.code)
    page.get_by_role("button", name="Find").first.click()
    page.wait_for_url(f"**/S/{scene.label.code}")
    expect(page.locator(".verdict-word")).to_have_text("MATCH")


def test_goods_are_booked_in_without_scripts(plain):
    item, drawer = makers.nut_item(), makers.place("DRAWER 4")
    page = plain(makers.person("toolroom"))
    page.goto(f"/items/{item.code}/")
    page.get_by_role("link", name="Book in").click()
    page.get_by_label("Quantity, in pieces").fill("4")
    page.get_by_label("Put it where").select_option(label="DRAWER 4")
    page.get_by_role("button", name="Book in").click()
    page.wait_for_url(f"**/items/{item.code}/")
    movement = Movement.objects.get(item=item)
    assert (movement.quantity, movement.to_place) == (4, drawer)
    assert movement.reason == Reason.RECEIVE


def test_the_menu_opens_without_scripts(plain):
    page = plain(makers.person("buyer"))
    page.goto("/")
    link = page.get_by_role("navigation", name="Main").get_by_role("link", name="Running low")
    expect(link).to_be_hidden()
    page.get_by_text("Menu", exact=True).click()
    link.click()
    page.wait_for_url("**/running-low/")
