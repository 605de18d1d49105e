"""Machines: the list, one machine, adding and changing it."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from assemblies.actions import build as building
from assemblies.actions.machine_contents import machine_contents
from assemblies.actions.parts import put_down
from assemblies.actions.spindle import choose_station
from assemblies.models import Machine
from crib.models import Act
from labels.actions.print_label import cancel_label
from tests import assembly_makers as made
from tests import makers
from tests.assemblies import spindle_shop
from tests.assemblies.load_makers import changer, out, put
from tests.crib.pages import fill_in, send_twice, signed_in, text_of

pytestmark = pytest.mark.django_db

NEW = {
    "mark": "R2",
    "name": "Router 2",
    "interface": "ISO 30 router",
    "uses_stud": "on",
    "stud_pattern": "B",
    "tool_change": "carousel",
    "pockets": "12",
    "speed_min_rpm": "6000",
    "speed_max_rpm": "24000",
    "override_ceiling_percent": "100",
    "turns_cw": "on",
    "length_max_um": "120",
    "diameter_max_um": "90",
    "is_router": "on",
}


def detail(mark):
    return reverse("assemblies:machine_detail", args=[mark])


def edit(mark):
    return reverse("assemblies:machine_edit", args=[mark])


@pytest.fixture
def machine():
    return spindle_shop.router(makers.person("lead"))


def test_an_empty_list_says_what_to_do_next_to_those_who_may():
    assert 'href="/machines/new/"' in signed_in("lead").get("/machines/").content.decode()
    page = signed_in("operator").get("/machines/")
    assert "No machine is recorded yet." in text_of(page)
    assert 'href="/machines/new/"' not in page.content.decode()


def test_a_machine_is_added_once_in_whole_units():
    first, second, acts = send_twice(signed_in("lead"), "/machines/new/", **NEW)
    assert first["Location"] == second["Location"] == detail("R2")
    row = Machine.objects.get()
    assert (row.length_max_um, row.speed_max_rpm, row.turns_ccw, acts) == (
        120_000,
        24_000,
        False,
        1,
    )


@pytest.mark.parametrize("mark", ["R/2", "R 2", "R?2", "R#2", "Ü-2", "R/edit/2"])
def test_a_mark_with_any_sign_has_its_pages(mark):
    client = signed_in("lead")
    answer = fill_in(client, "/machines/new/", **NEW | {"mark": mark})
    assert answer["Location"] == detail(mark)
    assert client.get(detail(mark)).status_code == 200
    assert client.get(edit(mark)).context["form"]["mark"].value() == mark
    assert client.get("/machines/").status_code == 200


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("mark", {"mark": ""}),
        ("mark", {"mark": "M" * 13}),
        ("mark", {"mark": "new"}),
        ("mark", {"mark": "R/Edit"}),
        ("name", {"name": ""}),
        ("interface", {"interface": "ISO 31"}),
        ("stud_pattern", {"stud_pattern": ""}),
        ("speed_max_rpm", {"speed_max_rpm": "5999"}),
        ("speed_max_rpm", {"speed_max_rpm": "fast"}),
        ("override_ceiling_percent", {"override_ceiling_percent": "99"}),
        ("override_ceiling_percent", {"override_ceiling_percent": "301"}),
        ("length_max_um", {"length_max_um": "0"}),
        ("length_max_um", {"length_max_um": "H-07"}),
        ("pockets", {"pockets": "-1"}),
        ("tool_change", {"tool_change": "robot"}),
        ("submission", {"submission": "x"}),
    ],
)
def test_a_bad_entry_names_its_field_and_adds_nothing(field, typed):
    answer = fill_in(signed_in("lead"), "/machines/new/", **NEW | typed)
    assert list(answer.context["form"].errors) == [field]
    assert not Machine.objects.exists()


def test_a_spindle_that_turns_neither_way_is_refused():
    typed = {name: value for name, value in NEW.items() if name != "turns_cw"}
    answer = fill_in(signed_in("lead"), "/machines/new/", **typed)
    assert answer.context["form"].errors
    assert not Machine.objects.exists()


def test_a_mark_is_given_once_whatever_its_case(machine):
    answer = fill_in(signed_in("lead"), "/machines/new/", **NEW | {"mark": "r1"})
    assert answer.context["form"].errors
    assert Machine.objects.count() == 1


def test_a_taper_without_a_stud_keeps_no_pattern():
    typed = {name: value for name, value in NEW.items() if name != "uses_stud"}
    fill_in(signed_in("lead"), "/machines/new/", **typed | {"interface": "HSK-A63"})
    assert (Machine.objects.get().uses_stud, Machine.objects.get().stud_pattern) == (False, "")


def test_a_limit_emptied_is_not_recorded_and_says_so(machine):
    client = signed_in("lead")
    fill_in(client, edit("R1"), **NEW | {"mark": "R1", "length_max_um": "", "speed_max_rpm": ""})
    page = text_of(client.get(detail("r1")))
    assert "highest not recorded" in page
    assert Machine.objects.get().length_max_um is None


def test_a_machine_shows_what_was_loaded_last_and_its_approved_programs():
    shop = spindle_shop.open_shop()
    page = text_of(signed_in("operator").get(detail("R1")))
    assert "Nothing has been recorded as loaded here yet." in page
    assert str(shop.revision) in page
    assert "Nothing has been decided here yet." in page


def test_a_withdrawn_program_is_no_longer_listed():
    shop = spindle_shop.open_shop()
    spindle_shop.approve(
        shop.lead, shop.revision, shop.machine, state="withdrawn", reason="wrong S"
    )
    assert signed_in("operator").get(detail("R1")).context["programs"] == []


def test_a_machine_asks_as_often_for_three_programs_as_for_one(django_assert_num_queries):
    shop = spindle_shop.open_shop()
    client = signed_in("operator")
    with django_assert_num_queries(9):
        client.get(detail("R1"))
    for name in ("HM-1", "HM-2"):
        revision = spindle_shop.program_revision(shop.programmer, name=name)
        spindle_shop.approve(shop.lead, revision, shop.machine, reason="first run")
    with django_assert_num_queries(9):
        client.get(detail("R1"))


# ---- what stands in it
def lines(client, machine):
    return client.get(detail(machine.mark)).context["contents"]


def rebuild(assembly):
    building.start_rebuild(by=made.toolroom(), submission=uuid4(), assembly=assembly, reason="dull")


def codes(line):
    return [finding.code for finding in line.findings]


def choose(machine, revision):
    choose_station(by=made.operator(), session_key=str(uuid4()), machine=machine, revision=revision)


def test_the_spindle_says_assembly_number_program_and_time_and_names_nobody():
    machine, revision = made.machine(), made.revision()
    assembly, by = made.released(), makers.person("operator", first_name="Tolly")
    load = put(assembly, machine, revision=revision, by=by)
    page = text_of(signed_in("operator").get(detail(machine.mark)))
    assert f"{assembly.number} r1" in page
    assert f"T{made.TOOL} in {revision}" in page
    assert f"{timezone.localtime(load.loaded_at):%H:%M}" in page
    assert "Check again" not in page
    assert "Tolly" not in page


def test_a_lead_sees_who_checked_it():
    machine = made.machine()
    put(made.released(), machine, by=makers.person("operator", first_name="Tolly"))
    assert "Tolly" in text_of(signed_in("lead").get(detail(machine.mark)))


def test_every_pocket_has_a_line_with_its_own_numbers():
    machine, assembly = changer(3), made.released()
    put(assembly, machine, 2)
    page = signed_in("operator").get(detail(machine.mark))
    pockets = page.context["contents"].pockets
    assert [slot.pocket for slot in pockets if slot.line is None] == [1, 3]
    line = pockets[1].line
    holder = assembly.current_build.parts.get(role="holder").piece
    assert (line.holder_mark, line.gauge_length_um) == (holder.mark, made.GAUGE_LENGTH_UM)
    for name in ("Pocket", "T number", "Assembly", "Holder mark", "Gauge length"):
        assert f'data-label="{name}"' in page.content.decode()


def test_empty_neighbours_share_a_line():
    machine = changer(12)
    put(made.released(), machine, 5)
    rows = signed_in("operator").get(detail(machine.mark)).context["contents"].rows
    assert [(row.words, row.line is None) for row in rows] == [
        ("1–4", True),
        ("5", False),
        ("6–12", True),
    ]


def test_what_was_not_measured_is_said_to_be_missing():
    machine = changer(3)
    put(made.started(), machine, 2)
    line = lines(signed_in("operator"), machine).pockets[1].line
    assert (line.holder_mark, line.cutter, line.gauge_length_um) == ("", "", None)


@pytest.mark.parametrize("pocket", [None, 2])
def test_a_rebuilt_tool_in_a_machine_is_a_stop(pocket):
    machine, assembly = changer(3), made.released()
    put(assembly, machine, pocket)
    rebuild(assembly)
    found = lines(signed_in("operator"), machine)
    line = found.spindle if pocket is None else found.pockets[1].line
    assert codes(line) == ["load.rebuilt"]
    assert line.stops


def test_a_quarantined_tool_in_a_machine_is_a_stop():
    machine, assembly = made.machine(), made.released()
    put(assembly, machine)
    building.quarantine(by=made.operator(), submission=uuid4(), assembly=assembly, note="dropped")
    assert codes(lines(signed_in("operator"), machine).spindle) == ["load.quarantined"]


def test_a_label_made_void_since_is_a_stop():
    machine, assembly = made.machine(), made.released()
    made.label_of(assembly)
    put(assembly, machine)
    cancel_label(by=made.toolroom(), submission=uuid4(), assembly=assembly, reason="lost")
    assert codes(lines(signed_in("operator"), machine).spindle) == ["load.label_void"]


def test_a_label_made_void_before_does_not_count_against_the_load():
    machine, assembly = made.machine(), made.released()
    made.label_of(assembly)
    cancel_label(by=made.toolroom(), submission=uuid4(), assembly=assembly, reason="lost")
    put(assembly, machine)
    assert codes(lines(signed_in("operator"), machine).spindle) == []


def test_a_tool_put_down_in_a_rack_since_is_to_be_looked_at():
    machine, assembly = made.machine(), made.released()
    put(assembly, machine)
    put_down(by=made.operator(), submission=uuid4(), assembly=assembly, place=makers.place())
    assert codes(lines(signed_in("operator"), machine).spindle) == ["load.put_down"]


def test_another_program_chosen_since_asks_for_a_new_check():
    machine, revision = made.machine(), made.revision()
    put(made.released(), machine, revision=revision)
    choose(machine, revision)
    assert codes(lines(signed_in("operator"), machine).spindle) == []
    choose(machine, made.revision())
    assert codes(lines(signed_in("operator"), machine).spindle) == ["load.other_program"]


@pytest.mark.parametrize("chosen", ["nothing", "no program", "elsewhere"])
def test_where_no_other_program_was_chosen_none_is_claimed(chosen):
    machine = made.machine()
    put(made.released(), machine, revision=made.revision())
    if chosen == "no program":
        choose(machine, None)
    elif chosen == "elsewhere":
        choose(made.machine(), made.revision())
    assert codes(lines(signed_in("operator"), machine).spindle) == []


@pytest.mark.parametrize(("hours", "expected"), [(11, []), (13, ["load.old"])])
def test_after_twelve_hours_a_check_is_asked_for_again(monkeypatch, hours, expected):
    machine = made.machine()
    put(made.released(), machine)
    real = timezone.now
    monkeypatch.setattr(timezone, "now", lambda: real() + timedelta(hours=hours))
    assert codes(machine_contents(machine).spindle) == expected


def test_a_changer_of_unknown_size_says_so():
    machine = changer(0)
    assert "not recorded" in text_of(signed_in("operator").get(detail(machine.mark)))


def test_only_those_who_decide_are_offered_to_fill_and_take_out():
    machine = changer(3)
    load = put(made.released(), machine, 2)
    addresses = (
        reverse("assemblies:fill", args=[machine.mark]),
        reverse("assemblies:take_out", args=[load.pk]),
    )
    for role, offered in (("operator", True), ("buyer", False)):
        page = signed_in(role).get(detail(machine.mark)).content.decode()
        assert [f'"{address}"' in page for address in addresses] == [offered] * 2


def test_a_full_changer_asks_as_often_as_one_with_a_single_tool(django_assert_num_queries):
    machine, client = changer(24), signed_in("operator")
    put(made.released(), machine, 1, tool_number=1)
    with django_assert_num_queries(11):
        client.get(detail(machine.mark))
    for pocket in range(2, 25):
        put(made.started(), machine, pocket, tool_number=pocket)
    put(made.started(), machine, None, tool_number=25)
    with django_assert_num_queries(11):
        page = client.get(detail(machine.mark))
    assert sum(slot.line is not None for slot in page.context["contents"].pockets) == 24


def test_the_list_says_how_many_tools_are_in_each_machine(django_assert_num_queries):
    machine, empty, client = changer(3), made.machine(), signed_in("operator")
    put(made.started(), machine, 1, tool_number=1)
    out(put(made.started(), machine, 2, tool_number=2))
    with django_assert_num_queries(4):
        table = client.get("/machines/").context["table"]
    counts = {row.record.mark: row.record.tools_in for row in table.rows}
    assert counts == {machine.mark: 1, empty.mark: 0}


def test_a_machine_that_does_not_exist_is_a_404():
    assert signed_in("lead").get(detail("R9")).status_code == 404
    assert signed_in("lead").get(edit("R9")).status_code == 404


def test_only_lead_and_admin_change_machines(machine):
    for role in ("operator", "toolroom", "programmer", "buyer"):
        client = signed_in(role)
        assert client.get(detail("R1")).status_code == 200
        for address in ("/machines/new/", edit("R1")):
            assert client.get(address).status_code == 403
            assert client.post(address, NEW | {"submission": uuid4()}).status_code == 403
    assert Machine.objects.count() == 1
    assert Act.objects.filter(kind="machine.save").count() == 1
