"""What a new revision keeps of what was confirmed, what it asks again, what it proposes.

Expected answers follow from the rule that a confirmation holds as long as the program does the same
with the tool; no outside source.
"""

import re
from dataclasses import replace
from uuid import uuid4

import pytest

from assemblies.actions import programs, proposals
from assemblies.actions.approvals import approved_revision
from assemblies.actions.proposals import last_loaded
from assemblies.models import Machine, ProgramRevision
from tests import assembly_makers as made

pytestmark = pytest.mark.django_db

TEXT = made.PROGRAM
TOOL_SIX = "T6 M6\nS12000 M3\nG43 H6 Z5\nG1 Z-1 F900\nX1\nM5\nM30"


def edited(*edits, text=TEXT):
    for before, after in edits:
        assert before in text
        text = text.replace(before, after)
    return text


def confirmed(text=TEXT, **stated):
    revision = made.revision("SHELF", "A", text)
    return revision, made.confirm(revision, **stated)


def next_one(*edits, label="B", text=TEXT):
    return made.revision("SHELF", label, edited(*edits, text=text))


def row_of(revision, tool_number=made.TOOL):
    return revision.requirements.get(tool_number=tool_number)


# ---- carried on
@pytest.mark.parametrize(
    "edits",
    [
        [("X100", "X200")],  # farther, not otherwise
        [("G21 G90", "N10 G21 G90")],
        [("M30", "(A WORD OF THE PROGRAMMER)\nM30")],
        [("\nM30", f"\n{TOOL_SIX}")],
        [("F1000", "F1000.0")],
        [("S18000 M3", "M3 S18000")],
    ],
    ids=["path", "block number", "comment", "another tool", "spelling", "order of words"],
)
def test_where_the_program_does_the_same_with_a_tool_its_confirmation_holds(edits):
    alike, other = made.started(), made.started()
    _, row = confirmed(kind="spiral_down")
    row.preferred = alike
    row.save()
    row.alternatives.set([other])

    new = row_of(next_one(*edits))

    assert (new.confirmed_by, new.confirmed_at) == (row.confirmed_by, row.confirmed_at)
    assert (new.carried_from, new.asked_again_because) == (row, "")
    assert (new.kind, new.gauge_length_um) == ("spiral_down", row.gauge_length_um)
    assert (new.preferred, list(new.alternatives.all())) == (alike, [other])


@pytest.mark.parametrize(
    ("edits", "because"),
    [
        ([("S18000", "S18001")], "S18000 → S18001"),
        ([("S18000", "S17999")], "S18000 → S17999"),
        ([("X100 F4000", "X100 F4000\nS9000\nX110")], "S9000–18000"),
        ([("M3\n", "M4\n")], "M4"),
        ([("F4000", "F4001")], "F1000–4001"),
        ([("F1000", "F999")], "F999–4000"),
        ([("Z-3", "Z-3.003")], "deeper"),
        ([("Z-3", "Z-2.997")], "higher"),
        ([("SPIRAL D12.0", "SPIRAL D12.1")], "“T5 COMPRESSION"),
        ([("H5", "H6")], "H6"),
        ([("X100 F4000", "G41 D5 X100 F4000\nG40 X120")], "D5"),
        ([("X100 F4000", "X100 F4000\nG81 X50 Y50 Z-3 R5\nG80")], "G81"),
        ([("X0 Y0", "X0 Y0 M8")], "flood"),
        ([("T5 M6\nS18000 M3", "S18000\nT5 M6\nM3")], "carried"),
        ([("G21", "G20")], "F25400–101600"),
    ],
)
def test_what_changed_is_asked_again_and_said(edits, because):
    first, row = confirmed()

    new = row_of(next_one(*edits))

    assert not new.is_confirmed
    assert because in new.asked_again_because
    assert (new.carried_from, new.proposed_from) == (None, "revision A")
    assert new.diameter_um == row.diameter_um
    assert row_of(first).is_confirmed


@pytest.mark.parametrize("doubtful_first", [True, False])
@pytest.mark.parametrize(
    "doubt",
    [
        ("S18000 M3", "S[#500] M3"),
        ("X100 F4000", "X100 F[#500]"),
        ("X100 F4000", "M98 P1000"),
        ("X100 F4000", "X100 Z[#500] F4000"),
        ("M5\n", "/M5\n"),
    ],
)
def test_what_is_not_certain_on_one_side_is_asked_again(doubt, doubtful_first):
    clear, doubtful = TEXT, edited(doubt)
    before, after = (doubtful, clear) if doubtful_first else (clear, doubtful)
    confirmed(before)

    new = row_of(made.revision("SHELF", "B", after))

    assert not new.is_confirmed
    assert new.asked_again_because


def test_what_is_not_certain_on_both_sides_is_asked_again_though_both_read_alike():
    confirmed(edited(("S18000 M3", "S[#500] M3")))

    new = row_of(next_one(("S18000 M3", "S[#500] M3"), ("X100", "X200")))

    assert not new.is_confirmed


def test_each_tool_is_asked_for_itself():
    first = made.revision("SHELF", "A", edited(("\nM30", f"\n{TOOL_SIX}")))
    made.confirm(first)
    made.confirm(first, 6)

    second = next_one(("\nM30", f"\n{TOOL_SIX}"), ("S12000", "S11000"))

    assert row_of(second, 5).is_confirmed
    assert row_of(second, 6).asked_again_because == "S12000 → S11000"


def test_a_tool_number_that_is_new_is_only_proposed():
    confirmed()

    new = row_of(next_one(("\nM30", f"\n{TOOL_SIX}")), 6)

    assert (new.is_confirmed, new.kind, new.asked_again_because) == (False, "", "")


def test_a_tool_number_no_longer_called_is_left_behind():
    first = made.revision("SHELF", "A", edited(("\nM30", f"\n{TOOL_SIX}")))
    made.confirm(first, 6)

    assert not next_one().requirements.filter(tool_number=6).exists()


def test_a_proposal_that_nobody_confirmed_stays_a_proposal():
    made.revision("SHELF", "A", TEXT)

    new = row_of(next_one(("X100", "X200")))

    assert (new.is_confirmed, new.asked_again_because) == (False, "")


def test_a_question_still_open_is_not_forgotten_in_the_revision_after():
    confirmed()
    next_one(("S18000", "S16000"), label="B")

    new = row_of(next_one(("S18000", "S16000"), ("X100", "X200"), label="C"))

    assert (new.is_confirmed, new.proposed_from) == (False, "revision A")
    assert new.asked_again_because == "S18000 → S16000"


def test_what_was_carried_once_is_carried_on_from_the_same_row():
    _, row = confirmed()
    next_one(("X100", "X200"), label="B")

    new = row_of(next_one(("X100", "X300"), label="C"))

    assert new.carried_from == row
    assert new.confirmed_at == row.confirmed_at


def test_an_answer_given_anew_is_its_own():
    confirmed()
    second = next_one(("X100", "X200"))

    made.confirm(second, diameter_tolerance_um=60)

    row = row_of(second)
    assert (row.carried_from, row.asked_again_because, row.is_confirmed) == (None, "", True)


def test_many_reasons_are_counted_where_they_find_no_room():
    words = "A VERY LONG DESCRIPTION OF A COMPRESSION SPIRAL"
    confirmed()

    new = row_of(
        next_one(
            ("COMPRESSION SPIRAL", words),
            ("S18000 M3", "S9000 M4"),
            ("H5", "H7"),
            ("X0 Y0", "X0 Y0 M8"),
            ("X100 F4000", "X100 F3999\nG81 X50 Y50 Z-9 R5\nG80\nG41 D9 X3\nG40 X9"),
        )
    )

    assert len(new.asked_again_because) <= 200
    assert re.search(r", [0-9]+ more$", new.asked_again_because)


# ---- approval, ways of reading, older readers
def test_an_approval_is_never_carried_on():
    machine = made.machine()
    first = made.approved(machine)
    name = first.program.name

    second = made.revision(name, "B", edited(("X100", "X200")))

    assert row_of(second).is_confirmed
    assert approved_revision(first.program, machine) == first
    made.approve(second, machine)
    assert approved_revision(first.program, machine) == second


def test_what_changed_in_the_way_of_one_machine_is_asked_again():
    """T7 alone changes the tool on one machine: there T5 no longer makes the deep cut."""
    made.machine()
    made.machine(t_alone_changes=True)
    confirmed()

    new = row_of(next_one(("X100 F4000", "T7\nX100 F4000")))

    assert not new.is_confirmed
    assert new.asked_again_because


def test_a_way_that_no_machine_has_holds_nobody_up():
    """The machine builder's M10 is known to the only machine; the standard does not know it."""
    made.machine(harmless_m_codes="M10")
    first, row = confirmed(edited(("X0 Y0", "X0 Y0 M10")))
    assert not first.readings.get(settings_key="standard").complete

    assert row_of(next_one(("X0 Y0", "X0 Y0 M10"), ("X100", "X200"))).carried_from == row


def test_a_revision_of_an_older_reader_is_read_again_to_be_compared():
    first, row = confirmed()
    first.readings.update(reader_version=1)

    new = row_of(next_one(("X100", "X200")))

    assert new.carried_from == row
    assert first.readings.get().reader_version != 1


def test_an_older_revision_that_can_no_longer_be_read_asks_everything_again(monkeypatch):
    first, _ = confirmed()
    first.readings.update(reader_version=1)

    def refuse(revision, ways):
        raise programs.Refused("program.not_a_program", "no")

    monkeypatch.setattr(programs, "read_stale", refuse)

    new = row_of(next_one(("X100", "X200")))

    assert not new.is_confirmed
    assert "revision A was not read" in new.asked_again_because


def test_reading_again_changes_no_answer():
    confirmed()
    second = next_one(("S18000", "S16000"))
    before = list(second.requirements.values())

    programs.read_again(by=made.programmer(), submission=uuid4(), revision=second)

    assert list(second.requirements.values()) == before


# ---- proposals from what was loaded
@pytest.fixture
def loaded():
    """A program whose T5 was loaded, and of which nothing is stated any more."""
    scene = made.Scene.ready()
    check = scene.load()
    scene.revision.requirements.all().delete()
    return scene, check


def test_the_assembly_loaded_last_proposes_itself_with_its_figures(loaded):
    scene, _ = loaded

    offer = last_loaded(scene.revision, made.TOOL)

    figures = offer.figures
    assert (figures.kind, figures.diameter_um, figures.hand) == ("compression", 12_000, "right")
    assert (figures.length_rule, figures.gauge_length_um) == ("window", made.GAUGE_LENGTH_UM)
    assert (figures.diameter_tolerance_um, figures.gauge_tolerance_um) == (50, 1_000)
    assert offer.preferred == scene.assembly
    assert offer.words.startswith(f"assembly {scene.assembly.number} r1, loaded ")
    assert last_loaded(scene.revision, made.TOOL + 1) is None


def test_the_next_revision_takes_it_where_the_comment_agrees(loaded):
    scene, _ = loaded

    name = scene.revision.program.name
    row = row_of(made.revision(name, "B", edited(("X100", "X200"))))

    assert row.proposed_from.startswith(f"assembly {scene.assembly.number} r1")
    assert (row.preferred, row.is_confirmed) == (scene.assembly, False)


@pytest.mark.parametrize("words", ["COMPRESSION SPIRAL D8.0", "DRILL D12.0"])
def test_it_is_not_proposed_where_the_program_now_says_something_else(loaded, words):
    scene, _ = loaded

    name = scene.revision.program.name
    row = row_of(made.revision(name, "B", edited(("COMPRESSION SPIRAL D12.0", words))))

    assert row.preferred is None
    assert row.proposed_from == "a comment of the program"


def test_what_was_refused_proposes_nothing():
    scene = made.Scene.ready()
    scene.refuse("dull")

    assert last_loaded(scene.revision, made.TOOL) is None


def test_a_retired_assembly_is_no_longer_listed(loaded):
    scene, _ = loaded
    scene.assembly.state = "retired"
    scene.assembly.save()

    offer = last_loaded(scene.revision, made.TOOL)

    assert (offer.preferred, offer.figures.kind) == (None, "compression")


@pytest.mark.parametrize(
    ("measured_um", "proposed_um"),
    [(12_050, 12_000), (11_950, 12_000), (11_949, 11_949), (12_051, 12_051)],
)
def test_a_sharpened_cutter_proposes_what_was_measured(measured_um, proposed_um):
    assembly = made.released(None, "seen", diameter=measured_um)
    here = made.machine()
    scene = made.Scene(assembly, made.label_of(assembly), here, made.revision())
    made.confirm(scene.revision, diameter_um=measured_um)
    made.approve(scene.revision, here)
    scene.load(seen_word=scene.word(), reason="agreed")

    assert last_loaded(scene.revision, made.TOOL).figures.diameter_um == proposed_um


@pytest.mark.parametrize(("touches_off", "rule"), [(False, "not_stated"), (True, "touch_off")])
def test_without_a_measured_length_only_touching_off_says_something(monkeypatch, touches_off, rule):
    scene = made.Scene.ready()
    scene.load()
    Machine.objects.update(touches_off_every_load=touches_off)
    stack = proposals.stack_of

    def unmeasured(build):
        found = stack(build)
        return replace(found, figures=replace(found.figures, gauge_length_um=None))

    monkeypatch.setattr(proposals, "stack_of", unmeasured)

    figures = last_loaded(scene.revision, made.TOOL).figures

    assert (figures.length_rule, figures.gauge_length_um) == (rule, None)


def test_of_several_revisions_the_one_before_is_asked():
    confirmed()
    middle = next_one(("S18000", "S16000"), label="B")
    made.confirm(middle, kind="spiral_up")

    new = row_of(next_one(("S18000", "S16000"), ("X100", "X200"), label="C"))

    assert new.kind == "spiral_up"
    assert new.is_confirmed
    assert ProgramRevision.objects.count() == 3
