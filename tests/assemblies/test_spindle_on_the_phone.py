"""The newer answers in a real browser: within the small screen, apart from each other, for all."""

import re
from uuid import uuid4

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.core.cache import cache
from playwright.sync_api import expect

from assemblies.actions.measure import Reading
from assemblies.models import AssemblyState, Machine, SpindleCheck
from crib.actions.pin import set_pin
from tests import assembly_makers as made
from tests import makers
from tests.assemblies.spindle_shop import open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.looks]

SMALLEST = {"width": 320, "height": 568}
#: 13 mm between buttons that contradict each other, at 0.16 mm a CSS pixel (MIL-STD-1472E,
#: from memory).
APART_PX = 81
PIN = "4821"


@pytest.fixture
def shop():
    cache.clear()
    return open_shop()


def no_barriers(page):
    """No fault of accessibility that a machine can find, on the page as it stands."""
    found = Axe().run(page).response["violations"]
    return [(fault["id"], [node["target"] for node in fault["nodes"]]) for fault in found]


def stand_at(page):
    page.goto("/station/?machine=R1")
    page.get_by_role("button", name="HM-0377 B").click()


@pytest.fixture
def stopped(shop):
    """The address of a soft stop, and a lead who may answer for it."""
    lead = makers.person("lead", first_name="Oswin")
    set_pin(by=lead, submission=uuid4(), password=makers.PASSWORD, pin=PIN)
    readings = (
        Reading("gauge_length", 95_000),
        Reading("diameter", 12_051),
        Reading("runout", 8, 30_000),
    )
    return f"/S/{shop.label(shop.built('H-07', readings, diameter_um=12_051))}?t=5"


def key(page, pad, digits):
    for digit in digits:
        page.get_by_role("group", name=pad, exact=True).get_by_role(
            "button", name=digit, exact=True
        ).click()


def test_an_override_stands_apart_and_is_keyed_by_thumb(open_page, shop, stopped):
    phone = open_page("phone", person=shop.operator)
    phone.set_viewport_size(SMALLEST)
    stand_at(phone)
    phone.goto(stopped)
    refuse = phone.locator("#refuse button[type=submit]").bounding_box()
    override = phone.locator("#override summary")
    assert override.bounding_box()["y"] - (refuse["y"] + refuse["height"]) >= APART_PX

    override.click()
    assert no_barriers(phone) == []
    assert phone.evaluate("document.documentElement.scrollWidth") == SMALLEST["width"]
    form = phone.locator("#override")
    key(phone, "Keypad", "5")
    form.get_by_label("Trial in waste").check()
    form.get_by_label("Who answers for it").select_option(label="Oswin")
    key(phone, "Keypad for the PIN", PIN)
    form.get_by_role("button", name="Override and load").click()

    expect(phone.get_by_role("heading", level=1)).to_have_text("Loaded: T5")
    assert SpindleCheck.objects.get().overridden_by.first_name == "Oswin"


def test_an_override_needs_no_script(open_page, shop, stopped):
    phone = open_page("phone", person=shop.operator, java_script_enabled=False)
    stand_at(phone)
    phone.goto(stopped)
    phone.locator("#override summary").click()
    form = phone.locator("#override")
    form.get_by_label("Read it off the control and key it").fill("5")
    form.get_by_label("Trial in waste").check()
    form.get_by_label("Who answers for it").select_option(label="Oswin")
    form.get_by_label("PIN", exact=True).fill("0000")
    form.get_by_role("button", name="Override and load").click()
    expect(phone.get_by_role("alert")).to_contain_text("4 tries left")

    form.get_by_label("Read it off the control and key it").fill("5")
    form.get_by_label("PIN", exact=True).fill(PIN)
    form.get_by_role("button", name="Override and load").click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Loaded: T5")


def test_the_number_keyed_first_leaves_one_tap_on_the_smallest_screen(open_page, shop):
    code = shop.label(shop.built("H-07"))
    phone = open_page("phone", person=shop.operator)
    phone.set_viewport_size(SMALLEST)
    stand_at(phone)
    phone.goto("/spindle/")
    key(phone, "Keypad", "5")
    phone.get_by_role("button", name="Then scan the tool").click()
    phone.goto(f"/S/{code}")

    actions = phone.locator(".verdict-actions").bounding_box()
    refuse = phone.locator(".verdict-actions a").bounding_box()
    load = phone.locator(".verdict-actions button")
    assert actions["y"] + actions["height"] <= SMALLEST["height"]
    assert load.bounding_box()["height"] >= 120
    # Opposite edges, where the screen is too narrow for more.
    assert load.bounding_box()["x"] - (refuse["x"] + refuse["width"]) >= 40
    assert no_barriers(phone) == []

    load.click()
    expect(phone.get_by_role("heading", level=1)).to_have_text("Loaded: T5")
    assert SpindleCheck.objects.get().keyed_first is True


def test_it_differs_is_two_taps_and_a_mark(open_page, shop):
    mine, other = shop.built("H-07"), shop.built("H-03")
    code = shop.label(mine)
    phone = open_page("phone", person=shop.operator)
    stand_at(phone)
    phone.goto(f"/S/{code}")
    question = phone.locator("#mark")
    differs, does = question.locator("summary"), question.get_by_role("link", name="It does")
    gap = does.bounding_box()["x"] - differs.bounding_box()["x"] - differs.bounding_box()["width"]
    assert gap >= APART_PX
    assert min(differs.bounding_box()["height"], does.bounding_box()["height"]) >= 120

    differs.click()
    assert no_barriers(phone) == []
    question.get_by_label(re.compile("What the holder reads")).fill("h-03")
    question.get_by_role("button", name="It differs: out of use").click()

    expect(phone.get_by_text(f"{mine.number} and {other.number} are quarantined")).to_be_visible()
    assert {made.again(row).state for row in (mine, other)} == {AssemblyState.QUARANTINED}


def test_a_pocket_is_said_with_one_tap(open_page, shop):
    Machine.objects.update(tool_change="carousel", pockets=12, number_names="tool")
    code = shop.label(shop.built("H-07"))
    phone = open_page("phone", person=shop.operator)
    phone.set_viewport_size(SMALLEST)
    stand_at(phone)
    phone.goto(f"/S/{code}")
    assert no_barriers(phone) == []
    assert phone.evaluate("document.documentElement.scrollWidth") == SMALLEST["width"]

    key(phone, "Keypad", "5")
    phone.get_by_label("Pocket 1, the next free one").check()
    phone.get_by_role("button", name="Loaded").click()

    expect(phone.get_by_text("pocket 1")).to_be_visible()
