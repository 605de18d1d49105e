"""The set-up sheet: what each tool is, where it is, what is missing, and what it costs to ask."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from assemblies.actions.build import start_rebuild
from assemblies.actions.loads import borrow
from assemblies.actions.parts import put_down
from assemblies.actions.setup_sheet import Standing, setup_sheet
from assemblies.actions.setup_sheet_candidates import MOST_CANDIDATES
from assemblies.models import Machine, ProgramRevision, Reading
from assemblies.rules.offset_lines import OffsetUnit, why_no_line
from labels.actions.setup_sheet import setup_paper
from tests import assembly_makers, makers
from tests.assembly_makers import TOOL
from tests.crib.pages import signed_in, text_of

pytestmark = pytest.mark.django_db

#: A diameter that the assembly of `scene` does not have.
NOWHERE_UM = 9_000
#: Tool numbers in the order of the calls of `program_with`; the first one is called again.
CALL = "T{n} M6\nS18000 M3\nG43 H{h} Z5\nG1 Z-3 F1000\nX{x} F4000\nM5\n"


def program_with(*numbers: int, head: str = "G21 G90\nG0 X0 Y0\n", registers=None) -> str:
    calls = (
        CALL.format(n=n, h=(registers or {}).get(n, n), x=100 + place)
        for place, n in enumerate(numbers)
    )
    return f"%\nO4121 (INVENTED)\n{head}{''.join(calls)}M30\n%\n"


def revision_with(text: str, *confirmed: int, **changed) -> ProgramRevision:
    made = assembly_makers.revision(text=text)
    for number in confirmed:
        assembly_makers.confirm(made, number, **changed)
    return made


@pytest.fixture(scope="module")
def standing_scene(module_rows) -> assembly_makers.Scene:
    return assembly_makers.Scene.ready()


@pytest.fixture
def scene(standing_scene) -> assembly_makers.Scene:
    return deepcopy(standing_scene)


def sheet_of(scene, **changed):
    return setup_sheet(changed.get("revision", scene.revision), changed.get("on", scene.machine))


def tool_of(sheet, number: int = TOOL):
    return next(tool for tool in sheet.tools if tool.tool_number == number)


# ---------------------------------------------------------------- the order of the program
def test_tools_stand_in_the_order_of_their_first_call_with_their_repeats():
    made = revision_with(program_with(7, 2, 7, 5, 2, 7))
    sheet = setup_sheet(made, assembly_makers.machine())
    assert [tool.tool_number for tool in sheet.tools] == [7, 2, 5]
    assert sheet.order_text == "T7 T2 T7 T5 T2 T7"
    assert tool_of(sheet, 7).places == (1, 3, 6)
    assert [len(tool_of(sheet, n).lines) for n in (7, 2, 5)] == [3, 2, 1]


def test_an_emptied_spindle_is_no_tool_to_fetch():
    made = revision_with(program_with(5).replace("M30", "T0 M6\nM30"))
    tool = tool_of(setup_sheet(made, assembly_makers.machine()), 0)
    assert tool.standing is Standing.EMPTY
    assert tool.candidates == ()


def test_a_stated_number_that_is_not_called_is_named_apart(scene):
    assembly_makers.confirm(scene.revision, 9)
    assert sheet_of(scene).not_called == (9,)


def test_a_call_of_an_unknown_number_is_told_with_its_line():
    made = revision_with(program_with(5).replace("M30", "T#100 M6\nM30"))
    sheet = setup_sheet(made, assembly_makers.machine())
    assert len(sheet.unclear_lines) == 1
    assert "NOT FULLY READ" in sheet.stamps


# ---------------------------------------------------------------- the program here
def test_an_approved_and_wholly_read_revision_has_no_stamp(scene):
    assert sheet_of(scene).stamps == ()


@pytest.mark.parametrize("state", ["elsewhere", "withdrawn"])
def test_what_may_not_run_here_is_stamped(scene, state):
    on = assembly_makers.machine() if state == "elsewhere" else scene.machine
    if state == "withdrawn":
        assembly_makers.withdraw(scene.revision, scene.machine)
    word = "NOT APPROVED" if state == "elsewhere" else "WITHDRAWN"
    assert sheet_of(scene, on=on).stamps == (f"{word} on {on}",)


def test_a_file_not_read_the_way_of_the_machine_has_no_figures(scene):
    other = assembly_makers.machine()
    Machine.objects.filter(pk=other.pk).update(default_units="inch")
    sheet = sheet_of(scene, on=Machine.objects.get(pk=other.pk))
    assert sheet.reading is None
    assert "NOT FULLY READ" in sheet.stamps
    assert tool_of(sheet).words.speed == "not known"
    assert sheet.minutes is None
    assert why_no_line(tool_of(sheet).offset)


def test_a_reading_by_an_older_reader_counts_as_not_read(scene):
    Reading.objects.filter(revision=scene.revision).update(reader_version=1)
    assert "NOT FULLY READ" in sheet_of(scene).stamps


# ---------------------------------------------------------------- what stands for a number
def test_a_released_assembly_in_the_rack_is_to_be_fetched(scene):
    rack = makers.place("RACK B3", name="Router 1")
    by = assembly_makers.toolroom()
    put_down(by=by, submission=uuid4(), assembly=scene.assembly, place=rack)
    sheet = sheet_of(scene)
    assert tool_of(sheet).standing is Standing.IN_CRIB
    (group,) = sheet.fetch
    assert group.place == "RACK B3 Router 1"
    mark = tool_of(sheet).chosen.rows.holder_mark
    assert group.lines == ((f"T{TOOL}", f"{scene.assembly.number} r1", mark),)


def test_one_assembly_for_two_numbers_is_fetched_once(scene):
    made = revision_with(program_with(5, 6), 5, 6)
    (group,) = setup_sheet(made, scene.machine).fetch
    assert [numbers for numbers, _, _ in group.lines] == ["T5, T6"]


def test_what_is_in_this_machine_is_not_to_be_fetched(scene):
    scene.load()
    sheet = sheet_of(scene)
    assert tool_of(sheet).standing is Standing.IN_MACHINE
    assert tool_of(sheet).offset.pocket_text == "spindle"
    assert sheet.fetch == ()


def test_what_is_in_another_machine_says_where(scene):
    scene.load()
    other = assembly_makers.machine()
    tool = tool_of(sheet_of(scene, on=other))
    assert tool.standing is Standing.ELSEWHERE
    assert scene.machine.name in tool.chosen.where.text
    assert tool.offset.pocket_text == ""


def test_a_borrowed_assembly_says_so(scene):
    by = makers.person("operator")
    borrow(by=by, submission=uuid4(), assembly=scene.assembly, note="for a test cut")
    tool = tool_of(sheet_of(scene))
    assert tool.standing is Standing.ELSEWHERE
    assert tool.chosen.where.text.startswith("borrowed")


def test_an_assembly_that_was_rebuilt_since_it_was_loaded_does_not_count(scene):
    scene.load()
    start_rebuild(
        by=assembly_makers.toolroom(), submission=uuid4(), assembly=scene.assembly, reason="dull"
    )
    tool = tool_of(sheet_of(scene))
    assert tool.standing is Standing.IN_MACHINE
    assert {"load.rebuilt", "assembly.not_released"} <= {f.code for f in tool.chosen.open_points}
    assert why_no_line(tool.offset)


def test_an_assembly_that_is_not_released_needs_work():
    machine = assembly_makers.machine()
    some = assembly_makers.some_parts(cutter={"diameter_um": NOWHERE_UM})
    assembly_makers.measured(some, diameter=NOWHERE_UM)
    made = assembly_makers.approved(machine, diameter_um=NOWHERE_UM)
    tool = tool_of(setup_sheet(made, machine))
    assert tool.standing is Standing.NEEDS_WORK
    assert "not released" in why_no_line(tool.offset)


def test_a_stated_number_without_any_assembly_is_to_be_built():
    machine = assembly_makers.machine()
    made = assembly_makers.approved(machine, diameter_um=NOWHERE_UM)
    tool = tool_of(setup_sheet(made, machine))
    assert (tool.standing, tool.chosen) == (Standing.MISSING, None)
    assert why_no_line(tool.offset) == "no assembly stands for it"


def test_a_number_that_nobody_stated_has_no_candidate(scene):
    made = revision_with(assembly_makers.PROGRAM)
    tool = tool_of(setup_sheet(made, scene.machine))
    assert (tool.standing, tool.candidates) == (Standing.NOT_STATED, ())


def test_the_listed_assembly_goes_before_another_that_fits_as_well(scene):
    other = assembly_makers.released()
    row = scene.revision.requirements.get(tool_number=TOOL)
    row.preferred = other
    row.save()
    first, second = tool_of(sheet_of(scene)).candidates
    assert (first.assembly, second.assembly) == (other, scene.assembly)


def test_a_fitting_assembly_goes_before_the_listed_one_that_does_not(scene):
    other = assembly_makers.measured()
    row = scene.revision.requirements.get(tool_number=TOOL)
    row.preferred = other
    row.save()
    assert tool_of(sheet_of(scene)).chosen.assembly == scene.assembly


def test_more_candidates_than_are_judged_are_counted(scene):
    for _ in range(MOST_CANDIDATES + 1):
        assembly_makers.drafted()
    tool = tool_of(sheet_of(scene))
    assert (len(tool.candidates), tool.left_out) == (MOST_CANDIDATES, 2)
    assert tool.chosen.assembly == scene.assembly


# ---------------------------------------------------------------- offsets
@pytest.mark.parametrize(
    ("head", "unit"),
    [
        ("G21 G90\n", OffsetUnit.MM),
        ("G20 G90\n", OffsetUnit.INCH),
        ("G90\n", OffsetUnit.MM),
        ("G20 G90\nG0 X1\nG21\n", OffsetUnit.MM),
    ],
)
def test_offsets_are_in_the_unit_of_the_program_else_of_the_machine(head, unit):
    made = revision_with(program_with(5, head=head))
    assert setup_sheet(made, assembly_makers.machine()).unit is unit


def test_another_length_register_than_t_is_said_and_no_line_is_given(scene):
    made = revision_with(program_with(5, registers={5: 15}), 5)
    assembly_makers.approve(made, scene.machine)
    assert "H15" in why_no_line(tool_of(setup_sheet(made, scene.machine)).offset)


def test_a_length_touched_off_by_the_program_is_not_written(scene):
    made = revision_with(
        program_with(5),
        5,
        length_rule="touch_off",
        gauge_length_um=None,
        gauge_tolerance_um=None,
    )
    assert tool_of(setup_sheet(made, scene.machine)).offset.touched_off


def test_an_assembly_that_stops_here_has_no_line(scene):
    made = revision_with(program_with(5), 5, gauge_length_um=120_000)
    made.requirements.update(preferred=scene.assembly)
    tool = tool_of(setup_sheet(made, scene.machine))
    assert tool.standing is Standing.NEEDS_WORK
    assert "may not be loaded" in why_no_line(tool.offset)


# ---------------------------------------------------------------- what it costs
def cost(revision, machine) -> int:
    with CaptureQueriesContext(connection) as asked:
        setup_sheet(revision, machine)
    return len(asked)


def test_twenty_tools_cost_no_more_than_two(scene):
    assembly_makers.released()
    few = revision_with(program_with(1, 2), 1, 2)
    many = revision_with(program_with(*range(1, 21)), *range(1, 21))
    sheet = setup_sheet(many, scene.machine)
    assert sum(len(tool.candidates) for tool in sheet.tools) == 40
    assert cost(many, scene.machine) == cost(few, scene.machine) <= 40


# ---------------------------------------------------------------- pages
def page(client, revision, machine):
    return client.get(reverse("assemblies:setup_sheet", args=[revision.pk, machine.mark]))


def test_the_page_shows_tools_drawing_and_offsets_within_sixty_queries(scene):
    numbers = range(1, 21)
    many = revision_with(program_with(*numbers), *numbers)
    client = signed_in("operator")
    with CaptureQueriesContext(connection) as asked:
        answer = page(client, many, scene.machine)
    assert answer.status_code == 200
    assert answer.content.decode().count('class="side-view"') == 20
    assert "G10 L1 P20 Z97.000 R6.000" in answer.content.decode()
    assert len(asked) <= 60


def test_a_page_is_never_kept(scene):
    assert page(signed_in("operator"), scene.revision, scene.machine)["Cache-Control"] == "no-store"


def test_a_looked_up_assembly_is_no_match_on_the_page(scene):
    answer = page(signed_in("operator"), scene.revision, scene.machine)
    assert "sheet-verdict-scan" in answer.content.decode()
    assert "MATCH" not in text_of(answer)


def test_only_the_toolroom_is_offered_to_build():
    machine = assembly_makers.machine()
    made = assembly_makers.approved(machine, diameter_um=NOWHERE_UM)
    for role, offered in (("toolroom", True), ("operator", False)):
        answer = page(signed_in(role), made, machine).content.decode()
        assert (reverse("assemblies:assembly_new") in answer) is offered


def test_only_who_may_confirm_is_offered_to_state_a_number():
    made, machine = revision_with(assembly_makers.PROGRAM), assembly_makers.machine()
    address = reverse("assemblies:requirement", args=[made.pk, TOOL])
    for role, offered in (("programmer", True), ("operator", False)):
        assert (address in page(signed_in(role), made, machine).content.decode()) is offered


def test_a_program_without_tools_says_so():
    made = revision_with("%\nG21 G90\nG0 X1\nM30\n%\n")
    answer = page(signed_in("operator"), made, assembly_makers.machine())
    assert "No tool number was found in this program." in text_of(answer)


def test_an_unknown_program_or_machine_is_not_found(scene):
    client = signed_in("operator")
    for key, mark in ((scene.revision.pk + 999, scene.machine.mark), (scene.revision.pk, "NONE")):
        for name in ("assemblies:setup_sheet", "labels:setup_sheet_pdf"):
            assert client.get(reverse(name, args=[key, mark])).status_code == 404


def test_a_mark_with_odd_signs_has_its_sheet(scene):
    odd = assembly_makers.machine(mark="R/2 ä#")
    assert page(signed_in("operator"), scene.revision, odd).status_code == 200


def offsets(client, scene, form):
    address = reverse(
        "assemblies:setup_sheet_offsets", args=[scene.revision.pk, scene.machine.mark, form]
    )
    return client.get(address)


@pytest.mark.parametrize("form", ["ngc", "txt"])
def test_the_lines_come_as_a_plain_file(scene, form):
    answer = offsets(signed_in("operator"), scene, form)
    assert answer["Content-Type"] == "text/plain"
    assert f'.{form}"' in answer["Content-Disposition"]
    lines = answer.content.decode("ascii").split("\r\n")
    assert (lines[0], lines[-2:]) == ("%", ["%", ""])
    assert "G10 L1 P5 Z97.000 R6.000" in lines


def test_the_table_comes_as_csv(scene):
    rows = offsets(signed_in("operator"), scene, "csv").content.decode("utf-8-sig").splitlines()
    assert rows[0].startswith("T,pocket,assembly")
    assert rows[1].startswith(f"5,,{scene.assembly.number},1,")


def test_another_form_of_file_is_not_found(scene):
    assert offsets(signed_in("operator"), scene, "exe").status_code == 404


def test_looking_at_a_sheet_writes_nothing(scene):
    before = assembly_makers.written()
    client = signed_in("operator")
    page(client, scene.revision, scene.machine)
    offsets(client, scene, "ngc")
    setup_paper(scene.revision, scene.machine, address="http://crib/")
    assert assembly_makers.written() == before


def test_a_drawing_that_no_scale_holds_is_left_out_with_a_word(scene):
    long_um = 9_000_000
    made = revision_with(program_with(5), 5)
    made.requirements.update(preferred=scene.assembly)
    assembly_makers.record(scene.assembly, gauge_length=long_um)
    answer = page(signed_in("operator"), made, scene.machine)
    assert answer.status_code == 200
    assert "too long or wide to draw" in text_of(answer)


def test_a_load_under_another_number_says_under_which(scene):
    other = revision_with(program_with(9), 9)
    assembly_makers.approve(other, scene.machine)
    replace(scene, revision=other).load(shown_number=9)
    tool = tool_of(sheet_of(scene))
    assert tool.standing is Standing.IN_MACHINE
    assert tool.chosen.where.text.endswith("the spindle as T9")
