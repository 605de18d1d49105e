"""Where an axis carries its figures: round steps of numbers, whole units of the calendar."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from crib.rules.calibration import months_later

_STEPS = (Decimal(1), Decimal(2), Decimal(5), Decimal(10))


@dataclass(frozen=True, slots=True)
class Tick:
    """One mark of an axis: where, in the axis' own figures, and what is printed there."""

    at: float
    text: str


def round_step(length: Decimal, count: int) -> Decimal:
    """The smallest of 1, 2, 5 times a power of ten that parts `length` into at most `count` steps.

    `length` is in the figures of the axis, whatever their unit. Raises ValueError for a length or
    a count that is not above zero.

    Source: common practice; P. Heckbert, "Nice numbers for graph labels", 1990.

    >>> round_step(Decimal(438), 5), round_step(Decimal("0.03"), 5)
    (Decimal('100'), Decimal('0.01'))
    """
    if length <= 0 or count < 1:
        raise ValueError("nothing to part")
    rough = length / count
    power = Decimal(10) ** rough.adjusted()
    step = next(step * power for step in _STEPS if step * power >= rough).normalize()
    return step.quantize(Decimal(1)) if step >= 1 else step


def number_ticks(ends: tuple[Decimal, Decimal], count: int = 6) -> list[Decimal]:
    """Round figures from at or below the lower of `ends` to at or above the upper.

    About `count` steps. Equal ends are opened by a hundredth each way, so that there is an axis.

    Source: as `round_step`.

    >>> [str(tick) for tick in number_ticks((Decimal("0.008"), Decimal("0.021")), 4)]
    ['0.005', '0.010', '0.015', '0.020', '0.025']
    """
    low, high = ends
    if high <= low:
        room = abs(low) / 100 or Decimal(1)
        low, high = low - room, low + room
    step = round_step(high - low, count)
    first = int((low / step).to_integral_value(ROUND_FLOOR))
    last = int((high / step).to_integral_value(ROUND_CEILING))
    return [n * step for n in range(first, last + 1)]


def day_ticks(first: date, last: date, count: int = 6) -> list[Tick]:
    """Marks on whole days, weeks from Monday, months or years between two days, `count` at most.

    `at` is the day's ordinal number. None may fall between the two; then there is none.

    Source: common practice.

    >>> [t.text for t in day_ticks(date(2026, 1, 10), date(2026, 4, 20))]
    ['Feb 2026', 'Mar 2026', 'Apr 2026']
    """
    for days in (1, 2, 7, 14):
        if (last - first).days // days < count:
            return _every(first, last, days)
    months = 1
    while _months_between(first, last) // months >= count:
        months = _longer(months)
    return _months(first, last, months)


def _every(first: date, last: date, days: int) -> list[Tick]:
    # Day 1 of the calendar was a Monday, so weeks start on one.
    day = first + timedelta(days=(1 - first.toordinal()) % days)
    marks = []
    while day <= last:
        marks.append(Tick(float(day.toordinal()), f"{day.day} {day:%b}"))
        day += timedelta(days=days)
    return marks


def _months_between(first: date, last: date) -> int:
    return (last.year - first.year) * 12 + last.month - first.month


def _longer(months: int) -> int:
    """The next longer step of 1, 2, 3, 6 months and 1, 2, 5, 10, 20 … years."""
    short = {1: 2, 2: 3, 3: 6, 6: 12, 12: 24, 24: 60, 60: 120}
    return short.get(months, months * 2)


def _months(first: date, last: date, months: int) -> list[Tick]:
    year, index = first.year, -(-(first.month - 1) // months) * months
    if months >= 12:
        years = months // 12
        year, index = -(-(first.year + (first > date(first.year, 1, 1))) // years) * years, 0
    day = months_later(date(year, 1, 1), index)
    if day < first:
        day = months_later(day, months)
    marks = []
    while day <= last:
        text = f"{day:%Y}" if months >= 12 else f"{day:%b %Y}"
        marks.append(Tick(float(day.toordinal()), text))
        day = months_later(day, months)
    return marks
