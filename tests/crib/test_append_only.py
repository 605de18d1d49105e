"""Rows that are added and never changed: by instance, by queryset and by raw SQL."""

import uuid
from datetime import date

import pytest
from django.db import IntegrityError, connection, models, transaction

from crib.models import (
    Act,
    Calibration,
    Instrument,
    Movement,
    SettingChange,
    UnknownCode,
    Use,
)
from crib.models.append_only import AppendOnlyModel, CannotBeChanged
from tests import makers

pytestmark = pytest.mark.django_db

CLOSED = [Act, Calibration, Movement, SettingChange, UnknownCode, Use]
#: One column of each table that somebody might want to put right afterwards.
A_COLUMN = {
    Act: ("kind", "other"),
    Calibration: ("note", "other"),
    Movement: ("note", "other"),
    SettingChange: ("reason", "other"),
    UnknownCode: ("entry", "other"),
    Use: ("minutes", 9),
}


def a_row(model):
    """One row of `model`; the act behind it is done and has its result."""
    by = makers.person("admin")
    part = makers.piece(makers.cutter_item(), makers.place(), by=by)
    act = part.movements.get().act
    if model is Use:
        return Use.objects.create(piece=part, minutes=5, basis="by_hand", act=act)
    if model is Calibration:
        wrench = Instrument.objects.create(mark="T-01", kind="wrench")
        return Calibration.objects.create(
            instrument=wrench, result="passed", on=date(2026, 1, 5), act=act, by=by
        )
    if model is SettingChange:
        return SettingChange.objects.create(
            name="closure_um", value=400, reason="tighter", act=act, by=by
        )
    if model is UnknownCode:
        return UnknownCode.objects.create(entry="7K2M", problem="length", by=by)
    return part.movements.get() if model is Movement else act


def stored(row):
    return type(row).objects.filter(pk=row.pk).values().get()


def key(row):
    """The row's key as raw SQL has to spell it."""
    value = row.pk
    return value.hex if isinstance(value, uuid.UUID) and connection.vendor == "sqlite" else value


def refuses(statement, *values):
    with (
        pytest.raises(IntegrityError, match="append-only"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement, values)


def test_every_append_only_table_is_tried_here():
    declared = {m for m in AppendOnlyModel.__subclasses__() if m._meta.app_label == "crib"}

    assert declared == set(CLOSED)


@pytest.mark.parametrize("model", CLOSED)
def test_a_row_is_not_saved_again(model):
    row = a_row(model)
    before = stored(row)
    field, value = A_COLUMN[model]
    setattr(row, field, value)

    with pytest.raises(CannotBeChanged):
        row.save()
    with pytest.raises(CannotBeChanged):
        row.save(update_fields=[field])

    assert stored(row) == before


@pytest.mark.parametrize("model", CLOSED)
def test_a_row_is_not_deleted(model):
    row = a_row(model)

    with pytest.raises(CannotBeChanged):
        row.delete()

    assert model.objects.filter(pk=row.pk).exists()


@pytest.mark.parametrize("model", CLOSED)
def test_a_new_object_with_the_key_of_a_row_does_not_replace_it(model):
    row = a_row(model)
    before = stored(row)
    copy = model(**before)

    with pytest.raises(IntegrityError), transaction.atomic():
        copy.save()

    assert stored(row) == before


@pytest.mark.parametrize("model", CLOSED)
def test_a_queryset_neither_changes_nor_deletes(model):
    row = a_row(model)
    before = stored(row)
    field, value = A_COLUMN[model]
    setattr(row, field, value)

    with pytest.raises(CannotBeChanged):
        model.objects.update(**{field: value})
    with pytest.raises(CannotBeChanged):
        model.objects.filter(pk=row.pk).delete()
    with pytest.raises(CannotBeChanged):
        model.objects.bulk_update([row], [field])
    with pytest.raises(CannotBeChanged):
        model.objects.update_or_create(pk=row.pk, defaults={field: value})

    assert stored(row) == before


@pytest.mark.parametrize("model", CLOSED)
def test_an_open_queryset_is_refused_by_the_database(model):
    row = a_row(model)
    before = stored(row)
    field, value = A_COLUMN[model]

    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        models.QuerySet(model).filter(pk=row.pk).update(**{field: value})

    assert stored(row) == before


@pytest.mark.parametrize("model", CLOSED)
def test_adding_over_a_row_is_refused_by_the_database(model):
    row = a_row(model)
    before = stored(row)
    field, value = A_COLUMN[model]
    copy = model(**before | {field: value})

    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        model.objects.bulk_create(
            [copy], update_conflicts=True, unique_fields=["id"], update_fields=[field]
        )

    assert stored(row) == before


@pytest.mark.parametrize("model", CLOSED)
def test_raw_sql_does_not_change_a_row(model):
    row = a_row(model)
    before = stored(row)
    field, value = A_COLUMN[model]

    refuses(f"UPDATE {model._meta.db_table} SET {field} = %s WHERE id = %s", value, key(row))

    assert stored(row) == before


@pytest.mark.usefixtures("append_only_guard")
@pytest.mark.parametrize("model", CLOSED)
def test_raw_sql_does_not_delete_a_row(model):
    row = a_row(model)

    refuses(f"DELETE FROM {model._meta.db_table} WHERE id = %s", key(row))

    assert model.objects.filter(pk=row.pk).exists()


def test_rows_of_a_related_manager_are_closed_as_well():
    act = a_row(Movement).act

    with pytest.raises(CannotBeChanged):
        act.movements.update(note="other")
    with pytest.raises(CannotBeChanged):
        act.movements.all().delete()


@pytest.mark.parametrize("owner", ["item", "from_place", "to_place", "act", "by", "piece"])
def test_what_a_movement_names_is_not_deleted_under_it(owner):
    movement = a_row(Movement)
    named = getattr(movement, owner)

    with pytest.raises((models.ProtectedError, CannotBeChanged)):
        named.delete()

    assert type(named).objects.filter(pk=named.pk).exists()
    assert Movement.objects.get().quantity == 1


# ---- the one change that is allowed: an open act gets its result
def an_open_act():
    return Act.objects.create(kind="test.act", by=makers.person("operator"))


def test_an_open_act_takes_a_result_by_raw_sql():
    act = an_open_act()

    with connection.cursor() as cursor:
        cursor.execute("UPDATE crib_act SET result = %s WHERE id = %s", ["7", key(act)])

    assert stored(act)["result"] == "7"


def test_a_filled_act_takes_no_other_result_and_does_not_open_again():
    act = an_open_act()
    act.fill_result("7")

    for result in ("8", ""):
        refuses("UPDATE crib_act SET result = %s WHERE id = %s", result, key(act))

    assert stored(act)["result"] == "7"


@pytest.mark.parametrize("column", ["about", "details"])
def test_a_filled_act_keeps_its_words(column):
    act = an_open_act()
    act.fill_result("7")

    refuses(f"UPDATE crib_act SET {column} = %s WHERE id = %s", "{}", key(act))


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("kind", lambda: "other"),
        ("at", lambda: "2020-01-01 00:00:00+00:00"),
        ("by_id", lambda: makers.person("operator").pk),
        ("id", lambda: key(Act(id=uuid.uuid4()))),
    ],
)
def test_even_an_open_act_keeps_who_what_and_when(column, value):
    act = an_open_act()

    refuses(f"UPDATE crib_act SET {column} = %s WHERE id = %s", value(), key(act))
