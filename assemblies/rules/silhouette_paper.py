"""A side view laid out on paper: the scale that fits, and dimensions round it.

All places are whole micrometres of paper from the upper left corner, y downwards.

Source: scales after ISO 5455, dimensions after ISO 129-1, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from assemblies.rules.silhouette import Measure, Point, SideView, Stroke, Trace

#: One to this many; the whole numbers after ISO 5455, those between are common practice.
SCALES: tuple[Fraction, ...] = tuple(
    Fraction(text) for text in ("1", "3/2", "2", "5/2", "3", "4", "5", "15/2", "10", "20", "50")
)


@dataclass(frozen=True, slots=True)
class Lettering:
    """A text with the middle of its line at x, y [um of paper]; `upright` ones read upwards."""

    text: str
    x_um: int
    y_um: int
    size_um: int
    upright: bool = False
    known: bool = True


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


def placed(view: SideView, width_um: int, height_um: int, letter_um: int) -> Drawing:
    """`view` in a room of `width_um` by `height_um` [um], letters `letter_um` [um] high.

    At the largest scale that fits, and no higher than it needs to be; raises NoRoom where even
    the smallest scale does not fit.

    >>> from assemblies.rules.silhouette import SideFacts, side_view
    >>> view = side_view(SideFacts(holder_um=50_000, stickout_um=45_000, gauge_length_um=95_000))
    >>> placed(view, 40_000, 60_000, 2_200).scale_text
    '1:2.5'
    """
    points = [point for trace in view.traces for point in trace.points]
    half = max(abs(x) for x, _ in points)
    top, bottom = min(y for _, y in points), max(y for _, y in points)
    margin_um, foot_um = 2 * letter_um, 5 * letter_um // 2
    wide, high = width_um - 2 * margin_um, height_um - foot_um - letter_um // 2
    scale = next((s for s in SCALES if 2 * half <= wide * s and bottom - top <= high * s), None)
    if scale is None:
        raise NoRoom(f"{width_um} × {height_um} um is too small for a side view.")
    used_um = round((bottom - top) / scale) + letter_um // 2 + foot_um
    return _laid_out(view, _Place(width_um, used_um, letter_um, scale, top, half))


@dataclass(frozen=True, slots=True)
class _Place:
    """Where a view stands on its paper."""

    width_um: int
    height_um: int
    letter_um: int
    scale: Fraction
    top: int
    half: int

    def at(self, point: Point) -> Point:
        x, y = point
        down = self.letter_um // 4 + round((y - self.top) / self.scale)
        return self.width_um // 2 + round(x / self.scale), down

    @property
    def edge_um(self) -> int:
        """Half of the widest part on paper."""
        return round(self.half / self.scale)


def _laid_out(view: SideView, place: _Place) -> Drawing:
    traces = [
        Trace(trace.stroke, tuple(map(place.at, trace.points)), trace.closed)
        for trace in view.traces
    ]
    letterings: list[Lettering] = []
    for measure, side in ((view.length, -1), (view.stickout, 1)):
        lines, words = _upright_dimension(measure, side, place)
        traces += lines
        letterings.append(words)
    lines, words = _level_dimension(view.diameter, place)
    return Drawing(
        place.width_um,
        place.height_um,
        place.scale,
        (*traces, *lines),
        (*letterings, words),
    )


def _upright_dimension(measure: Measure, side: int, place: _Place) -> tuple[list[Trace], Lettering]:
    (from_x, from_y), (to_x, to_y) = place.at(measure.start), place.at(measure.end)
    gap = place.letter_um // 2
    line_x = place.width_um // 2 + side * (place.edge_um + gap)
    text_x = line_x + side * (gap + place.letter_um // 2)
    room = _half_width_um(measure.text, place.letter_um)
    middle = min(max((from_y + to_y) // 2, room), place.height_um - room)
    stroke = Stroke.DIMENSION if measure.known else Stroke.UNKNOWN
    lines = [
        Trace(Stroke.DIMENSION, ((from_x, from_y), (line_x + side * gap // 2, from_y))),
        Trace(Stroke.DIMENSION, ((to_x, to_y), (line_x + side * gap // 2, to_y))),
        Trace(stroke, ((line_x, from_y), (line_x, to_y))),
        *_arrows((line_x, from_y), (line_x, to_y), place.letter_um),
    ]
    words = Lettering(measure.text, text_x, middle, place.letter_um, True, measure.known)
    return lines, words


def _level_dimension(measure: Measure, place: _Place) -> tuple[list[Trace], Lettering]:
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
    size_um = min(place.letter_um, place.width_um * 5 // (3 * len(measure.text)))
    room = _half_width_um(measure.text, size_um)
    middle = min(max((left + right) // 2, room), max(place.width_um - room, room))
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


def _half_width_um(text: str, letter_um: int) -> int:
    """Half the width of a line of letters, as a rough rule: three fifths of the height each."""
    return len(text) * letter_um * 3 // 10
