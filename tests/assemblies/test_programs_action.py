"""Program files, what their tool numbers must be, and on which machine they may run."""

from uuid import uuid4

import pytest

from assemblies.actions import approvals, programs, requirements
from assemblies.models import (
    ApprovalState,
    Program,
    ProgramApproval,
    ProgramRevision,
    ToolCall,
    ToolRequirement,
    ToolUse,
)
from crib.actions.once import do_once
from crib.rules.refusal import NotAllowed
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db

FILE = made.PROGRAM.encode()
OTHER = made.PROGRAM.replace("X100", "X200")
TWO_TOOLS = made.PROGRAM.replace("M30", "T6 M6\nS12000 M3\nG43 H6 Z5\nG1 X1 F900\nM5\nM30")


def add(data=FILE, **fields):
    given = {"name": "SHELF", "label": "A"}
    return programs.add_revision(
        by=fields.pop("by", None) or made.programmer(),
        submission=fields.pop("submission", None) or uuid4(),
        data=data,
        **given | fields,
    )


def standing(program, machine):
    found = approvals.approved_revision(program, machine)
    return found and found.label


# ---- handing a file in
def test_a_file_is_kept_byte_for_byte_with_its_reading():
    by, data = made.programmer(), made.PROGRAM.replace("\n", "\r\n").encode()
    add(data, by=by, title="Shelf", file_name="shelf.nc")

    revision = ProgramRevision.objects.get()
    reading = revision.readings.get()
    assert bytes(revision.content) == data
    assert (revision.size_bytes, revision.file_name) == (len(data), "shelf.nc")
    assert (reading.program_number, reading.end_of_program) == ("4120", "M30")
    assert (reading.complete, revision.added_by) == (True, by)
    assert revision.program.title == "Shelf"
    assert [c.tool_number for c in ToolCall.objects.all()] == [5]


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"name": "  "}, "program.name"),
        ({"name": "X" * 61}, "program.name"),
        ({"label": " "}, "program.label"),
        ({"label": "X" * 13}, "program.label"),
        ({"data": b""}, "program.not_a_program"),
        ({"data": b"\x00\x01\x02\x03" * 99}, "program.not_a_program"),
        ({"data": b"PK\x03\x04 and so on"}, "program.not_a_program"),
    ],
)
def test_what_is_not_taken_in_leaves_nothing_behind(fields, code):
    assert made.code_of(add, **fields) == code
    assert not Program.objects.exists()


def test_the_same_file_and_the_same_mark_are_refused():
    add()

    assert made.code_of(add, label="B") == "program.same_file"
    assert made.code_of(add, OTHER.encode(), label="a") == "program.label_used"
    assert made.code_of(add, OTHER.encode(), name="shelf", label="A") == "program.label_used"


def test_another_program_may_have_the_same_file_and_mark():
    add()
    add(name="SHELF 2")

    assert Program.objects.count() == 2


def test_a_title_of_a_refused_file_is_not_kept():
    add(title="Shelf")

    assert made.code_of(add, title="Other") == "program.label_used"
    assert Program.objects.get().title == "Shelf"


def test_an_incomplete_reading_is_stored_as_incomplete():
    add(made.PROGRAM.replace("X100 F4000", "IF [#1 GT 0] GOTO 10").encode())

    revision = ProgramRevision.objects.get()
    assert not revision.readings.get().complete
    assert revision.readings.get().notes


@pytest.mark.parametrize(
    ("spoken", "stored"), [("18000", 18_000), ("18000.0", 18_000), ("18000.4", 18_001)]
)
def test_the_highest_speed_is_rounded_up(spoken, stored):
    add(made.PROGRAM.replace("S18000", f"S{spoken}").encode())

    use = ToolUse.objects.get()
    assert (use.spindle_speed_max_rpm, use.spindle_speed_min_rpm) == (stored, 18_000)
    assert use.speed_exact
    assert (use.turns_cw, use.turns_ccw, use.rotation_exact) == (True, False, True)


@pytest.mark.parametrize("word", ["S4000000000", "S99999999999", "T4000000000"])
def test_a_number_no_machine_has_is_read_or_refused_but_never_breaks(word):
    before = {"S": "S18000", "T": "T5"}[word[0]]

    code = None
    try:
        add(made.PROGRAM.replace(f"\n{before} ", f"\n{word} ").encode())
    except programs.Refused as refused:
        code = refused.code

    assert code is None or code.startswith("program.")
    assert code or not ProgramRevision.objects.get().readings.get().complete


# ---- proposals
def test_a_comment_proposes_and_confirms_nothing():
    add()

    row = ToolRequirement.objects.get()
    assert (row.tool_number, row.kind, row.diameter_um) == (5, "compression", 12_000)
    assert (row.is_confirmed, row.length_rule) == (False, "not_stated")


def test_a_tool_number_without_words_gets_an_empty_proposal():
    add(made.PROGRAM.replace("(T5 COMPRESSION SPIRAL D12.0)\n", "").encode())

    row = ToolRequirement.objects.get()
    assert (row.kind, row.diameter_um, row.is_confirmed) == ("", None, False)


def test_the_next_revision_proposes_what_was_stated_before_where_the_program_changed():
    first = made.revision("SHELF", "A")
    made.confirm(first, kind="spiral_down", gauge_length_um=80_000)

    second = made.revision("SHELF", "B", made.PROGRAM.replace("S18000", "S16000"))

    row = second.requirements.get()
    assert (row.kind, row.gauge_length_um) == ("spiral_down", 80_000)
    assert not row.is_confirmed
    assert first.requirements.get().is_confirmed


def test_an_empty_requirement_before_does_not_hide_what_the_comment_says_now():
    made.revision("SHELF", "A", made.PROGRAM.replace("(T5 COMPRESSION SPIRAL D12.0)\n", ""))

    second = made.revision("SHELF", "B")

    assert second.requirements.get().kind == "compression"


# ---- confirming
def test_a_confirmed_requirement_names_who_and_when():
    by = made.programmer()
    row = made.confirm(made.revision(), by=by)

    assert row.confirmed_by == by
    assert row.is_confirmed


@pytest.mark.parametrize(
    ("changed", "code", "field"),
    [
        ({"kind": ""}, "requirement.kind_and_diameter", "kind"),
        ({"diameter_um": None}, "requirement.kind_and_diameter", "diameter_um"),
        ({"diameter_tolerance_um": None}, "requirement.not_valid", ""),
        ({"kind": "axe"}, "requirement.not_valid", "kind"),
        ({"gauge_length_um": None}, "requirement.not_valid", ""),
        ({"gauge_tolerance_um": None}, "requirement.not_valid", ""),
        ({"stickout_min_um": 2, "stickout_max_um": 1}, "requirement.not_valid", ""),
        ({"diameter_um": -1}, "requirement.not_valid", "diameter_um"),
        ({"length_rule": "any"}, "requirement.not_valid", "length_rule"),
    ],
)
def test_what_cannot_be_confirmed(changed, code, field):
    refused = made.refusal(made.confirm, made.revision(), **changed)

    assert (refused.code, refused.field) == (code, field)


def test_alternatives_are_replaced_as_a_whole():
    revision, by = made.revision(), made.programmer()
    first, second, third = (made.started() for _ in range(3))

    for preferred, others in ((first, [second, third]), (second, [third])):
        requirements.confirm_requirement(
            by=by,
            submission=uuid4(),
            revision=revision,
            tool_number=5,
            figures=made.figures(),
            preferred=preferred,
            alternatives=others,
        )

    row = revision.requirements.get()
    assert (row.preferred, list(row.alternatives.all())) == (second, [third])


# ---- approving
def test_an_approval_with_an_unconfirmed_tool_number_needs_a_reason():
    revision, machine = made.revision(text=TWO_TOOLS), made.machine()
    made.confirm(revision)

    refused = made.refusal(made.approve, revision, machine)
    assert refused.code == "approval.unconfirmed"
    assert "T6" in refused.text
    assert "T5" not in refused.text

    made.approve(revision, machine, "first part under watch")
    assert ProgramApproval.objects.get().reason == "first part under watch"


def test_withdrawing_needs_a_reason():
    machine = made.machine()
    revision = made.approved(machine)

    code = made.code_of(made.approve, revision, machine, " ", ApprovalState.WITHDRAWN)

    assert code == "approval.reason"


def test_the_revision_approved_last_stands_and_only_there():
    machine, other = made.machine(), made.machine()
    first, second = made.revision("SHELF", "A"), made.revision("SHELF", "B", OTHER)
    program = Program.objects.get()
    steps = [
        (made.approve, first, "A"),
        (made.approve, second, "B"),
        (made.withdraw, first, "B"),
        (made.withdraw, second, None),  # brings no older one back
        (made.approve, first, "A"),
        (made.withdraw, first, None),
    ]

    for step, revision, expected in steps:
        if step is made.approve:
            made.approve(revision, machine, "seen")
        else:
            made.withdraw(revision, machine)
        assert standing(program, machine) == expected

    assert standing(program, other) is None


def test_an_approval_covers_what_its_giver_saw_and_nothing_stated_since():
    revision, machine = made.revision(), made.machine()
    made.confirm(revision)
    seen = approvals.stated_mark(revision)

    def give(seen):
        return approvals.set_approval(
            by=made.programmer(),
            submission=uuid4(),
            revision=revision,
            machine=machine,
            state=ApprovalState.APPROVED,
            seen=seen,
        )

    made.confirm(revision, diameter_tolerance_um=60)
    assert made.code_of(give, seen) == "approval.stated_anew"
    give(approvals.stated_mark(revision))
    assert standing(revision.program, machine) == "A"


@pytest.mark.parametrize(
    "change",
    [
        lambda revision: made.confirm(revision, gauge_length_um=97_001),
        lambda revision: requirements.set_top_of_stock(
            by=made.programmer(), submission=uuid4(), revision=revision, top_of_stock_um=0
        ),
        lambda revision: revision.requirements.get().alternatives.add(made.started()),
    ],
)
def test_whatever_is_stated_shows_in_the_mark(change):
    revision = made.revision()
    made.confirm(revision)
    before = approvals.stated_mark(revision)

    change(revision)

    assert approvals.stated_mark(ProgramRevision.objects.get()) != before


# ---- the top of the work
@pytest.mark.parametrize("top_um", [0, -2_500, 18_000, 10_000_000, None])
def test_the_top_of_the_work_may_lie_anywhere_a_machine_reaches(top_um):
    revision = made.revision()
    ProgramRevision.objects.update(top_of_stock_um=1)

    requirements.set_top_of_stock(
        by=made.programmer(), submission=uuid4(), revision=revision, top_of_stock_um=top_um
    )

    assert ProgramRevision.objects.get().top_of_stock_um == top_um


@pytest.mark.parametrize("top_um", [10_000_001, -10_000_001, 2**40])
def test_a_top_of_the_work_out_of_reach_is_refused(top_um):
    code = made.code_of(
        requirements.set_top_of_stock,
        by=made.programmer(),
        submission=uuid4(),
        revision=made.revision(),
        top_of_stock_um=top_um,
    )

    assert code == "program.top_of_stock"


@pytest.mark.parametrize(("top_um", "stands"), [(5_000, "A"), (0, None), (None, None)])
def test_another_top_of_the_work_withdraws_the_approval_and_the_same_does_not(top_um, stands):
    machine = made.machine()
    revision = made.revision()
    state = {"by": made.programmer(), "revision": revision}
    requirements.set_top_of_stock(**state, submission=uuid4(), top_of_stock_um=5_000)
    made.confirm(revision)
    made.approve(revision, machine)

    requirements.set_top_of_stock(**state, submission=uuid4(), top_of_stock_um=top_um)

    assert standing(revision.program, machine) == stands


# ---- what the spindle asks for
def ask(revision, tool_number, label=None):
    def work(act):
        act.about = f"program {revision.program.name}"
        act.details = {"T": tool_number, "revision": label or revision.label}
        return tool_number

    do_once(submission=uuid4(), kind="program.ask", by=made.operator(), needs="view", work=work)


def test_what_the_spindle_asked_for_is_counted_until_somebody_states_it():
    revision = made.revision(text=TWO_TOOLS)
    for number in (5, 6, 5):
        ask(revision, number)
    ask(revision, 6, label="Z")

    assert requirements.asked_for(revision, revision.requirements.all()) == {5: 2, 6: 1}

    made.confirm(revision)
    assert requirements.asked_for(revision, revision.requirements.all()) == {6: 1}
    ask(revision, 5)
    assert requirements.asked_for(revision, revision.requirements.all()) == {5: 1, 6: 1}


@pytest.mark.parametrize("number", [None, "5", [5], 5.5])
def test_a_request_without_a_tool_number_is_passed_over(number):
    revision = made.revision()
    ask(revision, number)

    assert requirements.asked_for(revision, revision.requirements.all()) == {}


# ---- who, and once
@pytest.mark.parametrize("role", ["operator", "toolroom", "buyer"])
def test_only_programmer_lead_and_admin_handle_programs(role):
    revision, machine, by = made.revision(), made.machine(), makers.person(role)
    before = made.written()

    for attempt in (
        lambda: add(by=by),
        lambda: made.confirm(revision, by=by),
        lambda: approvals.set_approval(
            by=by,
            submission=uuid4(),
            revision=revision,
            machine=machine,
            state=ApprovalState.APPROVED,
            reason="seen",
        ),
    ):
        with pytest.raises(NotAllowed):
            attempt()

    assert made.written() == before


def test_the_same_form_sent_twice_is_done_once():
    by, machine, ids = made.programmer(), made.machine(), [uuid4() for _ in range(3)]
    add(by=by, submission=ids[0])
    revision = ProgramRevision.objects.get()
    acts = [
        lambda: add(by=by, submission=ids[0]),
        lambda: requirements.confirm_requirement(
            by=by, submission=ids[1], revision=revision, tool_number=5, figures=made.figures()
        ),
        lambda: approvals.set_approval(
            by=by,
            submission=ids[2],
            revision=revision,
            machine=machine,
            state=ApprovalState.APPROVED,
        ),
    ]
    for act in acts:
        act()
    before = made.written()

    assert [act().repeated for act in acts] == [True, True, True]
    assert made.written() == before


def test_a_reading_of_an_older_reader_counts_as_incomplete_until_it_is_read_again(db):
    scene = made.Scene.ready()
    scene.revision.readings.update(reader_version=1)
    assert "program.not_read_whole" in scene.codes()

    stated = list(scene.revision.requirements.values_list("pk", "confirmed_at"))
    submission, programmer = uuid4(), made.programmer()
    for _ in range(2):
        programs.read_again(by=programmer, submission=submission, revision=scene.revision)

    scene.revision.refresh_from_db()
    assert scene.word() == "match"
    assert list(scene.revision.requirements.values_list("pk", "confirmed_at")) == stated


def test_the_gravest_note_of_each_kind_is_kept_for_the_spindle(db):
    """G95 without F is worse than a carried one: both are `no-feed`, the stop has to be kept."""
    lines = ["G21 G90 G17", "T5 M6", "S12000 M3", "G1 X10", "G95", "G1 X20", "M30"]
    done = programs.add_revision(
        by=made.programmer(),
        submission=uuid4(),
        name="NOTES",
        label="A",
        data="\n".join(lines).encode(),
    )
    use = (
        ProgramRevision.objects.get(pk=int(done.result)).readings.get().tool_uses.get(tool_number=5)
    )
    kept = {note["code"]: note["severity"] for note in use.details["notes"]}
    assert kept["no-feed"] == "stop_soft"
