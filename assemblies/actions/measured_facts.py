"""What the readings of a build are worth: instrument, spread, room to the limit. Reads only."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from django.utils import timezone

from assemblies.actions.shop_limits import current_limits
from assemblies.actions.sittings import Reading
from assemblies.actions.stack_facts import stack_of
from assemblies.models import Build, Measurement, Quantity, ToolRequirement
from assemblies.rules.closure import closure_finding
from assemblies.rules.fit import runs_on_a_router
from assemblies.rules.reading_limits import Judged, closeness_finding, unproven_finding
from assemblies.rules.repeatability import Repeatability, repeatability, spread_finding
from assemblies.rules.runout import runout_finding, runout_limit_um
from assemblies.rules.stack import ShopLimits, Stack
from crib.actions.instrument_facts import events_of
from crib.models import Calibration, Instrument
from crib.reference import tables
from crib.rules.calibration import CalibrationEvent, calibration_state, instrument_finding
from crib.rules.finding import Finding

#: Sittings that the repeatability of instruments is taken from, the newest ones.
LAST_SITTINGS = 300


@dataclass(frozen=True)
class Taken:
    """One reading, kept or just typed, and the day on which it was taken."""

    reading: Reading
    on: date


def measured_findings(build: Build, stack: Stack, limits: ShopLimits) -> list[Finding]:
    """What is to be said of the last reading of each quantity of a build.

    `stack` is that of the build, with its machine where one is known. At most two queries.
    """
    rows = Measurement.objects.filter(build_id=build.pk).select_related("measured_with")
    last = {row.quantity: row for row in rows.order_by("at", "id")}
    taken = [Taken(_reading_of(row), timezone.localdate(row.at)) for row in last.values()]
    return taken_findings(taken, stack, limits, build.meant_for)


def _reading_of(row: Measurement) -> Reading:
    return Reading(
        quantity=row.quantity,
        value_um=row.value_um,
        readings_um=tuple(row.readings_um or ()),
        measured_with=row.measured_with,
        uncertainty_um=row.uncertainty_um,
    )


def taken_findings(
    taken: Sequence[Taken], stack: Stack, limits: ShopLimits, wanted: ToolRequirement | None
) -> list[Finding]:
    """The same of readings that need not be kept yet."""
    found = _instruments(taken)
    unproven = []
    for each in taken:
        reading, name = each.reading, Quantity(each.reading.quantity).label
        judged = _judged(reading, name, stack, limits, wanted)
        found.append(spread_finding(name, reading.readings_um, reading.uncertainty_um))
        found.append(closeness_finding(judged) if judged else None)
        if judged and reading.uncertainty_um is None:
            unproven.append(name)
    found.append(unproven_finding(unproven))
    return [finding for finding in found if finding is not None]


def typed_findings(build: Build, readings: Sequence[Reading]) -> list[Finding]:
    """What the rules would say of readings of a build before they are kept. Writes nothing."""
    stack, limits, today = stack_of(build), current_limits(), timezone.localdate()
    value_um = {reading.quantity: reading.value_um for reading in readings}
    figures = replace(
        stack.figures,
        gauge_length_um=value_um.get(Quantity.GAUGE_LENGTH, stack.figures.gauge_length_um),
        diameter_um=value_um.get(Quantity.DIAMETER, stack.figures.diameter_um),
        runout_um=value_um.get(Quantity.RUNOUT, stack.figures.runout_um),
    )
    stack = replace(stack, figures=figures)
    taken = [Taken(_with_uncertainty(reading), today) for reading in readings]
    return _by_limits(value_um, stack, limits) + taken_findings(
        taken, stack, limits, build.meant_for
    )


def _with_uncertainty(reading: Reading) -> Reading:
    """The reading with the U that its row would get."""
    instrument = reading.measured_with
    return replace(reading, uncertainty_um=instrument.uncertainty_um if instrument else None)


def _by_limits(value_um: dict[str, int], stack: Stack, limits: ShopLimits) -> list[Finding]:
    """Closure of the gauge length and runout, of what was typed only."""
    found = []
    if Quantity.GAUGE_LENGTH in value_um and stack.holder is not None:
        found.append(closure_finding(stack.holder, stack.figures, limits))
    if Quantity.RUNOUT in value_um and stack.cutter is not None:
        for_router = runs_on_a_router(stack, tables())
        found.append(runout_finding(stack.figures, stack.cutter, for_router, limits))
    return found


def _instruments(taken: Sequence[Taken]) -> list[Finding | None]:
    """How each instrument on record stood on the day it was used; one query, none without any."""
    used = {(each.reading.measured_with, each.on) for each in taken if each.reading.measured_with}
    if not used:
        return []
    events: dict[int, list[CalibrationEvent]] = {}
    rows = Calibration.objects.filter(instrument__in={instrument for instrument, _ in used})
    for row in rows.order_by("on", "id"):
        events.setdefault(row.instrument_id, []).extend(events_of([row]))
    in_order = sorted(used, key=lambda pair: (pair[0].mark_key, pair[1]))
    return [_standing(one, events.get(one.pk, []), on) for one, on in in_order]


def _standing(instrument: Instrument, events: list[CalibrationEvent], on: date) -> Finding:
    state = calibration_state(events, on, months_between=instrument.months_between)
    return instrument_finding(instrument.mark, state)


def _judged(
    reading: Reading,
    name: str,
    stack: Stack,
    limits: ShopLimits,
    wanted: ToolRequirement | None,
) -> Judged | None:
    """The limit that a reading is held against; None where nothing limits it."""
    window = _window(reading, stack, limits, wanted)
    if window is None:
        return None
    return Judged(name, reading.value_um, *window, reading.uncertainty_um)


def _window(
    reading: Reading, stack: Stack, limits: ShopLimits, wanted: ToolRequirement | None
) -> tuple[int, int] | None:
    """Wanted value and tolerance [um] of a quantity."""
    if reading.quantity == Quantity.RUNOUT:
        allowed_um = allowed_runout_um(stack, limits)
        return None if allowed_um is None else (0, allowed_um)
    if wanted is None:
        return None
    pair = {
        Quantity.GAUGE_LENGTH: (wanted.gauge_length_um, wanted.gauge_tolerance_um),
        Quantity.DIAMETER: (wanted.diameter_um, wanted.diameter_tolerance_um),
        Quantity.CORNER_RADIUS: (wanted.corner_radius_um, wanted.corner_tolerance_um),
    }[reading.quantity]
    return None if None in pair else pair


def allowed_runout_um(stack: Stack, limits: ShopLimits) -> int | None:
    """Runout [um] that the shop allows this stack; None where its diameter is not known."""
    cutter = stack.cutter.diameter_um if stack.cutter else None
    sizes_um = [um for um in (cutter, stack.figures.diameter_um) if um is not None]
    if not sizes_um:
        return None
    return runout_limit_um(min(sizes_um), runs_on_a_router(stack, tables()), limits)


def repeatabilities() -> list[tuple[Instrument, Repeatability]]:
    """How well each instrument repeats, pooled over its newest sittings of several readings."""
    rows = Measurement.objects.filter(readings_um__isnull=False, measured_with__isnull=False)
    sittings: dict[Instrument, list[list[int]]] = {}
    for row in rows.select_related("measured_with").order_by("-at", "-id")[:LAST_SITTINGS]:
        sittings.setdefault(row.measured_with, []).append(row.readings_um)
    return sorted(_pooled(sittings.items()), key=lambda pair: pair[0].mark_key)


def _pooled(
    sittings: Iterable[tuple[Instrument, list[list[int]]]],
) -> Iterable[tuple[Instrument, Repeatability]]:
    for instrument, groups in sittings:
        found = repeatability(groups)
        if found is not None:
            yield instrument, found
