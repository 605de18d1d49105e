"""From the number to the release, quarantine and rebuild: what is refused and what is kept."""

from uuid import uuid4

import pytest

from assemblies.actions import build
from assemblies.models import Assembly, AssemblyState, Build, Machine
from crib.models import Instrument, ItemKind, PlaceKind, PullStudFacts, StudState
from crib.rules.finding import Level
from crib.rules.refusal import NotAllowed
from labels.actions.print_label import print_label
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db

STRANGERS = ["operator", "programmer", "buyer", "lead"]


def quarantine(assembly, note="dropped", role="operator"):
    return build.quarantine(
        by=makers.person(role), submission=uuid4(), assembly=assembly, note=note
    )


def rebuild(assembly, reason="cutter dull", role="toolroom"):
    return build.start_rebuild(
        by=makers.person(role), submission=uuid4(), assembly=assembly, reason=reason
    )


def set_stud(assembly, state, pattern=""):
    return build.set_stud(
        by=made.toolroom(),
        submission=uuid4(),
        assembly=assembly,
        stud_state=state,
        stud_pattern=pattern,
    )


def print_it(assembly):
    return print_label(by=made.toolroom(), submission=uuid4(), assembly=assembly)


def live(assembly):
    return Build.objects.get(assembly=assembly, live=True)


# ---- number
def test_the_first_number_is_1001_and_the_next_one_follows():
    assert [made.started().number for _ in range(3)] == [1001, 1002, 1003]


def test_the_number_of_a_retired_assembly_is_not_given_again():
    first = made.started()
    Assembly.objects.filter(pk=first.pk).update(state=AssemblyState.RETIRED)

    assert made.started().number == first.number + 1


def test_a_new_assembly_is_a_draft_with_a_place_of_its_own_and_no_parts():
    assembly = made.started("finisher")

    assert (assembly.state, assembly.name) == ("draft", "finisher")
    assert assembly.contents.kind == PlaceKind.ASSEMBLY
    assert assembly.current_build.is_draft
    assert not assembly.current_build.parts.exists()


# ---- figures and purpose
def test_figures_may_be_missing_and_are_replaced_as_a_whole():
    assembly = made.drafted()
    made.set_figures(assembly, grip_um=None, torque_mnm=None, wrench_mark=" W-2 ")

    draft = live(assembly)
    assert (draft.stickout_um, draft.grip_um, draft.torque_mnm) == (47_000, None, None)
    assert draft.wrench_mark == "W-2"


def test_a_wrench_on_record_is_tied_to_the_build_by_its_mark():
    held = Instrument.objects.create(mark="W-7", kind="wrench", reach_um=400_000)
    assembly = made.drafted()
    made.set_figures(assembly, wrench_mark=" w-7", adapter_um=50_000)
    draft = live(assembly)
    assert (draft.wrench, draft.wrench_mark, draft.adapter_um) == (held, "W-7", 50_000)

    made.set_figures(assembly, wrench_mark="")
    assert (live(assembly).wrench, live(assembly).adapter_um) == (None, None)


def chucked(screw_torque_mnm=6_000, bore_um=20_000, shank_um=20_000):
    """A draft in a hydraulic chuck, its screw not tightened yet."""
    some = made.some_parts(
        holder={
            "clamping": "hydraulic",
            "collet_series": "",
            "nose_thread": "",
            "bore_um": bore_um,
            "screw_torque_mnm": screw_torque_mnm,
            "grip_min_um": 30_000,
        },
        cutter={"shank_um": shank_um},
    )
    assembly = made.started()
    for part in (some.holder, some.cutter):
        made.put(assembly, part.item, part)
    made.set_figures(assembly, torque_mnm=None)
    return assembly


def test_a_screw_with_a_marked_torque_is_not_built_without_a_word():
    assembly = chucked()
    refused = made.refusal(made.make, assembly)
    assert refused.code == "build.reason_needed"
    assert "screw.not_known" in {f.code for f in refused.findings}


def test_a_bore_that_nobody_recorded_is_not_built_with_any_reason():
    assembly = chucked(bore_um=None)
    refused = made.refusal(made.make, assembly, "it went in")
    assert refused.code == "build.not_known"
    assert {f.code.split(".")[0] for f in refused.findings} == {"bore"}


def set_wrench(assembly, mark):
    return build.set_wrench(by=made.toolroom(), submission=uuid4(), assembly=assembly, mark=mark)


def test_what_is_no_wrench_in_use_does_not_tighten_anything():
    Instrument.objects.create(mark="M-1", kind="micrometer")
    Instrument.objects.create(mark="W-8", kind="wrench", is_retired=True)
    assembly = made.drafted()
    assert made.code_of(set_wrench, assembly, "M-1") == "build.not_a_wrench"
    assert made.code_of(set_wrench, assembly, "W-8") == "build.wrench_retired"
    assert made.code_of(set_wrench, assembly, "W-99") == "build.wrench_unknown"
    assert made.code_of(set_wrench, made.built(), "W-8") == "build.made"


def test_a_rebuild_keeps_what_it_is_for_and_asks_for_the_wrench_anew():
    Instrument.objects.create(mark="W-7", kind="wrench")
    assembly = made.drafted()
    made.set_figures(assembly, wrench_mark="W-7")
    build.set_purpose(
        by=made.toolroom(),
        submission=uuid4(),
        assembly=assembly,
        meant_for=None,
        coolant_wanted=False,
    )
    made.make(assembly, reason="wrench not calibrated yet")
    rebuild(assembly)
    draft = live(assembly)
    assert (draft.coolant_wanted, draft.wrench, draft.wrench_mark) == (False, None, "")


def test_the_figures_of_a_made_build_do_not_change():
    assert made.code_of(made.set_figures, made.built(), torque_mnm=1) == "build.made"


def test_a_draft_meant_for_a_faster_program_is_held_against_its_speed():
    wanted = made.confirm(made.revision(text=made.PROGRAM.replace("S18000", "S24001")))
    assembly = made.drafted()

    build.set_purpose(by=made.toolroom(), submission=uuid4(), assembly=assembly, meant_for=wanted)

    refused = made.refusal(made.make, assembly)
    assert refused.code == "build.stop"
    assert refused.findings[0].code.startswith("speed.")


# ---- build
def test_a_clean_draft_becomes_revision_1_with_its_findings():
    by = made.toolroom()
    assembly = made.drafted()
    made.make(assembly, by=by)

    build_ = live(assembly)
    assert (build_.revision, build_.built_by, build_.accepted_reason) == (1, by, "")
    assert build_.built_at is not None
    assert "collet.shank_fits" in {f["code"] for f in build_.findings}
    assert made.again(assembly).state == AssemblyState.BUILT


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"cutter": {"shank_um": 12_700}}, "collet.shank_too_large"),
        ({"cutter": {"shank_um": 10_000}}, "collet.shank_too_small"),
        ({"collet": {"series": "ER25"}}, "collet.series_differs"),
        ({"nut": {"series": "ER25"}}, "nut.series_differs"),
        ({"nut": {"thread": "M32x1.5"}}, "nut.thread_differs"),
    ],
)
def test_a_stop_refuses_the_build_whatever_the_reason(facts, code):
    assembly = made.drafted(made.some_parts(**facts))

    refused = made.refusal(made.make, assembly, reason=made.REASON)

    assert refused.code == "build.stop"
    assert code in {f.code for f in refused.findings}


@pytest.mark.parametrize("reason", ["", "   "])
def test_an_unknown_point_needs_a_reason(reason):
    assembly = made.drafted(made.some_parts(cutter={"hand": ""}))

    refused = made.refusal(made.make, assembly, reason=reason)

    assert (refused.code, refused.field) == ("build.reason_needed", "reason")
    assert Level.UNKNOWN in {f.level for f in refused.findings}


def test_a_check_needs_a_reason_which_is_kept_with_the_person():
    # 12 in a 13-12 collet: 1 mm under its largest, where 0.5 is the shop's limit.
    some = made.some_parts(collet={"clamp_max_um": 13_000, "clamp_min_um": 12_000})
    assembly, by = made.drafted(some), made.toolroom()

    assert made.code_of(made.make, assembly) == "build.reason_needed"
    made.make(assembly, made.REASON, by)

    kept = live(assembly)
    assert (kept.accepted_reason, kept.accepted_by) == (made.REASON, by)


def test_a_reason_given_for_nothing_is_not_kept_as_an_acceptance():
    assembly = made.built(reason="just so")

    assert live(assembly).accepted_reason == ""
    assert live(assembly).accepted_by is None


def test_a_build_without_holder_and_cutter_is_not_known_to_fit():
    refused = made.refusal(made.make, made.started())

    assert refused.code == "build.not_known"
    assert {"holder.missing", "cutter.missing"} <= {f.code for f in refused.findings}


@pytest.mark.parametrize(
    ("figures", "field"),
    [
        ({"stickout_um": None}, "stickout_um"),
        ({"grip_um": None}, "grip_um"),
        ({"stickout_um": None, "grip_um": None}, "stickout_um"),
    ],
)
def test_a_collet_build_is_not_made_without_its_lengths_whatever_the_reason(figures, field):
    refused = made.refusal(made.make, made.drafted(**figures), reason="in a hurry")

    assert (refused.code, refused.field) == ("build.figures_missing", field)


def test_a_torque_that_was_not_read_needs_a_reason_and_stays_not_known():
    assembly = made.drafted(torque_mnm=None)
    assert made.code_of(made.make, assembly) == "build.reason_needed"

    made.make(assembly, reason="wrench out for calibration")

    kept = {f["code"]: f["level"] for f in made.again(assembly).current_build.findings}
    assert kept["torque.not_known"] == "unknown"


def test_a_nose_thread_that_is_not_recorded_can_be_answered_for():
    some = made.some_parts(holder={"nose_thread": ""})
    assembly = made.built(some, reason="nut turned on by hand, thread fits")
    made.record(assembly, gauge_length=97_000, diameter=12_000, runout=12)

    made.let_go(assembly, reason="nut turned on by hand, thread fits")

    assert made.again(assembly).state == AssemblyState.RELEASED


def test_a_made_build_is_not_made_again():
    assert made.code_of(made.make, made.built()) == "build.made"


# ---- release
def test_a_measured_build_is_released_with_its_findings():
    by, assembly = made.toolroom(), made.measured()
    made.let_go(assembly, by=by)

    build_ = live(assembly)
    assert build_.released_by == by
    assert "runout.within" in {f["code"] for f in build_.release_findings}
    assert made.again(assembly).state == AssemblyState.RELEASED


@pytest.mark.parametrize(
    ("values", "reason", "code"),
    [
        ({"runout": 61}, made.REASON, "release.stop"),  # limit 15, doubled on a router form
        ({"diameter": None}, made.REASON, "release.not_known"),
        ({"runout": None}, "", "build.reason_needed"),
        ({"gauge_length": None}, "", "build.reason_needed"),
        ({"gauge_length": 97_501}, "", "build.reason_needed"),  # closure, 0.5 mm allowed
        ({"runout": 31}, "", "build.reason_needed"),
    ],
)
def test_what_a_release_refuses(values, reason, code):
    assert made.code_of(made.let_go, made.measured(**values), reason) == code


@pytest.mark.parametrize("state", [StudState.UNKNOWN, StudState.NONE_FITTED, StudState.NOT_USED])
def test_a_holder_whose_taper_takes_a_stud_is_not_released_without_one(state):
    assembly = made.measured()
    set_stud(assembly, state)

    refused = made.refusal(made.let_go, assembly, made.REASON)

    assert refused.code == "release.stop"
    assert [f.code.split(".")[0] for f in refused.findings] == ["stud"]


def test_a_stud_recorded_later_lets_it_be_released():
    some = made.some_parts(holder_piece={"stud_state": StudState.UNKNOWN, "stud_pattern": ""})
    assembly = made.measured(some, made.REASON)
    set_stud(assembly, StudState.FITTED, "A")
    made.let_go(assembly, made.REASON)

    assert made.again(assembly).state == AssemblyState.RELEASED


def test_a_stud_in_the_list_of_parts_that_differs_from_the_record_is_not_known():
    stud, drawer = makers.item(ItemKind.PULL_STUD), makers.place()
    PullStudFacts.objects.create(item=stud, pattern="B")
    makers.stocked(stud, drawer)
    assembly = made.drafted()
    made.put(assembly, stud)
    made.make(assembly, made.REASON)
    made.record(assembly, gauge_length=97_000, diameter=12_000, runout=8)

    refused = made.refusal(made.let_go, assembly, made.REASON)

    assert refused.code == "release.stop"
    assert [f.code for f in refused.findings] == ["stud.not_known"]


def test_the_stud_of_a_released_assembly_does_not_change():
    assert made.code_of(set_stud, made.released(), StudState.FITTED, "B") == "build.released"


def test_a_draft_without_holder_has_no_stud():
    assert made.code_of(set_stud, made.started(), StudState.FITTED, "A") == "build.no_holder"


def test_a_point_accepted_at_the_build_needs_no_second_reason():
    some = made.some_parts(collet={"clamp_max_um": 13_000, "clamp_min_um": 12_000})
    assembly = made.measured(some, made.REASON)

    made.let_go(assembly)

    assert made.again(assembly).state == AssemblyState.RELEASED


def test_a_new_point_needs_a_reason_though_another_was_accepted():
    some = made.some_parts(collet={"clamp_max_um": 13_000, "clamp_min_um": 12_000})
    assembly = made.measured(some, made.REASON, runout=31)

    refused = made.refusal(made.let_go, assembly)

    assert [f.code for f in refused.findings] == ["runout.over"]


def test_a_draft_and_a_released_build_are_not_released():
    assert made.code_of(made.let_go, made.drafted()) == "release.draft"
    assert made.code_of(made.let_go, made.released()) == "release.done"


# ---- quarantine
def test_quarantine_voids_the_label():
    scene = made.Scene.ready()
    assert scene.word() == "match"

    quarantine(scene.assembly)

    assert made.again(scene.assembly).state_note == "dropped"
    assert made.code_of(print_it, scene.assembly) == "label.not_released"
    assert scene.word() == "stop"
    assert "assembly.quarantined" in scene.codes()


def test_quarantine_needs_a_reason():
    assert made.code_of(quarantine, made.released(), " ") == "quarantine.reason"


def test_a_quarantined_build_is_not_released():
    assembly = made.measured()
    quarantine(assembly)

    assert made.code_of(made.let_go, assembly) == "release.quarantined"


def test_a_page_opened_before_the_quarantine_releases_nothing():
    old_page = made.measured()
    quarantine(made.again(old_page))

    assert old_page.state == AssemblyState.BUILT
    assert made.code_of(made.let_go, old_page) == "release.quarantined"


def test_a_page_opened_before_the_quarantine_prints_nothing():
    old_page = made.released()
    quarantine(made.again(old_page))

    assert old_page.state == AssemblyState.RELEASED
    assert made.code_of(print_it, old_page) == "label.not_released"


def test_a_quarantined_draft_is_not_built_but_started_anew():
    assembly = made.drafted()
    quarantine(assembly)

    assert made.code_of(made.make, assembly, made.REASON) == "build.quarantined"

    rebuild(assembly)
    assert made.again(assembly).state == AssemblyState.DRAFT
    assert live(assembly).parts.count() == 4
    assert live(assembly).stickout_um is None
    made.set_figures(assembly)
    made.make(assembly)
    assert live(assembly).revision == 1


# ---- rebuild
def test_a_rebuild_ends_the_revision_and_keeps_the_parts_without_figures():
    assembly = made.released()
    old = assembly.current_build

    rebuild(assembly)

    draft = live(assembly)
    parts = {(p.role, p.item_id, p.piece_id, p.quantity) for p in draft.parts.all()}
    old.refresh_from_db()
    assert parts == {(p.role, p.item_id, p.piece_id, p.quantity) for p in old.parts.all()}
    assert (draft.stickout_um, draft.grip_um, draft.torque_mnm) == (None, None, None)
    assert (draft.is_draft, draft.released_at) == (True, None)
    assert (old.live, old.end_reason) == (False, "cutter dull")
    assert made.again(assembly).state == AssemblyState.DRAFT


def test_a_rebuild_keeps_what_it_is_meant_for():
    assembly, wanted = made.drafted(), made.confirm(made.revision())
    build.set_purpose(by=made.toolroom(), submission=uuid4(), assembly=assembly, meant_for=wanted)
    made.make(assembly)

    rebuild(assembly)

    assert live(assembly).meant_for == wanted


def test_revisions_are_counted_on():
    assembly = made.built()
    for _ in range(2):
        rebuild(assembly)
        made.set_figures(assembly)
        made.make(assembly)

    assert live(assembly).revision == 3


def test_a_rebuild_needs_a_made_build_and_a_reason():
    assert made.code_of(rebuild, made.drafted()) == "rebuild.draft"
    assert made.code_of(rebuild, made.built(), " ") == "rebuild.reason"


# ---- who, and once
@pytest.mark.parametrize("role", STRANGERS)
def test_only_toolroom_and_admin_build_and_release(role):
    by, assembly = makers.person(role), made.measured()
    attempts = [
        lambda: made.started(by=by),
        lambda: made.make(made.drafted(), by=by),
        lambda: made.let_go(assembly, by=by),
        lambda: rebuild(assembly, role=role),
    ]
    for attempt in attempts:
        with pytest.raises(NotAllowed):
            attempt()
    assert made.again(assembly).state == AssemblyState.BUILT


@pytest.mark.parametrize("role", ["programmer", "buyer"])
def test_who_never_touches_a_tool_does_not_quarantine(role):
    with pytest.raises(NotAllowed):
        quarantine(made.released(), role=role)


def test_the_same_form_sent_twice_is_done_once():
    by, ids = made.toolroom(), [uuid4() for _ in range(5)]
    assembly = made.drafted()
    acts = [
        lambda: build.make_build(by=by, submission=ids[0], assembly=assembly),
        lambda: made.record(assembly, gauge_length=97_000, diameter=12_000, runout=8),
        lambda: build.release(by=by, submission=ids[1], assembly=assembly),
        lambda: build.quarantine(by=by, submission=ids[2], assembly=assembly, note="dropped"),
        lambda: build.start_rebuild(by=by, submission=ids[3], assembly=assembly, reason="dropped"),
    ]
    for act in acts:
        act()
    before = made.written()

    repeated = [acts[n]().repeated for n in (0, 2, 3, 4)]

    assert repeated == [True] * 4
    assert made.written() == before


def test_starting_twice_with_one_form_gives_one_number():
    by, once = made.toolroom(), uuid4()

    first = build.start_assembly(by=by, submission=once)
    again = build.start_assembly(by=by, submission=once)

    assert first.result == again.result
    assert again.repeated
    assert Assembly.objects.count() == 1


def test_a_draft_for_a_program_is_held_against_the_machine_it_is_approved_on(db):
    """The interface of the one machine it runs on counts while the draft is on the bench."""
    router = made.machine()
    revision = made.approved(router)
    assembly = made.drafted()
    build.set_purpose(
        by=made.toolroom(),
        submission=uuid4(),
        assembly=assembly,
        meant_for=revision.requirements.get(tool_number=made.TOOL),
    )
    draft = assembly.builds.get(live=True)
    assert "interface.same" in {f.code for f in build.preview(draft)}

    Machine.objects.filter(pk=router.pk).update(
        interface="HSK-A63", uses_stud=False, stud_pattern=""
    )
    assert "interface.differs" in {f.code for f in build.preview(draft)}
    assert (
        made.refusal(
            build.make_build, by=made.toolroom(), submission=uuid4(), assembly=assembly
        ).code
        == "build.stop"
    )
