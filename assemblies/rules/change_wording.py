"""How a change between two revisions of a program is put into words.

Source: our own choice.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

NONE = "none"
_OPEN = ", not certain"


@dataclass(frozen=True)
class Change:
    """One figure that differs, or of which nobody can say that it does not.

    `weighs` is False where neither safety nor what the tool must be hangs on it; `is_open` where
    it is not certain on one side.
    """

    figure: str
    before: str
    after: str
    text: str
    weighs: bool = True
    is_open: bool = False

    @property
    def words(self) -> str:
        return words_for(self.figure)

    @property
    def prints_alike(self) -> bool:
        """Both sides read the same number, and one of them at least is not certain."""
        return self.is_open and self.before.removesuffix(_OPEN) == self.after.removesuffix(_OPEN)

    @property
    def says_the_same(self) -> bool:
        """Both sides read alike, however certain they are."""
        return self.before == self.after or self.prints_alike


#: What each figure is called beside its two values; a depth by work offset names the offset.
FIGURE_WORDS = {
    "speed": "Speed",
    "speed_carried": "Speed comes from",
    "turns": "Rotation",
    "depth": "Deepest cut",
    "depth_by_offset": "Depth by work offset",
    "work_offset": "Work offset",
    "depth_rapid": "Lowest rapid",
    "feed": "Feed, mm/min",
    "feed_per_revolution": "Feed per turn",
    "description": "The program's words",
    "cycles": "Cycles",
    "length_offsets": "Length offset",
    "radius_offsets": "Radius offset",
    "coolant": "Coolant",
    "calls": "Calls",
    "feed_path_mm": "Path cut",
    "cutting_min": "Cutting time",
    "complete": "Reading",
    "units": "Units",
    "end": "Ends with",
    "number": "Program number",
    "order": "Order of calls",
}


def words_for(figure: str) -> str:
    """What the figure of a change is called.

    >>> words_for("speed"), words_for("depth_G54"), words_for("Kind")
    ('Speed', 'Deepest cut in G54', 'Kind')
    """
    if figure in FIGURE_WORDS or not figure.startswith("depth_"):
        return FIGURE_WORDS.get(figure, figure)
    return f"Deepest cut in {figure.removeprefix('depth_')}"


def differs(figure: str, words: str, before: str, after: str) -> Iterator[Change]:
    """A change where the two print differently, else nothing.

    >>> [change.text for change in differs("end", "ends with", "M30", "%")]
    ['ends with M30 → %']
    """
    if before != after:
        yield Change(figure, before, after, f"{words} {before} → {after}")


def left_open(
    figure: str, words: str, texts: list[str], old: bool, new: bool, weighs: bool = True
) -> Change:
    """A figure that is not certain on one side at least: never the same."""
    before, after = (
        text if certain else f"{text}{_OPEN}"
        for text, certain in zip(texts, (old, new), strict=True)
    )
    return Change(
        figure, before, after, f"{words} {where_not_certain(old, new)}", weighs, is_open=True
    )


def where_not_certain(old: bool, new: bool) -> str:
    """That a figure is open, and on which side; `old` and `new` say which is certain."""
    return f"not known for certain{side(old, new)}"


def side(old: bool, new: bool) -> str:
    """The one side that is not sound; empty where neither is."""
    return {(True, False): " now", (False, True): " before"}.get((old, new), "")


def listed(names: Iterable, letter: str = "") -> str:
    """`names` in order, each behind `letter`.

    >>> listed({83, 81}, "G"), listed(())
    ('G81, G83', 'none')
    """
    return ", ".join(f"{letter}{name}" for name in sorted(names)) or NONE
