"""What the database itself refuses, whoever writes."""

from copy import deepcopy

import pytest
from django.db import IntegrityError, connection, models, transaction
from django.utils import timezone

from assemblies.models import (
    Assembly,
    Build,
    BuildPart,
    CorrectionAnswer,
    HandsOnCheck,
    Machine,
    Measurement,
    Program,
    ProgramApproval,
    ProgramRevision,
    Reading,
    Reclocking,
    Sighting,
    SpindleCheck,
    ToolRequirement,
    Weighing,
)
from crib.models import Act, Instrument, Place, PlaceKind
from crib.models.append_only import AppendOnlyModel, CannotBeChanged
from labels.models import Label
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db

CLOSED = {
    Measurement: ("note", "other"),
    ProgramApproval: ("reason", "other"),
    SpindleCheck: ("reason_text", "other"),
    HandsOnCheck: ("offset_entered", True),
    CorrectionAnswer: ("note", "other"),
    Sighting: ("note", "other"),
    Weighing: ("mass_g", 1),
    Reclocking: ("first_um", 1),
}


def refuses(write, *args, **kwargs):
    """Proves that the database refuses a write; returns its words."""
    with pytest.raises(IntegrityError) as refused, transaction.atomic():
        write(*args, **kwargs)
    return str(refused.value)


def end(build):
    """End a build past every action: only the database is asked."""
    Build.objects.filter(pk=build.pk).update(live=False, ended_at=timezone.now())


def copy_of(part, build, **changed):
    given = {"role": part.role, "item": part.item, "piece": part.piece, "quantity": part.quantity}
    return BuildPart(build=build, **given | changed)


# ---- builds
def test_an_assembly_has_one_live_build():
    refuses(Build.objects.create, assembly=made.started())


def test_an_assembly_may_have_many_ended_builds():
    assembly = made.started()
    for _ in range(2):
        Build.objects.create(assembly=assembly, live=False, ended_at=timezone.now())

    assert assembly.builds.count() == 3


def test_a_revision_is_given_once():
    assembly = made.built()

    refuses(
        Build.objects.create,
        assembly=assembly,
        revision=1,
        live=False,
        ended_at=timezone.now(),
        built_at=timezone.now(),
        built_by=made.toolroom(),
    )


@pytest.mark.parametrize(
    "changed",
    [
        {"revision": 1},  # made without a maker
        {"built_at": timezone.now()},  # a draft with a day of making
        {"live": False},  # ended without a day
        {"ended_at": timezone.now()},  # live and ended
        {"released_at": timezone.now()},  # released without being made
    ],
)
def test_a_draft_is_not_half_made_ended_or_released(changed):
    draft = made.started().current_build

    refuses(Build.objects.filter(pk=draft.pk).update, **changed)


def test_a_number_is_positive_and_given_once():
    first = made.started()
    place = Place.objects.create(code="X", kind=PlaceKind.ASSEMBLY)

    for number in (first.number, 0):
        refuses(Assembly.objects.create, number=number, contents=place, started_at=timezone.now())


def test_an_assembly_in_no_known_state_is_refused():
    assembly = made.started()

    refuses(Assembly.objects.filter(pk=assembly.pk).update, state="lent")


# ---- parts
def test_a_piece_is_not_in_two_live_builds():
    some = made.some_parts()
    part = made.drafted(some).current_build.parts.get(role="holder")

    refuses(copy_of(part, made.started().current_build).save)


def test_a_piece_of_an_ended_build_may_be_in_a_live_one():
    part = made.drafted().current_build.parts.get(role="holder")
    end(part.build)

    copy_of(part, made.started().current_build).save()

    assert BuildPart.objects.filter(piece=part.piece, live=True).count() == 1


def test_one_part_for_each_role():
    part = made.drafted().current_build.parts.get(role="nut")

    refuses(copy_of(part, part.build).save)


@pytest.mark.parametrize("changed", [{"quantity": 0}, {"role": "handle"}])
def test_a_part_has_a_number_and_a_known_role(changed):
    part = made.drafted().current_build.parts.get(role="nut")

    refuses(copy_of(part, made.started().current_build, **changed).save)


def test_a_marked_part_is_one():
    part = made.drafted().current_build.parts.get(role="holder")
    end(part.build)

    refuses(copy_of(part, made.started().current_build, quantity=2).save)


def test_parts_follow_their_build_when_it_ends_and_when_it_is_brought_back():
    build = made.drafted().current_build
    end(build)
    assert set(build.parts.values_list("live", flat=True)) == {False}

    Build.objects.filter(pk=build.pk).update(live=True, ended_at=None)
    assert set(build.parts.values_list("live", flat=True)) == {True}


def test_a_build_whose_piece_is_elsewhere_is_not_brought_back():
    part = made.drafted().current_build.parts.get(role="holder")
    end(part.build)
    copy_of(part, made.started().current_build).save()

    refuses(Build.objects.filter(pk=part.build_id).update, live=True, ended_at=None)


def test_a_part_is_live_exactly_as_long_as_its_build():
    part = made.drafted().current_build.parts.get(role="holder")

    assert "as long as its build" in refuses(
        BuildPart.objects.filter(pk=part.pk).update, live=False
    )
    end(part.build)
    assert "as long as its build" in refuses(BuildPart.objects.filter(pk=part.pk).update, live=True)
    assert "as long as its build" in refuses(copy_of(part, part.build, role="cutter").save)


def test_a_part_does_not_move_to_a_build_that_ended():
    part = made.drafted().current_build.parts.get(role="nut")
    ended = made.started().current_build
    end(ended)

    refuses(BuildPart.objects.filter(pk=part.pk).update, build=ended)


# ---- added and never changed
def a_row(model):
    scene = made.Scene.ready()
    said_of(scene.load())
    return model.objects.order_by("pk").first()


def said_of(check):
    """One row of each kind that people add to a decision."""
    about = {"spindle_check": check, "act": check.act, "by": check.by}
    HandsOnCheck.objects.create(**about)
    CorrectionAnswer.objects.create(**about, note="gauge length corrected")
    Sighting.objects.create(
        assembly=check.assembly, kind=Sighting.Kind.BORROWED, act=check.act, by=check.by
    )
    at_bench = {"build": check.build, "act": check.act, "by": check.by}
    Weighing.objects.create(**at_bench, mass_g=812)
    Reclocking.objects.create(**at_bench, **HALF_TURN)


HALF_TURN = {
    "turned": "collet",
    "first_um": 14,
    "first_deg": 30,
    "second_um": 6,
    "second_deg": 200,
}


@pytest.mark.parametrize(
    "wrong",
    [
        {"turned": "handle"},
        {"first_deg": 360},
        {"second_deg": 360},
        {"read_on": "sky"},
    ],
)
def test_a_re_clock_test_with_an_impossible_figure_is_refused(wrong):
    check = made.Scene.ready().load()

    refuses(
        Reclocking.objects.create,
        build=check.build,
        act=check.act,
        by=check.by,
        **HALF_TURN | wrong,
    )


def test_nothing_weighs_nothing():
    check = made.Scene.ready().load()

    refuses(Weighing.objects.create, build=check.build, act=check.act, by=check.by, mass_g=0)


@pytest.mark.parametrize(
    "wrong",
    [
        {"read_on": "sky"},
        {"clock_deg": 360},
        {"quantity": "gauge_length", "clock_deg": 10},
    ],
)
def test_a_reading_with_an_impossible_place_is_refused(wrong):
    check = made.Scene.ready().load()
    reading = {"quantity": "runout", "value_um": 7} | wrong

    refuses(Measurement.objects.create, build=check.build, act=check.act, by=check.by, **reading)


@pytest.mark.parametrize("changed", [{"adapter_um": 40_000}, {"wrench": True}])
def test_a_made_build_keeps_what_it_was_tightened_with(changed, append_only_guard):
    build = made.built().current_build
    if "wrench" in changed:
        changed = {"wrench": Instrument.objects.create(mark="T-01", kind="wrench")}

    refuses(Build.objects.filter(pk=build.pk).update, **changed)


def test_every_append_only_table_of_this_room_is_tried_here():
    declared = {m for m in AppendOnlyModel.__subclasses__() if m._meta.app_label == "assemblies"}

    assert declared == set(CLOSED)


@pytest.mark.parametrize("model", CLOSED)
def test_a_row_is_changed_by_no_instance_and_by_no_queryset(model):
    row = a_row(model)
    field, value = CLOSED[model]
    setattr(row, field, value)

    for attempt in (
        row.save,
        row.delete,
        lambda: model.objects.update(**{field: value}),
        lambda: model.objects.filter(pk=row.pk).delete(),
    ):
        with pytest.raises(CannotBeChanged):
            attempt()


@pytest.mark.parametrize("model", CLOSED)
def test_a_row_is_changed_by_no_other_program(model, append_only_guard):
    row = a_row(model)
    field, value = CLOSED[model]
    table = model._meta.db_table
    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        models.QuerySet(model).filter(pk=row.pk).update(**{field: value})
    with (
        pytest.raises(IntegrityError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(f"DELETE FROM {table} WHERE id = %s", [row.pk])

    assert model.objects.filter(pk=row.pk).exists()


def test_a_reading_has_a_known_quantity_and_a_size():
    first = a_row(Measurement)

    for changed in ({"quantity": "weight"}, {"value_um": 0}):
        given = {"build": first.build, "quantity": "diameter", "value_um": 1}
        refuses(Measurement(act=first.act, by=first.by, **given | changed).save)


# ---- at the spindle
@pytest.fixture(scope="module")
def standing_load(module_rows):
    return made.Scene.ready().load()


@pytest.fixture
def loaded(standing_load):
    """The columns of a decision that was loaded on a MATCH."""
    row = deepcopy(standing_load)
    return {
        field.attname: getattr(row, field.attname)
        for field in SpindleCheck._meta.concrete_fields
        if field.attname not in ("id", "act_id")
    }


def a_check(columns, **changed):
    act = Act.objects.create(kind="check.decide", by_id=columns["by_id"])
    return SpindleCheck(act=act, **columns | changed)


def test_the_columns_of_a_decision_can_be_written_again_under_another_act(loaded):
    a_check(loaded).save()

    assert SpindleCheck.objects.count() == 2


@pytest.mark.parametrize(
    "changed",
    [
        {"verdict": "stop", "reason": "trial"},
        {"verdict": "check"},
        {"verdict": "cant_tell", "fully_known": False},
        {"decision": "refused"},
        {"fully_known": False},
        {"found_by": "number"},
        {"found_by": "holder_mark"},
        {"shown_number": 6},
    ],
)
def test_a_decision_the_rules_forbid_is_not_stored(loaded, changed):
    refuses(a_check(loaded, **changed).save)


@pytest.mark.parametrize(
    "changed",
    [
        {"verdict": "check", "reason": "trial"},
        {"verdict": "cant_tell", "fully_known": False, "reason": "trial"},
        {"verdict": "stop", "decision": "refused", "reason": "wrong_tool"},
        {"tool_number": None, "shown_number": None},
    ],
)
def test_a_decision_the_rules_allow_is_stored(loaded, changed):
    a_check(loaded, **changed).save()

    assert SpindleCheck.objects.count() == 2


def test_what_a_decision_is_about_is_not_deleted(loaded):
    row = SpindleCheck.objects.get()

    for model, key in ((Build, row.build_id), (Machine, row.machine_id)):
        with pytest.raises(models.ProtectedError):
            model.objects.get(pk=key).delete()


# ---- machines, programs, labels
@pytest.mark.parametrize(
    "changed",
    [
        {"mark_key": ""},
        {"interface": ""},
        {"uses_stud": False},
        {"stud_pattern": ""},
        {"speed_min_rpm": 24_001},
        {"override_ceiling_percent": 99},
        {"override_ceiling_percent": 301},
        {"turns_cw": False, "turns_ccw": False},
    ],
)
def test_a_machine_that_makes_no_sense_is_refused(changed):
    machine = made.machine()

    refuses(Machine.objects.filter(pk=machine.pk).update, **changed)


@pytest.mark.parametrize(
    "changed",
    [
        {"length_rule": "window", "gauge_length_um": None},
        {"length_rule": "window", "gauge_tolerance_um": None},
        {"diameter_tolerance_um": None},
        {"stickout_min_um": 2, "stickout_max_um": 1},
        {"confirmed_at": None},
        {"confirmed_by": None},
    ],
)
def test_a_requirement_that_cannot_be_compared_is_refused(changed):
    row = made.confirm(made.revision())

    refuses(ToolRequirement.objects.filter(pk=row.pk).update, **changed)


def test_a_program_has_one_name_and_each_mark_and_file_once():
    first = made.revision()
    same = {
        field.attname: getattr(first, field.attname)
        for field in ProgramRevision._meta.concrete_fields
        if field.attname != "id"
    }

    refuses(Program(name=first.program.name.upper()).save)
    refuses(ProgramRevision(**same | {"sha256": "other", "label": "a"}).save)
    refuses(ProgramRevision(**same | {"label": "B"}).save)
    refuses(ProgramRevision(**same | {"label": " ", "sha256": "other"}).save)


def test_a_build_has_one_label_and_a_code_one_build():
    label = made.label_of(made.released())
    by = makers.person("toolroom")

    refuses(Label(code="000000000", build=label.build, made_by=by).save)
    refuses(Label(code=label.code, build=made.released().current_build, made_by=by).save)
    refuses(Label.objects.filter(pk=label.pk).update, cancelled_at=timezone.now())


# ---- readings
def test_a_reading_is_kept_once_for_each_way():
    scene = made.Scene.ready()
    refuses(Reading.objects.create, revision=scene.revision)
    assert "reading_names_its_way" in refuses(
        Reading.objects.create, revision=scene.revision, settings_key=""
    )
