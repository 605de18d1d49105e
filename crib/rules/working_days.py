"""Counting working days. Holidays are not known here, so a date found is the earliest."""

from __future__ import annotations

import datetime

_FRIDAY = 4


def day_after_working_days(day: datetime.date, working_days: int) -> datetime.date:
    """The day that is `working_days` [working days, Monday to Friday] after `day`.

    Raises ValueError for a negative count.
    Source: common practice (five-day week).

    >>> day_after_working_days(datetime.date(2026, 5, 8), 1)  # a Friday
    datetime.date(2026, 5, 11)
    """
    if working_days < 0:
        raise ValueError("working days are counted forwards")
    while working_days:
        day += datetime.timedelta(days=1)
        working_days -= day.weekday() <= _FRIDAY
    return day
