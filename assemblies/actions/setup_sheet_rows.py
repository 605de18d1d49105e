"""Parts and readings of many builds at once."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from assemblies.models import Build, BuildPart, Measurement

_FACTS = ("holder", "collet", "nut", "pull_stud", "sleeve", "cutter")


@dataclass(frozen=True)
class BuildRows:
    """The parts of one build by role, and its last reading of each quantity."""

    parts: dict[str, BuildPart]
    readings: dict[str, Measurement]

    def read_um(self, quantity: str) -> int | None:
        """The last reading of a quantity [um]; None when it was never read."""
        return self.readings[quantity].value_um if quantity in self.readings else None

    def facts(self, role: str):
        """The facts of the item in a role; None where there is none, or nothing was entered."""
        part = self.parts.get(role)
        return part.item.facts if part else None

    @property
    def measured_on(self) -> date | None:
        """Day from which length and diameter both hold: the older of the two."""
        days = [self.readings[q].at for q in ("gauge_length", "diameter") if q in self.readings]
        return timezone.localtime(min(days)).date() if days else None

    @property
    def holder_mark(self) -> str:
        part = self.parts.get("holder")
        return part.piece.mark if part and part.piece else ""

    @property
    def bought_in_inches(self) -> bool:
        cutter = self.parts.get("cutter")
        return bool(cutter and cutter.item.bought_in_inches)


def rows_of(builds: Iterable[Build]) -> dict[int, BuildRows]:
    """Parts and readings of `builds` by the key of the build, in two queries."""
    keys = [build.pk for build in builds]
    rows = {key: BuildRows({}, {}) for key in keys}
    facts = [f"item__{kind}_facts" for kind in _FACTS]
    parts = BuildPart.objects.filter(build__in=keys).select_related("item", "piece", *facts)
    for part in parts:
        rows[part.build_id].parts[part.role] = part
    for reading in Measurement.objects.filter(build__in=keys).order_by("at", "id"):
        rows[reading.build_id].readings[reading.quantity] = reading
    return rows
