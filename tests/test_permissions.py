"""Every address with every role: the one table of who may open what.

A new address fails `test_every_address_stands_in_the_table` until it has its row here.
"""

from __future__ import annotations

from copy import deepcopy

import pytest
from django.urls import URLPattern, get_resolver, reverse

from crib.roles import PERMISSIONS, ROLES
from tests import makers

#: (address, arguments, permission; None: anybody who is signed in, "open": nobody need sign in)
TABLE = [
    ("health", {}, "open"),
    ("crib:sign_in", {}, "open"),
    ("crib:sign_out", {}, None),
    ("crib:home", {}, None),
    ("crib:help", {}, None),
    ("crib:style", {}, "view"),
    ("crib:item_list", {}, "view"),
    ("crib:item_kinds", {}, "items.edit"),
    ("crib:item_new", {"kind": "cutter"}, "items.edit"),
    ("crib:item_detail", {"code": "K-1"}, "view"),
    ("crib:item_edit", {"code": "K-1"}, "items.edit"),
    ("crib:piece_new", {"code": "K-1"}, "items.edit"),
    ("crib:piece_detail", {"mark": "H-1"}, "view"),
    ("crib:piece_condition", {"mark": "H-1"}, "items.edit"),
    ("crib:piece_stud", {"mark": "H-1"}, "items.edit"),
    ("crib:place_list", {}, "view"),
    ("crib:place_new", {}, "places.edit"),
    ("crib:place_detail", {"pk": 1}, "view"),
    ("crib:place_edit", {"pk": 1}, "places.edit"),
    ("crib:stock_receive", {"code": "K-1"}, "stock.receive"),
    ("crib:receive_line", {"pk": 1}, "stock.receive"),
    ("crib:stock_issue", {"code": "K-1"}, "stock.issue"),
    ("crib:stock_give_back", {"code": "K-1"}, "stock.issue"),
    ("crib:movements", {}, "view"),
    ("crib:reorder", {}, "view"),
    ("crib:reorder_csv", {}, "view"),
    ("crib:reorder_print", {}, "view"),
    ("crib:mark_ordered", {"code": "K-1"}, "order.mark"),
    ("crib:supplier_list", {}, "view"),
    ("crib:supplier_new", {}, "items.edit"),
    ("crib:supplier_edit", {"pk": 1}, "items.edit"),
    ("crib:reference", {}, "view"),
    ("crib:toolroom", {}, "view"),
    ("crib:instrument_list", {}, "view"),
    ("crib:instrument_kinds", {}, "instruments.edit"),
    ("crib:instrument_new", {"kind": "wrench"}, "instruments.edit"),
    ("crib:instrument_detail", {"pk": 1}, "view"),
    ("crib:instrument_edit", {"pk": 1}, "instruments.edit"),
    ("crib:instrument_calibrate", {"pk": 1}, "instruments.edit"),
    ("crib:reference_table", {"name": "spindle_tapers"}, "view"),
    ("crib:people", {}, "people.manage"),
    ("crib:person_new", {}, "people.manage"),
    ("crib:person_edit", {"pk": 1}, "people.manage"),
    ("crib:pin", {}, "view"),
    ("assemblies:assembly_list", {}, "view"),
    ("assemblies:assembly_new", {}, "assembly.build"),
    ("assemblies:refused", {}, "view"),
    ("assemblies:assembly_detail", {"number": 1044}, "view"),
    ("assemblies:quarantine", {"number": 1044}, "assembly.quarantine"),
    ("assemblies:rebuild", {"number": 1044}, "assembly.build"),
    ("assemblies:retire", {"number": 1044}, "assembly.build"),
    ("assemblies:put_down", {"number": 1044}, "stock.issue"),
    ("assemblies:bench", {"number": 1044}, "assembly.build"),
    ("assemblies:bench_put", {"number": 1044}, "assembly.build"),
    ("assemblies:bench_take_out", {"number": 1044}, "assembly.build"),
    ("assemblies:bench_figures", {"number": 1044}, "assembly.build"),
    ("assemblies:bench_findings", {"number": 1044}, "assembly.build"),
    ("assemblies:bench_purpose", {"number": 1044}, "assembly.build"),
    ("assemblies:bench_make", {"number": 1044}, "assembly.build"),
    ("assemblies:stud", {"number": 1044}, "assembly.build"),
    ("assemblies:measure", {"number": 1044}, "assembly.build"),
    ("assemblies:release", {"number": 1044}, "assembly.release"),
    ("assemblies:machine_list", {}, "view"),
    ("assemblies:machine_new", {}, "machine.edit"),
    ("assemblies:machine_detail", {"mark": "R1"}, "view"),
    ("assemblies:machine_edit", {"mark": "R1"}, "machine.edit"),
    ("assemblies:program_list", {}, "view"),
    ("assemblies:program_new", {}, "program.add"),
    ("assemblies:program_proposal", {}, "program.add"),
    ("assemblies:program_compare", {"older": 1, "newer": 2}, "view"),
    ("assemblies:program_history", {"pk": 1}, "view"),
    ("assemblies:program_revision", {"pk": 1}, "view"),
    ("assemblies:program_text", {"pk": 1}, "view"),
    ("assemblies:program_read_again", {"pk": 1}, "program.add"),
    ("assemblies:program_approve", {"pk": 1}, "program.approve"),
    ("assemblies:program_top_of_stock", {"pk": 1}, "program.confirm"),
    ("assemblies:requirement", {"pk": 1, "tool_number": 5}, "program.confirm"),
    ("assemblies:spindle", {}, "view"),
    ("assemblies:control_number", {}, "check.decide"),
    ("assemblies:ask_for_tool", {}, "check.decide"),
    ("assemblies:spindle_lookup", {"number": 1044}, "view"),
    ("assemblies:spindle_recorded", {"pk": 1}, "view"),
    ("assemblies:station", {}, "view"),
    ("assemblies:check_list", {}, "view"),
    ("assemblies:check_detail", {"pk": 1}, "view"),
    ("assemblies:check_export", {}, "view"),
    ("assemblies:override_rates", {}, "rules.watch"),
    ("assemblies:correction_list", {}, "view"),
    ("assemblies:correction", {"pk": 1}, "assembly.build"),
    ("assemblies:hands_on", {"pk": 1}, "check.decide"),
    ("assemblies:fill", {"mark": "R1"}, "check.decide"),
    ("assemblies:fill_compare", {"mark": "R1"}, "check.decide"),
    ("assemblies:take_out_scan", {}, "check.decide"),
    ("assemblies:take_out", {"pk": 1}, "check.decide"),
    ("assemblies:whereabouts", {}, "view"),
    ("assemblies:whereabouts_csv", {}, "view"),
    ("assemblies:whereabouts_of", {"number": 1044}, "view"),
    ("assemblies:borrow", {"number": 1044}, "stock.issue"),
    ("assemblies:put_back", {"number": 1044}, "stock.issue"),
    ("labels:scan_where", {}, "view"),
    ("labels:fill_scan", {"mark": "R1"}, "check.decide"),
    ("labels:fill_record", {"mark": "R1"}, "check.decide"),
    ("assemblies:setup_sheet", {"pk": 1, "mark": "R1"}, "view"),
    ("assemblies:setup_sheet_offsets", {"pk": 1, "mark": "R1", "form": "ngc"}, "view"),
    ("labels:setup_sheet_pdf", {"pk": 1, "mark": "R1"}, "view"),
    ("assemblies:dismantle", {"number": 1044}, "assembly.build"),
    ("assemblies:copy", {"number": 1044}, "assembly.build"),
    ("assemblies:measure_seen", {"number": 1044}, "assembly.build"),
    ("assemblies:weigh", {"number": 1044}, "assembly.build"),
    ("assemblies:history", {"number": 1044}, "view"),
    ("assemblies:piece_history", {"mark": "H-1"}, "view"),
    ("assemblies:rule_list", {}, "view"),
    ("assemblies:rule_detail", {"key": "collet-range"}, "view"),
    ("assemblies:limit_list", {}, "view"),
    ("assemblies:limit_detail", {"name": "closure_um"}, "view"),
    ("assemblies:limit_change", {"name": "closure_um"}, "limits.edit"),
    ("assemblies:part_finder", {}, "view"),
    ("assemblies:part_finder_start", {}, "assembly.build"),
    ("assemblies:runout", {}, "view"),
    ("assemblies:runout_piece", {"mark": "H-1"}, "view"),
    ("assemblies:reclock", {"number": 1044}, "assembly.build"),
    ("assemblies:reclock_answer", {"number": 1044, "pk": 1}, "view"),
    ("assemblies:sums", {}, "view"),
    ("assemblies:one_sum", {"name": "speed"}, "view"),
    ("assemblies:drawing_svg", {"number": 1044}, "view"),
    ("labels:build_card", {"number": 1044}, "view"),
    ("labels:scan", {}, "view"),
    ("labels:dry_run", {}, "view"),
    ("labels:scan_code", {"code": "7K2M9QXR4"}, "view"),
    ("labels:print", {"number": 1044}, "label.print"),
    ("labels:cancel", {"number": 1044}, "label.print"),
]
IDS = [name for name, _, _ in TABLE]
GUARDED = [row for row in TABLE if row[2] in PERMISSIONS]


def addresses(resolver, space: str = "") -> list[tuple[str, URLPattern]]:
    found = []
    for pattern in resolver.url_patterns:
        if isinstance(pattern, URLPattern):
            found.append((f"{space}{pattern.name}", pattern))
        else:
            inner = f"{pattern.namespace}:" if pattern.namespace else space
            found += addresses(pattern, inner)
    return found


def test_every_address_stands_in_the_table():
    assert sorted(name for name, _ in addresses(get_resolver())) == sorted(IDS)


def test_the_table_says_what_the_views_ask_for():
    asked = {
        name: getattr(pattern.callback, "permission", None)
        for name, pattern in addresses(get_resolver())
    }
    assert {name: asked[name] for name, _, _ in GUARDED} == {n: p for n, _, p in GUARDED}


@pytest.fixture(scope="module")
def standing_people(module_rows):
    return {role: makers.person(role) for role in ROLES}


@pytest.fixture
def people(db, standing_people):
    return deepcopy(standing_people)


@pytest.mark.parametrize(("name", "kwargs", "permission"), GUARDED, ids=[n for n, _, _ in GUARDED])
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_role_without_the_permission_is_told_who_has_it(
    client, people, method, name, kwargs, permission
):
    _, allowed = PERMISSIONS[permission]
    for role in ROLES.keys() - allowed:
        client.force_login(people[role])
        answer = getattr(client, method)(reverse(name, kwargs=kwargs))
        assert answer.status_code == 403, role
        assert "Toolroom" in answer.text or "Lead" in answer.text or "Admin" in answer.text


@pytest.mark.parametrize(("name", "kwargs", "permission"), GUARDED, ids=[n for n, _, _ in GUARDED])
def test_a_role_with_the_permission_is_not_turned_away(client, people, name, kwargs, permission):
    _, allowed = PERMISSIONS[permission]
    for role in allowed:
        client.force_login(people[role])
        assert client.get(reverse(name, kwargs=kwargs)).status_code != 403, role


@pytest.mark.parametrize(("name", "kwargs", "permission"), TABLE, ids=IDS)
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_stranger_is_led_to_the_sign_in(client, db, method, name, kwargs, permission):
    answer = getattr(client, method)(reverse(name, kwargs=kwargs))
    if permission == "open":
        assert answer.status_code != 302 or "/sign-in/" not in answer["Location"]
    else:
        assert answer.status_code == 302
        assert answer["Location"].startswith("/sign-in/")


@pytest.mark.parametrize(("name", "kwargs", "permission"), GUARDED, ids=[n for n, _, _ in GUARDED])
def test_somebody_without_a_role_opens_nothing(client, db, name, kwargs, permission):
    client.force_login(makers.person())
    assert client.get(reverse(name, kwargs=kwargs)).status_code == 403
