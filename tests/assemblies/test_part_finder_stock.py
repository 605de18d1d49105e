"""The part finder on real rows: what counts as usable, where the rest is, starting a stack."""

from __future__ import annotations

import json
from copy import deepcopy
from io import StringIO
from uuid import uuid4

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from assemblies.actions.part_finder import Question, find, named_cutter
from assemblies.actions.part_finder_start import start_found
from assemblies.actions.parts import retire
from assemblies.models import Assembly, BuildPart
from crib.actions.pieces import set_condition
from crib.models import Act, Condition, Movement, Piece, PullStudFacts
from crib.rules.refusal import NotAllowed, Refused
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def kept(module_rows):
    return made.some_parts(), made.machine()


@pytest.fixture
def crib(kept):
    """One stack's parts in a drawer, and a machine that takes them."""
    return deepcopy(kept)


def asked(crib, **changed) -> Question:
    parts, machine = crib
    return Question(parts.cutter.item, machine, **changed)


def shown(found) -> list[tuple[str, ...]]:
    return [tuple(part.shown for part in stack.parts) for stack in found.stacks]


def stack_of(parts) -> tuple[str, ...]:
    return (parts.holder.mark, parts.collet.mark, parts.nut.code, parts.cutter.mark)


# ---- what counts as usable
def test_marked_pieces_and_loose_parts_of_the_racks_make_a_stack(crib):
    found = find(asked(crib))
    assert shown(found) == [stack_of(crib[0])]
    assert found.stacks[0].part("nut").loose == 5


def test_the_place_of_each_part_is_named(crib):
    found = find(asked(crib))
    assert {part.first.place for part in found.stacks[0].parts} == {crib[0].drawer.shown}


@pytest.mark.parametrize("condition", [Condition.QUARANTINED, Condition.REGRIND, Condition.WORN])
def test_a_piece_out_of_service_is_never_used(crib, condition):
    set_condition(
        by=makers.person("toolroom"),
        submission=uuid4(),
        piece=crib[0].holder,
        condition=condition,
        note="dropped",
    )
    assert find(asked(crib)).stacks == ()


def test_a_part_built_in_is_named_with_its_assembly_and_place(crib):
    parts, _ = crib
    assembly = made.started()
    made.put(assembly, parts.collet.item, parts.collet)
    found = find(asked(crib))
    away = {each.shown: each for each in found.away}
    assert found.stacks == ()
    assert away[parts.collet.mark].where == f"in {assembly.number}, draft"
    assert away[parts.collet.mark].goes_with == parts.holder.mark


def test_only_the_piece_that_was_named_counts(crib):
    parts, machine = crib
    other = makers.piece(parts.cutter.item, parts.drawer)
    item, piece = named_cutter(other.mark)
    found = find(Question(item, machine, piece=piece))
    assert [row[-1] for row in shown(found)] == [other.mark]


def test_what_was_measured_on_a_piece_counts(crib):
    """A shank ground to 10.9 no longer fits a 12–11 collet."""
    Piece.objects.filter(pk=crib[0].cutter.pk).update(measured_shank_um=10_900)
    found = find(asked(crib))
    assert found.stacks == ()
    assert "1 collet: shank 0.10 smaller" in [group.text for group in found.dropped]


def test_readings_of_the_past_are_told_with_their_number(crib):
    parts, _ = crib
    assembly = made.measured(parts, runout=9)
    made.record(assembly, runout=7)
    made.record(assembly, runout=12)
    retire(by=made.toolroom(), submission=uuid4(), assembly=assembly, reason="test over")
    histories = find(asked(crib)).stacks[0].histories
    assert histories == ((parts.holder.mark, 9, 3), (parts.collet.mark, 9, 3))


def test_the_tool_number_of_a_program_is_held_against_the_cutter(crib):
    _, machine = crib
    revision = made.approved(machine, kind="drill")
    row = revision.requirements.get(tool_number=made.TOOL)
    found = find(asked(crib, meant_for=row))
    assert found.stacks == ()
    assert any("drill" in group.reason for group in found.dropped)


def test_a_holder_with_another_stud_needs_the_one_in_the_drawer(crib):
    parts, _ = crib
    Piece.objects.filter(pk=parts.holder.pk).update(stud_pattern="B")
    stud = makers.item("pull_stud")
    PullStudFacts.objects.create(item=stud, pattern="A")
    makers.stocked(stud, parts.drawer)
    found = find(asked(crib))
    assert found.stacks == ()
    assert found.unlocks[0].to_get == (f"pull stud A from {parts.drawer.shown}",)


def test_a_speed_above_a_marked_limit_stops(crib):
    assert find(asked(crib, speed_rpm=24_000)).stacks
    assert not find(asked(crib, speed_rpm=24_001)).stacks


def test_more_pieces_ask_no_more_queries(crib):
    parts, _ = crib
    question = asked(crib)
    find(question)
    counts = []
    for _ in range(2):
        with CaptureQueriesContext(connection) as queries:
            find(question)
        counts.append(len(queries))
        for of in (parts.holder, parts.collet, parts.cutter):
            for _ in range(3):
                makers.piece(of.item, parts.drawer)
        makers.stocked(makers.nut_item(), parts.drawer)
    assert counts == [9, 9]


@pytest.mark.parametrize(
    ("entry", "code"), [("nothing like it", "finder.no_cutter"), ("", "finder.no_cutter")]
)
def test_a_cutter_that_is_not_on_record_is_refused(crib, entry, code):
    with pytest.raises(Refused) as refused:
        named_cutter(entry)
    assert refused.value.code == code


def test_a_part_that_is_no_cutter_is_refused(crib):
    with pytest.raises(Refused) as refused:
        named_cutter(crib[0].collet.mark)
    assert refused.value.code == "finder.not_a_cutter"


# ---- starting one
def start(parts, *, by=None, submission=None, entries=None):
    return start_found(
        by=by or made.toolroom(),
        submission=submission or uuid4(),
        entries=entries or list(stack_of(parts)),
    )


def test_a_started_stack_has_all_its_parts_in_the_draft_and_no_figure(crib):
    parts, _ = crib
    number = int(start(parts).result)
    draft = Assembly.objects.get(number=number).current_build
    assert {part.item_id for part in draft.parts.all()} == {item.pk for item, _ in parts.in_order()}
    assert (draft.stickout_um, draft.grip_um, draft.torque_mnm) == (None, None, None)
    assert Piece.objects.get(pk=parts.holder.pk).place.assembly.number == number


def test_a_start_sent_twice_counts_once(crib):
    by, submission = made.toolroom(), uuid4()
    first = start(crib[0], by=by, submission=submission)
    again = start(crib[0], by=by, submission=submission)
    assert (again.result, again.repeated) == (first.result, True)


def test_when_one_part_is_gone_nothing_is_started(crib):
    parts, _ = crib
    made.put(made.started(), parts.collet.item, parts.collet)
    before = [table.objects.count() for table in (Assembly, BuildPart, Movement, Act)]
    by = made.toolroom()
    with pytest.raises(Refused) as refused:
        start(parts, by=by)
    assert refused.value.code == "part.not_in_stock"
    assert [table.objects.count() for table in (Assembly, BuildPart, Movement, Act)] == before


@pytest.mark.parametrize(
    ("left", "code"), [(["nonsense"], "finder.part_unknown"), ([], "finder.no_stack")]
)
def test_what_is_no_whole_stack_is_not_started(crib, left, code):
    with pytest.raises(Refused) as refused:
        start(crib[0], entries=[crib[0].holder.mark, *left])
    assert refused.value.code == code


def test_who_may_not_build_may_not_start(crib):
    with pytest.raises(NotAllowed):
        start(crib[0], by=makers.person("buyer"))


# ---- the command
def command(crib, *more: str) -> tuple[int, str]:
    parts, machine = crib
    out = StringIO()
    words = ["--cutter", parts.cutter.item.code, "--machine", machine.mark, *more]
    try:
        call_command("find_parts", *words, stdout=out)
    except SystemExit as ended:
        return ended.code, out.getvalue()
    except CommandError as refused:
        return refused.returncode, str(refused)
    return 0, out.getvalue()


def test_a_stack_without_a_doubt_ends_with_0(crib):
    ended, said = command(crib)
    assert ended == 0
    assert crib[0].holder.mark in said


@pytest.mark.parametrize(
    ("more", "ends_with"),
    [
        (["--stickout", "47"], 0),
        (["--stickout", "54"], 1),
        (["--stickout", "57"], 2),
        (["--speed", "24001"], 2),
        (["--machine", "no such"], 3),
        (["--cutter", "no such"], 3),
        (["--stickout", "far"], 3),
        (["--stickout", "0"], 3),
        (["--speed", "fast"], 3),
        (["--speed", "0"], 3),
        (["--depth", "3"], 3),
    ],
)
def test_what_the_command_ends_with(crib, more, ends_with):
    """Overall 83, collet 40: at 54 the grip of 29 is under 80 %, at 57 under two thirds."""
    assert command(crib, *more)[0] == ends_with


def test_the_json_has_every_figure_as_whole_micrometres(crib):
    ended, said = command(crib, "--json", "--stickout", "1 3/4 in")
    answer = json.loads(said)
    assert ended == 0
    assert set(answer) == {
        *("cutter", "machine", "cutter_on_shelf", "stopped_by", "stacks"),
        *("dropped", "would_help", "elsewhere"),
    }
    stack = answer["stacks"][0]
    assert [part["take"] for part in stack["parts"]] == list(stack_of(crib[0]))
    assert (stack["stickout_um"], stack["grip_um"]) == (44_450, 38_550)
    assert stack["gauge_length_um"] == 94_450
