"""The verdict from the records, what may be decided on it, and many tries at a wrong MATCH."""

from copy import deepcopy
from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from assemblies.actions import build, parts, spindle
from assemblies.models import (
    AssemblyState,
    Build,
    Decision,
    Machine,
    Measurement,
    SpindleCheck,
    Station,
    ToolRequirement,
)
from assemblies.rules.verdict.facts import FoundBy, LabelFacts
from crib.actions import items, pieces
from crib.models import Act, Condition, InsertFacts, ItemKind, Piece, StudState, Use
from crib.rules.refusal import NotAllowed
from labels.actions.print_label import cancel_label
from labels.actions.resolve_code import label_facts
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db

BY_NUMBER = LabelFacts(found_by=FoundBy.NUMBER)
BY_MARK = LabelFacts(found_by=FoundBy.HOLDER_MARK)
TWO_ALIKE = made.PROGRAM.replace("M30", "T6 M6\nS12000 M3\nG43 H6 Z5\nG1 X1 F900\nM5\nM30")


@pytest.fixture(scope="module")
def standing_scene(module_rows):
    return made.Scene.ready()


@pytest.fixture
def scene(standing_scene):
    return deepcopy(standing_scene)


def rebuild(assembly):
    build.start_rebuild(
        by=made.toolroom(), submission=uuid4(), assembly=assembly, reason="cutter dull"
    )


def retire(assembly):
    parts.retire(by=made.toolroom(), submission=uuid4(), assembly=assembly, reason="worn out")


def quarantine(assembly):
    build.quarantine(by=made.operator(), submission=uuid4(), assembly=assembly, note="dropped")


def make_again(assembly, **values):
    """Figures, build, readings and release of a draft."""
    made.set_figures(assembly)
    made.make(assembly)
    usual = {"gauge_length": 97_000, "diameter": 12_000, "runout": 8}
    made.record(assembly, **usual | values)
    made.let_go(assembly)


def edit_item(item, **facts):
    """Change the facts of an item on its page."""
    item.refresh_from_db()
    row = item.facts
    for field, value in facts.items():
        setattr(row, field, value)
    items.save_item(by=made.toolroom(), submission=uuid4(), item=item, facts=row)


def another(scene, **values):
    """A second released assembly at the same machine, with its label."""
    assembly = made.released(**values)
    label = made.label_of(assembly)
    return made.Scene(assembly, label, scene.machine, scene.revision)


def code(scene, **answer):
    return made.code_of(scene.decide, **answer)


# ---- the verdict
def test_everything_in_order_is_a_match_for_the_one_tool_it_meets(scene):
    verdict = scene.checked().verdict

    assert (verdict.word, verdict.tool_number, verdict.fully_known) == ("MATCH", 5, True)


def test_a_check_writes_nothing(scene):
    before = made.written()

    scene.checked()
    scene.checked(5)
    scene.checked(6)

    assert made.written() == before


@pytest.mark.parametrize("label", [BY_NUMBER, BY_MARK])
def test_what_was_found_without_its_label_is_never_a_match(scene, label):
    assert scene.word(label=label) == "check"
    row = scene.load(label=label, reason="here_now")
    assert (row.verdict, row.found_by) == ("check", label.found_by)
    assert not row.fully_known


def test_without_a_machine_or_a_program_nothing_can_be_told(scene):
    scene.revision = None
    assert scene.codes() >= {"program.not_chosen"}
    assert scene.word() == "cant_tell"

    scene.machine = None
    assert scene.word() == "cant_tell"


def test_a_tool_number_that_the_program_does_not_call_is_a_stop(scene):
    assert scene.word(tool_number=6) == "stop"
    assert "program.tool_not_called" in scene.codes(6)


def test_of_two_tools_that_are_met_the_operator_names_one(scene):
    scene.revision = made.revision(text=TWO_ALIKE)
    for tool_number in (5, 6):
        made.confirm(scene.revision, tool_number)
    made.approve(scene.revision, scene.machine)

    assert scene.checked().verdict.tool_choice_needed
    assert code(scene, reason="agreed") == "check.not_acceptable"
    assert scene.load(tool_number=6, shown_number=6).verdict == "match"


# ---- what is decided
def test_a_load_keeps_what_was_known(scene):
    by = made.operator()
    row = scene.load(by=by)

    assert (row.verdict, row.decision, row.fully_known) == ("match", "loaded", True)
    assert (row.machine, row.revision, row.tool_number) == (scene.machine, scene.revision, 5)
    assert (row.assembly, row.build) == (scene.assembly, scene.label.build)
    assert (row.gauge_length_um, row.diameter_um, row.shown_number) == (97_000, 12_000, 5)
    assert (row.label_code, row.found_by, row.by) == (scene.label.code, "label", by)
    assert "machine.stud_agrees" in {f["code"] for f in row.findings}
    assert spindle.frozen_findings(row)[0].level == "note"


@pytest.mark.parametrize(
    ("shown", "refused"), [(None, "control.number_not_compared"), (6, "control.number_differs")]
)
def test_the_number_on_the_control_has_to_be_the_tool_number(scene, shown, refused):
    assert code(scene, shown_number=shown) == refused


def test_a_wrong_number_on_the_control_does_not_hinder_a_refusal(scene):
    assert scene.refuse("dull", shown_number=6).decision == "refused"


@pytest.mark.parametrize("roles", [("operator",), ("toolroom",), ("lead",), ("lead", "admin")])
@pytest.mark.parametrize("reason", ["", "trial", "record_wrong"])
def test_a_hard_stop_is_loaded_by_nobody(scene, roles, reason):
    quarantine(scene.assembly)

    assert code(scene, by=makers.person(*roles), reason=reason) == "check.not_acceptable"


@pytest.mark.parametrize("roles", [("operator",), ("toolroom",), ("lead",)])
def test_a_soft_stop_is_loaded_by_nobody_without_a_name_and_a_pin(roles):
    scene = made.Scene.ready(gauge_length=97_400)
    made.confirm(scene.revision, gauge_tolerance_um=399)
    made.approve(scene.revision, scene.machine)

    assert scene.codes() == {"program.length_differs"}
    assert code(scene, by=makers.person(*roles), reason="trial") == "check.not_acceptable"


@pytest.mark.parametrize("reason", ["", "because", "dull"])
def test_a_check_needs_one_of_the_reasons(scene, reason):
    scene.machine.override_ceiling_percent = 150
    scene.machine.save()

    assert scene.codes() == {"speed.override_over_limit"}
    assert code(scene, reason=reason) == "check.reason"


def test_a_check_accepted_with_a_reason_is_fully_known(scene):
    scene.machine.override_ceiling_percent = 150
    scene.machine.save()

    row = scene.load(reason="agreed", reason_text=" stays at 100 % ")

    assert (row.verdict, row.fully_known) == ("check", True)
    assert (row.reason, row.reason_text) == ("agreed", "stays at 100 %")


def test_cant_tell_needs_a_reason_and_is_stored_as_not_fully_known(scene):
    scene.revision = None

    assert code(scene, shown_number=None) == "check.reason"
    row = scene.load(shown_number=None, reason="text_agrees")

    assert (row.verdict, row.fully_known, row.tool_number) == ("cant_tell", False, None)


def test_a_decision_is_loaded_or_refused(scene):
    assert made.code_of(scene.decide, "lent", reason="dull") == "check.decision"


def test_a_reason_given_with_a_match_is_one_of_the_list(scene):
    assert code(scene, reason="because") == "check.reason"
    assert scene.load(reason="touched_off").reason == "touched_off"


@pytest.mark.parametrize("reason", ["", "trial"])
def test_a_refusal_needs_one_of_its_own_reasons(scene, reason):
    assert made.code_of(scene.refuse, reason) == "check.reason"


@pytest.mark.parametrize("reason", sorted(spindle.REFUSE_REASONS))
def test_some_refusals_take_the_assembly_out_of_use(scene, reason):
    scene.refuse(reason)

    state = made.again(scene.assembly).state
    out = reason in ("damaged", "mark_differs", "slipped")
    assert state == (AssemblyState.QUARANTINED if out else AssemblyState.RELEASED)
    assert (scene.word() == "stop") is out


@pytest.mark.parametrize("end", [retire, quarantine])
def test_what_is_out_of_use_can_still_be_refused(scene, end):
    end(scene.assembly)
    state = made.again(scene.assembly)

    scene.refuse("damaged")

    after = made.again(scene.assembly)
    assert (after.state, after.state_note) == (state.state, state.state_note)


def test_a_draft_refused_as_damaged_is_not_built_before_a_new_start(scene):
    rebuild(scene.assembly)
    scene.refuse("damaged")

    assert made.code_of(made.make, scene.assembly, made.REASON) == "build.quarantined"


@pytest.mark.parametrize(
    ("change", "word"),
    [
        (lambda scene: quarantine(made.again(scene.assembly)), "match"),
        (lambda scene: made.withdraw(scene.revision, scene.machine), "match"),
        (lambda scene: made.record(made.again(scene.assembly), gauge_length=99_000), "match"),
    ],
)
def test_a_verdict_that_changed_meanwhile_is_read_again(scene, change, word):
    assert scene.word() == word
    change(scene)

    assert code(scene, seen_word=word) == "check.changed"
    assert made.code_of(scene.refuse, "dull", seen_word=word) == "check.changed"


@pytest.mark.parametrize(
    "change",
    [
        lambda scene: made.record(made.again(scene.assembly), gauge_length=97_010),
        lambda scene: make_again_after_rebuild(scene),
    ],
)
def test_the_same_word_about_something_else_is_read_again(change):
    scene = made.Scene.ready()
    seen = scene.checked().fingerprint
    change(scene)

    assert code(scene, seen_word=scene.word(), seen=seen) == "check.changed"


def make_again_after_rebuild(scene):
    rebuild(scene.assembly)
    make_again(scene.assembly)
    scene.label = made.label_of(scene.assembly)


def test_the_same_verdict_about_the_same_things_is_the_one_seen(scene):
    seen = scene.checked()

    assert scene.load(seen_word=seen.word_key, seen=seen.fingerprint).verdict == "match"


@pytest.mark.parametrize("roles", [(), ("admin",), ("programmer",), ("buyer",)])
def test_who_does_not_work_at_machines_decides_nothing(scene, roles):
    for decision in Decision:
        with pytest.raises(NotAllowed):
            scene.decide(decision, by=makers.person(*roles), reason="dull")

    assert not SpindleCheck.objects.exists()


def test_a_decision_sent_twice_is_one(scene):
    by, once = made.operator(), uuid4()

    first, again = (scene.decide(by=by, submission=once) for _ in range(2))

    assert (first.repeated, again.repeated) == (False, True)
    assert first.result == again.result
    assert SpindleCheck.objects.count() == 1


def test_a_refusal_that_quarantines_sent_twice_is_one(scene):
    by, once = made.operator(), uuid4()
    ask = {"by": by, "submission": once, "reason": "damaged", "seen_word": "match"}

    scene.decide(Decision.REFUSED, **ask)
    assert scene.decide(Decision.REFUSED, **ask).repeated


def test_a_station_is_one_row_for_a_session(scene):
    by = makers.person("operator")
    for revision in (None, scene.revision):
        spindle.choose_station(by=by, session_key="abc", machine=scene.machine, revision=revision)

    assert Station.objects.get().revision == scene.revision
    with pytest.raises(NotAllowed):
        spindle.choose_station(by=None, session_key="x", machine=scene.machine, revision=None)


# ---- the label
def test_the_label_of_an_older_revision_is_void(scene):
    make_again_after_rebuild(scene)
    number = scene.assembly.number
    old = LabelFacts(
        found_by=FoundBy.LABEL, assembly_number=number, label_revision=1, cancelled=False
    )

    assert scene.word() == "match"
    assert scene.codes(label=old) == {"label.void_rebuilt"}
    assert code(scene, label=old, reason="record_wrong") == "check.not_acceptable"


@pytest.mark.parametrize(
    ("end", "codes"),
    [
        (rebuild, {"label.void_rebuilt", "assembly.not_released"}),
        (retire, {"assembly.retired"}),
        (quarantine, {"assembly.quarantined"}),
    ],
)
def test_a_label_left_behind_is_a_stop_with_its_reason(scene, end, codes):
    end(scene.assembly)

    assert scene.word() == "stop"
    assert codes <= scene.codes()


def test_a_label_of_a_revision_in_the_making_names_the_next_one(scene):
    rebuild(scene.assembly)

    void = next(f for f in scene.checked().verdict.findings if f.code == "label.void_rebuilt")
    assert (void.measured, void.limit) == (1, 2)


def test_a_cancelled_label_is_a_stop_and_a_new_revision_is_not(scene):
    cancel_label(
        by=made.toolroom(), submission=uuid4(), assembly=scene.assembly, reason="lost in the hall"
    )

    assert scene.codes() == {"label.void_cancelled"}
    make_again_after_rebuild(scene)
    assert scene.word() == "match"


# ---- the program
def test_only_the_revision_that_stands_on_this_machine_is_a_match(scene):
    first = scene.revision
    second = made.revision(first.program.name, "B", made.PROGRAM.replace("X100", "X200"))
    made.confirm(second)
    assert scene.word() == "match"

    made.approve(second, scene.machine)
    assert scene.codes() == {"program.not_approved"}
    made.withdraw(second, scene.machine)
    # Nobody said that the older one may run again.
    assert scene.codes() == {"program.not_approved"}
    assert scene.checked().facts.program.approved_revision is None
    made.approve(first, scene.machine)
    assert scene.word() == "match"
    made.withdraw(first, scene.machine)
    assert scene.codes() == {"program.withdrawn"}


def test_an_approval_holds_on_its_own_machine_only(scene):
    scene.machine = made.machine()

    assert scene.codes() == {"program.not_approved"}


@pytest.mark.parametrize(
    ("old", "new", "codes"),
    [
        ("X100 F4000", "IF [#1 GT 0] GOTO 10", {"program.not_read_whole"}),
        ("S18000 M3", "S#100 M3", {"program.not_read_whole", "speed.not_in_program"}),
        ("S18000 M3", "S18000", {"program.turn_not_known"}),
        ("S18000 M3", "S18000 M4", {"program.hand_differs"}),
        ("S18000 M3", "S24000.4 M3", {"speed.over_limit"}),
    ],
)
def test_what_the_reading_leaves_open_or_forbids_is_no_match(scene, old, new, codes):
    scene.revision = made.revision(text=made.PROGRAM.replace(old, new))
    made.confirm(scene.revision)
    made.approve(scene.revision, scene.machine)

    assert codes <= scene.codes()
    assert scene.word() in ("cant_tell", "stop")


def test_a_tool_number_that_nobody_confirmed_cannot_be_told(scene):
    scene.revision = made.revision()
    made.approve(scene.revision, scene.machine, "first part under watch")

    assert scene.word() == "cant_tell"
    assert "program.requirement_not_confirmed" in scene.codes()


@pytest.mark.parametrize(
    ("changed", "codes"),
    [
        ({"kind": "spiral_down"}, {"program.kind_differs"}),
        ({"diameter_um": 12_700}, {"program.diameter_differs"}),
        ({"gauge_length_um": 98_001}, {"program.length_differs"}),
        ({"length_rule": "not_stated"}, {"program.length_not_stated"}),
        ({"corner_radius_um": 2_000}, {"program.radius_not_known"}),
        ({"hand": "left"}, {"program.wanted_hand_differs"}),
        ({"stickout_min_um": 47_001}, {"program.stickout_short"}),
        ({"stickout_max_um": 46_999}, {"program.stickout_long"}),
        ({"flute_min_um": 42_001}, {"program.flute_short"}),
    ],
)
def test_a_requirement_confirmed_and_approved_anew_counts_at_once(scene, changed, codes):
    made.confirm(scene.revision, **changed)
    assert "program.withdrawn" in scene.codes()
    made.approve(scene.revision, scene.machine)

    assert scene.codes() == codes


def test_the_same_figures_confirmed_again_leave_the_approval_standing(scene):
    made.confirm(scene.revision)

    assert scene.word() == "match"


def test_an_assembly_that_is_not_the_listed_one_is_judged_by_its_figures(scene):
    row = ToolRequirement.objects.get(revision=scene.revision)
    row.preferred = another(scene).assembly
    row.save()

    assert scene.word() == "match"
    assert "program.other_assembly" in {f.code for f in scene.checked().verdict.findings}


# ---- values in the control, and where it was last
def test_the_first_load_and_the_same_one_again_are_a_match(scene):
    assert [scene.load().verdict for _ in range(2)] == ["match", "match"]


@pytest.mark.parametrize("values", [{"gauge_length": 97_010}, {"diameter": 12_010}])
def test_other_values_than_those_entered_last_are_a_check(scene, values):
    scene.load()
    other = another(scene, **values)

    assert other.codes() == {"control.values_changed"}
    assert other.codes(5) == {"control.values_changed"}
    other.load(reason="values_entered")
    assert other.word() == "match"
    assert scene.codes() == {"control.values_changed"}


def test_a_refused_assembly_entered_nothing(scene):
    scene.load()
    another(scene, gauge_length=97_010).refuse("dull")

    assert scene.word() == "match"


def test_values_entered_for_the_same_t_of_another_program_are_in_the_control_too(scene):
    scene.load()
    other = another(scene, gauge_length=97_010)
    other.revision = made.approved(scene.machine)
    assert other.codes() == {"control.values_changed"}
    other.load(reason="values_entered")

    assert scene.codes() == {"control.values_changed"}


def test_values_entered_at_another_machine_say_nothing(scene):
    other = another(scene, gauge_length=97_010)
    other.machine = made.machine()
    other.revision = made.approved(other.machine)
    other.load()

    assert scene.word() == "match"


def test_an_assembly_seen_elsewhere_just_now_is_a_check(scene):
    here, there = (scene.machine, scene.revision), made.machine()
    scene.load()
    made.approve(scene.revision, there)
    scene.machine = there

    assert scene.codes() == {"control.seen_elsewhere"}
    scene.load(reason="here_now")
    assert scene.word() == "match"
    scene.machine, scene.revision = here
    assert scene.codes() == {"control.seen_elsewhere"}


# ---- tries at a wrong MATCH: something changed after the release
@pytest.mark.parametrize("role", ["holder", "collet", "cutter"])
@pytest.mark.parametrize("condition", [c for c in Condition if c != Condition.IN_SERVICE])
def test_a_built_in_piece_set_aside_stops_the_assembly(role, condition):
    some = made.some_parts()
    scene = made.Scene.ready(some)
    piece = Piece.objects.get(pk=getattr(some, role).pk)

    pieces.set_condition(
        by=made.toolroom(), submission=uuid4(), piece=piece, condition=condition, note="cracked"
    )

    assert scene.codes() == {"condition.out_of_use"}
    assert piece.place == scene.assembly.contents


def test_the_stud_of_a_built_in_holder_is_not_changed_on_its_own_page():
    some = made.some_parts()
    scene = made.Scene.ready(some)
    some.holder.refresh_from_db()

    refused = made.code_of(
        pieces.set_stud,
        by=made.toolroom(),
        submission=uuid4(),
        piece=some.holder,
        stud_state=StudState.FITTED,
        stud_pattern="B",
    )

    assert refused == "piece.built_in"
    assert scene.word() == "match"


@pytest.mark.parametrize(
    ("stud", "code"),
    [
        ({"stud_state": StudState.FITTED, "stud_pattern": "B"}, "machine.stud_differs"),
        ({"stud_state": StudState.FITTED, "stud_pattern": "A1"}, "machine.stud_differs"),
        ({"stud_state": StudState.UNKNOWN, "stud_pattern": ""}, "machine.stud_not_recorded"),
        ({"stud_state": StudState.NONE_FITTED, "stud_pattern": ""}, "machine.stud_missing"),
        ({"stud_state": StudState.NOT_USED, "stud_pattern": ""}, "machine.stud_missing"),
    ],
)
def test_a_stud_changed_behind_the_release_is_seen(stud, code):
    some = made.some_parts()
    scene = made.Scene.ready(some)

    Piece.objects.filter(pk=some.holder.pk).update(**stud)

    assert code in scene.codes()
    assert scene.word() == "stop"


@pytest.mark.parametrize(
    ("role", "facts", "words"),
    [
        ("holder", {"interface": "SK30"}, {"stop"}),
        ("holder", {"collet_series": "ER40"}, {"stop"}),
        ("holder", {"nose_thread": "M50x1.5"}, {"stop"}),
        ("holder", {"gauge_length_um": 60_000}, {"check"}),
        ("holder", {"n_max_rpm": 17_999}, {"stop"}),
        ("holder", {"n_max_rpm": None}, {"check", "cant_tell"}),
        ("collet", {"clamp_max_um": 10_000, "clamp_min_um": 9_000}, {"stop"}),
        ("collet", {"clamp_max_um": 16_000, "clamp_min_um": 15_000}, {"stop"}),
        ("collet", {"series": "ER40"}, {"stop"}),
        ("nut", {"series": "ER40", "thread": "M50x1.5"}, {"stop"}),
        ("nut", {"thread": ""}, {"cant_tell"}),
        ("nut", {"n_max_rpm": 17_999}, {"stop"}),
        ("nut", {"n_max_rpm": None}, {"check", "cant_tell"}),
        ("nut", {"torque_recommended_mnm": 120_000}, {"check", "stop"}),
        ("cutter", {"kind": "spiral_down"}, {"stop"}),
        ("cutter", {"shank_um": 12_700}, {"stop"}),
        ("cutter", {"plain_shank_um": 30_000}, {"check", "stop"}),
        ("cutter", {"marked_grip_um": 36_000}, {"stop"}),
        ("cutter", {"flute_um": 30_000, "overall_um": 80_000}, {"check", "stop"}),
        ("cutter", {"hand": "left"}, {"stop"}),
        ("cutter", {"hand": ""}, {"cant_tell"}),
        ("cutter", {"n_max_rpm": 17_999}, {"stop"}),
    ],
)
def test_an_item_put_right_after_the_release_is_judged_as_it_is_now(role, facts, words):
    some = made.some_parts()
    scene = made.Scene.ready(some)
    part = getattr(some, role)

    edit_item(part if role == "nut" else part.item, **facts)

    assert scene.word() in words


def test_the_fit_that_was_accepted_at_the_bench_is_told_once():
    some = made.some_parts(collet={"clamp_max_um": 13_000, "clamp_min_um": 12_000})
    scene = made.Scene.ready(some, made.REASON)

    found = [f.code for f in scene.checked().verdict.findings if f.level == "check"]

    assert len(found) == 1
    assert found[0].startswith("collet.")


@pytest.mark.parametrize(
    ("minutes", "codes"),
    [
        (500 * 60, set()),
        (500 * 60 + 1, {"collet.hours_over"}),
        (751 * 60, {"collet.hours_far_over"}),
    ],
)
def test_hours_charged_after_the_release_count(minutes, codes):
    some = made.some_parts()
    scene = made.Scene.ready(some)
    act = Act.objects.create(kind="test", by=made.toolroom())
    Use.objects.create(piece=some.collet, minutes=minutes, basis="by_hand", act=act)

    assert scene.codes() == codes


@pytest.mark.parametrize(
    ("runout", "router", "codes"),
    [
        (30, True, set()),
        (31, True, {"runout.over"}),
        (15, False, set()),
        (16, False, {"runout.over"}),
        (61, True, {"runout.far_over"}),
    ],
)
def test_runout_read_after_the_release_is_held_against_this_machine(scene, runout, router, codes):
    Machine.objects.filter(pk=scene.machine.pk).update(is_router=router)

    made.record(scene.assembly, runout=runout)

    assert scene.codes() == codes


@pytest.mark.parametrize(
    ("length_days", "diameter_days", "codes"),
    [
        (180, 180, set()),
        (181, 0, {"label.measured_long_ago"}),
        (0, 181, {"label.measured_long_ago"}),
        (-1, 0, set()),
    ],
)
def test_the_older_of_length_and_diameter_says_when_to_measure_again(
    length_days, diameter_days, codes
):
    assembly, machine = made.built(), made.machine()
    by = made.toolroom()
    act = Act.objects.create(kind="test", by=by)
    read = {"gauge_length": (97_000, length_days), "diameter": (12_000, diameter_days)}
    for quantity, (value, days) in read.items():
        Measurement.objects.create(
            build=assembly.current_build,
            quantity=quantity,
            value_um=value,
            act=act,
            by=by,
            at=timezone.now() - timedelta(days=days),
        )
    made.record(assembly, runout=8)
    made.let_go(assembly)
    scene = made.Scene(assembly, made.label_of(assembly), machine, made.approved(machine))

    assert scene.codes() == codes


def test_a_reading_carried_over_stays_as_old_as_it_is(scene):
    old = timezone.now() - timedelta(days=181)
    row = Measurement.objects.get(quantity="diameter")
    Measurement.objects.create(
        build=row.build, quantity="corner_radius", value_um=0, act=row.act, by=row.by, at=old
    )

    made.record(scene.assembly, gauge_length=97_100)

    now = Build.objects.get(assembly=scene.assembly, live=True)
    assert now.measurements.get(quantity="corner_radius").at == old


def test_a_rebuild_forgets_the_readings(scene):
    rebuild(scene.assembly)
    made.set_figures(scene.assembly)
    made.make(scene.assembly)

    assert made.code_of(made.let_go, scene.assembly, made.REASON) == "release.not_known"
    assert scene.word() == "stop"


def test_a_cutter_swapped_in_a_rebuild_is_the_one_that_is_judged(scene):
    other = made.some_parts(cutter={"kind": "spiral_down"}).cutter
    rebuild(scene.assembly)
    made.put(scene.assembly, other.item, other)
    make_again(scene.assembly)
    scene.label = made.label_of(scene.assembly)

    assert scene.codes() == {"program.kind_differs"}


def test_parts_of_a_retired_assembly_do_not_revive_its_label():
    some = made.some_parts()
    scene = made.Scene.ready(some)
    retire(scene.assembly)
    for piece in (some.holder, some.collet, some.cutter):
        piece.refresh_from_db()
    other = made.released(some)

    assert scene.codes() == {"assembly.retired"}
    assert scene.label.build.assembly != other


# ---- tries at a wrong MATCH: inserts
def with_inserts(insert_piece=False, seats=1):
    """A released assembly whose cutter has `seats` filled seats; the insert piece when asked."""
    some = made.some_parts(cutter={"seats": seats})
    insert = makers.item(ItemKind.INSERT, home_place=some.drawer)
    InsertFacts.objects.create(item=insert, edges=2)
    piece = makers.piece(insert, some.drawer) if insert_piece else None
    if piece is None:
        makers.stocked(insert, some.drawer, seats)
    assembly = made.drafted(some)
    made.put(assembly, insert, piece)
    make_again(assembly)
    machine = made.machine()
    scene = made.Scene(assembly, made.label_of(assembly), machine, made.approved(machine))
    return scene, some, piece


def test_filled_seats_are_a_match():
    assert with_inserts(seats=4)[0].word() == "match"


def test_a_seat_more_than_inserts_is_a_stop():
    scene, some, _ = with_inserts(seats=2)

    edit_item(some.cutter.item, seats=3)

    assert scene.codes() == {"insert.seat_empty"}


def test_inserts_that_nobody_recorded_cannot_be_told():
    scene = made.Scene.ready(made.some_parts(cutter={"seats": 2}), made.REASON)

    assert scene.codes() == {"insert.seats_not_known"}


def test_a_marked_insert_set_aside_leaves_its_seat_empty():
    scene, _, piece = with_inserts(insert_piece=True)
    assert scene.word() == "match"

    pieces.set_condition(
        by=made.toolroom(),
        submission=uuid4(),
        piece=piece,
        condition=Condition.WORN,
        note="edge broken",
    )

    assert scene.codes() == {"insert.seat_empty"}


# ---- tries at a wrong MATCH: missing figures
def test_a_length_left_out_of_the_release_is_never_a_match():
    scene = made.Scene.ready(reason=made.REASON, gauge_length=None)

    assert scene.word() == "cant_tell"
    assert "program.length_not_known" in scene.codes()


def test_a_runout_left_out_of_the_release_is_told():
    scene = made.Scene.ready(reason=made.REASON, runout=None)

    found = {f.code for f in scene.checked().verdict.findings}
    assert "state.runout_not_measured" in found


def test_a_length_left_out_is_touched_off_where_the_machine_always_does():
    scene = made.Scene.ready(reason=made.REASON, gauge_length=None)
    Machine.objects.filter(pk=scene.machine.pk).update(touches_off_every_load=True)

    assert "program.length_not_known" not in scene.codes()


def test_a_label_is_read_as_it_is_stored_now(scene):
    before = label_facts(scene.label)
    cancel_label(by=made.toolroom(), submission=uuid4(), assembly=scene.assembly, reason="lost")

    assert not before.cancelled
    assert scene.word() == "stop"
