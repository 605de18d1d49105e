"""Short pieces of sentence and the findings made of them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from crib.rules.finding import Finding, Level
from crib.rules.units import mm_from_um, show_mm

_MONTHS = (
    *("January", "February", "March", "April", "May", "June"),
    *("July", "August", "September", "October", "November", "December"),
)


def unknown(code: str, text: str, remedy: str = "") -> Finding:
    """The finding that something needed is not known."""
    return Finding(code, Level.UNKNOWN, text, remedy=remedy)


def agrees(code: str, text: str) -> Finding:
    """The finding that one point was compared and agrees."""
    return Finding(code, Level.PASS, text)


def note(code: str, text: str, remedy: str = "") -> Finding:
    """A finding that is told and weighs nothing."""
    return Finding(code, Level.NOTE, text, remedy=remedy)


def length_finding(
    code: str, level: Level, text: str, measured_um: int, limit_um: int, remedy: str = ""
) -> Finding:
    """A finding about two lengths [um], its numbers in mm as people read them."""
    measured, limit = float(mm_from_um(measured_um)), float(mm_from_um(limit_um))
    return Finding(code, level, text, measured, limit, "mm", remedy)


def short_name(name: str | None, otherwise: str, longest: int = 20) -> str:
    """A name that leaves room for the numbers beside it.

    >>> short_name("HM-0412", "This program"), short_name(None, "This program")
    ('HM-0412', 'This program')
    """
    if not name:
        return otherwise
    return name if len(name) <= longest else name[: longest - 1] + "…"


def day_and_month(day: date, today: date | None) -> str:
    """A date as people say it; the year only where it is not this year.

    >>> day_and_month(date(2025, 5, 12), date(2025, 6, 1))
    '12 May'
    """
    said = f"{day.day} {_MONTHS[day.month - 1]}"
    return said if today is not None and day.year == today.year else f"{said} {day.year}"


def difference(measured_um: int, wanted_um: int, words: tuple[str, str], decimals: int = 2) -> str:
    """By how much, and which way: lengths [um], `words` for more and for less.

    >>> difference(12700, 12000, ("bigger", "smaller"))
    '0.70 bigger'
    """
    word = words[0] if measured_um > wanted_um else words[1]
    return f"{show_mm(abs(measured_um - wanted_um), decimals)} {word}"


def tool_list(numbers: Iterable[int]) -> str:
    """T numbers as people read them.

    >>> tool_list([1, 3]), tool_list([1, 2, 3, 4, 5, 6])
    ('T1 and T3', 'T1, T2, T3, T4 and 2 more')
    """
    names = [f"T{number}" for number in numbers]
    if len(names) > 5:
        return f"{', '.join(names[:4])} and {len(names) - 4} more"
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"
