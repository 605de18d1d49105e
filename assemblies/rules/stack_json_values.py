"""One value of a stack written as JSON: what it may be, and what is made of it."""

from __future__ import annotations

from collections.abc import Callable, Collection
from decimal import Decimal

from crib.rules.units import LONGEST_UM, NotALength, mnm_from_nm, read_length_um, um_from_mm

Reader = Callable[[object], object]

LONGEST_TEXT = 120
MOST_TORQUE_NM = 10_000
MOST_SPEED_RPM = 500_000
MOST_MASS_G = 1_000_000
_LONGEST_MM = LONGEST_UM // 1000
_LENGTH = 'a length in mm, as 12.7, "12.7" or "1/2 in"'


class Unfit(ValueError):
    """The value is not what its name asks for; the message says what is."""


class NoFiniteNumber:
    """What stands for NaN, Infinity and numbers too long to be one; no reader takes it."""


def _is_number(value: object) -> bool:
    """A truth value counts as a number in Python, not here."""
    return isinstance(value, int | Decimal) and not isinstance(value, bool)


def read_length(value: object, zero_allowed: bool = False) -> int:
    """Whole micrometres [um] of a length in millimetres, or of a text with its unit. Raises Unfit.

    >>> read_length(Decimal("12.7")), read_length("1/2 in"), read_length("12,7 mm")
    (12700, 12700, 12700)
    """
    if _is_number(value) and 0 <= value <= _LONGEST_MM:
        length_um = um_from_mm(value)
    elif isinstance(value, str):
        length_um = _typed_length(value)
    else:
        raise Unfit(f"{_LENGTH}, up to {_LONGEST_MM}")
    if length_um == 0 and not zero_allowed:
        raise Unfit(f"{_LENGTH}, more than 0")
    return length_um


def _typed_length(text: str) -> int:
    try:
        return read_length_um(text)
    except NotALength as error:
        raise Unfit(f"{_LENGTH}. {error}") from error


def read_length_or_zero(value: object) -> int:
    """As `read_length`, and zero is a length too. Raises Unfit.

    >>> read_length_or_zero(0)
    0
    """
    return read_length(value, zero_allowed=True)


def read_place(value: object) -> int:
    """Whole micrometres [um] of a place along the axis, which may lie before zero. Raises Unfit.

    >>> read_place(-15), read_place("-15"), read_place(0)
    (-15000, -15000, 0)
    """
    if _is_number(value):
        return -read_length_or_zero(-value) if value < 0 else read_length_or_zero(value)
    if isinstance(value, str) and value.strip().startswith("-"):
        return -read_length_or_zero(value.strip()[1:])
    return read_length_or_zero(value)


def read_torque(value: object) -> int:
    """Whole mN·m [mN·m] of a torque in N·m. Raises Unfit.

    >>> read_torque(136), read_torque(Decimal("56.5"))
    (136000, 56500)
    """
    if not _is_number(value) or not 0 <= value <= MOST_TORQUE_NM:
        raise Unfit(f"a torque in N·m, 0 to {MOST_TORQUE_NM}")
    return mnm_from_nm(value)


def read_tenths(value: object, most_tenths: int) -> int:
    """Tenths of a number with one decimal at most, above zero. Raises Unfit.

    >>> read_tenths(Decimal("2.5"), 1800), read_tenths(118, 1800)
    (25, 1180)
    """
    if not _is_number(value) or not 0 < value * 10 <= most_tenths or value * 10 % 1:
        raise Unfit(f"a number above 0 up to {most_tenths / 10:g}, with one decimal at most")
    return int(value * 10)


def read_whole(
    value: object, least_number: int, most_number: int, what: str = "a whole number"
) -> int:
    """A whole number between two ends, both included. Raises Unfit.

    >>> read_whole(24000, 1, 500_000), read_whole(Decimal("2.4e4"), 1, 500_000)
    (24000, 24000)
    """
    if not _is_number(value) or not least_number <= value <= most_number or value % 1:
        raise Unfit(f"{what}, {least_number} to {most_number}")
    return int(value)


def read_text(value: object) -> str:
    """A line of text that can be printed. Raises Unfit.

    >>> read_text(" M40x1.5 ")
    'M40x1.5'
    """
    if not isinstance(value, str) or not value.strip() or len(value) > LONGEST_TEXT:
        raise Unfit(f"a text of 1 to {LONGEST_TEXT} characters, or null for not recorded")
    if not value.isprintable():
        raise Unfit("a text without line ends or other control characters")
    return value.strip()


def read_truth(value: object) -> bool:
    """`true` or `false`, nothing that only looks like it. Raises Unfit.

    >>> read_truth(True)
    True
    """
    if not isinstance(value, bool):
        raise Unfit("true, false, or null for not recorded")
    return value


def read_word(value: object, words: Collection[str]) -> str:
    """One of some words. Raises Unfit.

    >>> read_word("HA", ("HA", "HB"))
    'HA'
    """
    if not isinstance(value, str) or value not in words:
        raise Unfit(f"one of {', '.join(words)}")
    return value


def read_words(value: object, words: Collection[str]) -> frozenset[str]:
    """A list of some words. Raises Unfit.

    >>> sorted(read_words(["cw", "ccw"], ("cw", "ccw")))
    ['ccw', 'cw']
    """
    if not isinstance(value, list) or not value:
        raise Unfit(f"a list with one or more of {', '.join(words)}")
    return frozenset(read_word(word, words) for word in value)
