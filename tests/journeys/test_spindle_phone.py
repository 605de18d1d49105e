"""From the bench to the spindle with a phone in one hand, in a real browser."""

from urllib.parse import urlsplit

import pypdfium2
import pytest
import zxingcpp
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from assemblies.actions.measure import Reading
from assemblies.models import SpindleCheck
from tests import makers
from tests.assemblies.spindle_shop import WANTED, confirm, open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.looks]

#: What has to stand on the first screen of the smallest phone.
SMALLEST = {"width": 320, "height": 568}


@pytest.fixture
def shop():
    return open_shop()


def printed_label(page, number):
    """Press the print button's form as the browser would; the PDF is its answer."""
    page.goto(f"/assemblies/{number}/label/")
    form = page.locator("form:has-text('Print the label')")
    fields = {
        name: form.locator(f"[name={name}]").input_value()
        for name in ("csrfmiddlewaretoken", "submission")
    }
    answer = page.request.post(page.url, form=fields, headers={"Referer": page.url})
    assert answer.ok
    return answer.body()


def symbol_of(pdf):
    image = pypdfium2.PdfDocument(pdf)[0].render(scale=203 / 72).to_pil()
    (barcode,) = zxingcpp.read_barcodes(image)
    return barcode.text


def choose(page, program="HM-0377 B"):
    page.get_by_role("link", name="Router 1").click()
    page.get_by_role("button", name=program).click()


def no_barriers(page):
    """No fault of accessibility that a machine can find, on the page as it stands."""
    found = Axe().run(page).response["violations"]
    return [(fault["id"], [node["target"] for node in fault["nodes"]]) for fault in found]


def test_from_the_release_to_the_history_of_the_spindle(open_page, shop):
    assembly = shop.built("H-07")
    bench = open_page("desk", person=shop.toolroom)
    address = symbol_of(printed_label(bench, assembly.number))
    phone = open_page("phone")

    # The phone's camera opens the address of the symbol; nobody is signed in.
    phone.goto(urlsplit(address).path)
    phone.get_by_label("Sign-in name").fill(shop.operator.username)
    phone.get_by_label("Password").fill(makers.PASSWORD)
    phone.get_by_role("button", name="Sign in").click()
    choose(phone)

    assert phone.get_by_role("heading", level=1).inner_text() == "MATCH"
    assert phone.locator(".verdict-id .engraved").bounding_box()["height"] >= 120
    assert "H-07" in phone.locator(".verdict-id .mark").inner_text()
    assert phone.locator(".verdict-id .tag").inner_text() == "1001 r1"
    assert no_barriers(phone) == []

    phone.get_by_role("link", name="Key the number").click()
    phone.get_by_role("button", name="5", exact=True).click()
    phone.get_by_role("button", name="Loaded").click()

    expect(phone.get_by_role("heading", level=1)).to_have_text("Loaded: T5")
    assert no_barriers(phone) == []
    assert SpindleCheck.objects.get().by == shop.operator

    phone.goto("/checks/")
    assert "MATCH" in phone.get_by_role("table").inner_text()
    assert no_barriers(phone) == []


def test_the_wrong_number_turns_the_page_into_a_stop_at_its_top(open_page, shop):
    code = shop.label(shop.built("H-07"))
    phone = open_page("phone", person=shop.operator)
    phone.goto(f"/S/{code}")
    choose(phone)

    phone.get_by_role("link", name="Key the number").click()
    for digit in "16":
        phone.get_by_role("button", name=digit, exact=True).click()
    phone.get_by_role("button", name="Loaded").click()

    heading = phone.get_by_role("heading", name="STOP")
    heading.wait_for()
    assert heading.bounding_box()["y"] < 100
    assert "Controller shows 16. This tool is T5." in phone.locator(".verdict").inner_text()
    assert not SpindleCheck.objects.exists()


def test_without_a_script_it_is_looked_at_keyed_and_loaded(open_page, shop):
    code = shop.label(shop.built("H-07"))
    phone = open_page("phone", person=shop.operator, java_script_enabled=False)
    phone.goto(f"/S/{code}")
    choose(phone)

    phone.get_by_label("Read it off the control and key it").fill("5")
    phone.get_by_role("button", name="Loaded").click()

    expect(phone.get_by_role("heading", level=1)).to_have_text("Loaded: T5")
    assert SpindleCheck.objects.get().shown_number == 5


def test_back_after_loading_asks_the_server_anew(open_page, shop):
    assembly = shop.built("H-07")
    code = shop.label(assembly)
    phone = open_page("phone", person=shop.operator)
    phone.goto(f"/S/{code}")
    choose(phone)
    shop.rebuilt(assembly)
    phone.goto("/checks/")

    phone.go_back()

    phone.get_by_role("heading", name="STOP").wait_for()
    assert "Label void" in phone.locator(".verdict").inner_text()


def addresses(shop):
    """One address for each of the four words, with the program it is looked at with."""
    right = shop.built("H-07")
    shop.built("H-08")
    confirm(shop.programmer, shop.revision, 5, WANTED, preferred=right)
    big = (
        Reading("gauge_length", 95_000),
        Reading("diameter", 12_700),
        Reading("runout", 8, 30_000),
    )
    wrong = shop.label(shop.built("H-12", readings=big, diameter_um=12_700))
    right_code = shop.label(right)
    return {
        "MATCH": (f"/S/{right_code}", "HM-0377 B"),
        "CHECK": (f"/spindle/{right.number}/", "HM-0377 B"),
        "STOP": (f"/S/{wrong}?t=5", "HM-0377 B"),
        "CAN'T TELL": (f"/S/{right_code}", "No program"),
    }


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_each_word_is_free_of_barriers_and_stands_on_the_smallest_screen(open_page, shop, scheme):
    found = addresses(shop)
    phone = open_page("phone", person=shop.operator, color_scheme=scheme)
    phone.set_viewport_size(SMALLEST)

    for word, (address, program) in found.items():
        phone.goto("/station/")
        choose(phone, program)
        phone.goto(address)

        assert phone.get_by_role("heading", level=1).inner_text() == word
        assert no_barriers(phone) == [], word
        assert phone.evaluate("document.documentElement.scrollWidth") == SMALLEST["width"]
        first = phone.locator(".verdict-reason").first.bounding_box()
        actions = phone.locator(".verdict-actions").bounding_box()
        assert first["y"] + first["height"] <= actions["y"], word
        assert actions["y"] + actions["height"] <= SMALLEST["height"], word


@pytest.mark.parametrize("holder", ["H-12", "HOLDER-LONG-MARK-107"])
def test_three_reasons_are_read_on_the_smallest_screen_without_scrolling(open_page, shop, holder):
    right = shop.built("H-07")
    confirm(shop.programmer, shop.revision, 5, WANTED, preferred=right)
    wrong = (
        Reading("gauge_length", 89_000),
        Reading("diameter", 12_700),
        Reading("runout", 8, 30_000),
    )
    assembly = shop.built(holder, wrong, released=False, diameter_um=12_700, kind="spiral_down")
    phone = open_page("phone", person=shop.operator)
    phone.set_viewport_size(SMALLEST)
    phone.goto("/station/")
    choose(phone)
    phone.goto(f"/spindle/{assembly.number}/?t=5")

    reasons = [reason.bounding_box() for reason in phone.locator(".verdict-reason").all()]
    actions = phone.locator(".verdict-actions").bounding_box()
    assert len(reasons) == 3
    assert max(box["y"] + box["height"] for box in reasons) <= actions["y"]
    assert phone.locator(".verdict .button-verdict").bounding_box()["height"] >= 96
    assert phone.evaluate("window.scrollY") == 0


def test_the_answers_are_large_and_far_apart(open_page, shop):
    code = shop.label(shop.built("H-07"))
    phone = open_page("phone", person=shop.operator)
    phone.goto(f"/S/{code}")
    choose(phone)

    refuse, load = (box.bounding_box() for box in phone.locator(".verdict-actions a").all())

    # 19 mm of a thumb and 13 mm between a pair that says yes and no, at 0.16 mm a CSS pixel
    # (MIL-STD-1472E, from memory).
    assert min(refuse["height"], load["height"], refuse["width"], load["width"]) >= 120
    assert load["x"] - (refuse["x"] + refuse["width"]) >= 81


def test_a_label_page_is_free_of_barriers(open_page, shop):
    assembly = shop.built("H-07")
    bench = open_page("phone", person=shop.toolroom)

    bench.goto(f"/assemblies/{assembly.number}/label/")

    assert no_barriers(bench) == []
