"""Subprograms of the same file: where M98 finds them, and how far a call is followed.

Common practice on milling controls: `O1000` begins a subprogram, `M98 P1000 L3` runs it three
times, M99 leads back. What controls read in two ways is not followed.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from assemblies.rules.nc.codes import CYCLES, END_CODES, M99
from assemblies.rules.nc.expressions import near_integer
from assemblies.rules.nc.lexer import take_apart
from assemblies.rules.nc.orders import Orders
from assemblies.rules.nc.text import ProgramText

DEEPEST_CALL = 8
MOST_REPEATS = 9999
#: Larger or longer numbers may be a count of repeats and a program number in one.
LARGEST_NUMBER, LONGEST_NUMBER = 9999, 4
#: So many letters of subprograms are kept ready; the file itself is not held twice.
MOST_LETTERS = 16_000_000
#: What repeated runs may cost: a block of the general way weighs as many plain ones.
MOST_REPEATED_BLOCKS = 200_000
WEIGHT_OF_A_GENERAL_BLOCK = 25

PROGRAM_NUMBER = re.compile(r"\x00*[O:]([0-9]{1,9})\x00*")
_MARK_LINE = re.compile(r"^[ \t\x0b\x0c\x00\x1a\x7f]*(?:[Oo:][^\n]*|%)", re.MULTILINE)


class NotFollowed(ValueError):
    """A call is not followed; the message says why."""


@dataclass(slots=True)
class Subprogram:
    """Lines of one program of the file; `text` begins behind the line of its number."""

    number: int
    first_line: int
    text: str = ""
    runs: int = 0
    #: The line up to which it has been read.
    last_line: int = 0


@dataclass(frozen=True, slots=True)
class Call:
    """What an M98 asks for."""

    number: int
    repeats: int


def call_in(orders: Orders, deletable: bool, motion: int | None) -> Call:
    """The call that the words of a block with M98 ask for; raises NotFollowed."""
    word, repeats = orders.words.get("P"), orders.words.get("L")
    number = None if word is None or word.value is None else near_integer(word.value)
    too_long = word is not None and len(word.digits.rstrip(".")) > LONGEST_NUMBER
    if number is None or too_long or not 1 <= number <= LARGEST_NUMBER:
        raise NotFollowed("P of M98 is missing, or may hold a count and a number")
    count = 1 if repeats is None else near_integer(repeats.value or 0.0)
    if count is None or not 1 <= count <= MOST_REPEATS:
        raise NotFollowed(f"L of M98 is not a count from 1 to {MOST_REPEATS}")
    cycle_moves = motion in CYCLES and orders.has_axis
    if deletable or cycle_moves or "once" in orders.g or orders.m & {M99, *END_CODES}:
        raise NotFollowed(
            "M98 beside an order that uses its words or that may keep it from running"
        )
    if orders.words.keys() & {"Q", "H"} or orders.subprogram:
        raise NotFollowed("M98 with further words; their meaning is not known")
    return Call(number, count)


class CallStack:
    """The subprograms of one file and the calls that are running."""

    def __init__(self):
        self.found: dict[int, Subprogram] | None = None
        self.running: list[Subprogram] = []
        self.repeated = 0
        self.left = MOST_REPEATED_BLOCKS
        #: M99 was read; the running subprogram is to be left.
        self.returned = False

    @property
    def depth(self) -> int:
        return len(self.running)

    @property
    def exhausted(self) -> bool:
        return self.left < 0

    @property
    def leaving(self) -> bool:
        return self.returned or (self.exhausted and self.depth > 0)

    @property
    def is_first_run(self) -> bool:
        """Whether what is read now is read for the first time."""
        return self.repeated == 0

    def find(self, call: Call, text: ProgramText, opened: bool, main: str) -> Subprogram:
        """The subprogram to run; raises NotFollowed where it cannot be."""
        if self.found is None:
            self.found = subprograms(text, opened, named=bool(main))
        if call.number not in self.found:
            raise NotFollowed(f"O{call.number} is not in this file, or not just once")
        if self.depth >= DEEPEST_CALL:
            raise NotFollowed(f"calls nested more than {DEEPEST_CALL} deep")
        if self.exhausted:
            raise NotFollowed("calls run more blocks than are followed")
        return self.found[call.number]

    def enter(self, called: Subprogram) -> None:
        self.repeated += called.runs > 0
        self.running.append(called)

    def leave(self, called: Subprogram, line: int) -> None:
        """Step out of the subprogram, which was read up to `line`."""
        self.running.pop()
        self.repeated -= called.runs > 0
        called.runs += 1
        called.last_line = max(called.last_line, line)

    def spend(self, weight: int) -> None:
        """Count what a repeated run costs."""
        if self.repeated:
            self.left -= weight

    def lines_read(self) -> Callable[[int], bool]:
        """What tells of a line whether it was read in a subprogram, its number included."""
        called = sorted((p.first_line - 1, p.last_line) for p in self._called())
        firsts = [first for first, _ in called]

        def is_read(line: int) -> bool:
            place = bisect_right(firsts, line)
            return place > 0 and line <= called[place - 1][1]

        return is_read

    def _called(self) -> list[Subprogram]:
        return [program for program in (self.found or {}).values() if program.runs]


def subprograms(text: ProgramText, opened: bool, named: bool) -> dict[int, Subprogram]:
    """The programs behind the first one, by number; a number used twice is left out.

    `opened`: the file begins with a `%`, so the second one ends it. `named`: the first number of
    the file is that of the main program.

    >>> found = subprograms(ProgramText.of_text("O1\\nM98 P2\\nM30\\nO2\\nM99\\n"), False, True)
    >>> found[2].text, found[2].first_line
    ('M99\\n', 5)
    """
    found: dict[int, Subprogram] = {}
    current, seen, room = None, set(), MOST_LETTERS
    for mark, line, section in _sections(text):
        if mark == "%" and not opened:
            break
        if mark:
            if named and mark != "%":
                seen.add(int(mark))
            current = None if mark == "%" or named else _begin(int(mark), line, seen, found)
            opened, named = opened and mark != "%", named and mark == "%"
            section = section.partition("\n")[2]
        room -= len(section) if current else 0
        if current and room < 0:
            found.pop(current.number)
            current = None
        if current:
            current.text += section
    return found


def _begin(
    number: int, line: int, seen: set[int], found: dict[int, Subprogram]
) -> Subprogram | None:
    """The subprogram that begins on `line`; None where its number was used or is never called."""
    if number in seen:
        found.pop(number, None)
    if number in seen or number > LARGEST_NUMBER:
        return None
    seen.add(number)
    found[number] = Subprogram(number, line + 1)
    return found[number]


def _sections(text: ProgramText) -> Iterator[tuple[str, int, str]]:
    """Mark, line and text of each section; without a mark it continues the one before."""
    line = 1
    for piece in text.pieces():
        marks = [(found.start(), _mark(found[0])) for found in _MARK_LINE.finditer(piece)]
        starts = [(0, ""), *((start, mark) for start, mark in marks if mark)]
        ends = [start for start, _ in starts[1:]] + [len(piece)]
        for (start, mark), end in zip(starts, ends, strict=True):
            yield mark, line, piece[start:end]
            line += piece.count("\n", start, end)


def _mark(line: str) -> str:
    """`%`, or the digits of a line that holds a program number alone; else empty."""
    bare = line.strip(" \t\x0b\x0c\x00\x1a\x7f")
    if bare == "%":
        return bare
    number = PROGRAM_NUMBER.fullmatch(take_apart(bare, {}).code)
    return number[1] if number else ""
