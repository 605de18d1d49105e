"""The list of notes on a reading, kept short whatever the file holds."""

from __future__ import annotations

from collections import Counter

from assemblies.rules.nc.reading import ReadingNote
from crib.rules.finding import Level

MOST_PER_CODE = 50
#: One note for the whole file where a thousand would say the same.
_MOST = {"other-dialect": 1, "no-motion-code": 5}
LONGEST_BLOCK = 80


def shown(line: str) -> str:
    """`line` as a person is shown it: without outer blanks, cut to 80 characters."""
    line = line[: 4 * LONGEST_BLOCK].strip()
    return line if len(line) <= LONGEST_BLOCK else line[: LONGEST_BLOCK - 1] + "…"


class NoteList:
    """Collects notes; counts those of a kind that are too many to list."""

    def __init__(self) -> None:
        self._notes: list[ReadingNote] = []
        self._counts: Counter[str] = Counter()
        self._left_out: dict[str, ReadingNote] = {}
        self.complete = True

    def add(self, code, severity, line, block, text, tool_number=None) -> None:
        """Keep one note, or count it when its kind has enough of them."""
        if severity is Level.UNKNOWN:
            self.complete = False
        self._counts[code] += 1
        wanted = self._counts[code] <= _MOST.get(code, MOST_PER_CODE)
        if not wanted and code in self._left_out:
            return
        note = ReadingNote(code, severity, line, shown(block), text, tool_number)
        if wanted:
            self._notes.append(note)
        else:
            self._left_out[code] = note

    def listed(self) -> list[ReadingNote]:
        """All notes in order of line, then one per kind that says how many were left out."""
        ordered = sorted(self._notes, key=lambda note: note.line)
        for code, first in self._left_out.items():
            more = self._counts[code] - _MOST.get(code, MOST_PER_CODE)
            text = f"{more} more like this, from line {first.line} on"
            ordered.append(ReadingNote(code, first.severity, first.line, first.block, text))
        return ordered
