"""Several readings typed in one field: `104.02 104.03 104.01`."""

from __future__ import annotations

import re

from crib.rules.units import NotALength, read_length_um

#: More readings of one sitting than this are a slip.
MOST_READINGS = 20
_SEPARATORS = re.compile(r"[\s;+|]+")
_UNIT = re.compile(r"[a-z\"”″µμ]+", re.IGNORECASE)
_UNIT_BEHIND = re.compile(r"[a-z\"”″µμ]+$", re.IGNORECASE)
_FRACTION = re.compile(r"[0-9]+/[0-9]+")


def read_readings_um(text: str) -> list[int]:
    """Whole micrometres [um] of each reading in `text`, in the order typed.

    Readings are parted by blanks, lines, `;` or `+`, the one sign beside the figures of a number
    pad. A comma is a decimal comma. A unit said once, behind the last reading, holds for all;
    said with some of several and not with all it is refused, because nobody knows what the others
    are in. A whole number before a fraction belongs to it: `1 1/4 in` is one reading.

    Raises NotALength for anything else and for more than twenty readings.

    >>> read_readings_um("104.02 104,03 104.01")
    [104020, 104030, 104010]
    >>> read_readings_um("1 1/4 in"), read_readings_um("0.4 0.5 in")
    ([31750], [10160, 12700])
    """
    words = _joined([word for word in _SEPARATORS.split(text) if word])
    if len(words) > MOST_READINGS:
        raise NotALength(f"More than {MOST_READINGS} readings. Enter fewer.")
    units = [_UNIT_BEHIND.search(word) for word in words]
    if len(words) > 1 and units[-1] and not any(units[:-1]):
        words = [word + units[-1].group() for word in words[:-1]] + words[-1:]
    elif any(units) and not all(units):
        raise NotALength("Say the unit with each reading, or once behind the last.")
    return [read_length_um(word) for word in words]


def _joined(words: list[str]) -> list[str]:
    """Units put behind their number, whole numbers before their fraction."""
    joined: list[str] = []
    for word in words:
        if joined and _UNIT.fullmatch(word) and not _UNIT_BEHIND.search(joined[-1]):
            joined[-1] += word
        elif joined and joined[-1].isdecimal() and _FRACTION.match(word):
            joined[-1] += f" {word}"
        else:
            joined.append(word)
    return joined
