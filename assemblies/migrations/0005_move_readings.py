"""Gives each file the one reading it had so far, and that reading its calls and uses."""

from django.db import migrations

_KEPT = (
    "complete",
    "block_count",
    "program_number",
    "program_title",
    "end_of_program",
    "notes",
    "reader_version",
)


def move(apps, schema_editor):
    revisions = apps.get_model("assemblies", "ProgramRevision")
    readings = apps.get_model("assemblies", "Reading")
    for revision in revisions.objects.defer("content").iterator():
        kept = {name: getattr(revision, name) for name in _KEPT}
        reading = readings.objects.create(
            revision=revision, settings_key="standard", read_at=revision.added_at, **kept
        )
        for name in ("ToolCall", "ToolUse"):
            rows = apps.get_model("assemblies", name).objects.filter(revision=revision)
            rows.update(reading=reading)


class Migration(migrations.Migration):
    dependencies = [("assemblies", "0004_readings_and_loads")]

    operations = [migrations.RunPython(move, migrations.RunPython.noop)]
