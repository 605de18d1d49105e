"""Runout of all builds by part: rows to the readings that the rules compare. Reads only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field

from assemblies.models import Assembly, Build, BuildPart, Measurement, Quantity
from assemblies.rules.runout_by_part.geometry import (
    Arrow,
    Direction,
    Tilt,
    direction_of,
    tilt_bounds,
)
from assemblies.rules.runout_by_part.graph import Part
from assemblies.rules.runout_by_part.parts import Observed, PartSays, Study, study
from assemblies.rules.runout_by_part.readings import (
    ROUND_PLACES,
    Chosen,
    RunoutReading,
    choose,
)
from crib.models import Condition, Piece

#: Kinds of part whose share in the runout is asked for.
KINDS = ("holder", "collet", "sleeve", "nut", "cutter")
#: So many readings are compared, the newest; more would make the page slow.
MOST_READINGS = 2_000
#: How a revision ends whose value moved when it was measured again (`measure.py`).
MEASURED_AGAIN = "measured again and moved"
#: Pieces that no bench will see again.
_AWAY = (Condition.SCRAPPED, Condition.LOST)


@dataclass(frozen=True)
class Leaning:
    """One live build that was read at the nose and farther out."""

    build: Build
    nose: Measurement
    far: Measurement
    tilt: Tilt


@dataclass(frozen=True)
class RunoutByPart:
    """What all builds say, what they were chosen from, and where to find the pieces."""

    chosen: Chosen
    study: Study
    #: Every reading by its key, oldest first.
    keyed: dict[int, Measurement]
    parts: dict[int, tuple[Part, ...]]
    pieces: dict[str, Piece]
    cut: bool = False
    stands_in: dict[str, Assembly] = field(default_factory=dict)
    directions: dict[str, Direction] = field(default_factory=dict)
    leaning: tuple[Leaning, ...] = ()

    @property
    def builds(self) -> int:
        """How many revisions have a reading of runout."""
        return len({row.build_id for row in self.keyed.values()})

    def builds_with(self, mark: str) -> set[int]:
        """Keys of the builds that a marked piece was in."""
        return {key for key, parts in self.parts.items() if any(p.name == mark for p in parts)}

    @property
    def look(self) -> list[PartSays]:
        """Pieces to test on the bench; those that are gone for good are no work any more."""
        return [row for row in self.study.to_look_at if not self.is_away(row)]

    def is_away(self, row: PartSays) -> bool:
        piece = self.pieces.get(row.part.name)
        return piece is not None and piece.condition in _AWAY

    def of_piece(self, mark: str) -> PartSays | None:
        return next((r for r in self.study.rows if r.part.marked and r.part.name == mark), None)


def runout_by_part() -> RunoutByPart:
    """The study over the newest readings, in three queries whatever their number."""
    measured = list(
        Measurement.objects.filter(quantity=Quantity.RUNOUT)
        .select_related("build__assembly")
        .order_by("-at", "-id")[: MOST_READINGS + 1]
    )
    cut, measured = len(measured) > MOST_READINGS, measured[:MOST_READINGS][::-1]
    parts, pieces = _parts()
    clampings = _clampings(measured)
    chosen = choose(
        [_reading(row, clampings[row.build_id], parts.get(row.build_id, ())) for row in measured]
    )
    keyed = {row.pk: row for row in measured}
    return RunoutByPart(
        chosen=chosen,
        study=study([Observed(used.value_um, used.parts) for used in chosen.used]),
        keyed=keyed,
        parts=parts,
        pieces=pieces,
        cut=cut,
        stands_in=_stands_in(),
        directions=_directions(chosen, keyed),
        leaning=tuple(_leaning(measured)),
    )


def _parts() -> tuple[dict[int, tuple[Part, ...]], dict[str, Piece]]:
    """Build -> its parts, and mark -> piece, of all builds whose runout was read."""
    rows = BuildPart.objects.filter(
        role__in=KINDS, build__in=Measurement.objects.filter(quantity="runout").values("build")
    ).select_related("piece__item", "item")
    parts: dict[int, list[Part]] = defaultdict(list)
    pieces: dict[str, Piece] = {}
    for row in rows:
        parts[row.build_id].append(_part(row))
        if row.piece:
            pieces[row.piece.mark] = row.piece
    return {key: tuple(found) for key, found in parts.items()}, pieces


def _part(row: BuildPart) -> Part:
    if row.piece:
        return Part(row.role, row.piece.mark)
    return Part(row.role, f"unmarked {row.item.code}", marked=False)


def _clampings(measured: list[Measurement]) -> dict[int, int]:
    """Build -> the first build of the same putting-together.

    A value that moved makes a new revision, although nobody loosened anything.
    """
    builds = {(row.build.assembly_id, row.build.revision): row.build for row in measured}
    found: dict[int, int] = {}
    for assembly, revision in sorted(builds):
        build, before = builds[assembly, revision], builds.get((assembly, revision - 1))
        same = before is not None and before.end_reason.endswith(MEASURED_AGAIN)
        found[build.pk] = found[before.pk] if same else build.pk
    return found


def _reading(row: Measurement, clamping: int, parts: tuple[Part, ...]) -> RunoutReading:
    return RunoutReading(
        key=row.pk,
        clamping=clamping,
        taken=_taken(row),
        value_um=row.value_um,
        read_on=row.read_on,
        distance_um=row.distance_um,
        parts=parts,
    )


def _taken(row: Measurement) -> str:
    """The same for a reading that was carried over to the next revision, which keeps its time."""
    where = f"{row.read_on} {row.distance_um}"
    return f"{row.build.assembly_id} {row.at.isoformat()} {where} {row.value_um}"


def _stands_in() -> dict[str, Assembly]:
    """Mark -> the assembly whose made build it is in now."""
    rows = BuildPart.objects.filter(
        live=True, role__in=KINDS, piece__isnull=False, build__revision__gt=0
    ).select_related("build__assembly", "piece")
    return {row.piece.mark: row.build.assembly for row in rows}


def _directions(chosen: Chosen, keyed: dict[tuple[int, str], Measurement]) -> dict[str, Direction]:
    """Holder -> how far the high spots of its builds point one way."""
    arrows: dict[str, list[Arrow]] = defaultdict(list)
    for used in chosen.used:
        clock_deg = keyed[used.key].clock_deg
        for part in used.parts:
            if part.kind == "holder" and part.marked and clock_deg is not None:
                arrows[part.name].append(Arrow(used.value_um, clock_deg))
    return {mark: direction_of(found) for mark, found in sorted(arrows.items())}


def _leaning(measured: list[Measurement]) -> Iterator[Leaning]:
    """Live builds read at the nose and on a shank or bar farther out, newest first."""
    last: dict[int, dict[str, Measurement]] = defaultdict(dict)
    for row in measured:
        if row.build.live and row.read_on:
            last[row.build_id]["far" if row.read_on in ROUND_PLACES else row.read_on] = row
    for places in reversed(last.values()):
        nose, far = places.get("nose"), places.get("far")
        if nose is None or far is None or far.distance_um is None:
            continue
        length_um = far.distance_um - (nose.distance_um or 0)
        if length_um > 0:
            tilt = tilt_bounds(nose.value_um, far.value_um, length_um)
            yield Leaning(nose.build, nose, far, tilt)
