"""A side view laid out in full: all dimensions in columns of their own, callouts in a lane.

All places are whole micrometres of paper from the upper left corner, y downwards.

Source: dimensions and leaders after ISO 129-1 and ISO 128, from memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from assemblies.rules.drawing.model import Callout, Measure, SideView, Stroke, Trace
from assemblies.rules.drawing.sheet import (
    SCALES,
    Anchor,
    Drawing,
    Lettering,
    NoRoom,
    Place,
    best_scale,
    extent_of,
    half_width_um,
    level_dimension,
    upright_dimension,
)

_GAUGE_LINE = "gauge line"


def placed_in_full(view: SideView, width_um: int, height_um: int, letter_um: int) -> Drawing:
    """`view` with every dimension it has, in a room [um], letters `letter_um` [um] high.

    From the left: gauge length, holder, callouts, the tool, cutting length, grip, stick-out. The
    drawing is as wide as it needs to be, with nothing beside it.
    Raises NoRoom where even the smallest scale does not fit.

    >>> from assemblies.rules.drawing.side import SideFacts, side_view
    >>> view = side_view(SideFacts(holder_um=50_000, stickout_um=45_000, gauge_length_um=95_000))
    >>> placed_in_full(view, 100_000, 90_000, 2_200).scale_text
    '1:2'
    """
    lanes, extent = _Lanes.of(view, letter_um), extent_of(view)
    room_um = width_um - lanes.left_um - lanes.right_um
    largest = best_scale(extent, room_um, height_um - 3 * letter_um)
    for scale in SCALES[SCALES.index(largest) :]:
        place = Place(lanes.left_um + round(extent.half / scale), letter_um, scale, extent)
        drawing = _lowered(_drawn(view, lanes, place))
        # A text may have been pushed up over the top of the tool.
        if drawing.height_um <= height_um:
            return drawing
    raise NoRoom(f"{width_um} × {height_um} um is too small for a drawing in full.")


def _drawn(view: SideView, lanes: _Lanes, place: Place) -> Drawing:
    width_um = lanes.left_um + 2 * place.edge_um + lanes.right_um
    uprights = _uprights(view, lanes, place)
    across, below = level_dimension(view.diameter, place, width_um)
    pointers, notes = _callouts(view, place)
    traces = [place.moved(trace) for trace in view.traces]
    for lines, _ in uprights:
        traces += lines
    words = tuple(text for _, text in uprights)
    return Drawing(
        width_um,
        place.height_um,
        place.scale,
        (*traces, *across, *pointers, _gauge_line(place)),
        (*words, below, *notes),
    )


def _lowered(drawing: Drawing) -> Drawing:
    """The drawing moved down by as much as a text stands out at its top."""
    tops = [w.y_um - w.size_um // 2 for w in drawing.letterings if not w.upright]
    down = max(0, -min(tops))
    if down == 0:
        return drawing
    return replace(
        drawing,
        height_um=drawing.height_um + down,
        traces=tuple(
            replace(t, points=tuple((x, y + down) for x, y in t.points)) for t in drawing.traces
        ),
        letterings=tuple(replace(w, y_um=w.y_um + down) for w in drawing.letterings),
    )


@dataclass(frozen=True, slots=True)
class _Lanes:
    """Room beside the tool [um]: a column for each upright dimension, a lane for callouts."""

    column_um: int
    callouts_um: int
    left_columns: int
    right_columns: int

    @classmethod
    def of(cls, view: SideView, letter_um: int) -> _Lanes:
        texts = [callout.text for callout in view.callouts] + [_GAUGE_LINE]
        widest = 2 * max(half_width_um(text, letter_um) for text in texts)
        return cls(2 * letter_um, widest + 2 * letter_um, 1 + len(view.before), 1 + len(view.after))

    @property
    def left_um(self) -> int:
        return self.callouts_um + self.left_columns * self.column_um + self.column_um // 4

    @property
    def right_um(self) -> int:
        return self.right_columns * self.column_um + self.column_um // 2


def _uprights(view: SideView, lanes: _Lanes, place: Place) -> list[tuple[list[Trace], Lettering]]:
    left = place.axis_um - place.edge_um - lanes.callouts_um
    right = place.axis_um + place.edge_um + place.letter_um // 2
    columns = [
        (-1, left, (*view.before, view.length)),
        (1, right, (*view.after, view.stickout)),
    ]
    found = []
    for side, first_x, measures in columns:
        for turn, measure in enumerate(measures):
            line_x = first_x + side * turn * lanes.column_um
            crossing = _heights(measures[turn + 1 :], place)
            found.append(
                upright_dimension(measure, line_x, place, at_left=side < 0, crossing=crossing)
            )
    return found


def _heights(measures: Iterable[Measure], place: Place) -> set[int]:
    """Where the lines of `measures` leave the tool [um of paper]."""
    return {place.at(end)[1] for measure in measures for end in (measure.start, measure.end)}


def _gauge_line(place: Place) -> Trace:
    """A line across the tool from which lengths count."""
    _, y = place.at((0, 0))
    reach = place.edge_um + place.letter_um
    return Trace(Stroke.AXIS, ((place.axis_um - reach, y), (place.axis_um + reach, y)))


def _callouts(view: SideView, place: Place) -> tuple[list[Trace], list[Lettering]]:
    """Texts in the lane left of the tool, from the tip upwards, clear of all lines."""
    end_x = place.axis_um - place.edge_um - place.letter_um
    lines = _heights((*view.before, view.length), place)
    _, gauge_y = place.at((0, 0))
    head_y = gauge_y - place.letter_um * 3 // 4
    head = Lettering(_GAUGE_LINE, end_x, head_y, place.letter_um, anchor=Anchor.END)
    traces, notes, taken = [], [head], [head.y_um]
    for callout in sorted(view.callouts, key=lambda one: -one.at[1]):
        y = _free_height(place.at(callout.at)[1], lines, taken, place.letter_um)
        taken.append(y)
        notes.append(
            Lettering(callout.text, end_x, y, place.letter_um, False, callout.known, Anchor.END)
        )
        traces += _pointer(callout, (end_x + place.letter_um // 3, y), place)
    return traces, notes


def _free_height(wanted: int, lines: Iterable[int], taken: Sequence[int], letter_um: int) -> int:
    """The first height at or above `wanted` where a text meets no line and no other text."""
    clear, apart = letter_um * 4 // 5, letter_um * 13 // 10
    y = wanted
    for _ in range(len(taken) + len(set(lines)) + 1):
        for line in lines:
            if abs(y - line) < clear:
                y = line - clear
        for other in taken:
            if abs(y - other) < apart:
                y = other - apart
    return y


def _pointer(callout: Callout, start: tuple[int, int], place: Place) -> list[Trace]:
    """A leader from the end of a text to the place it speaks of, with its head."""
    at = place.at(callout.at)
    long, wide = place.letter_um // 2, place.letter_um // 6
    stroke = Stroke.DIMENSION if callout.known else Stroke.UNKNOWN
    x, y = at
    head = Trace(Stroke.DIMENSION, ((x - long, y - wide), at, (x - long, y + wide)))
    return [Trace(stroke, (start, (min(start[0] + long, x), start[1]), at)), head]
