"""Instruments: adding and changing them, their calibrations and their mishaps."""

from __future__ import annotations

from datetime import date
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.utils import timezone

from crib.actions.once import Done, do_once
from crib.models import Calibration, CalibrationResult, Instrument, InstrumentKind, Person
from crib.rules.keys import key_of
from crib.rules.refusal import Refused

#: What only a wrench has; other kinds keep none of it.
WRENCH_ONLY = ("torque_min_mnm", "torque_max_mnm", "reach_um", "pulls_between")
#: What an instrument that reads lengths has.
LENGTH_ONLY = ("step_um", "uncertainty_um")


def fields_of(kind: str) -> tuple[str, ...]:
    """Which figures an instrument of a kind carries, besides mark, description and interval."""
    if kind == InstrumentKind.WRENCH:
        return WRENCH_ONLY
    return () if kind == InstrumentKind.SCALE else LENGTH_ONLY


def save_instrument(*, by: Person, submission: UUID, instrument: Instrument) -> Done:
    """Add or change an instrument. Refuses a mark in use and a range upside down."""

    def work(act):
        _check(instrument)
        _write(instrument)
        act.about = f"instrument {instrument.mark}"
        return instrument.pk

    return do_once(
        submission=submission, kind="instrument.save", by=by, needs="instruments.edit", work=work
    )


def _check(instrument: Instrument) -> None:
    instrument.mark_key = key_of(instrument.mark)
    _refuse_taken_mark(instrument)
    least, most = instrument.torque_min_mnm, instrument.torque_max_mnm
    if least is not None and most is not None and least > most:
        raise Refused(
            "instrument.range_upside_down",
            "The smallest setting is above the largest.",
            "Swap the two.",
            field="torque_min_mnm",
        )
    for name in {*WRENCH_ONLY, *LENGTH_ONLY} - set(fields_of(instrument.kind)):
        setattr(instrument, name, None)
    try:
        instrument.full_clean()
    except ValidationError as error:
        raise Refused("instrument.not_valid", " ".join(error.messages), field="mark") from error


def _refuse_taken_mark(instrument: Instrument) -> None:
    others = Instrument.objects.exclude(pk=instrument.pk)
    if others.filter(mark_key=instrument.mark_key).exists():
        raise Refused(
            "instrument.mark_taken",
            "There is an instrument with this mark already.",
            "A mark stays with one instrument for its life.",
            field="mark",
        )


def _write(instrument: Instrument) -> None:
    """Store the row. Two people with one mark get past the look-up, and one of them ends here."""
    try:
        with transaction.atomic():
            instrument.save()
    except IntegrityError:
        _refuse_taken_mark(instrument)
        raise


def record_calibration(
    *,
    by: Person,
    submission: UUID,
    instrument: Instrument,
    result: CalibrationResult,
    on: date,
    certificate: str = "",
    note: str = "",
) -> Done:
    """Add a calibration, or the mishap after which one is due at once. Refuses days to come."""

    def work(act):
        if on > timezone.localdate():
            raise Refused(
                "calibration.day_to_come", "That day is still to come.", "Look at it.", field="on"
            )
        row = Calibration.objects.create(
            act=act,
            by_id=act.by_id,
            instrument=instrument,
            result=result,
            on=on,
            certificate=certificate.strip(),
            note=note.strip(),
        )
        act.about = f"instrument {instrument.mark}"
        act.details = {"result": row.result, "on": on.isoformat()}
        return instrument.pk

    return do_once(
        submission=submission,
        kind="instrument.calibrate",
        by=by,
        needs="instruments.edit",
        work=work,
    )
