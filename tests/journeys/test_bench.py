"""One assembly from its number to its release, in a real browser at the bench's PC."""

from __future__ import annotations

import re
from dataclasses import dataclass

import pytest
from axe_playwright_python.sync_playwright import Axe

from assemblies.models import Assembly
from crib.models import Item, Person, Piece
from tests import makers
from tests.journeys import chain

pytestmark = pytest.mark.django_db(transaction=True)


@dataclass
class Crib:
    """A toolroom person and the parts that lie in the rack."""

    ines: Person
    holder: Piece
    collet: Piece
    wrong_collet: Piece
    nut: Item
    cutter: Item


@pytest.fixture
def crib():
    rack = makers.place("RACK B3")
    small = makers.collet_item(clamp_max_um=6_000, clamp_min_um=5_000)
    return Crib(
        makers.person("toolroom"),
        makers.piece(makers.holder_item(), rack, mark="H-07"),
        makers.piece(makers.collet_item(), rack, mark="C-06"),
        makers.piece(small, rack, mark="C-15"),
        makers.stocked(makers.nut_item(), rack),
        makers.stocked(makers.cutter_item(), rack),
    )


@pytest.fixture
def at_desk(open_page, crib):
    page = open_page(person=crib.ines)
    page.set_viewport_size({"width": 1280, "height": 900})
    return page


def start(page) -> str:
    """Give out a number and come to its bench; the number."""
    page.goto("/assemblies/new/")
    page.get_by_label("What it is for").fill("outlines")
    page.get_by_role("button", name="Give it a number").click()
    page.wait_for_url("**/bench/")
    return re.search(r"/assemblies/(\d+)/", page.url)[1]


def scan(page, entry: str) -> None:
    """Scan at the bench and wait for the page that answers."""
    with page.expect_navigation():
        chain.scan(page, entry)


def slot(page, role: str) -> str:
    return page.locator(f"#slot-{role}").inner_text()


def clean(page) -> None:
    violations = Axe().run(page).response["violations"]
    assert [(found["id"], len(found["nodes"])) for found in violations] == []


def test_an_assembly_is_scanned_checked_built_measured_and_released(at_desk, crib):
    page = at_desk
    number = start(page)
    for entry in ("H-07", "C-15", crib.nut.code, crib.cutter.code):
        scan(page, entry)
    # The wrong collet is refused in its slot and at the head, before any wrench is touched.
    assert "larger than the collet's largest" in slot(page, "collet")
    assert "It cannot be built like this" in page.locator("#tally").inner_text()
    clean(page)
    scan(page, "C-06")
    assert "C-06" in slot(page, "collet")
    assert "stop" not in page.locator("#tally").inner_text()

    # Too little grip is answered while typing; nothing has been sent yet.
    page.get_by_label("Stick-out").fill("45")
    page.get_by_label("Grip length").fill("20")
    stop = page.locator("#findings .finding-stop_soft", has_text="Grip 20.0")
    stop.wait_for()
    assert "1 stop" in page.locator("#tally").inner_text()
    page.get_by_label("Grip length").fill("36")
    stop.wait_for(state="detached")
    page.get_by_label("Nut torque").fill("136")
    page.get_by_text("torque 136 N·m.").wait_for()
    clean(page)
    page.get_by_role("button", name="It is tight: build it").click()

    page.wait_for_url("**/measure/")
    for label, value in (
        ("Gauge length", "95.0"),
        ("Cutting diameter", "12.00"),
        ("Runout (TIR)", "0.008"),
    ):
        page.get_by_label(label, exact=True).fill(value)
    clean(page)
    page.get_by_role("button", name="Keep readings").click()
    page.wait_for_url("**/release/")
    clean(page)
    page.get_by_role("button", name="Release, then print its label").click()
    page.wait_for_url(f"**/assemblies/{number}/label/")
    assembly = Assembly.objects.get(number=number)
    assert assembly.state == "released"
    build = assembly.current_build
    assert (build.revision, build.grip_um, build.torque_mnm) == (1, 36_000, 136_000)


def test_a_scan_never_lands_in_a_number_field_and_keeps_what_was_typed_there(at_desk, crib):
    page = at_desk
    start(page)
    stickout = page.get_by_label("Stick-out")
    stickout.fill("45")
    stickout.focus()
    scan(page, crib.cutter.code)
    assert crib.cutter.code in slot(page, "cutter")
    assert page.get_by_label("Stick-out").input_value() == "45"
    assert Assembly.objects.get().current_build.stickout_um == 45_000


def test_a_loose_collet_is_picked_with_one_tap_and_the_bench_works_without_scripts(open_page, crib):
    page = open_page("phone", person=crib.ines, java_script_enabled=False)
    start(page)
    for entry in ("H-07", crib.cutter.code):
        page.get_by_label("Mark or item code").fill(entry)
        page.get_by_role("button", name="Put it in").click()
    page.get_by_label("Stick-out").fill("45")
    page.locator("#slot-collet").get_by_role("button", name="C-06").click()
    page.locator("#slot-nut").get_by_role("button", name=crib.nut.code).click()
    for label, value in (("Grip length", "36"), ("Nut torque", "136")):
        page.get_by_label(label).fill(value)
    page.get_by_role("button", name="It is tight: build it").click()
    assert page.url.endswith("/measure/")
    assert Assembly.objects.get().current_build.stickout_um == 45_000


#: Controls of a page that are lower than a finger can hit, with their words and height.
SMALL_CONTROLS = """() => [...document.querySelectorAll(
    'main :is(button, select, summary, a.button, input)')]
  .filter(one => one.checkVisibility() && one.type !== 'hidden' && one.type !== 'radio')
  .map(one => [one.innerText || one.name, Math.round(one.getBoundingClientRect().height)])
  .filter(([, height]) => height < 48)"""


def fits_the_tablet(page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth") <= 820
    assert page.evaluate(SMALL_CONTROLS) == []
    clean(page)


def test_on_a_tablet_a_loose_collet_takes_two_taps_and_all_goes_back_on_one_page(open_page, crib):
    loose = makers.collet_item(clamp_max_um=7_000, clamp_min_um=6_000, series="ER25")
    makers.stocked(loose, crib.holder.place)
    page = open_page("tablet", person=crib.ines, has_touch=True)
    number = start(page)
    tray = page.locator("#slot-collet")
    tray.get_by_text("Collet", exact=True).tap()
    tray.get_by_text("ER25").first.tap()
    fits_the_tablet(page)
    with page.expect_navigation():
        tray.get_by_role("button", name="7–6").tap()
    assert loose.code in slot(page, "collet")
    scan(page, "H-07")
    assert "ER25" in page.locator("#slot-collet .errorlist").inner_text()

    page.goto(f"/assemblies/{number}/dismantle/")
    fits_the_tablet(page)
    page.get_by_label("Why").fill("wrong series")
    with page.expect_navigation():
        page.get_by_role("button", name="Take it apart").tap()
    assert page.url.endswith("/bench/")
    assert not Assembly.objects.get().current_build.parts.exists()
