"""Which lines of a program differ from those of another revision, tool by tool.

A line is what the reader counts as one. Block numbers (N words) are left aside: they order nothing.

Source: our own choice; the comparison itself is `difflib` of the standard library.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import NamedTuple

#: More lines than these on one side, above what is alike at both ends, are only counted.
MOST_LINES = 5_000
#: Stands for the lines before the first tool change.
HEAD = "head"

_BLOCK_NUMBER = re.compile(r"^[ \t]*(/?)[ \t]*N[ \t]*[0-9]+[ \t]*", re.IGNORECASE)


class Line(NamedTuple):
    """A line of a program; numbers start at 1."""

    number: int
    text: str


@dataclass(frozen=True)
class Part:
    """Lines of one call, from its first to the next tool change."""

    first_line: int
    text: str

    def lines(self) -> list[Line]:
        if not self.text:
            return []
        return [
            Line(self.first_line + index, text)
            for index, text in enumerate(self.text.removesuffix("\n").split("\n"))
        ]


@dataclass(frozen=True)
class ChangedBlock:
    """Lines of the older revision, and those that stand in their place."""

    gone: tuple[Line, ...]
    added: tuple[Line, ...]


@dataclass(frozen=True)
class LineCount:
    """How many lines are gone and added; None where the texts are too long to say."""

    gone: int | None
    added: int | None


def parts_by_tool(
    text: str, calls: Iterable[tuple[int, int | None]]
) -> dict[int | str | None, list[Part]]:
    """`text` cut at its tool changes, each `(line, tool number)`, in order; HEAD comes first.

    >>> parts = parts_by_tool("G21\\nT5 M6\\nX1\\nT3 M6\\nX2\\n", [(2, 5), (4, 3)])
    >>> parts["head"], parts[5]
    ([Part(first_line=1, text='G21\\n')], [Part(first_line=2, text='T5 M6\\nX1\\n')])
    """
    parts: dict[int | str | None, list[Part]] = {}
    key, first_line, start = HEAD, 1, 0
    for line, tool_number in calls:
        end = _start_of(text, line, first_line, start)
        if end > start:
            parts.setdefault(key, []).append(Part(first_line, text[start:end]))
        key, first_line, start = tool_number, line, end
    if start < len(text):
        parts.setdefault(key, []).append(Part(first_line, text[start:]))
    return parts


def _start_of(text: str, line: int, known_line: int, known_start: int) -> int:
    """Where `line` begins, counted on from a line whose beginning is known."""
    at = known_start
    for _ in range(line - known_line):
        at = text.find("\n", at) + 1
        if not at:
            return len(text)
    return at


def is_same_text(old: Sequence[Part], new: Sequence[Part]) -> bool:
    """Whether both say the same to the letter, wherever they stand."""
    return [part.text for part in old] == [part.text for part in new]


def changed_blocks(old: Sequence[Part], new: Sequence[Part]) -> list[ChangedBlock] | None:
    """What differs, in order; None where too much lies between the first difference and the last.

    >>> changed_blocks([Part(7, "T5 M6\\nS16000\\nX1\\n")], [Part(9, "T5 M6\\nS18000\\nX1\\n")])
    [ChangedBlock(gone=(Line(number=8, text='S16000'),), added=(Line(number=10, text='S18000'),))]
    """
    if len(old) == len(new):
        rests = [_without_common_ends(*pair) for pair in zip(old, new, strict=True)]
    else:
        rests = [(list(old), list(new))]
    if max((_line_count(side) for side in zip(*rests, strict=True)), default=0) > MOST_LINES:
        return None
    return [block for pair in rests for block in _blocks(*map(_lines_of, pair))]


def _line_count(side: Iterable[Sequence[Part]]) -> int:
    return sum(part.text.count("\n") for parts in side for part in parts)


def _lines_of(parts: Sequence[Part]) -> list[Line]:
    return [line for part in parts for line in part.lines()]


def _blocks(old: list[Line], new: list[Line]) -> list[ChangedBlock]:
    before, after = ([_compared(line.text) for line in lines] for lines in (old, new))
    return [
        ChangedBlock(tuple(old[a:b]), tuple(new[c:d]))
        for tag, a, b, c, d in SequenceMatcher(None, before, after).get_opcodes()
        if tag != "equal"
    ]


def _compared(text: str) -> str:
    return _BLOCK_NUMBER.sub(r"\1", text).rstrip()


def count_lines(old: str, new: str) -> LineCount:
    """How many lines of `old` are gone and how many of `new` are added.

    >>> count_lines("G21\\nS16000\\nX1\\n", "G21\\nS18000\\nX1\\nX2\\n")
    LineCount(gone=1, added=2)
    """
    blocks = changed_blocks([Part(1, old)], [Part(1, new)])
    if blocks is None:
        return LineCount(None, None)
    return LineCount(sum(len(b.gone) for b in blocks), sum(len(b.added) for b in blocks))


def _without_common_ends(old: Part, new: Part) -> tuple[list[Part], list[Part]]:
    """Both without the whole lines that they begin with alike, and end with alike."""
    front = old.text.rfind("\n", 0, _alike_length(old.text, new.text)) + 1
    before, after = old.text[front:], new.text[front:]
    back = _alike_length(before, after, from_end=True)
    # Only what follows a line feed is a whole line.
    line_feed = before.find("\n", len(before) - back)
    back = 0 if line_feed < 0 else len(before) - line_feed - 1
    skipped = old.text.count("\n", 0, front)
    return (
        [Part(old.first_line + skipped, before[: len(before) - back])],
        [Part(new.first_line + skipped, after[: len(after) - back])],
    )


def _alike_length(old: str, new: str, from_end: bool = False) -> int:
    """Length of what both begin or end with alike: halved, so that long texts cost little."""
    low, high = 0, min(len(old), len(new))
    while low < high:
        middle = (low + high + 1) // 2
        if from_end:
            same = (
                old[len(old) - middle : len(old) - low] == new[len(new) - middle : len(new) - low]
            )
        else:
            same = old[low:middle] == new[low:middle]
        low, high = (middle, high) if same else (low, middle - 1)
    return low
