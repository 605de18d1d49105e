"""Taking the guards of append-only tables away from the test database, and putting them back.

Between tests that commit, Django empties every table. On SQLite it does so row by row,
which the delete guards refuse; PostgreSQL truncates, which no row guard sees.
"""

from django.db import connection

FIND = (
    "SELECT name, sql FROM sqlite_master "
    "WHERE type = 'trigger' AND name LIKE 'append\\_only\\_%\\_delete' ESCAPE '\\'"
)


def take_delete_guards() -> dict[str, str]:
    """Drop the delete guards of a SQLite database; returns how each is made again."""
    if connection.vendor != "sqlite":
        return {}
    with connection.cursor() as cursor:
        guards = dict(cursor.execute(FIND).fetchall())
    drop_delete_guards(guards)
    return guards


def put_delete_guards(guards: dict[str, str]) -> None:
    """Make the guards again that `take_delete_guards` returned."""
    with connection.cursor() as cursor:
        for statement in guards.values():
            cursor.execute(statement)


def drop_delete_guards(guards: dict[str, str]) -> None:
    with connection.cursor() as cursor:
        for name in guards:
            cursor.execute(f'DROP TRIGGER IF EXISTS "{name}"')
