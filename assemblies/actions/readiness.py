"""Which tool numbers of a program have an assembly, which need work, which have none. Reads only.

It sorts the toolroom's list of what to build. Whether an assembly may be loaded is a question
for the check at the spindle, which looks at more.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from django.db.models import Prefetch

from assemblies.models import (
    Assembly,
    AssemblyState,
    Build,
    BuildPart,
    Measurement,
    ToolRequirement,
)
from assemblies.models.programs import LengthRule
from crib.models import CutterFacts


class Readiness(StrEnum):
    """Where the assembly for one tool number stands."""

    READY = "ready"
    NEEDS_WORK = "needs_work"
    NONE = "none"
    NOT_STATED = "not_stated"

    @property
    def words(self) -> str:
        return _WORDS[self]


_WORDS = {
    Readiness.READY: "Ready",
    Readiness.NEEDS_WORK: "Needs work",
    Readiness.NONE: "No assembly",
    Readiness.NOT_STATED: "Not stated",
}


@dataclass(frozen=True)
class Candidate:
    """One assembly for a tool number; `missing` says what keeps it from being ready."""

    assembly: Assembly
    build: Build
    missing: str

    @property
    def is_ready(self) -> bool:
        return not self.missing


@dataclass(frozen=True)
class Standing:
    """The answer for one tool number, with the assemblies behind it, ready ones first."""

    readiness: Readiness
    candidates: tuple[Candidate, ...] = ()


@dataclass(frozen=True)
class _Live:
    """A live build with the cutter in it and what was read on it last [um]."""

    build: Build
    cutter: CutterFacts | None
    readings: dict[str, int]


def standings(rows: Iterable[ToolRequirement]) -> dict[int, Standing]:
    """How each tool number stands, in a fixed number of queries whatever their count."""
    live = _live_builds()
    return {row.tool_number: _standing(row, live) for row in rows}


def _live_builds() -> list[_Live]:
    # Joined, not fetched apart: SQLite takes no more than a thousand items in such a question.
    parts = BuildPart.objects.select_related("item__cutter_facts")
    builds = list(
        Build.objects.filter(live=True)
        .select_related("assembly")
        .defer("findings", "release_findings")
        .prefetch_related(Prefetch("parts", parts))
        .order_by("assembly__number")
    )
    readings: dict[int, dict[str, int]] = {}
    for row in Measurement.objects.filter(build__live=True).order_by("at", "id"):
        readings.setdefault(row.build_id, {})[row.quantity] = row.value_um
    return [_Live(build, _cutter(build), readings.get(build.pk, {})) for build in builds]


def _cutter(build: Build) -> CutterFacts | None:
    part = next((part for part in build.parts.all() if part.role == "cutter"), None)
    return part.item.facts if part else None


def _standing(row: ToolRequirement, live: list[_Live]) -> Standing:
    if not row.is_confirmed or not row.kind or row.diameter_um is None:
        return Standing(Readiness.NOT_STATED)
    named = {row.preferred_id, *(assembly.pk for assembly in row.alternatives.all())}
    found = [
        Candidate(one.build.assembly, one.build, _missing(row, one))
        for one in live
        if one.build.assembly_id in named or one.build.meant_for_id == row.pk or _alike(row, one)
    ]
    found.sort(key=lambda candidate: bool(candidate.missing))
    if not found:
        return Standing(Readiness.NONE)
    readiness = Readiness.READY if found[0].is_ready else Readiness.NEEDS_WORK
    return Standing(readiness, tuple(found))


def _alike(row: ToolRequirement, one: _Live) -> bool:
    """Same kind of cutter and, by what is known, a diameter within the tolerance."""
    if one.cutter is None or one.cutter.kind != row.kind:
        return False
    diameter_um = one.readings.get("diameter", one.cutter.diameter_um)
    return abs(diameter_um - row.diameter_um) <= (row.diameter_tolerance_um or 0)


def _missing(row: ToolRequirement, one: _Live) -> str:
    """The first thing that keeps a build from being ready for a tool number; "" for none."""
    state = one.build.assembly.state
    if state != AssemblyState.RELEASED:
        return AssemblyState(state).label.lower()
    if one.cutter is None or one.cutter.kind != row.kind:
        return "another kind of cutter"
    checks = (
        ("diameter", one.readings.get("diameter"), row.diameter_um, row.diameter_tolerance_um),
        *_length_check(row, one),
    )
    for name, value_um, wanted_um, tolerance_um in checks:
        if value_um is None:
            return f"{name} not measured"
        if abs(value_um - wanted_um) > (tolerance_um or 0):
            return f"{name} outside"
    return _stickout_missing(row, one.build.stickout_um)


def _length_check(row: ToolRequirement, one: _Live) -> tuple:
    if row.length_rule != LengthRule.WINDOW:
        return ()
    value_um = one.readings.get("gauge_length")
    return (("gauge length", value_um, row.gauge_length_um, row.gauge_tolerance_um),)


def _stickout_missing(row: ToolRequirement, stickout_um: int | None) -> str:
    low_um, high_um = row.stickout_min_um, row.stickout_max_um
    if low_um is None and high_um is None:
        return ""
    if stickout_um is None:
        return "stick-out not recorded"
    inside = (low_um or 0) <= stickout_um and (high_um is None or stickout_um <= high_um)
    return "" if inside else "stick-out outside"
