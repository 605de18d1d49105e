"""What changed for one tool between two revisions of a program, figure by figure.

A figure that is not certain on one side counts as changed, also where both sides print alike: not
known is not the same.

Source: our own choice of what weighs; the figures are those of the reading.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from assemblies.rules.change_wording import NONE, Change, differs, left_open, listed
from crib.rules.units import show_mm

#: Depths this near are the same: so near a depth is read [um].
SAME_DEPTH_UM = 2
#: Feeds, paths and times this near are the same [mm/min], [mm], [min].
SAME_FEED_MM_MIN = 0.001
SAME_PATH_MM = 0.02
SAME_TIME_MIN = 0.0005
#: Letters of the program's words that are printed.
_LETTERS = 24


@dataclass(frozen=True, kw_only=True)
class ToolFigures:
    """What one revision asks of one T number. None or empty: it does not do that.

    Depths are Z in program coordinates [um], `deepest_z_by_offset` by name of the work offset;
    `exact` says of each figure of the reading whether it is certain, None: of none.
    """

    tool_number: int
    description: str = ""
    speed_max_rpm: int | None = None
    speed_min_rpm: int | None = None
    speed_exact: bool = False
    speed_carried: bool = False
    turns: frozenset[str] = frozenset()
    turns_exact: bool = False
    feed_max_mm_min: float | None = None
    feed_min_mm_min: float | None = None
    feed_per_revolution_mm: float | None = None
    deepest_z_um: int | None = None
    deepest_z_rapid_um: int | None = None
    deepest_z_by_offset: Mapping[str, int] = field(default_factory=dict)
    depth_exact: bool = False
    feed_path_mm: float | None = None
    cutting_min: float | None = None
    cycles: frozenset[int] = frozenset()
    length_offsets: frozenset[int] = frozenset()
    radius_offsets: frozenset[int] = frozenset()
    coolant: frozenset[str] = frozenset()
    calls: int = 0
    exact: Mapping[str, bool] | None = None

    def is_certain(self, *names: str) -> bool:
        """Whether every figure of the reading in `names` is what the program does."""
        return self.exact is not None and all(self.exact.get(name, False) for name in names)


def changes_of_tool(old: ToolFigures, new: ToolFigures) -> list[Change]:
    """What differs between two revisions for one T number, what weighs most first.

    >>> from assemblies.rules.nc.reading import FIGURES
    >>> sure = dict.fromkeys(("speed_exact", "turns_exact", "depth_exact"), True)
    >>> sure |= {"tool_number": 3, "exact": dict.fromkeys(FIGURES, True)}
    >>> old = ToolFigures(speed_max_rpm=16_000, deepest_z_um=-20_000, **sure)
    >>> new = ToolFigures(speed_max_rpm=18_000, deepest_z_um=-22_000, **sure)
    >>> [change.text for change in changes_of_tool(old, new)]
    ['S16000 → S18000', '2.0 mm deeper, to Z-22.0']
    """
    return [change for changes in _FIGURES for change in changes(old, new)]


def in_one_line(tool: ToolFigures) -> str:
    """What one revision asks of a T number; a figure that is not certain is said to be so.

    >>> in_one_line(ToolFigures(tool_number=3, speed_max_rpm=16_000, turns=frozenset(["cw"])))
    'S16000 (not certain), M3 (not certain), no cut (not certain), no F (not certain)'
    """
    figures = (
        (_span("S", tool.speed_min_rpm, tool.speed_max_rpm), _is_speed_certain(tool)),
        (_turning(tool.turns), tool.turns_exact),
        (_z(tool.deepest_z_um), tool.depth_exact),
        (
            _span("F", tool.feed_min_mm_min, tool.feed_max_mm_min),
            tool.is_certain("feed_rate_max", "feed_rate_min"),
        ),
    )
    return ", ".join(text if certain else f"{text} (not certain)" for text, certain in figures)


# ---- one figure after the other
def _speed(old: ToolFigures, new: ToolFigures) -> Iterator[Change]:
    texts = [_span("S", tool.speed_min_rpm, tool.speed_max_rpm) for tool in (old, new)]
    certain = [_is_speed_certain(tool) for tool in (old, new)]
    if not all(certain):
        yield left_open("speed", "speed", texts, *certain)
    elif (old.speed_max_rpm, old.speed_min_rpm) != (new.speed_max_rpm, new.speed_min_rpm):
        yield Change("speed", *texts, " → ".join(texts))
    if old.speed_carried != new.speed_carried:
        words = ["carried" if tool.speed_carried else "its own" for tool in (old, new)]
        since = "now" if new.speed_carried else "no longer"
        yield Change("speed_carried", *words, f"speed {since} carried from the tool before")


def _is_speed_certain(tool: ToolFigures) -> bool:
    return tool.speed_exact and (tool.exact is None or tool.is_certain("spindle_speed_min"))


def _turns(old: ToolFigures, new: ToolFigures) -> Iterator[Change]:
    texts = [_turning(tool.turns) for tool in (old, new)]
    if not (old.turns_exact and new.turns_exact):
        yield left_open("turns", "rotation", texts, old.turns_exact, new.turns_exact)
    elif old.turns != new.turns:
        yield Change("turns", *texts, f"turns {' → '.join(texts)}")


def _turning(turns: frozenset[str]) -> str:
    words = {"cw": "M3", "ccw": "M4"}
    return " and ".join(words.get(one, one) for one in sorted(turns, reverse=True)) or "not at all"


def _depth(old: ToolFigures, new: ToolFigures) -> Iterator[Change]:
    texts = [_z(tool.deepest_z_um) for tool in (old, new)]
    if not (old.depth_exact and new.depth_exact):
        yield left_open("depth", "depth", texts, old.depth_exact, new.depth_exact)
        return
    moved = _moved(old.deepest_z_um, new.deepest_z_um)
    if moved:
        yield Change("depth", *texts, moved)
    yield from _depth_by_offset(old, new)


def _depth_by_offset(old: ToolFigures, new: ToolFigures) -> Iterator[Change]:
    before, after = old.deepest_z_by_offset, new.deepest_z_by_offset
    certain = [tool.is_certain("deepest_z_by_work_offset") for tool in (old, new)]
    names = sorted(before.keys() | after.keys())
    if not all(certain):
        texts = [listed(offsets) for offsets in (before, after)]
        yield left_open("depth_by_offset", "depth by work offset", texts, *certain)
    elif len(names) > 1:
        for name in names:
            moved = _moved(before.get(name), after.get(name))
            if moved:
                texts = [_z(before.get(name)), _z(after.get(name))]
                yield Change(f"depth_{name}", *texts, f"{name}: {moved}")
    elif before.keys() != after.keys():
        yield from differs("work_offset", "work offset", listed(before), listed(after))


def _depth_rapid(old: ToolFigures, new: ToolFigures) -> Iterator[Change]:
    before, after = old.deepest_z_rapid_um, new.deepest_z_rapid_um
    certain = [tool.is_certain("deepest_z_rapid") for tool in (old, new)]
    texts = [NONE if value is None else _z(value) for value in (before, after)]
    if not all(certain):
        yield left_open("depth_rapid", "depth of rapids", texts, *certain)
    elif _moved(before, after):
        yield Change("depth_rapid", *texts, f"lowest rapid {' → '.join(texts)}")


def _moved(before_um: int | None, after_um: int | None) -> str:
    """`2.0 mm deeper, to Z-22.0`; empty where the two are the same."""
    if before_um is None or after_um is None:
        if before_um is after_um:
            return ""
        return (
            f"cuts now, to {_z(after_um)}" if before_um is None else f"no cut, was {_z(before_um)}"
        )
    down_um = before_um - after_um
    if abs(down_um) <= SAME_DEPTH_UM:
        return ""
    word = "deeper" if down_um > 0 else "higher"
    return f"{show_mm(abs(down_um), 1)} mm {word}, to {_z(after_um)}"


def _z(value_um: int | None) -> str:
    return "no cut" if value_um is None else f"Z{show_mm(value_um, 1)}"


def _feed(old: ToolFigures, new: ToolFigures) -> Iterator[Change]:
    texts = [_span("F", tool.feed_min_mm_min, tool.feed_max_mm_min) for tool in (old, new)]
    certain = [tool.is_certain("feed_rate_max", "feed_rate_min") for tool in (old, new)]
    if not all(certain):
        yield left_open("feed", "feed", texts, *certain)
    elif not all(
        _near(*pair, SAME_FEED_MM_MIN)
        for pair in (
            (old.feed_max_mm_min, new.feed_max_mm_min),
            (old.feed_min_mm_min, new.feed_min_mm_min),
        )
    ):
        yield Change("feed", *texts, " → ".join(texts))


def _feed_per_revolution(old: ToolFigures, new: ToolFigures) -> Iterator[Change]:
    before, after = old.feed_per_revolution_mm, new.feed_per_revolution_mm
    certain = [tool.is_certain("feed_per_revolution_max") for tool in (old, new)]
    texts = [NONE if value is None else f"{_short(value)} mm" for value in (before, after)]
    if not all(certain):
        yield left_open("feed_per_revolution", "feed per turn", texts, *certain)
    elif not _near(before, after, 0):
        yield from differs("feed_per_revolution", "feed per turn", *texts)


def _description(old: ToolFigures, new: ToolFigures) -> Iterator[Change]:
    before, after = (" ".join(tool.description.split()) for tool in (old, new))
    if before != after:
        texts = [f"“{_cut(text)}”" if text else "no words" for text in (before, after)]
        yield Change("description", before, after, " → ".join(texts))


def _calls(old: ToolFigures, new: ToolFigures) -> Iterator[Change]:
    if old.calls != new.calls:
        yield from differs("calls", "calls", str(old.calls), str(new.calls))


def _sets(old: ToolFigures, new: ToolFigures) -> Iterator[Change]:
    """Cycles, offsets and coolant: what the program names for this tool."""
    for name, words, letter in (
        ("cycles", "cycles", "G"),
        ("length_offsets", "length offset", "H"),
        ("radius_offsets", "radius offset", "D"),
        ("coolant", "coolant", ""),
    ):
        texts = [listed(getattr(tool, name), letter) for tool in (old, new)]
        certain = [tool.is_certain(name) for tool in (old, new)]
        if not all(certain):
            yield left_open(name, words, texts, *certain)
        else:
            yield from differs(name, words, *texts)


def _path(old: ToolFigures, new: ToolFigures) -> Iterator[Change]:
    """How far and how long it cuts: worth knowing, nothing hangs on it."""
    for name, reading_name, words, unit, near in (
        ("feed_path_mm", "feed_path_length", "path", "mm", SAME_PATH_MM),
        ("cutting_min", "cutting_time", "cutting time", "min", SAME_TIME_MIN),
    ):
        before, after = getattr(old, name), getattr(new, name)
        texts = [NONE if v is None else f"{_short(v)} {unit}" for v in (before, after)]
        certain = [tool.is_certain(reading_name) for tool in (old, new)]
        if not all(certain):
            yield left_open(name, words, texts, *certain, weighs=False)
        elif not _near(before, after, near):
            yield Change(name, *texts, f"{words} {' → '.join(texts)}", weighs=False)


_FIGURES = (
    _speed,
    _turns,
    _depth,
    _depth_rapid,
    _feed,
    _feed_per_revolution,
    _description,
    _sets,
    _calls,
    _path,
)


def _near(before: float | None, after: float | None, most: float) -> bool:
    if before is None or after is None:
        return before is after
    # What is left over by counting in binary is no difference.
    return abs(before - after) <= most + 1e-9


def _span(letter: str, low: float | None, high: float | None) -> str:
    """`S16000`, or `S8000–16000` where there are two."""
    if high is None:
        return f"no {letter}"
    if low is None or low == high:
        return f"{letter}{_short(high)}"
    return f"{letter}{_short(low)}–{_short(high)}"


def _short(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")


def _cut(text: str) -> str:
    return text if len(text) <= _LETTERS else f"{text[: _LETTERS - 1]}…"
