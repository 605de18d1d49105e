"""Wrenches and gauges of the example shop, each calibrated once."""

from __future__ import annotations

from datetime import timedelta
from uuid import uuid4

from django.utils import timezone

from config.example.data import in_columns, shop
from config.example.people import Crew
from crib.actions.instruments import record_calibration, save_instrument
from crib.models import CalibrationResult, Instrument

_CALIBRATED = "calibrated_days_ago"


def add_instruments(crew: Crew) -> None:
    for row in shop()["instruments"]:
        facts = {name: value for name, value in row.items() if name != _CALIBRATED}
        instrument = Instrument(**in_columns(facts))
        save_instrument(by=crew["ines"], submission=uuid4(), instrument=instrument)
        record_calibration(
            by=crew["ines"],
            submission=uuid4(),
            instrument=instrument,
            result=CalibrationResult.PASSED,
            on=timezone.localdate() - timedelta(days=row[_CALIBRATED]),
            certificate="made up",
        )
