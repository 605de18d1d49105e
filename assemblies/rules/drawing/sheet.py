"""A side view laid out on paper: the scale that fits, and its three main dimensions round it.

All places are whole micrometres of paper from the upper left corner, y downwards.

Source: scales after ISO 5455, dimensions after ISO 129-1, from memory.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from assemblies.rules.drawing.model import Measure, Point, SideView, Stroke, Trace

#: One to this many; the whole numbers after ISO 5455, those between are common practice.
SCALES: tuple[Fraction, ...] = tuple(
    Fraction(text) for text in ("1", "3/2", "2", "5/2", "3", "4", "5", "15/2", "10", "20", "50")
)


class Anchor(StrEnum):
    """Which part of a text stands at its place."""

    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True)
class Lettering:
    """A text with the middle of its line at x, y [um of paper]; `upright` ones read upwards."""

    text: str
    x_um: int
    y_um: int
    size_um: int
    upright: bool = False
    known: bool = True
    anchor: Anchor = Anchor.MIDDLE


@dataclass(frozen=True, slots=True)
class Drawing:
    """A side view laid out on paper [um]; one micrometre of it stands for `scale` of the tool."""

    width_um: int
    height_um: int
    scale: Fraction
    traces: tuple[Trace, ...]
    letterings: tuple[Lettering, ...]

    @property
    def scale_text(self) -> str:
        """As printed: 1:2.5."""
        return f"1:{float(self.scale):g}"


class NoRoom(ValueError):
    """The room is too small for any drawing."""


@dataclass(frozen=True, slots=True)
class Extent:
    """How far a view reaches in its own size [um]: to each side, above the gauge line, below."""

    half: int
    top: int
    bottom: int


def extent_of(view: SideView) -> Extent:
    """How far the lines of `view` reach, and what its dimensions run between.

    >>> from assemblies.rules.drawing.side import SideFacts, side_view
    >>> extent_of(side_view(SideFacts(gauge_diameter_um=40_000, gauge_length_um=95_000))).top
    -60000
    """
    points = [point for trace in view.traces for point in trace.points]
    for measure in (view.length, view.stickout, view.diameter, *view.before, *view.after):
        points += (measure.start, measure.end)
    heights = [y for _, y in points]
    return Extent(max(abs(x) for x, _ in points), min(heights), max(heights))


def placed(view: SideView, width_um: int, height_um: int, letter_um: int) -> Drawing:
    """`view` in a room of `width_um` by `height_um` [um], letters `letter_um` [um] high.

    At the largest scale that fits, and no higher than it needs to be; raises NoRoom where even
    the smallest scale does not fit.

    >>> from assemblies.rules.drawing.side import SideFacts, side_view
    >>> view = side_view(SideFacts(holder_um=50_000, stickout_um=45_000, gauge_length_um=95_000))
    >>> placed(view, 40_000, 60_000, 2_200).scale_text
    '1:3'
    """
    extent = extent_of(view)
    scale = best_scale(extent, width_um - 4 * letter_um, height_um - 3 * letter_um)
    place = Place(width_um // 2, letter_um, scale, extent)
    traces, letterings = [place.moved(trace) for trace in view.traces], []
    reach = place.edge_um + letter_um // 2
    for measure, at_left in ((view.length, True), (view.stickout, False)):
        line_x = place.axis_um - reach if at_left else place.axis_um + reach
        lines, words = upright_dimension(measure, line_x, place, at_left=at_left)
        traces += lines
        letterings.append(words)
    lines, words = level_dimension(view.diameter, place, width_um)
    return Drawing(width_um, place.height_um, scale, (*traces, *lines), (*letterings, words))


def best_scale(extent: Extent, wide_um: int, high_um: int) -> Fraction:
    """The largest scale at which `extent` fits a room [um]; raises NoRoom where none does.

    >>> best_scale(Extent(25_000, -25_400, 95_000), 28_000, 54_000)
    Fraction(5, 2)
    """
    wide, high = 2 * extent.half, extent.bottom - extent.top
    scale = next((s for s in SCALES if wide <= wide_um * s and high <= high_um * s), None)
    if scale is None:
        raise NoRoom(f"{wide_um} × {high_um} um is too small for a side view.")
    return scale


@dataclass(frozen=True, slots=True)
class Place:
    """Where a view stands on its paper: its axis from the left [um], letters [um], scale."""

    axis_um: int
    letter_um: int
    scale: Fraction
    extent: Extent

    def at(self, point: Point) -> Point:
        """A point of the view on paper."""
        x, y = point
        down = self.letter_um // 4 + round((y - self.extent.top) / self.scale)
        return self.axis_um + round(x / self.scale), down

    def moved(self, trace: Trace) -> Trace:
        """A line of the view on paper."""
        points = tuple(map(self.at, trace.points))
        return Trace(trace.stroke, points, trace.closed, trace.filled)

    @property
    def edge_um(self) -> int:
        """Half of the widest part on paper."""
        return round(self.extent.half / self.scale)

    @property
    def height_um(self) -> int:
        """Height with the dimension below the tip."""
        high = round((self.extent.bottom - self.extent.top) / self.scale)
        return high + 3 * self.letter_um


def upright_dimension(
    measure: Measure,
    line_x_um: int,
    place: Place,
    *,
    at_left: bool = False,
    crossing: Iterable[int] = (),
) -> tuple[list[Trace], Lettering]:
    """Dimension along the axis, its line at `line_x_um` [um], the text on its outer side.

    The text keeps clear of the heights `crossing` [um], where other lines pass, if it can.

    >>> from assemblies.rules.drawing.side import SideFacts, side_view
    >>> view = side_view(SideFacts(holder_um=50_000, stickout_um=45_000))
    >>> place = Place(0, 2_000, Fraction(2), extent_of(view))
    >>> upright_dimension(view.stickout, 9_000, place)[1].text
    'stick-out 45.0'
    """
    (from_x, from_y), (to_x, to_y) = place.at(measure.start), place.at(measure.end)
    gap, side = place.letter_um // 2, -1 if at_left else 1
    text_x = line_x_um + side * (gap + place.letter_um // 2)
    room = half_width_um(measure.text, place.letter_um)
    middle = _clear_middle((from_y, to_y), room, place, crossing)
    stroke = Stroke.DIMENSION if measure.known else Stroke.UNKNOWN
    lines = [
        Trace(Stroke.DIMENSION, ((from_x, from_y), (line_x_um + side * gap // 2, from_y))),
        Trace(Stroke.DIMENSION, ((to_x, to_y), (line_x_um + side * gap // 2, to_y))),
        Trace(stroke, ((line_x_um, from_y), (line_x_um, to_y))),
        *_carried_on(line_x_um, (from_y, to_y), (middle - room, middle + room)),
        *_arrows((line_x_um, from_y), (line_x_um, to_y), place.letter_um),
    ]
    words = Lettering(measure.text, text_x, middle, place.letter_um, True, measure.known)
    return lines, words


def _carried_on(x_um: int, ends: tuple[int, int], text: tuple[int, int]) -> list[Trace]:
    """The dimension line carried on along a text that stands beyond its ends."""
    if text[1] < ends[0]:
        return [Trace(Stroke.DIMENSION, ((x_um, text[0]), (x_um, ends[0])))]
    if text[0] > ends[1]:
        return [Trace(Stroke.DIMENSION, ((x_um, ends[1]), (x_um, text[1])))]
    return []


def _clear_middle(ends: tuple[int, int], room: int, place: Place, crossing: Iterable[int]) -> int:
    """Middle of a text: between the ends of its line, else from one of them, else beyond them."""
    low, high = room, place.height_um - room
    between = sum(ends) // 2
    gap = place.letter_um // 2
    inside = (between, ends[1] - room - gap // 4, ends[0] + room + gap // 4)
    wanted = (*inside, ends[0] - room - gap, ends[1] + room + gap)
    lines = tuple(crossing)
    for middle in wanted:
        if low <= middle <= high and not any(abs(middle - y) < room for y in lines):
            return middle
    return min(max(between, low), max(high, low))


def level_dimension(measure: Measure, place: Place, width_um: int) -> tuple[list[Trace], Lettering]:
    """Dimension across, below its own height; the text stays within `width_um` [um] of paper.

    >>> from assemblies.rules.drawing.side import SideFacts, side_view
    >>> view = side_view(SideFacts(diameter_um=12_000))
    >>> place = Place(20_000, 2_000, Fraction(2), extent_of(view))
    >>> level_dimension(view.diameter, place, 40_000)[1].x_um
    20000
    """
    (left, y), (right, _) = place.at(measure.start), place.at(measure.end)
    line_y = y + place.letter_um * 3 // 4
    lines = [
        Trace(Stroke.DIMENSION, ((left, y), (left, line_y + place.letter_um // 4))),
        Trace(Stroke.DIMENSION, ((right, y), (right, line_y + place.letter_um // 4))),
        Trace(
            Stroke.DIMENSION if measure.known else Stroke.UNKNOWN, ((left, line_y), (right, line_y))
        ),
    ]
    # A text wider than the room is set smaller; it is never cut.
    size_um = min(place.letter_um, width_um * 5 // (3 * len(measure.text)))
    room = half_width_um(measure.text, size_um)
    middle = min(max((left + right) // 2, room), max(width_um - room, room))
    y_um = line_y + place.letter_um
    return lines, Lettering(measure.text, middle, y_um, size_um, False, measure.known)


def _arrows(start: Point, end: Point, letter_um: int) -> list[Trace]:
    """Heads of a vertical dimension line, left out where they would meet."""
    (x, top), (_, bottom) = start, end
    long, wide = letter_um // 2, letter_um // 6
    if bottom - top < 3 * long:
        return []
    return [
        Trace(Stroke.DIMENSION, ((x - wide, top + long), (x, top), (x + wide, top + long))),
        Trace(
            Stroke.DIMENSION, ((x - wide, bottom - long), (x, bottom), (x + wide, bottom - long))
        ),
    ]


def half_width_um(text: str, letter_um: int) -> int:
    """Half the width of a line of letters [um], as a rough rule: three fifths of the height each.

    >>> half_width_um("Ø 12.00", 2_000)
    4200
    """
    return len(text) * letter_um * 3 // 10
