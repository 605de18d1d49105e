"""A plot as plain shapes: series of points, limits as lines, axes that read well.

No file format here and no looks: `plot_svg` writes the shapes down. Series are told apart by the
form of their marks, never by colour alone; limits by their dashes and the words beside them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from enum import StrEnum

from crib.rules.plot_ticks import Tick, day_ticks, number_ticks

#: Size of the paper and room round the field, in its own units.
WIDTH, HEIGHT = 640, 300
LEFT, RIGHT, TOP, BOTTOM = 98, 118, 14, 34
#: Least distance of two words one above the other.
WORD_HEIGHT = 15


class Mark(StrEnum):
    """Forms of a point, told apart without colour."""

    DISC = "disc"
    SQUARE = "square"
    TRIANGLE = "triangle"
    DIAMOND = "diamond"
    RING = "ring"
    CROSS = "cross"


class Line(StrEnum):
    """Looks of a horizontal line: a limit, a middle, what is wanted."""

    LIMIT = "limit"
    MEDIAN = "median"
    WANTED = "wanted"


@dataclass(frozen=True, slots=True)
class Point:
    """One value. `x` is a number or the ordinal of a day, `y` in the scale's smallest unit.

    `text` says it in words, as the pointer shows it.
    """

    x: float
    y: float
    text: str = ""


@dataclass(frozen=True, slots=True)
class Series:
    """Points of one kind, in the order of their x; `joined` draws a line through them."""

    name: str
    points: tuple[Point, ...]
    mark: Mark = Mark.DISC
    joined: bool = True


@dataclass(frozen=True, slots=True)
class Level:
    """A line right across at `y`, with its name beside it."""

    y: float
    name: str
    line: Line = Line.LIMIT


@dataclass(frozen=True, slots=True)
class Scale:
    """How the y axis is printed: `unit` of its figures, and how many of the points' units it holds.

    Millimetres of micrometres: `Scale("mm", 1000)`; inches: `Scale("in", 25400)`. The axis spans at
    least `least_span` of the points' unit, so that a thousandth does not look like a mountain.
    """

    unit: str
    holds: int = 1
    starts_at_zero: bool = False
    least_span: int = 0


@dataclass(frozen=True, slots=True)
class PlacedMark:
    """One point on the paper."""

    x: float
    y: float
    mark: Mark
    text: str


@dataclass(frozen=True, slots=True)
class PlacedLine:
    """A line through points on the paper; `look` is `axis`, `grid`, `series` or a `Line`."""

    points: tuple[tuple[float, float], ...]
    look: str


@dataclass(frozen=True, slots=True)
class PlacedWords:
    """Words on the paper; `anchor` is `start`, `middle` or `end`."""

    x: float
    y: float
    text: str
    anchor: str = "start"


@dataclass(frozen=True, slots=True)
class Plot:
    """All shapes of one plot, ready to be written down."""

    width: int
    height: int
    lines: tuple[PlacedLine, ...] = ()
    marks: tuple[PlacedMark, ...] = ()
    words: tuple[PlacedWords, ...] = ()
    legend: tuple[tuple[str, Mark], ...] = ()


@dataclass(frozen=True, slots=True)
class _Field:
    """From the figures of the axes to the paper."""

    x_low: float
    x_high: float
    y_low: float
    y_high: float
    x_ticks: list[Tick] = field(default_factory=list)
    y_ticks: list[Tick] = field(default_factory=list)

    def x(self, value: float) -> float:
        share = (value - self.x_low) / (self.x_high - self.x_low)
        return round(LEFT + share * (WIDTH - LEFT - RIGHT), 2)

    def y(self, value: float) -> float:
        share = (value - self.y_low) / (self.y_high - self.y_low)
        return round(HEIGHT - BOTTOM - share * (HEIGHT - TOP - BOTTOM), 2)


def plot_of(
    series: Sequence[Series], levels: Sequence[Level], scale: Scale, *, by_days: bool = True
) -> Plot | None:
    """The shapes of a plot; None without a point, because an empty field says nothing.

    Both axes end on or beyond every point and level, so nothing is cut off. `by_days`: x is a
    day's ordinal number and is marked with dates.

    Source: geometry.

    >>> plot = plot_of([Series("r1", (Point(1, 8), Point(2, 10)))], [Level(15, "limit")],
    ...                Scale("mm", 1000), by_days=False)
    >>> [(mark.x, mark.y) for mark in plot.marks]
    [(98.0, 266.0), (522.0, 203.0)]
    """
    points = [point for one in series for point in one.points]
    if not points:
        return None
    room = _field(points, levels, scale, by_days)
    marks = tuple(
        PlacedMark(room.x(p.x), room.y(p.y), one.mark, p.text) for one in series for p in one.points
    )
    return Plot(
        WIDTH,
        HEIGHT,
        lines=(*_axes(room), *_across(room, levels), *_joins(room, series)),
        marks=marks,
        words=(*_figures(room, scale), *_names(room, levels)),
        legend=tuple((one.name, one.mark) for one in series if one.points),
    )


def _field(points: Sequence[Point], levels: Sequence[Level], scale: Scale, by_days: bool) -> _Field:
    heights = [p.y for p in points] + [level.y for level in levels]
    low, high = _reach(heights, scale)
    holds = Decimal(scale.holds)
    y_marks = number_ticks((Decimal(str(low)) / holds, Decimal(str(high)) / holds))
    y_ticks = [Tick(float(mark * holds), f"{mark:f}") for mark in y_marks]
    x_low, x_high = _ends([p.x for p in points], by_days)
    return _Field(
        x_low, x_high, y_ticks[0].at, y_ticks[-1].at, _x_ticks(x_low, x_high, by_days), y_ticks
    )


def _reach(heights: Sequence[float], scale: Scale) -> tuple[float, float]:
    """Least and largest figure that the y axis has to hold."""
    low, high = min(heights), max(heights)
    if scale.starts_at_zero:
        return min(low, 0), max(high, scale.least_span)
    room = max(scale.least_span - (high - low), 0) / 2
    return low - room, high + room


def _ends(places: Sequence[float], by_days: bool) -> tuple[float, float]:
    """Both ends of the x axis; a single place gets room on both sides."""
    low, high = min(places), max(places)
    if low == high:
        room = 3.0 if by_days else 1.0
        return low - room, high + room
    return low, high


def _x_ticks(low: float, high: float, by_days: bool) -> list[Tick]:
    if by_days:
        ticks = day_ticks(date.fromordinal(int(low)), date.fromordinal(int(high)))
    else:
        marks = number_ticks((Decimal(str(low)), Decimal(str(high))))
        ticks = [Tick(float(mark), f"{mark.normalize():f}") for mark in marks]
    return [tick for tick in ticks if low <= tick.at <= high]


def _axes(room: _Field) -> list[PlacedLine]:
    left, right = room.x(room.x_low), room.x(room.x_high)
    floor, top = HEIGHT - BOTTOM, TOP
    grid = [PlacedLine(((left, room.y(t.at)), (right, room.y(t.at))), "grid") for t in room.y_ticks]
    ticks = [
        PlacedLine(((room.x(t.at), floor), (room.x(t.at), floor + 5)), "axis") for t in room.x_ticks
    ]
    frame = PlacedLine(((left, top), (left, floor), (right, floor)), "axis")
    return [*grid, *ticks, frame]


def _across(room: _Field, levels: Sequence[Level]) -> list[PlacedLine]:
    ends = room.x(room.x_low), room.x(room.x_high)
    return [
        PlacedLine(tuple((x, room.y(level.y)) for x in ends), str(level.line)) for level in levels
    ]


def _joins(room: _Field, series: Sequence[Series]) -> list[PlacedLine]:
    return [
        PlacedLine(tuple((room.x(p.x), room.y(p.y)) for p in one.points), "series")
        for one in series
        if one.joined and len(one.points) > 1
    ]


def _figures(room: _Field, scale: Scale) -> list[PlacedWords]:
    up = [PlacedWords(LEFT - 8, room.y(tick.at) + 4, tick.text, "end") for tick in room.y_ticks]
    up[-1] = PlacedWords(LEFT - 8, up[-1].y, f"{up[-1].text} {scale.unit}", "end")
    along = [
        PlacedWords(room.x(tick.at), HEIGHT - BOTTOM + 20, tick.text, "middle")
        for tick in room.x_ticks
    ]
    return up + along


def _names(room: _Field, levels: Sequence[Level]) -> list[PlacedWords]:
    """The name of each level at its right end, pushed down where two would overlap."""
    placed: list[PlacedWords] = []
    for level in sorted(levels, key=lambda level: -level.y):
        y = room.y(level.y) + 4
        if placed:
            y = max(y, placed[-1].y + WORD_HEIGHT)
        placed.append(PlacedWords(WIDTH - RIGHT + 10, y, level.name))
    return placed
