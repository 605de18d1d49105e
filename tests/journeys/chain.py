"""What people do on the pages, step by step, from the empty bench to the spindle."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

import pypdfium2
import zxingcpp
from playwright.sync_api import Page, expect

from assemblies.models import Assembly, Machine, ProgramRevision
from crib.models import Item, Person, Place, Supplier
from tests import assembly_makers, makers

PROGRAM_FILE = Path(__file__).parent.parent / "data" / "nc" / "cabinet_side.nc"
#: Dots to a point; fine enough for the symbol of a small label.
RASTER_SCALE = 8


@dataclass(frozen=True)
class Shop:
    """People, a machine and parts in a drawer; nothing is built and no program handed in."""

    toolroom: Person
    programmer: Person
    operator: Person
    buyer: Person
    machine: Machine
    drawer: Place
    nut: Item
    cutter: Item


def almost_empty_shop() -> Shop:
    """Parts that fit each other; the last cutter but one is the least the shop wants to keep."""
    drawer = makers.place("DRAWER 4")
    supplier = Supplier.objects.create(name="Invented Tooling", lead_working_days=6)
    nut = makers.nut_item(torque_recommended_mnm=100_000, torque_max_mnm=136_000)
    cutter = makers.cutter_item()
    for item, code, fields in (
        (nut, "N-32", {}),
        (
            cutter,
            "K-12",
            {"minimum_kept": 2, "pack_size": 5, "use_per_week": 1, "supplier": supplier},
        ),
    ):
        Item.objects.filter(pk=item.pk).update(home_place=drawer, **fields)
        item.refresh_from_db()
        item.code = code
        item.save()
    makers.stocked(nut, drawer, 3)
    makers.stocked(cutter, drawer, 2)
    for item, mark in ((makers.holder_item(), "H-07"), (makers.collet_item(), "C-21")):
        Item.objects.filter(pk=item.pk).update(home_place=drawer)
        makers.piece(item, drawer, mark=mark)
    return Shop(
        toolroom=makers.person("toolroom"),
        programmer=makers.person("programmer"),
        operator=makers.person("operator"),
        buyer=makers.person("buyer"),
        machine=assembly_makers.machine(mark="R1", name="Router 1"),
        drawer=drawer,
        nut=nut,
        cutter=cutter,
    )


def sign_in(page: Page, person: Person) -> None:
    """Fill in the sign-in form that stands on the screen."""
    page.get_by_label("Sign-in name").fill(person.username)
    page.get_by_label("Password").fill(makers.PASSWORD)
    page.get_by_role("button", name="Sign in").click()


# ---- toolroom
def start_assembly(page: Page, name: str) -> Assembly:
    page.goto("/assemblies/")
    page.get_by_role("link", name="New assembly").first.click()
    page.get_by_label("What it is for").fill(name)
    page.get_by_role("button", name="Give it a number").click()
    page.wait_for_url("**/bench/")
    return Assembly.objects.get(number=int(re.search(r"/(\d+)/bench/", page.url)[1]))


def scan(page: Page, text: str) -> None:
    """A wedge scanner: all keys without a pause, then Enter.

    The page's clock stands still meanwhile: a stall of the machine that runs the tests is no
    pause of the scanner.
    """
    page.clock.install()
    page.clock.pause_at(page.evaluate("Date.now() / 1000 + 1"))
    page.keyboard.type(text)
    page.keyboard.press("Enter")
    page.clock.resume()


def put_in(page: Page, *entries: str) -> None:
    """Type the marks and codes of parts at the bench, one after another."""
    for entry in entries:
        page.get_by_label("Mark or item code").fill(entry)
        page.get_by_role("button", name="Put it in").click()
        expect(page.get_by_text(f"{entry} is in.")).to_be_visible()


def set_figures(page: Page, stickout="47", grip="35", torque="100") -> None:
    """Type what was set at the bench; nothing is sent yet."""
    page.get_by_label("Stick-out").fill(stickout)
    page.get_by_label("Grip length").fill(grip)
    page.get_by_label("Nut torque").fill(torque)


def build(page: Page) -> None:
    page.get_by_role("button", name="It is tight: build it").click()
    page.wait_for_url("**/measure/")


def measure(page: Page, gauge_length="97", diameter="12", runout="0.008") -> None:
    page.get_by_label("Gauge length").fill(gauge_length)
    page.get_by_label("Cutting diameter").fill(diameter)
    page.get_by_label("Runout (TIR)").fill(runout)
    page.get_by_role("button", name="Keep readings").click()
    page.wait_for_url("**/release/")


def release(page: Page) -> None:
    page.get_by_role("button", name="Release, then print its label").click()
    page.wait_for_url("**/label/")


def print_label(page: Page) -> bytes:
    """Press the button and catch the sheet, which opens beside the page."""
    sheets: list[bytes] = []

    def catch(route):
        if route.request.method != "POST":
            route.fallback()
            return
        answer = route.fetch()
        assert answer.headers["content-type"] == "application/pdf"
        sheets.append(answer.body())
        route.fulfill(body="the sheet")

    page.context.route("**/label/", catch)
    with page.expect_popup() as beside:
        page.get_by_role("button", name="Print the label").click()
    beside.value.get_by_text("the sheet").wait_for()
    beside.value.close()
    page.context.unroute("**/label/")
    return sheets[0]


def symbol_of(sheet: bytes) -> str:
    """What the one square symbol on the first page of a PDF says."""
    document = pypdfium2.PdfDocument(sheet)
    picture = document[0].render(scale=RASTER_SCALE).to_pil()
    document.close()
    (symbol,) = zxingcpp.read_barcodes(picture)
    return symbol.text


def start_rebuild(page: Page, assembly: Assembly, reason: str) -> None:
    page.goto(f"/assemblies/{assembly.number}/")
    page.get_by_role("link", name="Rebuild").click()
    page.get_by_label("Why").fill(reason)
    page.get_by_role("button", name="Start the rebuild").click()
    page.wait_for_url("**/bench/")


# ---- programmer
def hand_in(page: Page, name: str, label: str) -> ProgramRevision:
    page.goto("/programs/")
    page.get_by_role("link", name="Hand a program in").first.click()
    page.get_by_label("Program", exact=True).fill(name)
    page.get_by_label("Revision", exact=True).fill(label)
    page.get_by_label("File").set_input_files(PROGRAM_FILE)
    page.get_by_role("button", name="Read it").click()
    page.wait_for_url(re.compile(r"/programs/\d+/$"))
    return ProgramRevision.objects.get(pk=int(re.search(r"/(\d+)/$", page.url)[1]))


def confirm_tool(page: Page, tool_number: int) -> None:
    """State what the T number must be: as the assembly of this chain is."""
    page.get_by_role("link", name=f"State and confirm T{tool_number}", exact=True).click()
    page.get_by_label("Kind").select_option("compression")
    page.get_by_label("Cutting diameter").fill("12")
    page.get_by_label("Diameter may differ by").fill("0.05")
    page.get_by_label("Hand").select_option("right")
    page.get_by_label("Gauge length", exact=True).select_option("window")
    page.get_by_label("Gauge length wanted").fill("97")
    page.get_by_label("Gauge length may differ by").fill("1")
    page.get_by_role("button", name="Confirm").click()
    page.wait_for_url(re.compile(r"/programs/\d+/$"))


def approve(page: Page, machine: Machine, reason: str) -> None:
    page.get_by_label("Machine").select_option(label=machine.name)
    page.get_by_label("What", exact=True).select_option("approved")
    page.get_by_label("Reason").fill(reason)
    page.get_by_role("button", name="Record", exact=True).click()
    expect(page.get_by_text(f"approved for {machine.name}.")).to_be_visible()


# ---- operator
def choose_station(page: Page, machine: Machine, revision: ProgramRevision) -> None:
    page.get_by_role("link", name=machine.name).click()
    page.get_by_role("button", name=str(revision)).click()


def key_and_load(page: Page, number: int) -> None:
    """Key what the control shows on the big keys, then say that it is loaded."""
    keypad = page.get_by_role("group", name="Keypad")
    for digit in str(number):
        keypad.get_by_role("button", name=digit, exact=True).click()
    page.get_by_role("button", name=re.compile("Loaded$")).click()
    page.wait_for_url("**/spindle/recorded/*/")
