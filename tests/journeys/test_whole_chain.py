"""The whole chain on a phone: from parts in a drawer to a tool in the spindle, and back."""

from __future__ import annotations

from urllib.parse import urlsplit

import pytest
from playwright.sync_api import expect

from assemblies.models import (
    Assembly,
    Build,
    Measurement,
    ProgramApproval,
    SpindleCheck,
    ToolRequirement,
)
from crib.models import Movement, Reason
from labels.models import Label
from tests.journeys import chain

TOOL = 1


def on_hand(item, place) -> int:
    return Movement.objects.on_hand(item.pk, place.pk)


def codes_of(findings: list[dict], *levels: str) -> set[str]:
    return {row["code"] for row in findings if row["level"] in levels}


@pytest.mark.django_db(transaction=True)
def test_a_tool_is_built_checked_loaded_and_its_label_dies_with_the_rebuild(
    open_page, live_server, settings
):
    settings.BASE_URL = live_server.url
    shop = chain.almost_empty_shop()
    bench = open_page("phone")
    assembly, sheet = _toolroom_builds(bench, shop)
    revision = _programmer_hands_in(open_page("phone"), shop)
    address = _address_on(sheet, live_server, assembly)
    phone = open_page("phone")
    _operator_loads(phone, shop, address, assembly, revision)
    _history_shows_it(phone, assembly)
    _buyer_sees_what_ran_low(open_page("phone"), shop)
    _toolroom_rebuilds(bench, shop, assembly)
    _the_old_label_stops(phone, address, assembly)


def _toolroom_builds(page, shop) -> tuple[Assembly, bytes]:
    page.goto("/")
    chain.sign_in(page, shop.toolroom)
    assembly = chain.start_assembly(page, "cabinet sides")
    assert (assembly.state, assembly.builds.get().revision) == ("draft", 0)
    chain.put_in(page, "H-07", "C-21", shop.nut.code, shop.cutter.code)
    parts = assembly.builds.get().parts.all()
    assert {part.role for part in parts} == {"holder", "collet", "nut", "cutter"}
    _rules_answer_while_typing(page, assembly)
    chain.build(page)
    build = Build.objects.get(assembly=assembly)
    assert (build.revision, build.stickout_um, build.grip_um) == (1, 47_000, 35_000)
    assert not codes_of(build.findings, "stop_soft", "stop_hard", "unknown")
    chain.measure(page)
    taken = {row.quantity: row.value_um for row in Measurement.objects.filter(build=build)}
    assert taken == {"gauge_length": 97_000, "diameter": 12_000, "runout": 8}
    chain.release(page)
    assembly.refresh_from_db()
    assert assembly.state == "released"
    assert Build.objects.get(pk=build.pk).released_by == shop.toolroom
    _parts_left_the_drawer(page, shop, assembly)
    page.goto(f"/assemblies/{assembly.number}/label/")
    expect(page.locator("#labels")).to_contain_text("None was printed yet.")
    sheet = chain.print_label(page)
    page.evaluate("window.dispatchEvent(new Event('focus'))")
    expect(page.locator("#labels")).to_contain_text("printed 1×")
    expect(page.get_by_role("button", name="Print it again")).to_be_visible()
    return assembly, sheet


def _rules_answer_while_typing(page, assembly) -> None:
    """Too short a grip is said before anything is sent, and unsaid when it is put right."""
    rules = page.locator("#findings")
    chain.set_figures(page, grip="20")
    expect(rules.locator(".finding-stop_soft")).to_contain_text("Grip 20.0 mm")
    expect(page.locator("#tally")).to_contain_text("It cannot be built like this")
    assert assembly.builds.get().grip_um is None, "looking keeps nothing"
    chain.set_figures(page)
    expect(rules.locator(".finding-stop_soft")).to_have_count(0)
    expect(page.locator("#tally")).to_contain_text("Nothing speaks against building it")


def _parts_left_the_drawer(page, shop, assembly) -> None:
    built_in = Movement.objects.filter(to_place=assembly.contents, reason=Reason.BUILD)
    assert {row.item.code for row in built_in} >= {shop.nut.code, shop.cutter.code}
    assert built_in.count() == 4
    assert (on_hand(shop.cutter, shop.drawer), on_hand(shop.nut, shop.drawer)) == (1, 2)
    page.goto(f"/items/{shop.cutter.code}/")
    stock = page.locator("section", has=page.get_by_role("heading", name="Stock by place"))
    expect(stock.locator("div", has_text=shop.drawer.code).locator("dd")).to_have_text("1")
    expect(stock.locator("div", has_text=str(assembly.number)).locator("dd")).to_have_text("1")


def _programmer_hands_in(page, shop):
    page.goto("/programs/")
    chain.sign_in(page, shop.programmer)
    revision = chain.hand_in(page, "HM-4120", "A")
    assert bytes(revision.content) == chain.PROGRAM_FILE.read_bytes()
    assert revision.readings.get().complete
    chain.confirm_tool(page, TOOL)
    row = ToolRequirement.objects.get(revision=revision, tool_number=TOOL)
    assert (row.kind, row.diameter_um, row.gauge_length_um) == ("compression", 12_000, 97_000)
    assert row.confirmed_by == shop.programmer
    chain.approve(page, shop.machine, f"only T{TOOL} is set up so far")
    approval = ProgramApproval.objects.get(revision=revision)
    assert (approval.machine, approval.state) == (shop.machine, "approved")
    return revision


def _address_on(sheet: bytes, live_server, assembly) -> str:
    """The path that the printed symbol opens; its host is the shop's own."""
    address = urlsplit(chain.symbol_of(sheet))
    label = Label.objects.get(build__assembly=assembly)
    assert address.netloc.lower() == urlsplit(live_server.url).netloc
    assert address.path == f"/S/{label.code}"
    return address.path


def _operator_loads(page, shop, address, assembly, revision) -> None:
    page.goto(address)
    chain.sign_in(page, shop.operator)
    chain.choose_station(page, shop.machine, revision)
    expect(page.locator(".verdict-word")).to_have_text("MATCH")
    assert urlsplit(page.url).path == address
    expect(page.locator(".verdict")).to_contain_text("Mark on the holder must read H-07.")
    assert not SpindleCheck.objects.exists(), "looking decides nothing"
    chain.key_and_load(page, TOOL)
    expect(page.get_by_role("heading", level=1)).to_have_text(f"Loaded: T{TOOL}")
    check = SpindleCheck.objects.get()
    assert (check.verdict, check.decision, check.fully_known) == ("match", "loaded", True)
    assert (check.tool_number, check.shown_number) == (TOOL, TOOL)
    assert (check.assembly, check.build.revision, check.revision) == (assembly, 1, revision)
    assert (check.machine, check.by, check.found_by) == (shop.machine, shop.operator, "label")
    assert f"/S/{check.label_code}" == address
    found = {row["code"] for row in check.findings}
    assert found >= {"label.live", "program.diameter_agrees", "speed.within_limit"}
    assert not codes_of(check.findings, "check", "unknown", "stop_soft", "stop_hard")


def _history_shows_it(page, assembly) -> None:
    page.goto("/checks/")
    row = page.get_by_role("row").filter(has_text=str(assembly.number))
    expect(row).to_contain_text("MATCH")
    expect(row).to_contain_text("Loaded")
    page.goto(f"/assemblies/{assembly.number}/")
    expect(page.get_by_role("row").filter(has_text=f"T{TOOL} in HM-4120 A")).to_be_visible()


def _buyer_sees_what_ran_low(page, shop) -> None:
    page.goto("/running-low/")
    chain.sign_in(page, shop.buyer)
    line = page.locator("article")
    expect(line).to_have_count(1)
    expect(line).to_contain_text(shop.cutter.code)
    expect(line).to_contain_text("Order 5 pieces = 1 pack of 5")
    expect(line).to_contain_text("1 usable, minimum 2: 1 short")
    expect(line).to_contain_text("lasts about 5 working days, delivery takes 6")


def _toolroom_rebuilds(page, shop, assembly) -> None:
    chain.start_rebuild(page, assembly, "cutter dull")
    chain.set_figures(page)
    chain.build(page)
    chain.measure(page)
    chain.release(page)
    builds = list(Build.objects.filter(assembly=assembly).order_by("revision"))
    assert [(row.revision, row.live) for row in builds] == [(1, False), (2, True)]
    assert builds[0].end_reason == "cutter dull"


def _the_old_label_stops(page, address, assembly) -> None:
    """The same print, scanned again with the new revision released."""
    page.goto(address)
    expect(page.locator(".verdict-word")).to_have_text("STOP")
    expect(page.locator(".verdict")).to_contain_text("Label void: rebuilt")
    expect(page.locator(".verdict")).to_contain_text("This is revision 1, now 2.")
    expect(page.get_by_role("button", name="Loaded")).to_have_count(0)
    refusal = page.locator("#refuse")
    refusal.get_by_role("radio").first.check()
    refusal.get_by_role("button", name="Refuse").click()
    page.wait_for_url("**/spindle/recorded/*/")
    check = SpindleCheck.objects.get(decision="refused")
    assert (check.verdict, check.build.revision) == ("stop", 2)
    assert "label.void_rebuilt" in codes_of(check.findings, "stop_hard")
