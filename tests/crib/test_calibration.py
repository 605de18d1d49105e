"""When an instrument is in date, due, overdue, out; and what the bench is told."""

from datetime import date, timedelta

import pytest

from crib.rules.calibration import (
    USUAL_MONTHS,
    USUAL_PULLS,
    CalibrationEvent,
    Standing,
    calibration_state,
    halved_interval,
    instrument_finding,
    months_later,
)

LAST = date(2026, 1, 15)
PASSED = CalibrationEvent(LAST, "passed")


def on(day, *events, months=USUAL_MONTHS, limit=None, pulls=None):
    return calibration_state(
        events, day, months_between=months, pulls_between=limit, pulls=pulls
    ).standing


@pytest.mark.parametrize(
    ("start", "months", "end"),
    [
        (date(2026, 1, 15), 12, date(2027, 1, 15)),
        (date(2026, 8, 31), 6, date(2027, 2, 28)),
        (date(2027, 8, 31), 6, date(2028, 2, 29)),
        (date(2026, 12, 31), 1, date(2027, 1, 31)),
        (date(2026, 11, 30), 24, date(2028, 11, 30)),
    ],
)
def test_months_end_on_the_same_day_or_on_the_last_of_the_month(start, months, end):
    assert months_later(start, months) == end


@pytest.mark.parametrize(
    ("day", "standing"),
    [
        (LAST, Standing.IN_DATE),
        (date(2026, 12, 15), Standing.IN_DATE),
        (date(2026, 12, 16), Standing.DUE_SOON),
        (date(2027, 1, 15), Standing.DUE_SOON),
        (date(2027, 1, 16), Standing.OVERDUE),
        (LAST - timedelta(days=1), Standing.NOT_KNOWN),
    ],
)
def test_twelve_months_hold_through_their_last_day(day, standing):
    assert on(day, PASSED) == standing


@pytest.mark.parametrize(
    ("pulls", "standing"),
    [
        (0, Standing.IN_DATE),
        (4499, Standing.IN_DATE),
        (4500, Standing.DUE_SOON),
        (4999, Standing.DUE_SOON),
        (5000, Standing.OVERDUE),
        (5001, Standing.OVERDUE),
    ],
)
@pytest.mark.parametrize("months", [USUAL_MONTHS, None])
def test_five_thousand_pulls_end_it_before_the_months_do(pulls, standing, months):
    assert on(date(2026, 2, 1), PASSED, limit=USUAL_PULLS, pulls=pulls, months=months) == standing


def test_the_months_end_it_before_the_pulls_do():
    assert on(date(2027, 1, 16), PASSED, limit=USUAL_PULLS, pulls=3) == Standing.OVERDUE


@pytest.mark.parametrize("result", ["failed", "suspect"])
def test_a_failure_or_a_mishap_puts_it_out_until_it_is_calibrated(result):
    mishap = CalibrationEvent(date(2026, 3, 1), result)
    again = CalibrationEvent(date(2026, 3, 2), "adjusted")

    assert on(date(2026, 2, 28), PASSED, mishap) == Standing.IN_DATE
    assert on(date(2026, 3, 1), PASSED, mishap) == Standing.OUT
    assert on(date(2028, 3, 1), PASSED, mishap) == Standing.OUT
    assert on(date(2026, 3, 2), PASSED, mishap, again) == Standing.IN_DATE
    assert on(date(2026, 3, 1), mishap) == Standing.OUT


def test_of_one_day_the_one_recorded_last_counts():
    dropped = CalibrationEvent(LAST, "suspect")

    assert on(LAST, PASSED, dropped) == Standing.OUT
    assert on(LAST, dropped, PASSED) == Standing.IN_DATE


def test_a_mishap_recorded_late_counts_on_its_own_day():
    assert on(date(2026, 2, 1), PASSED, CalibrationEvent(date(2025, 12, 1), "suspect")) == (
        Standing.IN_DATE
    )


def test_nothing_on_record_is_not_known():
    assert on(LAST) == Standing.NOT_KNOWN
    assert on(LAST, PASSED, months=None) == Standing.NOT_KNOWN


@pytest.mark.parametrize(
    ("state", "code", "level"),
    [
        ({"day": date(2026, 2, 1)}, "in_date", "pass"),
        ({"day": date(2027, 1, 15)}, "due_soon", "note"),
        ({"day": date(2027, 1, 26)}, "overdue", "check"),
        ({"day": LAST, "limit": 10, "pulls": 10}, "pulls_used", "check"),
        ({"day": LAST, "events": []}, "never_calibrated", "unknown"),
        ({"day": LAST, "months": None}, "interval_not_set", "unknown"),
        ({"day": LAST, "events": [PASSED, CalibrationEvent(LAST, "failed")]}, "failed", "unknown"),
        ({"day": LAST, "events": [CalibrationEvent(LAST, "suspect")]}, "mishap", "unknown"),
    ],
)
def test_what_the_bench_is_told(state, code, level):
    found = instrument_finding(
        "W-1",
        calibration_state(
            state.get("events", [PASSED]),
            state["day"],
            months_between=state.get("months", USUAL_MONTHS),
            pulls_between=state.get("limit"),
            pulls=state.get("pulls"),
        ),
    )

    assert (found.code, found.level) == (f"instrument.{code}", level)
    assert len(found.text) <= 70


def test_days_overdue_are_counted():
    found = instrument_finding(
        "W-1", calibration_state([PASSED], date(2027, 1, 26), months_between=12)
    )

    assert (found.measured, found.limit, found.unit) == (11, 0, "days")


def test_one_out_of_use_is_a_check_even_in_date():
    state = calibration_state([PASSED], LAST, months_between=12)

    assert instrument_finding("W-1", state, is_retired=True).code == "instrument.retired"


@pytest.mark.parametrize(
    ("result", "months", "advised"),
    [("adjusted", 12, 6), ("failed", 6, 3), ("adjusted", 1, 1), ("passed", 12, None)],
)
def test_what_was_found_out_is_to_come_back_in_half_the_time(result, months, advised):
    assert halved_interval(CalibrationEvent(LAST, result), months) == advised
    assert halved_interval(CalibrationEvent(LAST, result), None) is None
