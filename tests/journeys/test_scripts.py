"""What the scripts add: the hand scanner, one sending a form, the keypad, old answers."""

from __future__ import annotations

import re
from urllib.parse import parse_qs, urlsplit

import pytest
from playwright.sync_api import expect

from assemblies.models import BuildPart, Measurement, SpindleCheck
from crib.models import Act, Movement, Reason
from labels.rules.code import printed_code
from tests import assembly_makers, makers
from tests.journeys import chain

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.looks]

#: A person's pause between two keys [ms]. A scanner makes none.
TYPING_PAUSE_MS = 120
SYMBOL_TEXT = "HTTP://CRIB.LOCAL:8000/S/7K2M9QXR4"


# ---- hand scanner
@pytest.fixture
def measuring(open_page):
    """The page that takes readings, with the caret in a field that has a number already."""
    assembly = assembly_makers.built()
    page = open_page(person=assembly_makers.toolroom())
    page.goto(f"/assemblies/{assembly.number}/measure/")
    page.field = page.get_by_label("Gauge length")
    page.field.fill("97.5")
    page.field.focus()
    return page


def test_a_scan_while_a_number_is_typed_goes_to_the_scan_form_and_not_into_the_field(measuring):
    page, asked = measuring, []

    def answer_nothing(route):
        asked.append(route.request.url)
        route.fulfill(status=204)

    page.route("**/scan/**", answer_nothing)
    with page.expect_response("**/scan/**"):
        chain.scan(page, SYMBOL_TEXT)
    assert [parse_qs(urlsplit(url).query)["entry"] for url in asked] == [[SYMBOL_TEXT]]
    expect(page.field).to_have_value("97.5")
    assert not Measurement.objects.exists()


def test_a_number_typed_by_hand_stays_in_its_field(measuring):
    page = measuring
    page.field.fill("")
    page.keyboard.type("125.75", delay=TYPING_PAUSE_MS)
    expect(page.field).to_have_value("125.75")


def test_fast_keys_without_enter_are_given_back_to_the_field(measuring):
    page = measuring
    page.field.fill("")
    page.keyboard.type("125.75")
    expect(page.field).to_have_value("125.75")


@pytest.mark.parametrize("mark", ["H-07", "HOLDER-107"])
def test_a_mark_scanned_at_the_bench_is_put_in_whatever_field_has_the_caret(open_page, mark):
    drawer = makers.place()
    piece = makers.piece(makers.holder_item(), drawer, mark=mark)
    assembly = assembly_makers.started()
    page = open_page(person=assembly_makers.toolroom())
    page.goto(f"/assemblies/{assembly.number}/bench/")
    page.get_by_label("Stick-out").focus()
    chain.scan(page, mark)
    expect(page.get_by_text(f"{mark} is in.")).to_be_visible()
    assert BuildPart.objects.get(build__assembly=assembly).piece == piece
    assert assembly.builds.get().stickout_um is None


# ---- Enter between figures
def test_enter_goes_from_reading_to_reading_and_sends_them_from_the_last(open_page):
    assembly = assembly_makers.built()
    page = open_page(person=assembly_makers.toolroom())
    page.goto(f"/assemblies/{assembly.number}/measure/")
    names = ["Gauge length", "Cutting diameter", "Runout (TIR)"]
    for name, value in zip(names, ["97", "12", "0.008"], strict=True):
        expect(page.get_by_label(name, exact=True)).to_be_focused()
        page.keyboard.type(value, delay=TYPING_PAUSE_MS)
        page.keyboard.press("Enter", delay=TYPING_PAUSE_MS)
        assert not Measurement.objects.exists()
    page.get_by_label("Instrument").focus()
    page.keyboard.press("Enter")
    page.wait_for_url("**/release/")
    assert Measurement.objects.count() == len(names)


def test_enter_in_the_last_figure_of_the_bench_keeps_the_figures_and_puts_no_part_in(open_page):
    assembly = assembly_makers.started()
    page = open_page(person=assembly_makers.toolroom())
    page.goto(f"/assemblies/{assembly.number}/bench/")
    page.get_by_label("Stick-out").fill("45")
    page.get_by_label("Stick-out").press("Enter")
    expect(page.get_by_label("Grip length")).to_be_focused()
    page.get_by_label("Adapter on it").press("Enter")
    page.wait_for_load_state()
    expect(page.get_by_label("Stick-out")).to_have_value("45")
    assert assembly.builds.get().stickout_um == 45_000


# ---- one sending
@pytest.fixture
def receiving(open_page):
    """The form that books four nuts in, filled in."""
    item = makers.nut_item()
    makers.place("DRAWER 4")
    page = open_page("phone", person=makers.person("toolroom"))
    page.goto(f"/items/{item.code}/receive/")
    page.get_by_label("Quantity, in pieces").fill("4")
    page.get_by_label("Put it where").select_option(label="DRAWER 4")
    page.button = page.get_by_role("button", name="Book in")
    return page


def test_a_second_tap_on_a_slow_form_sends_nothing(receiving):
    page, sent = receiving, []

    def answer_nothing(route):
        sent.append(route.request.method)
        route.fulfill(status=204)

    page.route("**/receive/", answer_nothing)
    with page.expect_response("**/receive/"):
        page.button.click()
    # Enter in a field, and the button without a pointer: neither is stopped by its looks.
    page.get_by_label("Quantity, in pieces").press("Enter")
    page.button.dispatch_event("click")
    expect(page.button).to_have_attribute("aria-busy", "true")
    assert sent == ["POST"]


def test_a_double_tap_writes_one_row(receiving):
    acts = Act.objects.count()
    receiving.button.dblclick()
    receiving.wait_for_url(re.compile(r"/items/[^/]+/$"))
    assert Act.objects.count() == acts + 1
    assert Movement.objects.get(reason=Reason.RECEIVE).quantity == 4


# ---- at the spindle
@pytest.fixture
def verdict(open_page):
    """A MATCH for T5 on an operator's phone."""
    scene = assembly_makers.Scene.ready()
    page = open_page("phone", person=assembly_makers.operator())
    page.goto(f"/S/{scene.label.code}")
    chain.choose_station(page, scene.machine, scene.revision)
    expect(page.locator(".verdict-word")).to_have_text("MATCH")
    page.scene = scene
    return page


def test_the_keypad_fills_the_field_for_the_number_that_the_control_shows(verdict):
    keypad = verdict.get_by_role("group", name="Keypad")
    field = verdict.get_by_label("Read it off the control and key it")
    expect(field).to_have_value("")
    for digit in "12345":
        keypad.get_by_role("button", name=digit, exact=True).click()
    expect(field).to_have_value("1234")
    keypad.get_by_role("button", name="Clear").click()
    expect(field).to_have_value("")
    chain.key_and_load(verdict, assembly_makers.TOOL)
    assert SpindleCheck.objects.get().shown_number == assembly_makers.TOOL


OLD = "This answer is old. Scan again."
NO_CONNECTION = "No connection. Scan again when it is back."


def expect_old(page, why=OLD) -> None:
    expect(page.locator(".verdict")).to_have_class("verdict verdict-match is-old")
    expect(page.get_by_text(why)).to_be_visible()


def test_a_verdict_is_marked_as_old_when_the_network_goes_and_stays_so(verdict):
    expect(verdict.get_by_text(OLD)).to_be_hidden()
    verdict.context.set_offline(True)
    expect_old(verdict, NO_CONNECTION)
    verdict.context.set_offline(False)
    expect_old(verdict, NO_CONNECTION)


def test_a_verdict_left_over_night_is_marked_as_old(verdict):
    verdict.clock.install()
    verdict.reload()
    verdict.clock.fast_forward("11:50:00")
    expect(verdict.get_by_text("This answer is old. Scan again.")).to_be_hidden()
    verdict.clock.fast_forward("00:20:00")
    expect_old(verdict)


def test_a_scan_on_an_open_verdict_starts_the_next_check_and_confirms_nothing(verdict):
    field = verdict.get_by_label("Read it off the control and key it")
    field.focus()
    other = assembly_makers.label_of(assembly_makers.released())
    chain.scan(verdict, printed_code(other.code))
    verdict.wait_for_url(f"**/S/{other.code}")
    expect(verdict.locator(".verdict")).to_contain_text(str(other.build.assembly.number))
    assert not SpindleCheck.objects.exists()
