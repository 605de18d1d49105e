"""Closes the tables whose rows are never changed, and keeps `live` of parts with their build."""

from django.db import migrations

from crib.models.append_only import guard

SQLITE_FOLLOW = """
CREATE TRIGGER parts_follow_build AFTER UPDATE OF live ON assemblies_build
WHEN NEW.live <> OLD.live
BEGIN UPDATE assemblies_buildpart SET live = NEW.live WHERE build_id = NEW.id; END;
"""
POSTGRES_FOLLOW = """
CREATE FUNCTION parts_follow_build() RETURNS trigger AS $$
BEGIN
  UPDATE assemblies_buildpart SET live = NEW.live WHERE build_id = NEW.id;
  RETURN NULL;
END $$ LANGUAGE plpgsql;
CREATE TRIGGER parts_follow_build AFTER UPDATE OF live ON assemblies_build
FOR EACH ROW WHEN (NEW.live <> OLD.live) EXECUTE FUNCTION parts_follow_build();
"""
SQLITE_AGREE = """
CREATE TRIGGER part_agrees_on_{verb} BEFORE {event} ON assemblies_buildpart
WHEN NEW.live <> (SELECT live FROM assemblies_build WHERE id = NEW.build_id)
BEGIN SELECT RAISE(ABORT, 'a part is live exactly as long as its build'); END;
"""
POSTGRES_AGREE = """
CREATE FUNCTION part_agrees() RETURNS trigger AS $$
BEGIN
  IF NEW.live <> (SELECT live FROM assemblies_build WHERE id = NEW.build_id) THEN
    RAISE EXCEPTION 'a part is live exactly as long as its build'
      USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN NEW;
END $$ LANGUAGE plpgsql;
CREATE TRIGGER part_agrees BEFORE INSERT OR UPDATE OF live, build_id ON assemblies_buildpart
FOR EACH ROW EXECUTE FUNCTION part_agrees();
"""


#: A made build keeps its figures; release, end and notes are still to come.
MADE_BUILD_CHANGED = " OR ".join(
    [
        "OLD.revision > 0 AND (NEW.revision <> OLD.revision",
        "NEW.assembly_id <> OLD.assembly_id",
        *(
            f"COALESCE(NEW.{name}, -1) <> COALESCE(OLD.{name}, -1)"
            for name in ("stickout_um", "grip_um", "torque_mnm")
        ),
        "NEW.built_by_id <> OLD.built_by_id)",
    ]
)
#: The file that was handed in stays; what was read from it may be read again.
FILE_CHANGED = (
    "NEW.sha256 <> OLD.sha256 OR NEW.content <> OLD.content OR NEW.program_id <> OLD.program_id"
)


def add(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        statements = [
            SQLITE_FOLLOW,
            SQLITE_AGREE.format(verb="insert", event="INSERT"),
            SQLITE_AGREE.format(verb="update", event="UPDATE OF live, build_id"),
        ]
    else:
        statements = [POSTGRES_FOLLOW, POSTGRES_AGREE]
    for statement in statements:
        schema_editor.execute(statement, params=None)


def drop(apps, schema_editor):
    if schema_editor.connection.vendor == "sqlite":
        for name in ("parts_follow_build", "part_agrees_on_insert", "part_agrees_on_update"):
            schema_editor.execute(f"DROP TRIGGER {name}")
        return
    schema_editor.execute("DROP TRIGGER parts_follow_build ON assemblies_build")
    schema_editor.execute("DROP TRIGGER part_agrees ON assemblies_buildpart")
    schema_editor.execute("DROP FUNCTION parts_follow_build()")
    schema_editor.execute("DROP FUNCTION part_agrees()")


class Migration(migrations.Migration):
    dependencies = [("assemblies", "0002_people")]

    operations = [
        guard("assemblies_measurement"),
        guard("assemblies_spindlecheck"),
        guard("assemblies_programapproval"),
        guard("assemblies_build", update_when=MADE_BUILD_CHANGED),
        guard("assemblies_programrevision", update_when=FILE_CHANGED),
        migrations.RunPython(add, drop),
    ]
