"""How each instrument stands today, from its calibrations and its pulls. Reads only.

A pull is a build that names its wrench. Builds belong to a room above; they are counted through
the foreign key that points down to the instrument, so nothing is imported from there.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.db.models import Count, F, OuterRef, Prefetch, Q, QuerySet, Subquery

from crib.models import Calibration, CalibrationResult, Instrument, InstrumentKind
from crib.rules.calibration import (
    CalibrationEvent,
    CalibrationState,
    Standing,
    calibration_state,
    instrument_finding,
)
from crib.rules.finding import Finding

#: Standings that belong on the list for calibration.
TO_DO = (Standing.OUT, Standing.OVERDUE, Standing.NOT_KNOWN, Standing.DUE_SOON)
_ORDER = {standing: place for place, standing in enumerate(Standing)}


@dataclass(frozen=True, slots=True)
class InstrumentLine:
    """One instrument with how it stands and what the bench is told of it."""

    instrument: Instrument
    state: CalibrationState
    finding: Finding


def with_history(rows: QuerySet[Instrument]) -> QuerySet[Instrument]:
    """`rows` with `.events` (calibrations in order) and `.pulls` since the last one; two queries.

    Pulls on the very day of the calibration count: nobody wrote down which came first.
    """
    starts = Calibration.objects.filter(
        instrument=OuterRef("pk"),
        result__in=[CalibrationResult.PASSED, CalibrationResult.ADJUSTED],
    ).order_by("-on", "-id")
    since = Q(builds__built_at__date__gte=F("since"), builds__torque_mnm__isnull=False)
    in_order = Prefetch(
        "calibrations", Calibration.objects.order_by("on", "id"), to_attr="in_order"
    )
    return (
        rows.annotate(since=Subquery(starts.values("on")[:1]))
        .annotate(pulls=Count("builds", filter=since))
        .prefetch_related(in_order)
    )


def events_of(rows: Iterable[Calibration]) -> list[CalibrationEvent]:
    """Calibrations as the rules see them, in the order given."""
    return [CalibrationEvent(row.on, row.result) for row in rows]


def line_of(instrument: Instrument, today: date) -> InstrumentLine:
    """How a row of `with_history` stands on `today`."""
    is_wrench = instrument.kind == InstrumentKind.WRENCH
    state = calibration_state(
        events_of(instrument.in_order),
        today,
        months_between=instrument.months_between,
        pulls_between=instrument.pulls_between if is_wrench else None,
        pulls=instrument.pulls if is_wrench else None,
    )
    found = instrument_finding(instrument.mark, state, is_retired=instrument.is_retired)
    return InstrumentLine(instrument, state, found)


def instrument_lines(today: date) -> list[InstrumentLine]:
    """Every instrument in use, the one most in need of calibration first."""
    rows = with_history(Instrument.objects.filter(is_retired=False))
    lines = [line_of(row, today) for row in rows]
    return sorted(lines, key=lambda line: (_ORDER[line.state.standing], line.state.due_on or today))


def due_instruments(today: date) -> list[InstrumentLine]:
    """Only those to be calibrated: out, overdue, not known, or due within thirty days."""
    return [line for line in instrument_lines(today) if line.state.standing in TO_DO]
