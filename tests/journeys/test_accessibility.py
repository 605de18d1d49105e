"""Every page of the example shop, for every eye: axe by day and by night, on phone and desk."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from django.db.models import Count
from django.urls import get_resolver, reverse

from assemblies.actions import spindle
from assemblies.models import Assembly, Load, Machine, Program, ProgramRevision, SpindleCheck
from assemblies.rules.verdict.facts import FoundBy, LabelFacts
from config.example.load import load
from crib.models import Instrument, Item, ItemKind, OrderLine, Person, Piece, Place, Supplier
from crib.reference import all_tables
from crib.roles import ROLES
from tests import assembly_makers, makers
from tests.assemblies import load_makers

pytestmark = pytest.mark.looks

DESK, PHONE, SMALLEST_PHONE = 1280, 390, 320
HEIGHT = 844
#: What depends on colours is asked again in the dark; all the rest is the same there.
#: Nothing is loaded beforehand: there is no sound, no film and no style sheet of others.
IN_THE_LIGHT = {"resultTypes": ["violations"], "preload": False}
IN_THE_DARK = IN_THE_LIGHT | {"runOnly": ["color-contrast", "link-in-text-block"]}
#: What another width may change of a page whose elements and colours are the same.
IN_NARROW = IN_THE_LIGHT | {
    "runOnly": ["scrollable-region-focusable", "target-size", "landmark-unique", "label"]
}
#: Each page is looked at whole by day, and by night where it is narrow.
LOOKS = ((DESK, "light", IN_THE_LIGHT), (PHONE, "light", IN_NARROW), (PHONE, "dark", IN_THE_DARK))

#: Addresses that answer with no page of their own: they take a form, or send a file or a part.
NO_PAGES = frozenset(
    {
        "health",
        "labels:cancel",
        "labels:scan",
        "labels:scan_where",
        "labels:fill_scan",
        "labels:fill_record",
        "assemblies:whereabouts_csv",
        "assemblies:check_export",
        "assemblies:bench_put",
        "assemblies:bench_figures",
        "assemblies:bench_findings",
        "assemblies:bench_purpose",
        "assemblies:bench_make",
        "assemblies:stud",
        "assemblies:program_approve",
        "assemblies:ask_for_tool",
        "assemblies:program_top_of_stock",
        "assemblies:program_read_again",
        "assemblies:program_proposal",
        "assemblies:setup_sheet_offsets",
        "labels:setup_sheet_pdf",
        "labels:build_card",
        "assemblies:drawing_svg",
        "assemblies:measure_seen",
        "assemblies:part_finder_start",
        "assemblies:reclock_answer",
        "crib:sign_out",
        "crib:mark_ordered",
        "crib:reorder_csv",
    }
)


class Pages:
    """Addresses of pages, and the names of the routes that they went by."""

    def __init__(self) -> None:
        self.names: set[str] = set()
        self.addresses: list[str] = []

    def add(self, route: str, *args, query: str = "", **kwargs) -> None:
        self.names.add(route)
        self.addresses.append(reverse(route, args=args, kwargs=kwargs) + query)


def stock_pages() -> Pages:
    pages = Pages()
    for name in (
        "home item_list item_kinds movements place_list place_new reorder reorder_print "
        "supplier_list supplier_new reference people person_new pin help style"
    ).split():
        pages.add(f"crib:{name}")
    for kind in (ItemKind.HOLDER, ItemKind.CUTTER, ItemKind.INSERT):
        pages.add("crib:item_detail", code=Item.objects.filter(kind=kind).first().code)
    pages.add("crib:item_new", kind=ItemKind.CUTTER)
    item = OrderLine.objects.filter(closed=False).first().item
    for name in "item_edit piece_new stock_receive stock_issue stock_give_back".split():
        pages.add(f"crib:{name}", code=item.code)
    pages.add("crib:receive_line", OrderLine.objects.filter(closed=False).first().pk)
    mark = Piece.objects.filter(item__kind=ItemKind.HOLDER).first().mark
    for name in "piece_condition piece_stud piece_detail".split():
        pages.add(f"crib:{name}", mark=mark)
    for name in ("place_detail", "place_edit"):
        pages.add(f"crib:{name}", Place.objects.filter(kind="storage").first().pk)
    pages.add("crib:supplier_edit", Supplier.objects.first().pk)
    pages.add("crib:person_edit", Person.objects.first().pk)
    widest = max(all_tables(), key=lambda table: len(table.columns))
    pages.add("crib:reference_table", name=widest.name)
    return pages


def assembly_pages() -> Pages:
    pages = Pages()
    for name in (
        "assembly_list assembly_new refused machine_list machine_new program_list program_new"
    ).split():
        pages.add(f"assemblies:{name}")
    draft, built, released = (
        Assembly.objects.filter(state=state).first() for state in ("draft", "built", "released")
    )
    for state in Assembly.objects.order_by("state").values_list("state", flat=True).distinct():
        number = Assembly.objects.filter(state=state).first().number
        pages.add("assemblies:assembly_detail", number)
    for name in "quarantine rebuild retire put_down".split():
        pages.add(f"assemblies:{name}", released.number)
    pages.add("labels:print", released.number)
    pages.add("assemblies:measure", built.number)
    pages.add("assemblies:release", built.number)
    pages.add("assemblies:bench", draft.number)
    pages.add("assemblies:bench_take_out", draft.number, query="?role=holder")
    for name in ("machine_edit", "machine_detail", "fill", "fill_compare"):
        pages.add(f"assemblies:{name}", mark="R1")
    pages.add("assemblies:machine_detail", mark="R2")
    for name in ("take_out_scan", "whereabouts"):
        pages.add(f"assemblies:{name}")
    standing = Load.objects.filter(out_at=None).first()
    pages.add("assemblies:take_out", standing.pk)
    for number in (standing.assembly.number, built.number):
        pages.add("assemblies:whereabouts_of", number)
    for name in ("borrow", "put_back"):
        pages.add(f"assemblies:{name}", built.number)
    revision = ProgramRevision.objects.first()
    pages.add("assemblies:program_revision", revision.pk)
    pages.add("assemblies:program_text", revision.pk, query="?from=3")
    pages.add("assemblies:program_history", revision.pk)
    pages.add("assemblies:program_compare", *_two_revisions())
    pages.add("assemblies:requirement", revision.pk, revision.requirements.first().tool_number)
    # Once approved there, once not: with and without the words across the sheet.
    for mark in ("R1", "R2"):
        pages.add("assemblies:setup_sheet", revision.pk, mark)
    return pages


def _two_revisions() -> list[int]:
    """Older and newer revision of a program that has two."""
    program = Program.objects.alias(many=Count("revisions")).filter(many__gt=1).first()
    return [row.pk for row in program.revisions.defer("content")][1::-1]


def spindle_pages() -> Pages:
    pages = Pages()
    for name in ("spindle", "control_number", "station", "check_list"):
        pages.add(f"assemblies:{name}")
    pages.add("assemblies:station", query="?machine=R1")
    for check in SpindleCheck.objects.all():
        pages.add("assemblies:spindle_recorded", check.pk)
    pages.add("assemblies:check_detail", check.pk)
    pages.add("labels:scan_code", check.label_code)
    # The scanned label is the MATCH; looked up by number it is CHECK or STOP.
    for number in _one_of_each_word(check.machine, check.revision).values():
        pages.add("assemblies:spindle_lookup", number)
    _add_log(pages, check)
    return pages


def _add_log(pages: Pages, loaded: SpindleCheck) -> None:
    """The log with something in it and without, and what is asked after a load."""
    given = {"verdict": "check", "reason": "record_wrong", "revision": loaded.revision}
    wrong = load_makers.decided(loaded.assembly, loaded.machine, **given)
    for name in ("override_rates", "correction_list"):
        pages.add(f"assemblies:{name}")
    pages.add("assemblies:check_list", query="?verdict=stop")
    pages.add("assemblies:correction", wrong.pk)
    pages.add("assemblies:hands_on", loaded.pk)
    asked = f"assembly={loaded.assembly}&machine=r1&revision={loaded.revision_id}"
    pages.add("labels:dry_run", query=f"?{asked}")


def _one_of_each_word(machine: Machine, revision: ProgramRevision) -> dict[str, int]:
    by_number = LabelFacts(found_by=FoundBy.NUMBER)
    at = {"label": by_number, "machine": machine, "revision": revision, "tool_number": None}
    words = {
        spindle.check(assembly=row, **at).word_key: row.number for row in Assembly.objects.all()
    }
    assert words.keys() == {"stop", "check"}
    return words


LIVES = "?worn=54+187+216+240&broken=244&running=500"


def bench_pages() -> Pages:
    """What the toolroom works with: finder, runout, instruments, sums, rules, and each step."""
    pages = Pages()
    pages.add("crib:toolroom")
    for name in "rule_list limit_list part_finder runout sums".split():
        pages.add(f"assemblies:{name}")
    pages.add("assemblies:rule_detail", key="collet-range")
    for name in ("limit_detail", "limit_change"):
        pages.add(f"assemblies:{name}", name="closure_um")
    pages.add("assemblies:limit_change", name="runout_bands_um")
    pages.add("assemblies:part_finder", query="?cutter=K-01&machine=R1&stickout=45")
    pages.add("assemblies:one_sum", name="lives", query=LIVES)
    pages.add("assemblies:one_sum", name="bending", query="?stickout=x")
    for number in (1063, 1054):
        pages.add("assemblies:assembly_detail", number)
    for name in "dismantle copy weigh history reclock".split():
        pages.add(f"assemblies:{name}", 1063)
    turned = "?step=1&revision=1&turned=cutter&read_on=shank"
    pages.add("assemblies:reclock", 1063, query=turned)
    for mark in ("H-07", "C-20"):
        pages.add("assemblies:piece_history", mark=mark)
        pages.add("assemblies:runout_piece", mark=mark)
    pages.add("crib:item_new", kind=ItemKind.SLEEVE)
    for name in ("instrument_list", "instrument_kinds"):
        pages.add(f"crib:{name}")
    pages.add("crib:instrument_new", kind="wrench")
    wrench = Instrument.objects.get(mark="W-1")
    for name in "instrument_detail instrument_edit instrument_calibrate".split():
        pages.add(f"crib:{name}", wrench.pk)
    return pages


GROUPS = {
    "stock": stock_pages,
    "assemblies": assembly_pages,
    "bench": bench_pages,
    "spindle": spindle_pages,
}


def open_shop() -> Person:
    """The example shop, with a draft on the bench and two decisions; who may see all of it."""
    load()
    machine = Machine.objects.get(mark="R1")
    assembly = assembly_makers.released()
    scene = assembly_makers.Scene(
        assembly, assembly_makers.label_of(assembly), machine, assembly_makers.approved(machine)
    )
    scene.load()
    scene.refuse("dull")
    assembly_makers.drafted()
    assembly_makers.measured()
    return makers.person(*ROLES)


def faults_of(page, address: str) -> Iterator[str]:
    """What is wrong with one page, in one line each."""
    page.set_viewport_size({"width": DESK, "height": HEIGHT})
    page.emulate_media(color_scheme="light")
    answer = page.goto(address)
    if not answer.ok:
        yield f"answers {answer.status}"
    page.evaluate("for (const box of document.querySelectorAll('details')) box.open = true")
    page.evaluate(AXE_SCRIPT)
    for width, scheme, options in LOOKS:
        page.set_viewport_size({"width": width, "height": HEIGHT})
        page.emulate_media(color_scheme=scheme)
        for fault in page.evaluate("options => axe.run(options)", options)["violations"]:
            places = [" ".join(map(str, node["target"])) for node in fault["nodes"]]
            yield f"{width} px, {scheme}: {fault['id']} at {', '.join(places[:3])}"
    for width in (PHONE, SMALLEST_PHONE):
        page.set_viewport_size({"width": width, "height": HEIGHT})
        too_wide = page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
        if too_wide > 0:
            yield f"{width} px: {too_wide} px too wide"


def faults(page, addresses: list[str]) -> dict[str, list[str]]:
    found = {address: list(faults_of(page, address)) for address in addresses}
    return {address: lines for address, lines in found.items() if lines}


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("group", GROUPS)
def test_every_page_has_no_barrier_and_no_sideways_scroll(open_page, group):
    page = open_page(person=open_shop())
    page.goto("/station/?machine=R1")
    page.get_by_role("button", name=str(SpindleCheck.objects.first().revision)).click()
    assert faults(page, GROUPS[group]().addresses) == {}


@pytest.mark.django_db(transaction=True)
def test_an_answer_that_cannot_tell_has_no_barrier(open_page):
    scene = assembly_makers.Scene.ready()
    page = open_page(person=assembly_makers.operator())
    page.goto(f"/station/?machine={scene.machine.mark}")
    page.get_by_role("button", name="No program").click()
    assert faults(page, [f"/S/{scene.label.code}"]) == {}
    assert page.locator(".verdict-word").inner_text() == "CAN'T TELL"


@pytest.mark.django_db(transaction=True)
def test_signing_in_and_the_pages_that_refuse_have_no_barrier(open_page, console_errors):
    nobody, stranger = makers.person(), makers.person("operator")
    assert faults(open_page(), ["/sign-in/"]) == {}
    assert faults(open_page(person=nobody), ["/"]) == {}
    page = open_page(person=stranger)
    assembly_makers.machine(name="Router 1")
    refused = {"/people/": 403, "/assemblies/9999/": 404, "/scan/?entry=NOT-OURS": 404}
    expected = {address: [f"answers {status}"] for address, status in refused.items()}
    assert faults(page, list(refused)) == expected
    # The browser complains of each answer that is not a 200; nothing else may be there.
    assert len(console_errors) == len(refused)
    console_errors.clear()


@pytest.mark.django_db
def test_every_address_is_looked_at_or_known_to_be_no_page():
    open_shop()
    looked_at = {"crib:sign_in"}.union(*(pages().names for pages in GROUPS.values()))
    assert set(_names(get_resolver().url_patterns)) == looked_at | NO_PAGES
    assert not looked_at & NO_PAGES


def _names(patterns, room: str = "") -> Iterator[str]:
    for pattern in patterns:
        if hasattr(pattern, "url_patterns"):
            yield from _names(
                pattern.url_patterns, f"{pattern.namespace}:" * bool(pattern.namespace)
            )
        else:
            yield room + pattern.name
