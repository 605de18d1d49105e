"""Days in the past for what was built and printed. Rows that are never changed keep today's."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.utils import timezone

from assemblies.models import Assembly, Build
from labels.models import Label

_DAY, _NIGHT = 9, 22
#: From the first part on the bench to the build, the release and the label.
_TO_BUILD, _TO_RELEASE, _TO_LABEL = (timedelta(minutes=n) for n in (15, 25, 27))


def move_into_the_past(assembly: Assembly, rows: list[dict]) -> None:
    """Give each revision of an assembly its day; a revision ends when the next one is begun."""
    starts = [_start(row) for row in rows]
    builds = assembly.builds.order_by("started_at", "pk")
    for build, started_at, ended_at in zip(builds, starts, [*starts[1:], None], strict=True):
        _move_build(build, started_at, ended_at)
    Assembly.objects.filter(pk=assembly.pk).update(started_at=starts[0])


def _start(row: dict) -> datetime:
    day = timezone.localtime() - timedelta(days=row["days_ago"])
    hour = _NIGHT if row.get("at_night") else _DAY
    return day.replace(hour=hour, minute=10, second=0, microsecond=0)


def _move_build(build: Build, started_at: datetime, ended_at: datetime | None) -> None:
    moved = {"started_at": started_at}
    if build.built_at is not None:
        moved["built_at"] = started_at + _TO_BUILD
    if build.released_at is not None:
        moved["released_at"] = started_at + _TO_RELEASE
    if ended_at is not None:
        moved["ended_at"] = ended_at
    Build.objects.filter(pk=build.pk).update(**moved)
    printed = started_at + _TO_LABEL
    Label.objects.filter(build=build).update(made_at=printed, printed_at=printed)
