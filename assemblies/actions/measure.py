"""What was measured on a build. Readings are added; the last one of each quantity counts."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from django.utils import timezone

from assemblies.actions.build import end_build, live_build, refuse_other_revision
from assemblies.actions.sittings import FULL_TURN_DEG, Reading
from assemblies.actions.weigh import carry_mass
from assemblies.models import Assembly, AssemblyState, Build, Measurement, Quantity
from crib.actions.once import Done, do_once
from crib.models import Act, Person
from crib.rules.refusal import Refused
from crib.rules.units import show_mm

#: A released build whose value moved by more than this is another revision [um].
#: Source: shop setting, common practice.
MOVED_UM = {Quantity.GAUGE_LENGTH: 20, Quantity.DIAMETER: 10, Quantity.CORNER_RADIUS: 10}
#: How the note of a reading begins that another revision was given; it was not taken anew.
CARRIED_OVER = "carried over from"


def record_measurements(
    *,
    by: Person,
    submission: UUID,
    assembly: Assembly,
    readings: list[Reading],
    revision: int | None = None,
) -> Done:
    """Add readings to the live build. On a released one, a moved value makes a new revision.

    `revision` is the one that was measured: readings never go to another one, whose parts differ.
    The new revision is built but not released: label and offsets of the old one no longer hold.
    """

    def work(act):
        build = live_build(assembly)
        _check(assembly, build, readings)
        refuse_other_revision("measure.other_revision", build, revision)
        moved = _moved(build, readings)
        if moved:
            build = _next_revision(act, assembly, build, moved)
        for reading in readings:
            _write(act, build, reading)
        act.about = f"assembly {assembly.number}"
        return assembly.number

    return do_once(
        submission=submission, kind="build.measure", by=by, needs="assembly.build", work=work
    )


def _check(assembly: Assembly, build: Build, readings: list[Reading]) -> None:
    if assembly.state == AssemblyState.QUARANTINED:
        raise Refused(
            "measure.quarantined",
            f"Assembly {assembly.number} is quarantined: {assembly.state_note}",
            "Start a rebuild, then measure it.",
        )
    if build.is_draft:
        raise Refused("measure.draft", f"{build} is not built yet.", "Build it, then measure it.")
    if not readings:
        raise Refused("measure.nothing", "No reading was entered.", "Enter at least one.")
    for reading in readings:
        _check_value(reading)


def _check_value(reading: Reading) -> None:
    least_um = 0 if reading.quantity in (Quantity.RUNOUT, Quantity.CORNER_RADIUS) else 1
    if reading.value_um < least_um:
        raise Refused(
            "measure.zero",
            f"{Quantity(reading.quantity).label} cannot be {show_mm(reading.value_um, 3)}.",
            field=reading.quantity,
        )
    if reading.quantity != Quantity.RUNOUT and (reading.read_on or reading.clock_deg is not None):
        raise Refused(
            "measure.place_without_runout",
            "A place on the turn is entered, but no runout.",
            field="runout",
        )
    if reading.clock_deg is not None and not 0 <= reading.clock_deg < FULL_TURN_DEG:
        raise Refused(
            "measure.clock_beyond_turn",
            f"{reading.clock_deg}° is not within one turn.",
            "Give the high spot from 0 to 359°.",
            field="clock_deg",
        )


def _moved(build: Build, readings: list[Reading]) -> str:
    """What moved on a released build, in words; empty when nothing did."""
    if build.released_at is None:
        return ""
    # Held against the release: many small steps would else move it far without a word.
    at_release = Measurement.objects.filter(at__lte=build.released_at)
    known = at_release.latest_by_quantity(build.pk)
    for reading in readings:
        limit_um = MOVED_UM.get(reading.quantity)
        if limit_um is None:
            continue
        old = known.get(reading.quantity)
        if old is None or abs(old.value_um - reading.value_um) > limit_um:
            return f"{Quantity(reading.quantity).label} measured again and moved"
    return ""


def _next_revision(act: Act, assembly: Assembly, build: Build, why: str) -> Build:
    """The same parts and settings under the next revision, with readings that still hold."""
    parts, readings = list(build.parts.all()), Measurement.objects.latest_by_quantity(build.pk)
    end_build(build, why)
    successor = Build.objects.create(
        assembly=assembly,
        revision=build.revision + 1,
        stickout_um=build.stickout_um,
        grip_um=build.grip_um,
        torque_mnm=build.torque_mnm,
        wrench_mark=build.wrench_mark,
        wrench_id=build.wrench_id,
        adapter_um=build.adapter_um,
        coolant_wanted=build.coolant_wanted,
        copied_from_id=build.copied_from_id,
        built_at=timezone.now(),
        built_by_id=act.by_id,
        findings=build.findings,
        accepted_reason=build.accepted_reason,
        accepted_by_id=build.accepted_by_id,
        meant_for_id=build.meant_for_id,
    )
    for part in parts:
        successor.parts.create(
            role=part.role, item_id=part.item_id, piece_id=part.piece_id, quantity=part.quantity
        )
    for old in readings.values():
        _write(act, successor, _reading_of(old), at=old.at)
    carry_mass(act, build, successor)
    assembly.state, assembly.state_note = AssemblyState.BUILT, why
    assembly.save(update_fields=["state", "state_note"])
    return successor


def _reading_of(row: Measurement) -> Reading:
    return Reading(
        quantity=row.quantity,
        value_um=row.value_um,
        distance_um=row.distance_um,
        instrument=row.instrument,
        note=f"{CARRIED_OVER} r{row.build.revision}",
        read_on=row.read_on,
        clock_deg=row.clock_deg,
        readings_um=tuple(row.readings_um or ()),
        measured_with=row.measured_with,
        uncertainty_um=row.uncertainty_um,
    )


def _write(act: Act, build: Build, reading: Reading, at: datetime | None = None) -> None:
    """Add one reading; a carried over one keeps the time and the U of when it was really taken."""
    uncertainty_um = reading.uncertainty_um
    if at is None and uncertainty_um is None and reading.measured_with is not None:
        uncertainty_um = reading.measured_with.uncertainty_um
    Measurement.objects.create(
        act=act,
        by_id=act.by_id,
        build=build,
        quantity=reading.quantity,
        value_um=reading.value_um,
        distance_um=reading.distance_um,
        instrument=reading.instrument,
        note=reading.note,
        read_on=reading.read_on,
        clock_deg=reading.clock_deg,
        readings_um=list(reading.readings_um) if len(reading.readings_um) > 1 else None,
        measured_with=reading.measured_with,
        uncertainty_um=uncertainty_um,
        at=at or timezone.now(),
    )
