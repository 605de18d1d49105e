"""The table of the shared cache: without it the scan throttle of several workers cannot count."""

from django.core.management import call_command
from django.db import migrations


def add(apps, schema_editor):
    call_command("createcachetable", database=schema_editor.connection.alias, verbosity=0)


def drop(apps, schema_editor):
    schema_editor.execute("DROP TABLE IF EXISTS holderbook_cache")


class Migration(migrations.Migration):
    dependencies = [("crib", "0002_append_only")]

    operations = [migrations.RunPython(add, drop)]
