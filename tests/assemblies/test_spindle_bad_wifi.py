"""An answer lost between phone and server: nothing is claimed, nothing counts twice."""

import pytest
from playwright.sync_api import expect

from assemblies.models import SpindleCheck
from crib.models import Act
from tests import assembly_makers as made
from tests.journeys import chain

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.looks]


@pytest.fixture
def verdict(open_page):
    """A MATCH for T5 on an operator's phone, its number keyed."""
    scene = made.Scene.ready()
    page = open_page("phone", person=made.operator())
    page.goto(f"/S/{scene.label.code}")
    chain.choose_station(page, scene.machine, scene.revision)
    expect(page.locator(".verdict-word")).to_have_text("MATCH")
    page.get_by_role("group", name="Keypad").get_by_role("button", name="5", exact=True).click()
    page.load = page.get_by_role("button", name="Loaded")
    page.note = page.get_by_text("Not recorded yet – no answer.")
    page.scene = scene
    return page


def posts(page, answer):
    """Let `answer(route)` take every POST; returns the list of what was sent."""
    sent = []

    def take(route):
        if route.request.method != "POST":
            route.fallback()
            return
        sent.append(route.request.post_data)
        answer(route)

    page.route("**/S/*", take)
    return sent


def test_an_answer_that_comes_leads_on(verdict):
    verdict.load.click()

    expect(verdict.get_by_role("heading", level=1)).to_have_text("Loaded: T5")
    assert SpindleCheck.objects.count() == 1


def test_without_a_network_it_is_said_and_sent_again_with_the_same_id(verdict, console_errors):
    sent = posts(verdict, lambda route: route.abort())
    verdict.load.click()
    expect(verdict.note).to_be_visible()
    assert not SpindleCheck.objects.exists()

    verdict.unroute("**/S/*")
    verdict.get_by_role("button", name="Send again").click()

    expect(verdict.get_by_role("heading", level=1)).to_have_text("Loaded: T5")
    row = SpindleCheck.objects.get()
    assert f"submission={row.act_id}" in sent[0]
    console_errors.clear()


def test_an_answer_lost_on_its_way_back_counts_once(verdict, console_errors):
    def lose(route):
        route.fetch(max_redirects=0)
        route.abort()

    posts(verdict, lose)
    verdict.load.click()
    expect(verdict.note).to_be_visible()
    assert SpindleCheck.objects.count() == 1

    verdict.unroute("**/S/*")
    verdict.get_by_role("button", name="Send again").click()

    expect(verdict.get_by_role("heading", level=1)).to_have_text("Loaded: T5")
    assert SpindleCheck.objects.count() == 1
    assert Act.objects.filter(kind="check.decide").count() == 1
    console_errors.clear()


def test_after_eight_seconds_without_an_answer_it_is_said(verdict):
    waiting = []
    posts(verdict, waiting.append)
    verdict.clock.install()
    verdict.load.click()
    verdict.clock.fast_forward(7_900)
    expect(verdict.note).to_be_hidden()
    verdict.clock.fast_forward(200)
    expect(verdict.note).to_be_visible()

    # Late, but it comes.
    verdict.clock.resume()
    waiting[0].fallback()
    expect(verdict.get_by_role("heading", level=1)).to_have_text("Loaded: T5")


def test_a_refusal_is_shown_as_the_page_it_is(verdict):
    made.withdraw(verdict.scene.revision, verdict.scene.machine)
    verdict.load.click()

    expect(verdict.locator(".verdict-word")).to_have_text("STOP")
    expect(
        verdict.get_by_text("Not recorded. The verdict changed to STOP meanwhile.")
    ).to_be_visible()
    assert not SpindleCheck.objects.exists()


def test_the_network_gone_no_word_of_the_verdict_is_left(verdict):
    verdict.context.set_offline(True)

    expect(verdict.locator(".verdict-word")).to_have_text("NOT CHECKED")
    for hidden in (verdict.load, verdict.locator(".verdict .engraved")):
        expect(hidden).to_be_hidden()
    expect(verdict.get_by_role("button", name="Refuse")).to_be_hidden()


def test_what_waits_to_be_sent_again_stays_when_the_network_goes(verdict, console_errors):
    verdict.context.set_offline(True)
    verdict.context.set_offline(False)
    verdict.reload()
    verdict.get_by_role("group", name="Keypad").get_by_role("button", name="5", exact=True).click()
    posts(verdict, lambda route: route.abort())
    verdict.load.click()
    expect(verdict.note).to_be_visible()
    verdict.context.set_offline(True)
    expect(verdict.locator(".verdict-word")).to_have_text("NOT CHECKED")
    expect(verdict.get_by_role("button", name="Send again")).to_be_visible()

    verdict.context.set_offline(False)
    verdict.unroute("**/S/*")
    verdict.get_by_role("button", name="Send again").click()

    expect(verdict.get_by_role("heading", level=1)).to_have_text("Loaded: T5")
    console_errors.clear()


def test_a_stop_that_answers_the_form_is_read_from_its_top(verdict):
    verdict.get_by_role("link", name="Key the number").click()
    verdict.get_by_role("button", name="Clear").click()
    pad = verdict.get_by_role("group", name="Keypad")
    pad.get_by_role("button", name="6", exact=True).click()
    verdict.load.click()

    expect(verdict.locator(".verdict-word")).to_have_text("STOP")
    expect(verdict.locator(".verdict-word")).to_be_in_viewport()
    assert "#" not in verdict.url
    assert not SpindleCheck.objects.exists()
