"""Rows that are added and never changed: closed queryset, closed model, closed table.

Refusing in `Model.save()` is not enough, because `QuerySet.update()` passes it by; closing the
queryset is not enough, because another program may write. So the table has triggers as well.
"""

from __future__ import annotations

from django.db import migrations, models


class CannotBeChanged(TypeError):
    """Somebody tried to change or delete a row of an append-only table."""


class AppendOnlyQuerySet(models.QuerySet):
    def update(self, **kwargs):
        raise CannotBeChanged(f"{self.model.__name__} rows are never changed. Add a new one.")

    def delete(self):
        raise CannotBeChanged(f"{self.model.__name__} rows are never deleted.")

    def bulk_update(self, objs, fields, batch_size=None):
        raise CannotBeChanged(f"{self.model.__name__} rows are never changed. Add a new one.")


class AppendOnlyModel(models.Model):
    objects = AppendOnlyQuerySet.as_manager()

    class Meta:
        abstract = True

    def save(self, *args, **kwargs):
        if not self._state.adding:
            raise CannotBeChanged(f"{type(self).__name__} rows are never changed. Add a new one.")
        super().save(*args, **kwargs | {"force_insert": True})

    def delete(self, *args, **kwargs):
        raise CannotBeChanged(f"{type(self).__name__} rows are never deleted.")


_SQLITE = """
CREATE TRIGGER append_only_{table}_{verb} BEFORE {VERB} ON {table} {when}
BEGIN SELECT RAISE(ABORT, '{table} is append-only'); END;
"""
_POSTGRES = """
CREATE OR REPLACE FUNCTION append_only_refuse() RETURNS trigger AS $$
BEGIN
  RAISE EXCEPTION '% is append-only', TG_TABLE_NAME
    USING ERRCODE = 'integrity_constraint_violation';
END $$ LANGUAGE plpgsql;
CREATE TRIGGER append_only_{table}_{verb} BEFORE {VERB} ON {table}
FOR EACH ROW {when} EXECUTE FUNCTION append_only_refuse();
"""


def guard(table: str, *, update_when: str = "") -> migrations.RunPython:
    """A migration operation that closes `table` to UPDATE and DELETE on SQLite and PostgreSQL.

    `update_when` narrows the update trigger (a condition on OLD and NEW); without it every
    update is refused.
    """

    def add(apps, schema_editor):
        template = _SQLITE if schema_editor.connection.vendor == "sqlite" else _POSTGRES
        for verb in ("update", "delete"):
            when = f"WHEN ({update_when})" if update_when and verb == "update" else ""
            schema_editor.execute(
                template.format(table=table, verb=verb, VERB=verb.upper(), when=when), params=None
            )

    def drop(apps, schema_editor):
        on = "" if schema_editor.connection.vendor == "sqlite" else f" ON {table}"
        for verb in ("update", "delete"):
            schema_editor.execute(f"DROP TRIGGER append_only_{table}_{verb}{on}")

    return migrations.RunPython(add, drop)


def guard_again(table: str, *, update_when: str = "") -> list[migrations.RunPython]:
    """Operations that close `table` once more after a change that may have opened it.

    SQLite builds a table anew for most changes, and its triggers are gone with the old one.
    """

    def open_up(apps, schema_editor):
        on = "" if schema_editor.connection.vendor == "sqlite" else f" ON {table}"
        for verb in ("update", "delete"):
            schema_editor.execute(f"DROP TRIGGER IF EXISTS append_only_{table}_{verb}{on}")

    return [
        migrations.RunPython(open_up, migrations.RunPython.noop),
        guard(table, update_when=update_when),
    ]
