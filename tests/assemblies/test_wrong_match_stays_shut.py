"""Ways by which a MATCH was wrong once. Each stays shut."""

from __future__ import annotations

from copy import deepcopy
from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from assemblies.actions import load_facts, spindle
from assemblies.actions.loads import take_out
from assemblies.models import Decision, Edge, Machine, ProgramRevision, SpindleCheck
from crib.actions.pieces import set_condition
from crib.models import HolderFacts
from crib.rules.refusal import Refused
from labels.actions.resolve_code import label_facts
from tests import assembly_makers as made
from tests import makers
from tests.assemblies import load_makers as loads

pytestmark = pytest.mark.django_db
NOT_SAID = "control.values_not_said"


@pytest.fixture(scope="module")
def standing_scene(module_rows):
    return made.Scene.ready()


@pytest.fixture
def scene(standing_scene):
    return deepcopy(standing_scene)


def test_loading_for_another_reason_does_not_count_as_values_entered(scene):
    scene.load()
    made.record(scene.assembly, gauge_length=97_400)
    made.let_go(scene.assembly)
    scene.label = made.label_of(scene.assembly)
    assert "control.values_changed" in scene.codes()

    scene.load(reason="trial")
    assert scene.codes() == {NOT_SAID}

    scene.load(reason="values_entered")
    assert scene.word() == "match"


def another_like(scene):
    """An assembly as the one of `scene` was at first, at the same machine."""
    other = made.released()
    return made.Scene(other, made.label_of(other), scene.machine, scene.revision)


@pytest.mark.parametrize("reason", sorted(set(spindle.ACCEPT_REASONS) - {"same_as_last"}))
def test_what_the_control_held_before_is_not_known_any_more_unless_it_was_said(scene, reason):
    """Touched off or tried with new values, it need not hold the old ones for the next tool."""
    scene.load()
    made.record(scene.assembly, gauge_length=97_400)
    made.let_go(scene.assembly)
    scene.label = made.label_of(scene.assembly)
    scene.load(reason=reason)

    codes = another_like(scene).codes()

    assert codes == {"control.values_changed" if reason == "values_entered" else NOT_SAID}


def test_only_the_value_that_was_asked_for_is_in_doubt(scene):
    scene.load()
    made.record(scene.assembly, gauge_length=97_400)
    made.let_go(scene.assembly)
    scene.label = made.label_of(scene.assembly)
    row = scene.load(reason="trial")

    assert (row.gauge_length_um, row.diameter_um) == (None, made.DIAMETER_UM)
    texts = [f.text for f in another_like(scene).checked().verdict.reasons]
    assert texts == ["Enter L 97.00 (was not known)."]


def test_what_is_accepted_without_knowing_the_control_is_not_fully_known(scene):
    scene.load(reason="touched_off")

    verdict = scene.checked().verdict
    assert (verdict.word, verdict.fully_known) == ("CHECK", False)
    assert verdict.can_accept_by == "operator"


def test_a_length_touched_off_for_one_program_is_none_for_the_next(scene):
    window, touched = scene.revision, made.revision()
    made.confirm(touched, length_rule="touch_off", gauge_length_um=None, gauge_tolerance_um=None)
    made.approve(touched, scene.machine)
    scene.revision = touched
    scene.load()
    assert scene.word() == "match"

    scene.revision = window
    assert scene.codes() == {NOT_SAID}


def test_a_machine_that_touched_off_every_load_holds_no_gauge_lengths(scene):
    scene.machine.touches_off_every_load = True
    scene.machine.save()
    scene.load()
    assert scene.word() == "match"

    Machine.objects.update(touches_off_every_load=False)
    assert scene.codes() == {NOT_SAID}


def test_a_holder_alone_can_be_too_heavy_for_the_machine(scene):
    scene.machine.mass_max_g = 1_000
    scene.machine.save()
    holder = scene.assembly.current_build.parts.get(role="holder")
    HolderFacts.objects.filter(item=holder.item).update(mass_g=9_000)

    assert "machine.mass_over_limit" in scene.codes()


def test_what_was_ground_does_not_come_back_under_its_old_readings(scene):
    piece = scene.assembly.current_build.parts.get(role="holder").piece
    admin = makers.person("admin")
    set_condition(by=admin, submission=uuid4(), piece=piece, condition="worn", note="taper fretted")
    with pytest.raises(Refused) as refused:
        set_condition(by=admin, submission=uuid4(), piece=piece, condition="in_service")
    assert refused.value.code == "piece.built_in"
    assert scene.word() == "stop"


def test_the_same_form_with_another_answer_is_refused(scene):
    by, submission = makers.person("operator"), uuid4()

    def refuse(reason):
        return scene.decide(Decision.REFUSED, by=by, submission=submission, reason=reason)

    refuse("wrong_tool")
    assert refuse("wrong_tool").repeated
    with pytest.raises(Refused) as refused:
        refuse("mark_differs")
    assert refused.value.code == "check.answered"
    assert SpindleCheck.objects.get().reason == "wrong_tool"


# ---- a caution of the bench is shown once a shift
@pytest.fixture
def cautioned():
    """A 12 mm shank at the bottom of its collet, accepted at the bench: a check at the spindle."""
    some = made.some_parts(collet={"clamp_max_um": 13_000, "clamp_min_um": 12_000})
    scene = made.Scene.ready(some, made.REASON)
    assert scene.codes() == {"collet.closed_far"}
    return scene


def later(monkeypatch, hours):
    """The check is made so many hours after the load."""
    real = timezone.now
    monkeypatch.setattr(load_facts.timezone, "now", lambda: real() + timedelta(hours=hours))


def caution_level(scene):
    found = scene.checked().verdict.findings
    return next(f.level for f in found if f.code == "collet.closed_far")


def test_a_caution_accepted_here_is_a_note_for_the_rest_of_the_shift(cautioned):
    cautioned.load(reason="agreed")

    assert cautioned.word() == "match"
    assert caution_level(cautioned) == "note"


@pytest.mark.parametrize(("hours", "level"), [(11.9, "note"), (12.1, "check")])
def test_the_next_shift_asks_again(cautioned, monkeypatch, hours, level):
    cautioned.load(reason="agreed")
    later(monkeypatch, hours)

    assert caution_level(cautioned) == level


def test_a_match_that_rests_on_an_acceptance_starts_no_new_shift(cautioned, monkeypatch):
    cautioned.load(reason="agreed")
    later(monkeypatch, 11)
    cautioned.load()
    later(monkeypatch, 13)

    assert caution_level(cautioned) == "check"


@pytest.mark.parametrize("reason", ["trial", "record_wrong"])
def test_a_load_that_accepted_nothing_silences_no_caution(cautioned, reason):
    cautioned.load(reason=reason)

    assert cautioned.codes() == {"collet.closed_far"}


def test_a_refusal_silences_no_caution(cautioned):
    cautioned.refuse("other")

    assert cautioned.codes() == {"collet.closed_far"}


def test_an_acceptance_at_another_machine_silences_no_caution(cautioned):
    there = made.machine()
    made.approve(cautioned.revision, there)
    here, cautioned.machine = cautioned.machine, there
    cautioned.load(reason="agreed")
    cautioned.machine = here

    assert "collet.closed_far" in cautioned.codes()


def test_an_acceptance_of_the_build_before_silences_no_caution(cautioned):
    cautioned.load(reason="agreed")
    made.record(cautioned.assembly, gauge_length=97_400)
    made.let_go(cautioned.assembly, made.REASON)
    cautioned.label = made.label_of(cautioned.assembly)

    assert "collet.closed_far" in cautioned.codes()


def test_what_was_shown_with_other_figures_silences_no_caution(cautioned):
    row = cautioned.checked().verdict
    shown = [f.as_dict() | {"measured": 0.9} for f in row.findings]
    loads.decided(
        cautioned.assembly, cautioned.machine, findings=shown, verdict="check", reason="agreed"
    )

    assert cautioned.codes() == {"collet.closed_far"}


def test_an_overridden_load_silences_no_caution(cautioned):
    shown = [f.as_dict() for f in cautioned.checked().verdict.findings]
    loads.decided(
        cautioned.assembly,
        cautioned.machine,
        findings=shown,
        verdict="stop",
        reason="agreed",
        overridden_by=makers.person("lead"),
    )

    assert cautioned.codes() == {"collet.closed_far"}


def test_a_caution_that_came_with_corrected_figures_was_accepted_by_nobody(cautioned):
    cautioned.load(reason="agreed")
    collet = cautioned.assembly.current_build.parts.get(role="collet").item
    type(collet.facts).objects.filter(item=collet).update(clamp_max_um=13_100, clamp_min_um=11_900)

    found = [f for f in cautioned.checked().verdict.findings if f.code == "collet.closed_far"]
    assert [f.level for f in found] == ["check", "note"]
    assert cautioned.word() == "check"


# ---- what was overridden once is asked again
def test_an_override_holds_for_its_own_load_only(scene):
    made.record(scene.assembly, diameter=11_940)
    made.let_go(scene.assembly)
    scene.label = made.label_of(scene.assembly)
    before = scene.checked().verdict
    assert before.override_rules == ("program.diameter_differs",)
    loads.decided(
        scene.assembly,
        scene.machine,
        findings=[f.as_dict() for f in before.findings],
        verdict="stop",
        reason="agreed",
        overridden_by=makers.person("lead"),
        gauge_length_um=97_000,
        diameter_um=11_940,
    )

    after = scene.checked().verdict
    assert (after.word, after.override_rules) == (before.word, before.override_rules)


# ---- what is in the machine
TAKEN, NUMBER = "machine.pocket_taken", "machine.number_taken"


def asked_about(scene, tool_number=None, pocket=None):
    """Codes of what keeps it from a MATCH when it is to go to that pocket."""
    checked = spindle.check(
        assembly=made.again(scene.assembly),
        label=label_facts(scene.label),
        machine=Machine.objects.get(pk=scene.machine.pk),
        revision=ProgramRevision.objects.get(pk=scene.revision.pk),
        tool_number=tool_number,
        pocket=pocket,
    )
    return {f.code for f in checked.verdict.findings if f.level not in ("pass", "note")}


def at_a_changer(scene, make=loads.changer):
    scene.machine = make(length_max_um=200_000, diameter_max_um=90_000)
    made.approve(scene.revision, scene.machine)
    return scene.machine


@pytest.mark.parametrize("tool_number", [made.TOOL, None])
def test_a_pocket_that_holds_another_tool_is_named(scene, tool_number):
    machine = at_a_changer(scene)
    loads.put(made.released(), machine, pocket=4, tool_number=9)

    assert asked_about(scene, tool_number, pocket=4) == {TAKEN}
    assert asked_about(scene, tool_number, pocket=5) == set()


@pytest.mark.parametrize("tool_number", [made.TOOL, None])
def test_a_number_that_another_tool_still_has_is_named(scene, tool_number):
    machine = at_a_changer(scene)
    other = loads.put(made.released(), machine, pocket=4)

    assert asked_about(scene, tool_number, pocket=7) == {NUMBER}
    take_out(by=made.operator(), submission=uuid4(), load=other, out_as=Edge.GOOD)
    assert asked_about(scene, tool_number, pocket=7) == set()


@pytest.mark.parametrize("tool_number", [made.TOOL, None])
def test_where_the_number_names_the_pocket_no_other_pocket_is_right(scene, tool_number):
    machine = at_a_changer(scene, loads.slots)
    assert asked_about(scene, tool_number, pocket=4) == {"machine.pocket_is_not_number"}
    assert asked_about(scene, tool_number) == set()

    loads.put(made.released(), machine)
    assert asked_about(scene, tool_number) == {TAKEN}


def test_a_tool_in_another_machine_is_in_nobodys_way(scene):
    at_a_changer(scene)
    loads.put(made.released(), loads.changer(), pocket=4)

    assert asked_about(scene, made.TOOL, pocket=4) == set()


def test_what_is_in_the_machine_takes_one_query_however_much_it_is(
    scene, django_assert_num_queries
):
    machine, build = at_a_changer(scene), scene.assembly.current_build
    with django_assert_num_queries(1):
        load_facts.told_by_loads(scene.assembly, build, machine)
    for pocket in (2, 3):
        loads.put(made.released(), machine, pocket=pocket, tool_number=pocket)
    with django_assert_num_queries(1):
        told = load_facts.told_by_loads(scene.assembly, build, machine)
    assert [load.pocket for load in told["loads"]] == [2, 3]


# ---- how it came out last
def came_out(scene, out_as):
    load = loads.put(scene.assembly, scene.machine)
    take_out(by=made.operator(), submission=uuid4(), load=load, out_as=out_as)


def test_what_came_out_worn_is_no_match_until_it_is_rebuilt(scene):
    came_out(scene, Edge.WORN)
    assert scene.codes() == {"state.came_out_worn"}

    made.record(scene.assembly, gauge_length=97_400)
    made.let_go(scene.assembly)
    scene.label = made.label_of(scene.assembly)
    assert "state.came_out_worn" not in scene.codes()


def test_what_came_out_good_after_it_came_out_worn_was_looked_at(scene):
    came_out(scene, Edge.WORN)
    came_out(scene, Edge.GOOD)

    assert scene.word() == "match"


# ---- how it was refused last
@pytest.mark.parametrize(
    ("reason", "codes"),
    [
        *((reason, {"state.refused"}) for reason in ("dull", "runs_out", "label_wrong")),
        *((reason, {"assembly.quarantined"}) for reason in ("damaged", "slipped")),
        *((reason, set()) for reason in ("wrong_tool", "other")),
    ],
)
def test_what_was_refused_for_what_it_is_like_is_no_match_for_the_next_one(scene, reason, codes):
    scene.refuse(reason)

    assert scene.codes() == codes


def test_refused_at_one_machine_it_is_no_match_at_another(scene):
    scene.refuse("dull")
    scene.machine = made.machine()
    made.approve(scene.revision, scene.machine)

    assert scene.codes() == {"state.refused"}


@pytest.mark.parametrize(
    ("reason", "codes"),
    [("agreed", set()), ("trial", {"state.refused"}), ("record_wrong", {"state.refused"})],
)
def test_it_is_until_somebody_looks_and_takes_it(scene, reason, codes):
    scene.refuse("dull")
    scene.load(reason=reason)

    assert scene.codes() == codes


def test_a_refusal_of_another_kind_after_it_does_not_hide_it(scene):
    scene.refuse("dull")
    scene.refuse("wrong_tool")

    assert scene.codes() == {"state.refused"}


def test_rebuilt_or_released_after_it_nobody_is_told_any_more(scene):
    scene.refuse("dull")
    made.record(scene.assembly, gauge_length=97_400)
    scene.refuse("dull")
    made.let_go(scene.assembly)
    scene.label = made.label_of(scene.assembly)

    assert scene.word() == "match"


# ---- how deep it goes: Z-3 is its lowest feed move, 47 mm its stick-out
@pytest.mark.parametrize(
    ("zero_at", "top_um", "codes"),
    [
        ("top", None, set()),
        ("top", 44_000, set()),
        ("top", 44_001, {"depth.stick_out"}),
        ("table", None, set()),
        ("table", 44_001, {"depth.stick_out"}),
    ],
)
def test_the_top_of_the_work_as_stated_comes_before_the_machine(scene, zero_at, top_um, codes):
    Machine.objects.filter(pk=scene.machine.pk).update(zero_at=zero_at)
    ProgramRevision.objects.filter(pk=scene.revision.pk).update(top_of_stock_um=top_um)

    assert scene.codes() == codes


def test_a_depth_that_nobody_knows_is_told_beside_a_match(scene):
    Machine.objects.filter(pk=scene.machine.pk).update(zero_at="table")

    verdict = scene.checked().verdict
    assert verdict.word == "MATCH"
    assert "depth.not_compared" in [f.code for f in verdict.findings if f.level == "note"]
