"""What came out since about the instruments that a build was made with. Reads only."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.utils import timezone

from assemblies.models import Build, Measurement
from assemblies.rules.found_out import PastUse, past_use_findings
from crib.actions.instrument_facts import events_of
from crib.models import Calibration
from crib.rules.finding import Finding


@dataclass(frozen=True)
class InstrumentUse:
    """One instrument, by its key, and when it was used for a build."""

    instrument_id: int
    at: datetime
    tightened: bool


def uses_of(build: Build | None, readings: Mapping[str, Measurement]) -> list[InstrumentUse]:
    """Instruments on record behind the torque and the last readings of a made build; no query."""
    if build is None or build.built_at is None:
        return []
    uses = [
        InstrumentUse(row.measured_with_id, row.at, False)
        for row in readings.values()
        if row.measured_with_id is not None
    ]
    if build.wrench_id is not None and build.torque_mnm is not None:
        uses.insert(0, InstrumentUse(build.wrench_id, build.built_at, True))
    return list(dict.fromkeys(uses))


def found_since(uses: Mapping[int, Iterable[InstrumentUse]]) -> dict[int, tuple[Finding, ...]]:
    """What is known today of those uses, by the key of the build.

    One query for all of them, none where no instrument on record was used.
    """
    keys = {use.instrument_id for used in uses.values() for use in used}
    calibrations: dict[int, list[Calibration]] = {}
    if keys:
        rows = Calibration.objects.filter(instrument__in=keys).select_related("instrument")
        for row in rows.order_by("on", "id"):
            calibrations.setdefault(row.instrument_id, []).append(row)
    return {
        build: tuple(dict.fromkeys(f for use in used for f in _findings(use, calibrations)))
        for build, used in uses.items()
    }


def _findings(use: InstrumentUse, calibrations: Mapping[int, list[Calibration]]) -> list[Finding]:
    rows = calibrations.get(use.instrument_id)
    if not rows:
        return []
    past = PastUse(rows[0].instrument.mark, timezone.localdate(use.at), use.tightened)
    late = [row for row in rows if row.at > use.at]
    return past_use_findings(past, events_of(rows), events_of(late))
