"""Whether an instrument may be believed: its calibrations, mishaps, months and pulls."""

from __future__ import annotations

from calendar import monthrange
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

from crib.rules.finding import Finding, Level

#: Said ahead of the day on which an instrument falls due.
#: Source: shop setting, common practice.
DUE_SOON_DAYS = 30
#: From this share of its pulls on a wrench is due soon [%].
DUE_SOON_PERCENT = 90
#: What is usual for torque wrenches, offered when an interval is set and never presumed.
#: Source: ISO 6789:2003 as calibration houses practise it; whichever comes first.
USUAL_MONTHS, USUAL_PULLS = 12, 5000
_SOURCE = "interval set by the shop; usual practice with ISO 6789:2003"

#: Results that start a new interval, and those after which nothing is known any more.
_STARTS, _ENDS = frozenset({"passed", "adjusted"}), frozenset({"failed", "suspect"})


class Standing(StrEnum):
    """How an instrument stands, the worst first."""

    OUT = "out"
    OVERDUE = "overdue"
    NOT_KNOWN = "not_known"
    DUE_SOON = "due_soon"
    IN_DATE = "in_date"


@dataclass(frozen=True, slots=True)
class CalibrationEvent:
    """One calibration or mishap: its day, and `passed`, `adjusted`, `failed` or `suspect`."""

    on: date
    result: str


@dataclass(frozen=True, slots=True)
class CalibrationState:
    """Where an instrument stands on one day.

    `last_on` is the last calibration that starts an interval, `event` the last thing that
    happened. `pulls` since `last_on`; `pulls_limit` None where no limit is set or pulls are not
    counted. `due_on` is the last day on which it is in date.
    """

    standing: Standing
    today: date
    last_on: date | None = None
    due_on: date | None = None
    pulls: int | None = None
    pulls_limit: int | None = None
    event: CalibrationEvent | None = None

    @property
    def pulls_used(self) -> bool:
        """It has had as many pulls as it is allowed between two calibrations."""
        return self.pulls_limit is not None and (self.pulls or 0) >= self.pulls_limit

    @property
    def days_overdue(self) -> int:
        """Days [d] past the last one in date; 0 while it is in date or no day is known."""
        return max((self.today - self.due_on).days, 0) if self.due_on else 0


def months_later(day: date, months: int) -> date:
    """The same day of the month `months` later; the last of the month where it has no such day.

    >>> months_later(date(2026, 8, 31), 6)
    datetime.date(2027, 2, 28)
    """
    years, month = divmod(day.month - 1 + months, 12)
    year = day.year + years
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def calibration_state(
    events: Iterable[CalibrationEvent],
    today: date,
    *,
    months_between: int | None,
    pulls_between: int | None = None,
    pulls: int | None = None,
) -> CalibrationState:
    """Where an instrument stands on `today`, by months or pulls, whichever runs out first.

    `events` in the order in which they were recorded; later days than `today` do not count yet.
    On one day the one recorded last counts. A failure or a mishap puts it out until the next
    calibration. Without an interval, or without any calibration, nothing is known.

    Source: ISO 6789:2003 as practised (12 months or 5 000 pulls); the interval is the shop's.

    >>> bought = [CalibrationEvent(date(2026, 1, 15), "passed")]
    >>> str(calibration_state(bought, date(2027, 1, 16), months_between=12).standing)
    'overdue'
    """
    past = sorted((e for e in events if e.on <= today), key=lambda e: e.on)
    started = next((e for e in reversed(past) if e.result in _STARTS), None)
    last = past[-1] if past else None
    due_on = months_later(started.on, months_between) if started and months_between else None
    state = CalibrationState(
        Standing.NOT_KNOWN, today, started and started.on, due_on, pulls, pulls_between, last
    )
    return replace(state, standing=_standing(state))


def _standing(state: CalibrationState) -> Standing:
    if state.event is not None and state.event.result in _ENDS:
        return Standing.OUT
    if state.last_on is None or (state.due_on is None and state.pulls_limit is None):
        return Standing.NOT_KNOWN
    if state.days_overdue or state.pulls_used:
        return Standing.OVERDUE
    return Standing.DUE_SOON if _soon(state) else Standing.IN_DATE


def _soon(state: CalibrationState) -> bool:
    by_day = state.due_on is not None and (state.due_on - state.today).days <= DUE_SOON_DAYS
    limit = state.pulls_limit
    by_pulls = limit is not None and (state.pulls or 0) * 100 >= limit * DUE_SOON_PERCENT
    return by_day or by_pulls


def instrument_finding(mark: str, state: CalibrationState, *, is_retired: bool = False) -> Finding:
    """What the bench is told of an instrument before its figure is taken.

    Overdue is a check. After a failure or a mishap, and without a calibration, its figure is
    not known, which is no pass.

    Source: interval set by the shop.

    >>> state = calibration_state([], date(2026, 5, 1), months_between=12)
    >>> instrument_finding("W-1", state).code
    'instrument.never_calibrated'
    """
    if is_retired:
        remedy = "Take another one, or put it back into use."
        return _finding("retired", Level.CHECK, f"{mark} is taken out of use.", remedy)
    if state.standing == Standing.OUT:
        return _out(mark, state)
    if state.standing == Standing.NOT_KNOWN:
        return _not_known(mark, state)
    if state.standing == Standing.OVERDUE:
        return _overdue(mark, state)
    soon = state.standing == Standing.DUE_SOON
    text = f"{mark} calibrated {shown_day(state.last_on)}, {_until(state)}."
    if soon:
        return _finding("due_soon", Level.NOTE, text, "Put it on the list for calibration.")
    return _finding("in_date", Level.PASS, text)


def _until(state: CalibrationState) -> str:
    """What ends the interval: the day, or the pulls where no day is known."""
    if state.due_on is not None:
        return f"due {shown_day(state.due_on)}"
    return f"{state.pulls or 0} of {state.pulls_limit} pulls"


def _finding(case: str, level: Level, text: str, remedy: str = "", **numbers) -> Finding:
    return Finding(f"instrument.{case}", level, text, remedy=remedy, source=_SOURCE, **numbers)


def _out(mark: str, state: CalibrationState) -> Finding:
    dropped = state.event.result == "suspect"
    what = "dropped or overloaded" if dropped else "found out of its limits"
    return _finding(
        "mishap" if dropped else "failed",
        Level.UNKNOWN,
        f"{mark} was {what} on {shown_day(state.event.on)}.",
        "Take another one; this one needs a calibration first.",
    )


def _not_known(mark: str, state: CalibrationState) -> Finding:
    if state.last_on is None:
        remedy = "Have it calibrated, or record its certificate."
        text = f"{mark}: no calibration on record."
        return _finding("never_calibrated", Level.UNKNOWN, text, remedy)
    text = f"{mark} calibrated {shown_day(state.last_on)}; how long that holds is not set."
    return _finding("interval_not_set", Level.UNKNOWN, text, "Set its interval.")


def _overdue(mark: str, state: CalibrationState) -> Finding:
    remedy = "Have it calibrated; until then what it says is doubtful."
    if state.days_overdue:
        days = state.days_overdue
        text = f"{mark}: calibration overdue by {days} {'day' if days == 1 else 'days'}."
        return _finding("overdue", Level.CHECK, text, remedy, measured=days, limit=0, unit="days")
    text = f"{mark}: {state.pulls} pulls since its calibration, {state.pulls_limit} allowed."
    numbers = {"measured": state.pulls, "limit": state.pulls_limit, "unit": "pulls"}
    return _finding("pulls_used", Level.CHECK, text, remedy, **numbers)


def halved_interval(event: CalibrationEvent | None, months_between: int | None) -> int | None:
    """Months [mo] advised after an instrument was found out; None where nothing is to change.

    Source: halving the interval after a bad result is usual practice of calibration houses.

    >>> halved_interval(CalibrationEvent(date(2026, 5, 1), "adjusted"), 12)
    6
    """
    found_out = event is not None and event.result in ("adjusted", "failed")
    return max(months_between // 2, 1) if found_out and months_between else None


def shown_day(day: date | None) -> str:
    """A day as the pages print it; "not known" for None.

    >>> shown_day(date(2026, 5, 1)), shown_day(None)
    ('1 May 2026', 'not known')
    """
    return "not known" if day is None else f"{day.day} {day:%b %Y}"
