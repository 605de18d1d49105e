"""Parts and readings of many builds at once, and the side view that follows from them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from assemblies.models import Build, BuildPart, Measurement
from assemblies.rules.silhouette import SideFacts
from crib.models import CutterFacts, HolderFacts, ShankForm
from crib.reference import tapers
from crib.rules.standards import taper_coded

_FACTS = ("holder", "collet", "nut", "pull_stud", "cutter")
#: Kinds whose tip is half a ball of the cutting diameter.
_BALL_NOSED = frozenset({"ball_nose"})


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


def side_facts(build: Build, rows: BuildRows) -> SideFacts:
    """What is known of the form of one build."""
    return SideFacts(
        **_holder_side(rows.facts("holder")),
        **_cutter_side(rows.facts("cutter"), rows),
        grip_um=build.grip_um,
        stickout_um=build.stickout_um,
        gauge_length_um=rows.read_um("gauge_length"),
        bought_in_inches=rows.bought_in_inches,
    )


def _holder_side(holder: HolderFacts | None) -> dict:
    if holder is None:
        return {}
    taper = taper_coded(tapers(), holder.interface)
    return {
        "steep_taper": taper is None or taper.family.startswith("7/24"),
        "gauge_diameter_um": taper.gauge_diameter_um if taper else None,
        "flange_diameter_um": taper.flange_diameter_um if taper else None,
        "holder_um": holder.gauge_length_um,
        "nose_diameter_um": holder.nose_diameter_um,
        "has_collet": holder.clamping == "collet",
        "is_arbor": holder.clamping == "arbor",
    }


def _cutter_side(cutter: CutterFacts | None, rows: BuildRows) -> dict:
    measured_um = rows.read_um("diameter")
    if cutter is None:
        return {"diameter_um": measured_um}
    corner_um = rows.read_um("corner_radius")
    return {
        "shank_um": None if cutter.shank_form == ShankForm.BORE else cutter.shank_um,
        "diameter_um": cutter.diameter_um if measured_um is None else measured_um,
        "diameter_is_nominal": measured_um is None,
        "flute_um": cutter.flute_um,
        "corner_radius_um": cutter.corner_radius_um if corner_um is None else corner_um,
        "is_ball_nosed": cutter.kind in _BALL_NOSED,
    }
