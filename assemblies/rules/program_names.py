"""Names and revision marks proposed for a program that is handed in; a person has the last word.

Source: our own choice.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from dataclasses import dataclass

from crib.rules.keys import key_of

#: The most letters of a name and of a mark.
NAME_LENGTH, MARK_LENGTH = 60, 12
_FIRST_MARK = "A"
_MARK_LETTERS = 2
_PARTS = re.compile(r"(.*?)([A-Za-z]*|[0-9]*)$", re.DOTALL)
#: `HM-0412_C`, `HM-0412 rev C`: a name, and a mark of one or two signs behind it.
_NAME_AND_MARK = re.compile(
    r"(.+?)[ _.-]+(?:rev(?:ision)?[ _.-]*)?([A-Za-z]{1,2}|[0-9]{1,2})$", re.I
)


def next_mark(marks: Collection[str]) -> str:
    """The mark after the last of `marks` (oldest first) that none of them has.

    >>> next_mark([]), next_mark(["A", "B"]), next_mark(["Z"]), next_mark(["r9"])
    ('A', 'C', 'AA', 'r10')
    """
    used = {key_of(mark) for mark in marks}
    mark = _FIRST_MARK
    if marks:
        *_, last = marks
        mark = _counted_up(last.strip())
    while key_of(mark) in used:
        mark = _counted_up(mark)
    return mark if len(mark) <= MARK_LENGTH else ""


def _counted_up(mark: str) -> str:
    front, tail = _PARTS.match(mark).groups()
    if tail.isdigit():
        return f"{front}{int(tail) + 1:0{len(tail)}d}"
    # A word is no mark that is counted in letters.
    return f"{front}{_next_letters(tail)}" if 0 < len(tail) <= _MARK_LETTERS else f"{mark}2"


def _next_letters(letters: str) -> str:
    """`A` `B` ... `Z` `AA`, in the case of the last letter."""
    stem, last = letters[:-1], letters[-1]
    if last not in "zZ":
        return f"{stem}{chr(ord(last) + 1)}"
    first = "a" if last == "z" else "A"
    return f"{_next_letters(stem) if stem else first}{first}"


@dataclass(frozen=True)
class NameAndMark:
    """A name for a program, and the mark where the file named one too."""

    name: str
    mark: str = ""


def names_in(file_name: str, program_number: str, program_name: str) -> list[NameAndMark]:
    """What the program may be called, most telling first: file name, number and name in the file.

    >>> [(n.name, n.mark) for n in names_in("HM-0412_C.nc", "412", "SIDE PANEL")]
    [('HM-0412_C', ''), ('HM-0412', 'C'), ('O412', ''), ('SIDE PANEL', '')]
    """
    stem = re.sub(r"\.[A-Za-z0-9]{1,5}$", "", re.split(r"[/\\]", file_name)[-1]).strip()
    found = [NameAndMark(stem)]
    divided = _NAME_AND_MARK.fullmatch(stem)
    if divided:
        found.append(NameAndMark(divided[1], divided[2]))
    number = program_number.strip()
    found += [NameAndMark(f"O{number}" if number else ""), NameAndMark(program_name.strip())]
    return [one for one in found if one.name and len(one.name) <= NAME_LENGTH]
