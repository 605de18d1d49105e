"""Closes the tables whose rows are never changed, on SQLite and PostgreSQL alike."""

from django.db import migrations

from crib.models.append_only import guard

#: An act's result is filled once, at its end; everything else of it stays as written.
RESULT_ALREADY_FILLED = (
    "OLD.result <> '' OR NEW.id <> OLD.id OR NEW.kind <> OLD.kind "
    "OR NEW.by_id <> OLD.by_id OR NEW.at <> OLD.at"
)


class Migration(migrations.Migration):
    dependencies = [("crib", "0001_initial")]

    operations = [
        guard("crib_movement"),
        guard("crib_use"),
        guard("crib_unknowncode"),
        guard("crib_act", update_when=RESULT_ALREADY_FILLED),
    ]
