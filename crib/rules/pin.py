"""A PIN that nobody guesses in five tries: no row of keys, no date."""

from __future__ import annotations

import re
from datetime import date
from itertools import pairwise

#: Where day, month and year may stand in a PIN: DDMM, MMDD and, with a year of two figures, three
#: ways more.
_ORDERS = {4: ("dm", "md"), 6: ("dmy", "mdy", "ymd")}
#: Any leap year: 29 February is a birthday too.
_LEAP_YEAR = 2000


def pin_fault(pin: str) -> str:
    """What is wrong with `pin`, as a sentence; "" when it will do.

    Source: own rule. Dates and rows of keys are what people choose first, so they are tried first.

    >>> pin_fault("4821"), pin_fault("2512")
    ('', 'That looks like a date. Dates are guessed first.')
    """
    if not re.fullmatch(r"[0-9]{4,6}", pin):
        return "A PIN has 4 to 6 figures."
    if len(set(pin)) == 1:
        return "All figures are the same."
    if _is_run(pin):
        return "The figures stand in a row, like 1234."
    return "That looks like a date. Dates are guessed first." if _is_date(pin) else ""


def _is_run(pin: str) -> bool:
    """Each figure is one more than the one before, or each one less; 0 follows 9."""
    steps = {(int(after) - int(before)) % 10 for before, after in pairwise(pin)}
    return steps in ({1}, {9})


def _is_date(pin: str) -> bool:
    if len(pin) in (4, 6) and re.match(r"(19|20)[0-9]{2}(0[1-9]|1[0-2])?$", pin):
        return True
    return any(_is_day(pin, order) for order in _ORDERS.get(len(pin), ()))


def _is_day(pin: str, order: str) -> bool:
    said = {name: int(pin[2 * place : 2 * place + 2]) for place, name in enumerate(order)}
    try:
        date(_LEAP_YEAR, said["m"], said["d"])
    except ValueError:
        return False
    return True
