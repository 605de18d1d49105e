"""The list of notes on a reading, kept short whatever the file holds."""

from __future__ import annotations

from collections import Counter

from assemblies.rules.nc.reading import ReadingNote
from crib.rules.finding import Level

MOST_PER_CODE = 50
#: So many tools keep the first of their own warnings beyond that; the verdict needs each.
MOST_KEPT_FOR_TOOLS = 1000
#: Weighed for the tool they name, so they may not drown in those of other tools.
_WEIGHED = frozenset((Level.CHECK, Level.STOP_SOFT, Level.STOP_HARD))
#: One note for the whole file where a thousand would say the same.
_MOST = {"other-dialect": 1, "no-motion-code": 5}
LONGEST_BLOCK = 80
_Kind = tuple[str, Level]
_TOO_MANY = ("too-many-notes", Level.UNKNOWN)


def shown(line: str) -> str:
    """`line` as a person is shown it: without outer blanks, cut to 80 characters."""
    line = line[: 4 * LONGEST_BLOCK].strip()
    return line if len(line) <= LONGEST_BLOCK else line[: LONGEST_BLOCK - 1] + "…"


class NoteList:
    """Collects notes; counts those of a kind and severity that are too many to list."""

    def __init__(self) -> None:
        self._notes: list[ReadingNote] = []
        self._counts: Counter[_Kind] = Counter()
        self._left_out: dict[_Kind, ReadingNote] = {}
        self._left_out_counts: Counter[_Kind] = Counter()
        self._kept_for_tools: set[tuple[_Kind, int]] = set()
        self.complete = True

    def add(self, code, severity, line, block, text, tool_number=None) -> None:
        """Keep one note, or count it when its kind has enough of them."""
        if severity is Level.UNKNOWN:
            self.complete = False
        kind = (code, severity)
        self._counts[kind] += 1
        first_of_tool = self._keep_for_tool(kind, tool_number)
        wanted = first_of_tool or self._counts[kind] <= _MOST.get(code, MOST_PER_CODE)
        if not wanted:
            self._left_out_counts[kind] += 1
            if kind in self._left_out:
                return
        note = ReadingNote(code, severity, line, shown(block), text, tool_number)
        if wanted:
            self._notes.append(note)
        else:
            self._left_out[kind] = note

    def _keep_for_tool(self, kind: _Kind, tool_number: int | None) -> bool:
        """Whether this is a tool's first warning of its kind; past the limit, that is unknown."""
        key = (kind, tool_number)
        if kind[1] not in _WEIGHED or tool_number is None or key in self._kept_for_tools:
            return False
        if len(self._kept_for_tools) < MOST_KEPT_FOR_TOOLS:
            self._kept_for_tools.add(key)
            return True
        if _TOO_MANY not in self._counts:
            text = "more warnings than can be kept for each tool"
            self.add(*_TOO_MANY, 0, "", text)
        return False

    def listed(self) -> list[ReadingNote]:
        """All notes in order of line, then one per kind that says how many were left out."""
        ordered = sorted(self._notes, key=lambda note: note.line)
        for kind, first in self._left_out.items():
            text = f"{self._left_out_counts[kind]} more like this, from line {first.line} on"
            ordered.append(ReadingNote(*kind, first.line, first.block, text))
        return ordered
