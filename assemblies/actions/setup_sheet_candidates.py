"""What could stand for each tool number of a sheet, the fittest first. Reads only."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from django.utils import timezone

from assemblies.actions.drawing_facts import side_facts
from assemblies.actions.readiness import standings
from assemblies.actions.setup_sheet_checks import UNTIL_SCANNED, Fetched, checks_of
from assemblies.actions.setup_sheet_places import Spot, Where, open_loads, places_of
from assemblies.actions.setup_sheet_rows import BuildRows, rows_of
from assemblies.actions.spindle import Checked
from assemblies.models import (
    Assembly,
    AssemblyState,
    Build,
    Load,
    Machine,
    ProgramRevision,
    ToolRequirement,
)
from assemblies.rules.drawing.side import SideView, side_view
from assemblies.rules.standing_load import StandingLoad, load_findings
from assemblies.rules.verdict.facts import LabelFacts
from crib.rules.finding import Finding, Level, worst_first, worst_level

#: Answers, for builds, what their labels say; a build that it leaves out has none.
LabelsOf = Callable[[Iterable[Build]], Mapping[int, LabelFacts]]

#: Assemblies judged for one tool number; the rest is counted.
MOST_CANDIDATES = 4
#: `T0 M6` empties the spindle.
EMPTY_SPINDLE = 0
#: Said once at the head of a sheet, not with each assembly.
_OF_THE_PROGRAM = frozenset(
    {
        "program.not_approved",
        "program.withdrawn",
        "program.approval_not_known",
        "program.not_read_whole",
    }
)


@dataclass(frozen=True)
class Candidate:
    """One assembly for a tool number, with the verdict of a dry run and where it is."""

    build: Build
    checked: Checked
    where: Where
    rows: BuildRows

    @property
    def assembly(self) -> Assembly:
        return self.build.assembly

    @property
    def name(self) -> str:
        return f"{self.assembly.number} {self.build.revision_text}"

    @property
    def word(self) -> str:
        return str(self.checked.verdict.word)

    @property
    def open_points(self) -> tuple[Finding, ...]:
        """What is to be looked at in this assembly itself, worst first."""
        left_out = _OF_THE_PROGRAM | UNTIL_SCANNED
        found = (*self._since_loaded, *self.checked.verdict.findings)
        weighs = (f for f in found if f.level.weight >= Level.CHECK.weight)
        return tuple(worst_first(f for f in weighs if f.code not in left_out))

    @property
    def reasons(self) -> tuple[Finding, ...]:
        """What keeps it from being loaded now, worst first, what the whole program lacks last."""
        whole = (f for f in self.checked.verdict.findings if f.code in _OF_THE_PROGRAM)
        return (*self.open_points, *whole)

    @property
    def _since_loaded(self) -> list[Finding]:
        """Why the check it was loaded on no longer holds, where it is in this machine."""
        load = self.where.load
        if load is None or self.where.spot is not Spot.HERE:
            return []
        standing = StandingLoad(
            loaded_at=load.loaded_at,
            number=self.assembly.number,
            loaded_revision=load.build.revision_text,
            live=load.build_id == self.build.pk,
            state=self.assembly.state,
            state_note=self.assembly.state_note,
        )
        return load_findings(standing, timezone.now())

    @property
    def found_by_number(self) -> bool:
        return any(f.code in UNTIL_SCANNED for f in self.checked.verdict.findings)

    @property
    def own_level(self) -> Level:
        return worst_level(self.open_points)

    @property
    def is_released(self) -> bool:
        return self.assembly.state == AssemblyState.RELEASED and self.build.released_at is not None

    @property
    def view(self) -> SideView:
        return side_view(side_facts(self.build, self.rows))


@dataclass(frozen=True)
class Gathered:
    """Candidates by tool number, and how many more there are of each."""

    candidates: dict[int, tuple[Candidate, ...]]
    left_out: dict[int, int]


def gather_candidates(
    revision: ProgramRevision,
    machine: Machine,
    stated: dict[int, ToolRequirement],
    numbers: Iterable[int],
    labels_of: LabelsOf,
) -> Gathered:
    """What could stand for each of `numbers` on this machine."""
    keys, left_out = _picked(stated, numbers, machine)
    builds = _live_builds({key for found in keys.values() for key in found})
    picked = {n: [builds[k] for k in found if k in builds] for n, found in keys.items()}
    assemblies = [build.assembly for build in builds.values()]
    fetched = Fetched(machine, rows_of(builds.values()), open_loads(machine, assemblies))
    places = places_of(assemblies, machine, fetched.loads)
    asked = [(build, number) for number, found in picked.items() for build in found]
    checks = checks_of(asked, revision, fetched, labels_of(builds.values()))

    def candidate(build: Build, number: int) -> Candidate:
        place = places[build.assembly_id]
        return Candidate(build, checks[build.pk, number], place, fetched.rows[build.pk])

    candidates = {
        number: _fittest_first([candidate(build, number) for build in found], number, stated)
        for number, found in picked.items()
    }
    return Gathered(candidates, left_out)


def _picked(
    stated: dict[int, ToolRequirement], numbers: Iterable[int], machine: Machine
) -> tuple[dict[int, list[int]], dict[int, int]]:
    """Keys of the builds to judge for each number: what is in the machine, then what fits."""
    standing = standings(stated[n] for n in numbers if n in stated)
    loaded = _loaded_builds(machine)
    picked: dict[int, list[int]] = {}
    left_out: dict[int, int] = {}
    for number in numbers:
        if number == EMPTY_SPINDLE:
            continue
        found = list(standing[number].candidates) if number in standing else []
        listed = stated[number].preferred_id if number in stated else None
        found.sort(key=lambda one: (one.assembly.pk != listed, bool(one.missing)))
        keys = list(dict.fromkeys([*loaded.get(number, ()), *(one.build.pk for one in found)]))
        picked[number] = keys[:MOST_CANDIDATES]
        left_out[number] = len(keys) - len(picked[number])
    return picked, left_out


def _loaded_builds(machine: Machine) -> dict[int, tuple[int, ...]]:
    """By T number, the live build of the assembly that was loaded here under it."""
    rows = Build.objects.filter(
        live=True,
        assembly__loads__machine=machine,
        assembly__loads__out_at=None,
        assembly__loads__tool_number__isnull=False,
    )
    return {
        number: (key,) for number, key in rows.values_list("assembly__loads__tool_number", "pk")
    }


def _live_builds(keys: set[int]) -> dict[int, Build]:
    rows = Build.objects.filter(pk__in=keys).select_related("assembly__contents__parent")
    builds = {build.pk: build for build in rows}
    for build in builds.values():
        build.assembly.current_build = build  # known; saves asking for it
    return builds


def _fittest_first(
    found: list[Candidate], number: int, stated: dict[int, ToolRequirement]
) -> tuple[Candidate, ...]:
    listed = stated[number].preferred_id if number in stated else None

    def rank(one: Candidate) -> tuple:
        here = one.where.spot is Spot.HERE and one.where.load.tool_number == number
        away = one.where.spot in (Spot.OTHER_MACHINE, Spot.BORROWED)
        unlisted = one.assembly.pk != listed
        return (not here, one.own_level.weight, away, unlisted, one.assembly.number)

    return tuple(sorted(found, key=rank))


def pocket_text(load: Load | None) -> str:
    """The pocket of a load as a table prints it; "" without one."""
    if load is None:
        return ""
    return "spindle" if load.pocket is None else str(load.pocket)
