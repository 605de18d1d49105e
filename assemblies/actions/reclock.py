"""The re-clock test of a built assembly: kept as it was read, and what it says computed anew.

Turning a part loosens the assembly. A revision is one putting-together, so the test ends it: label
and offsets of before no longer hold, and it has to be measured and released again. Only turning
the whole holder in the spindle, read on the shank, leaves it as it is.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from django.db.models import QuerySet
from django.utils import timezone

from assemblies.actions.build import end_build, live_build
from assemblies.models import (
    Assembly,
    AssemblyState,
    Build,
    Measurement,
    PartRole,
    Quantity,
    Reclocking,
)
from assemblies.rules.runout_by_part.geometry import Arrow
from assemblies.rules.runout_by_part.reclock import (
    TURNS,
    Split,
    loosens,
    reclock_finding,
    split,
    tells,
    turnable,
)
from crib.actions.once import Done, do_once
from crib.models import Act, HolderFacts, Instrument, Person
from crib.rules.finding import Finding
from crib.rules.refusal import Refused
from crib.rules.units import show_mm

#: Above this no reading is a runout; a decimal point is missing [um]. Own choice.
MOST_UM = 1_000
ENDED_BY = "Loosened for the re-clock test"


@dataclass(frozen=True)
class ReclockReadings:
    """What was read: full indicator readings [um], high spots on the clock [deg], where and how."""

    turned: str
    first_um: int
    first_deg: int
    second_um: int
    second_deg: int
    read_on: str
    distance_um: int | None = None
    measured_with: Instrument | None = None


@dataclass(frozen=True)
class Reclocked:
    """One test with what it says."""

    row: Reclocking
    found: Split
    finding: Finding

    @property
    def first(self) -> Arrow:
        return Arrow(self.row.first_um, self.row.first_deg)

    @property
    def second(self) -> Arrow:
        return Arrow(self.row.second_um, self.row.second_deg)

    @property
    def part_name(self) -> str:
        return self.row.get_turned_display()


def turnable_parts(build: Build) -> tuple[str, ...]:
    """Roles in this build that can be turned by half a turn on purpose."""
    return turnable({part.role for part in build.parts.all()}, _clamping(build))


def _clamping(build: Build) -> str | None:
    rows = HolderFacts.objects.filter(item__built_as__build=build, item__built_as__role="holder")
    return rows.values_list("clamping", flat=True).first()


def record_reclock(
    *, by: Person, submission: UUID, assembly: Assembly, revision: int, readings: ReclockReadings
) -> Done:
    """Keep a test of the live revision; where it was loosened, open the next, not released.

    Both readings count as runout too, each of its own putting-together. Answers with the key of
    the test.
    """

    def work(act):
        build = live_build(assembly)
        _check_build(build, revision)
        _check_readings(build, readings)
        row = _keep(act, build, readings)
        _keep_runout(act, build, readings, readings.first_um, readings.first_deg)
        after = build
        if loosens(readings.turned, readings.read_on):
            after = _tightened_again(act, build)
            _no_longer_released(assembly)
        _keep_runout(act, after, readings, readings.second_um, readings.second_deg)
        act.about = f"assembly {assembly.number}"
        act.details = {"revision": build.revision, "note": reclocked(row).finding.text}
        return row.pk

    return do_once(
        submission=submission, kind="build.reclock", by=by, needs="assembly.build", work=work
    )


def _check_build(build: Build, revision: int) -> None:
    if build.is_draft:
        raise Refused("reclock.draft", f"{build} is not built yet.", "Build it, then test it.")
    if build.revision != revision:
        raise Refused(
            "reclock.other_revision",
            f"It is {build.revision_text} by now; the first reading was of r{revision}.",
            "Start the test again.",
        )


def _check_readings(build: Build, readings: ReclockReadings) -> None:
    if readings.turned not in turnable_parts(build):
        raise Refused("reclock.part", "This part cannot be turned in it.", "Pick another part.")
    if not tells(readings.turned, readings.read_on):
        text = "Only a round shank tells, or a test bar where the cutter is not turned."
        raise Refused("reclock.place", text, "Read it there, both times.")
    for name in ("first", "second"):
        size_um = getattr(readings, f"{name}_um")
        if not 0 <= size_um <= MOST_UM:
            text = f"{show_mm(size_um, 3)} mm is no runout."
            raise Refused("reclock.too_large", text, "Look at the decimal point.", field=name)
        if not 0 <= getattr(readings, f"{name}_deg") < 360:
            text = "A clock goes from 0 to 359 degrees."
            raise Refused("reclock.clock", text, "Pick an hour.", field=f"{name}_deg")


def _keep(act: Act, build: Build, readings: ReclockReadings) -> Reclocking:
    return Reclocking.objects.create(act=act, by_id=act.by_id, build=build, **vars(readings))


def _keep_runout(
    act: Act, build: Build, readings: ReclockReadings, size_um: int, clock_deg: int
) -> None:
    used = readings.measured_with
    Measurement.objects.create(
        act=act,
        by_id=act.by_id,
        build=build,
        quantity=Quantity.RUNOUT,
        value_um=size_um,
        clock_deg=clock_deg,
        distance_um=readings.distance_um,
        read_on=readings.read_on,
        measured_with=used,
        instrument=used.mark if used else "",
        uncertainty_um=used.uncertainty_um if used else None,
        note="re-clock test",
    )


def _no_longer_released(assembly: Assembly) -> None:
    """A quarantined one stays so: only a rebuild brings it back."""
    if assembly.state != AssemblyState.QUARANTINED:
        assembly.state, assembly.state_note = AssemblyState.BUILT, ENDED_BY
        assembly.save(update_fields=["state", "state_note"])


def _tightened_again(act: Act, build: Build) -> Build:
    """The same parts as the next revision: its torque not recorded, not measured, not released.

    Nobody wrote down how tight it was made again; that is entered at the bench, by a rebuild.
    """
    parts, successor = list(build.parts.all()), Build.objects.get(pk=build.pk)
    end_build(build, ENDED_BY)
    successor.pk, successor._state.adding = None, True
    successor.revision += 1
    successor.torque_mnm = successor.adapter_um = successor.wrench = None
    successor.wrench_mark = ""
    successor.started_at = successor.built_at = timezone.now()
    successor.built_by_id = act.by_id
    successor.released_at = successor.released_by = None
    successor.release_findings, successor.release_reason = [], ""
    successor.save()
    for part in parts:
        successor.parts.create(
            role=part.role, item_id=part.item_id, piece_id=part.piece_id, quantity=part.quantity
        )
    return successor


def reclocked(row: Reclocking) -> Reclocked:
    """What a kept test says."""
    step_um = row.measured_with.step_um if row.measured_with else None
    found = split(Arrow(row.first_um, row.first_deg), Arrow(row.second_um, row.second_deg), step_um)
    return Reclocked(row, found, reclock_finding(row.turned, found))


def _rows() -> QuerySet[Reclocking]:
    return Reclocking.objects.select_related("build__assembly", "measured_with", "by")


def reclock_of(number: int, pk: int) -> Reclocked | None:
    """One test of an assembly, None where there is none."""
    row = _rows().filter(build__assembly__number=number, pk=pk).first()
    return reclocked(row) if row else None


def reclocks_of_assembly(assembly: Assembly) -> list[Reclocked]:
    """All tests of an assembly, newest first."""
    return _all(_rows().filter(build__assembly=assembly))


def reclocks_with_piece(mark_key: str) -> list[Reclocked]:
    """All tests of stacks that a marked piece was in, newest first."""
    return _all(_rows().filter(build__parts__piece__mark_key=mark_key))


def _all(rows: Iterable[Reclocking]) -> list[Reclocked]:
    return [reclocked(row) for row in rows if row.turned in TURNS]


def piece_marks(build: Build) -> dict[str, str]:
    """Role -> mark of the piece, or code of the loose part, of one build."""
    rows = build.parts.select_related("piece", "item")
    names = {part.role: part.piece.mark if part.piece else part.item.code for part in rows}
    return {role: names[role] for role in PartRole.values if role in names}
