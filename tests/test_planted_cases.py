"""The faults planted in the example shop, and what the check answers through the real actions.

Nothing here is given to the rules by hand: labels were printed, programs read, assemblies built
and measured by the loader, and each verdict is the one a phone would show.
"""

from uuid import uuid4

import pytest

from assemblies.actions.build import make_build, preview, release, set_purpose
from assemblies.actions.parts import put_part, take_out
from assemblies.actions.spindle import Answer, record_decision
from assemblies.models import Decision, Machine
from assemblies.rules.verdict.judge import AcceptedBy, Word
from crib.actions.buying import reorder_rows
from crib.models import Item, Person, Piece
from crib.rules.finding import Level
from crib.rules.refusal import Refused
from crib.rules.reorder import show_changes
from labels.actions.print_label import print_label
from labels.models import Label
from tests.example import (
    assembly,
    codes,
    example_shop,  # noqa: F401
    found,
    label_of,
    numbers,
    revision,
    scan,
    typed,
)

pytestmark = pytest.mark.usefixtures("example_shop", "db")


def ines():
    return Person.objects.get(username="ines")


# ---------------------------------------------------------------- what fits
@pytest.mark.parametrize(
    ("number", "label_revision", "machine", "program", "tool_number"),
    [
        (1041, 2, "R2", "HM-0412 C", 1),
        (1043, 3, "R2", "HM-0412 C", 3),
        (1046, 1, "R1", "HM-0377 B", 4),
        (1052, 1, "M1", "HM-0520 B", 4),
        (1053, 1, "M1", "HM-0520 B", 5),
        (1054, 1, "M1", "HM-0520 B", 1),
    ],
)
@pytest.mark.parametrize("chosen", [True, False])
def test_f1_the_right_tool_matches_and_names_its_number(
    number, label_revision, machine, program, tool_number, chosen
):
    asked = tool_number if chosen else None
    checked = scan(number, label_revision, machine, program, asked)
    assert codes(checked) == []
    assert checked.verdict.word is Word.MATCH
    assert checked.verdict.tool_number == tool_number
    assert checked.verdict.meets == (tool_number,)
    assert checked.verdict.fully_known


# ---------------------------------------------------------------- at the spindle
def test_f2_half_an_inch_is_not_twelve_millimetres():
    checked = scan(1042, 1, "R2", "HM-0412 C", 1)
    assert checked.verdict.word is Word.STOP
    assert codes(checked) == ["program.diameter_differs", "program.length_differs"]
    assert numbers(checked, "program.diameter_differs") == (12.7, 12.0, "mm")
    assert numbers(checked, "program.length_differs") == (97.0, 95.0, "mm")
    assert found(checked, "program.kind_agrees").level is Level.PASS
    assert "1041" in found(checked, "program.diameter_differs").remedy


def test_f3_the_tag_of_the_revision_before_is_void_and_says_which_is_live():
    checked = scan(1043, 2, "R2", "HM-0412 C", 3)
    assert checked.verdict.word is Word.STOP
    assert codes(checked) == ["label.void_rebuilt"]
    assert numbers(checked, "label.void_rebuilt")[:2] == (2, 3)
    assert checked.verdict.can_accept_by is AcceptedBy.NOBODY


def test_f3_the_void_tag_was_really_printed_and_is_another_code_than_the_live_one():
    codes_printed = Label.objects.filter(build__assembly__number=1043, print_count=1)
    assert codes_printed.values("code").distinct().count() == 3


def test_f4_a_worn_collet_and_its_runout_are_two_checks():
    checked = scan(1044, 1, "R1", "HM-0377 B", 5)
    assert checked.verdict.word is Word.CHECK
    assert codes(checked) == ["collet.hours_over", "runout.over"]
    assert numbers(checked, "collet.hours_over") == (640, 500, "h")
    assert numbers(checked, "runout.over") == (0.028, 0.02, "mm")
    assert checked.verdict.can_accept_by is AcceptedBy.OPERATOR


def test_f4_is_loaded_with_a_reason_and_the_number_shown_and_kept():
    tolly = Person.objects.get(username="tolly")
    label = label_of(1044, 1)

    def load(reason):
        return record_decision(
            by=tolly,
            submission=uuid4(),
            assembly=assembly(1044),
            label=label,
            machine=Machine.objects.get(mark="R1"),
            revision=revision("HM-0377 B"),
            tool_number=5,
            answer=Answer(decision=Decision.LOADED, reason=reason, shown_number=5),
        )

    with pytest.raises(Refused) as refused:
        load("")
    assert refused.value.code == "check.reason"
    load("trial")
    row = assembly(1044).checks.get()
    assert (row.verdict, row.decision, row.shown_number, row.by) == ("check", "loaded", 5, tolly)
    assert [f["code"] for f in row.findings][:2] == ["collet.hours_over", "runout.over"]


def test_f5_the_diameter_stops_it_and_the_accepted_collet_is_listed_below():
    checked = scan(1045, 1, "R1", "HM-0377 B", 5)
    assert checked.verdict.word is Word.STOP
    assert codes(checked) == ["program.diameter_differs", "collet.closed_far"]
    assert numbers(checked, "program.diameter_differs") == (6.35, 6.0, "mm")
    assert numbers(checked, "collet.closed_far") == (0.65, 0.5, "mm")
    assert found(checked, "collet.closed_far").level is Level.CHECK


def test_f5_was_accepted_by_wyn_at_night_with_the_right_collet_in_the_drawer():
    build = assembly(1045).current_build
    assert build.accepted_by.username == "wyn"
    assert build.accepted_reason
    right = Piece.objects.get(mark="C-16")
    assert (right.place, right.condition) == (right.item.home_place, "in_service")


def test_f7_the_old_revision_runs_the_large_cutter_too_fast():
    checked = scan(1046, 1, "R1", "HM-0377 A", 4)
    assert checked.verdict.word is Word.STOP
    assert codes(checked) == [
        "speed.over_limit",
        "program.not_approved",
        "program.length_not_stated",
        "program.no_length_offset",
    ]
    assert numbers(checked, "speed.over_limit") == (16000, 12000, "1/min")
    # pi x 80 mm x 16000 1/min = 67.0 m/s
    assert "rim 67 m/s" in found(checked, "speed.over_limit").text
    assert checked.facts.program.revision == "A"
    assert checked.facts.program.approved_revision == "B"
    assert checked.verdict.can_accept_by is AcceptedBy.NOBODY


def test_f8_left_out_too_long_stops_twice_and_shows_the_short_grip():
    checked = scan(1047, 2, "R1", "HM-0377 B", 6)
    assert checked.verdict.word is Word.STOP
    assert codes(checked) == [
        "program.length_differs",
        "program.stickout_far_too_long",
        "grip.below_advice",
    ]
    assert numbers(checked, "program.length_differs") == (114.0, 97.0, "mm")
    assert numbers(checked, "program.stickout_far_too_long") == (64.0, 50.0, "mm")
    # 28 of 40 mm is 70 % of the collet; 80 % is advised.
    assert numbers(checked, "grip.below_advice") == (28.0, 32.0, "mm")
    assert found(checked, "grip.below_advice").level is Level.CHECK


def test_f8_the_tag_of_its_short_revision_is_void_too():
    assert "label.void_rebuilt" in codes(scan(1047, 1, "R1", "HM-0377 B", 6))


def test_f9_not_released_without_a_stud_in_a_collet_closed_to_its_end():
    checked = typed(1048, "R2", "HM-0412 C", 4)
    assert checked.verdict.word is Word.STOP
    assert codes(checked) == [
        "assembly.not_released",
        "machine.stud_missing",
        "label.found_by_number",
        "collet.closed_far",
    ]
    assert numbers(checked, "collet.closed_far") == (1.0, 0.5, "mm")
    assert checked.verdict.can_accept_by is AcceptedBy.NOBODY


def test_f9_gets_neither_release_nor_label():
    with pytest.raises(Refused) as refused:
        release(by=ines(), submission=uuid4(), assembly=assembly(1048), reason="job waiting")
    assert (refused.value.code, refused.value.findings[0].code) == ("release.stop", "stud.missing")
    with pytest.raises(Refused) as refused:
        print_label(by=ines(), submission=uuid4(), assembly=assembly(1048))
    assert refused.value.code == "label.not_released"


@pytest.mark.parametrize("tool_number", [4, None])
def test_f10_the_same_taper_with_the_other_stud_stops_first(tool_number):
    checked = scan(1046, 1, "R2", "HM-0377 B", tool_number)
    assert checked.verdict.word is Word.STOP
    assert codes(checked) == ["machine.stud_differs", "program.not_approved"]
    assert found(checked, "machine.interface_agrees").level is Level.PASS
    assert (checked.facts.assembly.stud_pattern, checked.facts.machine.stud_pattern) == ("A", "B")
    assert checked.facts.program.approved_revision is None
    assert checked.verdict.can_accept_by is AcceptedBy.NOBODY


def test_f10_stops_without_any_program():
    checked = scan(1046, 1, "R2")
    assert checked.verdict.word is Word.STOP
    assert codes(checked)[0] == "machine.stud_differs"


def test_f11_a_resharpened_cutter_says_what_to_enter():
    checked = scan(1051, 4, "M1", "HM-0520 B", 2)
    assert checked.verdict.word is Word.CHECK
    assert codes(checked) == ["program.enter_diameter"]
    assert numbers(checked, "program.enter_diameter") == (9.86, 10.0, "mm")


def test_f12_swapped_labels_are_seen_by_eye_and_both_assemblies_wait():
    """The label of 1044 hangs on the holder engraved H-03, which is that of 1045."""
    scanned, there = assembly(1044), assembly(1045)
    marks = [held_by(row) for row in (scanned, there)]
    assert marks == ["H-07", "H-03"]

    done = record_decision(
        by=Person.objects.get(username="tolly"),
        submission=uuid4(),
        assembly=scanned,
        label=label_of(1044, 1),
        machine=Machine.objects.get(mark="R1"),
        revision=revision("HM-0377 B"),
        tool_number=5,
        answer=Answer(decision=Decision.REFUSED, reason="mark_differs", mark_there="H-03"),
    )

    row = scanned.checks.get(pk=done.result)
    assert (row.verdict, row.hard_stop, row.decision) == ("stop", True, "refused")
    assert row.findings[0]["code"] == "label.holder_mark_differs"
    assert [assembly(number).state for number in (1044, 1045)] == ["quarantined"] * 2
    for number, at, tool in ((1044, "R1", 5), (1045, "R1", 5)):
        checked = scan(number, 1, at, "HM-0377 B", tool)
        assert checked.verdict.word is Word.STOP
        assert "assembly.quarantined" in codes(checked)
        assert checked.verdict.can_accept_by is AcceptedBy.NOBODY


def held_by(row):
    return row.current_build.parts.get(role="holder").piece.mark


def test_f13_the_wrong_taper_is_listed_first():
    checked = scan(1041, 2, "M1", "HM-0520 B", 2)
    assert checked.verdict.word is Word.STOP
    assert codes(checked) == [
        "machine.interface_differs",
        "program.kind_differs",
        "program.diameter_differs",
        "program.length_differs",
        "program.stickout_far_too_long",
    ]
    facts = checked.facts
    assert (facts.assembly.interface, facts.machine.interface) == ("ISO 30 router", "HSK-A63")


def test_f15_a_program_known_by_number_only_cannot_be_told_but_its_speed_can():
    checked = scan(1041, 2, "R2", "STICK-15 1", 2)
    assert checked.verdict.word is Word.CANT_TELL
    assert codes(checked) == ["program.number_only"]
    assert numbers(checked, "speed.within_limit") == (15000, 24000, "1/min")
    assert {"machine.interface_agrees", "machine.stud_agrees", "program.approved"} <= {
        finding.code for finding in checked.verdict.findings
    }
    for fact in ("compression spiral", "12.00", "95.0", "24000"):
        assert fact in checked.verdict.identity_text
    assert not checked.verdict.fully_known


def test_f15_without_any_program_it_is_an_identity_card_only():
    checked = scan(1041, 2, "R2")
    assert checked.verdict.word is Word.CANT_TELL
    assert "program.not_chosen" in codes(checked)
    assert "24000" in checked.verdict.identity_text


# ---------------------------------------------------------------- at the bench
def test_f6_a_shank_that_cannot_be_in_its_collet_is_never_built():
    draft = assembly(1049)
    found_here = {f.code: f for f in preview(draft.current_build)}
    too_large = found_here["collet.shank_too_large"]
    assert (too_large.level, too_large.measured, too_large.limit) == (Level.STOP_HARD, 6.35, 6.0)
    assert found_here["stud.not_known"].level is Level.UNKNOWN
    for submission, act in ((uuid4(), make_build), (uuid4(), release)):
        with pytest.raises(Refused) as refused:
            act(by=ines(), submission=submission, assembly=draft, reason="accepted")
        assert refused.value.code in ("build.stop", "release.draft")
    assert assembly(1049).state == "draft"


def test_f6_its_missing_stud_would_stop_the_release_by_itself():
    stops = [f for f in preview(assembly(1049).current_build, "release") if f.level.is_stop]
    assert {"collet.shank_too_large", "stud.not_known"} <= {f.code for f in stops}


def test_f14_a_left_hand_cutter_is_refused_while_it_is_built_for_a_right_hand_program():
    draft, by = assembly(1049), ines()
    for role in ("cutter", "collet"):
        take_out(by=by, submission=uuid4(), assembly=draft, role=role)
    collet = Piece.objects.select_related("item", "place").get(mark="C-17")
    put_part(by=by, submission=uuid4(), assembly=draft, item=collet.item, piece=collet)
    left = Item.objects.get(code="K-15")
    put_part(by=by, submission=uuid4(), assembly=draft, item=left)
    wanted = revision("HM-0412 C").requirements.get(tool_number=4)
    set_purpose(by=by, submission=uuid4(), assembly=draft, meant_for=wanted)

    stops = [f.code for f in preview(assembly(1049).current_build) if f.level.is_stop]
    assert "rotation.program_differs" in stops
    with pytest.raises(Refused) as refused:
        make_build(by=by, submission=uuid4(), assembly=assembly(1049), reason="accepted")
    assert refused.value.code == "build.stop"
    assert "rotation.program_differs" in [f.code for f in refused.value.findings]


# ---------------------------------------------------------------- at the buyer's desk
def test_f16_the_reorder_list_follows_from_what_is_there():
    rows = reorder_rows()
    assert [(row.item.code, row.suggestion.order, row.suggestion.packs) for row in rows] == [
        ("I-1", 20, 2),
        ("ER25-0600", 2, 2),
        ("ER25-1200", 1, 1),
        ("ER32-1200", 1, 1),
        ("STUD-B", 2, 2),
        ("I-3", 0, 0),
    ]


def test_f16_six_square_knives_are_one_change_and_two_over():
    row = reorder_rows()[0]
    assert (row.line.usable, row.line.pieces_per_change) == (6, 4)
    assert show_changes(row.line.usable, row.line.pieces_per_change) == "6 pcs = 1 change (+2)"


def test_f16_the_profile_knives_are_at_their_minimum_and_covered_by_an_order():
    row = reorder_rows()[-1]
    assert (row.item.code, row.line.usable, row.line.minimum) == ("I-3", 4, 4)
    assert row.line.on_order == 10
    assert row.suggestion.covered
    assert row.due_on is not None
