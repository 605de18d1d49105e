"""Figures as people type them into a sum: a number or a fraction, with its unit or without."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

#: Larger ones are slips of the keyboard in every sum of these pages.
_LARGEST = 1_000_000_000
_LONGEST_TEXT = 30
_FIGURE = re.compile(
    r"^(?P<sign>[-−+]?)(?:(?:(?P<whole>[0-9]{1,6})[ -])?(?P<num>[0-9]{1,6})/(?P<den>[0-9]{1,6})"
    r"|(?P<number>[0-9]{1,10}(?:[.,][0-9]{0,10})?|[.,][0-9]{1,10}))\s*(?P<unit>(?:1(?=/))?\D*)$"
)

#: Unit as typed -> how many of the first one it is. Lengths in micrometres behind the page.
LENGTHS = {"mm": 1000, "in": 25_400, '"': 25_400, "”": 25_400, "inch": 25_400, "µm": 1, "um": 1}
CUTTING_SPEEDS = {"m/min": 1, "m/s": 60, "ft/min": Fraction("0.3048"), "sfm": Fraction("0.3048")}
RIM_SPEEDS = {"m/s": 1, "m/min": Fraction(1, 60), "ft/min": Fraction("0.3048") / 60}
FEEDS = {"mm/min": 1, "m/min": 1000, "in/min": Fraction("25.4"), "ipm": Fraction("25.4")}
SPEEDS = {"1/min": 1, "rpm": 1, "/min": 1}
#: Behind the page in mN·m; 1 lbf·ft = 1.3558179483314004 N·m exactly.
TORQUES = {
    "N·m": 1000,
    "Nm": 1000,
    "lbf·ft": Fraction("1355.8179483314004"),
    "ft·lbf": Fraction("1355.8179483314004"),
    "lbf·in": Fraction("112.9848290276167"),
    "in·lbf": Fraction("112.9848290276167"),
    "kgf·m": Fraction("9806.65"),
}
FORCES = {"N": 1, "kN": 1000, "lbf": Fraction("4.4482216152605")}
MASSES = {"g": 1, "kg": 1000, "lb": Fraction("453.59237"), "oz": Fraction("28.349523125")}
MINUTES = {"min": 1, "h": 60}
PERCENT = {"%": 1}
NUMBERS: Mapping[str, int] = {"": 1}


class NotAnAmount(ValueError):
    """The text does not name one amount; the message says why, for people."""


def read_amount(text: str, units: Mapping[str, int | Fraction]) -> float:
    """The amount in the base of `units`; without a unit the first of them is meant.

    A fraction of a length without a unit is taken as inches, as everywhere.
    Raises NotAnAmount for anything else.

    >>> read_amount("1/2 in", LENGTHS), read_amount("12,7", LENGTHS), read_amount("3/8", LENGTHS)
    (12700.0, 12700.0, 9525.0)
    >>> read_amount("100 ft/min", CUTTING_SPEEDS)
    30.48
    """
    squeezed = " ".join(text.split())
    match = _FIGURE.match(squeezed) if len(squeezed) <= _LONGEST_TEXT else None
    if match is None:
        raise NotAnAmount(f"“{squeezed[:_LONGEST_TEXT]}” is not a number.{_units_in_words(units)}")
    value = _value(match)
    if match["sign"] in ("-", "−"):
        value = -value
    amount = value * _size(match, units)
    if abs(amount) > _LARGEST:
        raise NotAnAmount(f"{squeezed} is too large here. Look at the decimal point.")
    return float(amount)


def _value(match: re.Match) -> Fraction:
    if match["number"] is not None:
        return Fraction(f"0{match['number'].replace(',', '.')}".rstrip(".") or "0")
    if int(match["den"]) == 0:
        raise NotAnAmount("It divides by zero.")
    return int(match["whole"] or 0) + Fraction(int(match["num"]), int(match["den"]))


def _size(match: re.Match, units: Mapping[str, int | Fraction]) -> int | Fraction:
    typed = _plain(match["unit"])
    if not typed:
        first = "in" if match["number"] is None and "in" in units else next(iter(units))
        return units[first]
    for name, size in units.items():
        if _plain(name) == typed:
            return size
    raise NotAnAmount(f"“{match['unit'].strip()}” is no unit here.{_units_in_words(units)}")


def _plain(unit: str) -> str:
    """A unit without the signs that keyboards lack: `N·m`, `N m` and `Nm` are one."""
    return re.sub(r"[\s·*.-]", "", unit).lower().replace("μ", "µ")


def _units_in_words(units: Mapping[str, int | Fraction]) -> str:
    """Each unit once, by the first of its names."""
    named: dict[int | Fraction, str] = {}
    for name, size in units.items():
        named.setdefault(size, name)
    words = ", ".join(name for name in named.values() if name)
    return f" Units here: {words}." if words else ""
