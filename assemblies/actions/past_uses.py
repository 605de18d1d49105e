"""What came out since about the instruments that a build was made with. Reads only."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime

from django.db.models import Exists, OuterRef
from django.utils import timezone

from assemblies.actions.measure import CARRIED_OVER
from assemblies.models import Build, Machine, Measurement, Quantity, ToolChange, Weighing
from assemblies.rules.found_out import (
    PastUse,
    passed_since,
    past_use_findings,
    unjudged_use_findings,
)
from assemblies.rules.repeatability import spread_finding
from crib.actions.instrument_facts import events_of
from crib.models import Calibration, Instrument
from crib.rules.finding import Finding, Level

#: A mass that is not known is a note; only a scale that is known to be out casts doubt.
_NOBODY_ASKS_OF_A_SCALE = frozenset(
    f"instrument.{case}"
    for case in ("never_calibrated", "interval_not_set", "overdue", "pulls_used")
)


@dataclass(frozen=True)
class InstrumentUse:
    """One instrument, by its key, and when it was used for a build.

    `judged`: the release looked at how it stood that day. `of` is assembly and revision of what
    it tightened, None where it measured. `weighed`: a scale, which nobody has to calibrate.
    """

    instrument_id: int
    at: datetime
    judged: bool = True
    of: tuple[int, int] | None = None
    weighed: bool = False

    @property
    def tightened(self) -> bool:
        return self.of is not None


@dataclass(frozen=True)
class Since:
    """What is known today of the instruments behind a build.

    `passed`: marks whose next calibration after every use here found them good.
    """

    findings: tuple[Finding, ...] = ()
    passed: frozenset[str] = frozenset()


def uses_of(
    build: Build | None,
    readings: Mapping[str, Measurement],
    weighed: Weighing | None = None,
) -> list[InstrumentUse]:
    """Instruments on record behind torque, last readings and mass of a made build; no query."""
    if build is None or build.built_at is None:
        return []
    uses = [
        InstrumentUse(row.measured_with_id, row.at, not _read_since(build, row))
        for row in readings.values()
        if row.measured_with_id is not None
    ]
    if build.wrench_id is not None and build.torque_mnm is not None:
        of = (build.assembly_id, build.revision)
        uses.insert(0, InstrumentUse(build.wrench_id, build.built_at, of=of))
    if weighed is not None and weighed.measured_with_id is not None:
        scale = InstrumentUse(weighed.measured_with_id, weighed.at, judged=False, weighed=True)
        uses.append(scale)
    return list(dict.fromkeys(uses))


def mass_that_counts(machine: Machine | None, weighed: Weighing | None) -> Weighing | None:
    """The weighing where this machine limits mass or tilting moment, else None."""
    if machine is None:
        return None
    by_hand = machine.tool_change == ToolChange.HAND
    moment_mnm = None if by_hand else machine.moment_max_mnm
    return None if (machine.mass_max_g, moment_mnm) == (None, None) else weighed


def _read_since(build: Build, row: Measurement) -> bool:
    return build.released_at is not None and row.at > build.released_at


def spread_since(build: Build | None, readings: Mapping[str, Measurement]) -> list[Finding]:
    """Readings taken after the release that lie too far apart: no release has judged them."""
    if build is None:
        return []
    found = (
        spread_finding(Quantity(row.quantity).label, row.readings_um or (), row.uncertainty_um)
        for row in readings.values()
        if _read_since(build, row)
    )
    return [one for one in found if one is not None and one.level is Level.CHECK]


def found_since(uses: Mapping[int, Iterable[InstrumentUse]]) -> dict[int, Since]:
    """What is known today of those uses, by the key of the build.

    One query for all of them, none where no instrument on record was used; one more where a
    torque may be that of an earlier revision, or where an instrument has no calibration at all.
    """
    uses = _with_real_days(uses)
    every = [use for used in uses.values() for use in used]
    calibrations: dict[int, list[Calibration]] = {}
    if every:
        rows = Calibration.objects.filter(instrument__in={use.instrument_id for use in every})
        for row in rows.select_related("instrument").order_by("on", "id"):
            calibrations.setdefault(row.instrument_id, []).append(row)
    instruments = {key: rows[0].instrument for key, rows in calibrations.items()}
    bare = {use.instrument_id for use in every if not use.judged} - set(instruments)
    if bare:
        instruments |= Instrument.objects.in_bulk(bare)
    pasts = {
        build: [
            _past(use, instruments[use.instrument_id], calibrations.get(use.instrument_id, []))
            for use in used
            if use.instrument_id in instruments
        ]
        for build, used in uses.items()
    }
    return {build: _since(past) for build, past in pasts.items()}


@dataclass(frozen=True)
class _Past:
    """One use with what is told of it, and whether the next calibration found it good."""

    mark: str
    findings: tuple[Finding, ...]
    passed: bool


def _since(pasts: list[_Past]) -> Since:
    doubtful = {past.mark for past in pasts if not past.passed}
    return Since(
        tuple(dict.fromkeys(finding for past in pasts for finding in past.findings)),
        frozenset(past.mark for past in pasts) - doubtful,
    )


def _past(use: InstrumentUse, instrument: Instrument, rows: list[Calibration]) -> _Past:
    past = PastUse(instrument.mark, timezone.localdate(use.at), use.tightened)
    late, events = [row for row in rows if row.at > use.at], events_of(rows)
    found = past_use_findings(past, events, events_of(late))
    if not use.judged:
        stood = unjudged_use_findings(past, events, instrument.months_between)
        # Out on the day is said once.
        found = [*stood, *(f for f in found if not stood or f.level is Level.CHECK)]
    if use.weighed:
        found = [f for f in found if f.code not in _NOBODY_ASKS_OF_A_SCALE]
    passed = passed_since(past, events)
    return _Past(instrument.mark, tuple(found), passed)


def _with_real_days(
    uses: Mapping[int, Iterable[InstrumentUse]],
) -> dict[int, list[InstrumentUse]]:
    """`uses` with the day on which each torque was really given.

    A revision that a moved reading opened was not tightened anew: its torque is that of the
    revision before.
    """
    uses = {build: list(used) for build, used in uses.items()}
    later = {use.of[0] for used in uses.values() for use in used if use.of and use.of[1] > 1}
    if not later:
        return uses
    carried = Measurement.objects.filter(build=OuterRef("pk"), note__startswith=CARRIED_OVER)
    rows = Build.objects.filter(assembly__in=later, built_at__isnull=False)
    rows = rows.annotate(carried=Exists(carried))
    known = {
        (row.assembly_id, row.revision): row
        for row in rows.only("assembly_id", "revision", "built_at")
    }
    return {
        build: [replace(use, at=_tightened_at(use, known)) for use in used]
        for build, used in uses.items()
    }


def _tightened_at(use: InstrumentUse, known: Mapping[tuple[int, int], Build]) -> datetime:
    if use.of is None or use.of not in known:
        return use.at
    number, revision = use.of
    while known[number, revision].carried and (number, revision - 1) in known:
        revision -= 1
    return known[number, revision].built_at
