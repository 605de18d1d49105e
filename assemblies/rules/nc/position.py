"""Where the tool stands in program coordinates, and the orders that move their zero.

All lengths in mm. Axes are counted 0, 1, 2 for X, Y, Z. Before the first word of an axis it stands
at 0, by convention. What the program does not tell is not known: the values of work offsets that
no G10 gave, the machine's own coordinates, the place where a probe touched.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

ALL_AXES = (0, 1, 2)
#: Work offset by its number in G10 L2 P.
WORK_OFFSETS = dict(zip(range(1, 10), (540, 550, 560, 570, 580, 590, 591, 592, 593), strict=True))

Three = tuple[float, float, float]
Known = tuple[bool, bool, bool]


class Step(NamedTuple):
    """One straight step; `known_way` says of which axes the way can be told."""

    start: Three
    end: Three
    known_start: Known
    known_end: Known
    known_way: Known

    def way(self, axis: int) -> float:
        """Way along one axis; 0 where it is not known."""
        return self.end[axis] - self.start[axis] if self.known_way[axis] else 0.0

    @property
    def is_known(self) -> bool:
        return self.known_way == (True, True, True)

    @property
    def length(self) -> float:
        """Length of the step, of the axes whose way is known."""
        x, y, z = self.way(0), self.way(1), self.way(2)
        return math.sqrt(x * x + y * y + z * z)


@dataclass(slots=True)
class Position:
    """Axes with their values, whether they are known, and what the zero was moved by."""

    at: Three = (0.0, 0.0, 0.0)
    known: Known = (True, True, True)
    #: Axes that have had a word; the others stand at 0 whatever happens to the zero.
    worded: set[int] = field(default_factory=set)
    work_offset: int = 540
    #: Values of work offsets as far as G10 L2 gave them in this program.
    offset_values: dict[tuple[int, int], float] = field(default_factory=dict)
    #: What G92 moved each axis by; None where that cannot be told.
    shift: dict[int, float | None] = field(default_factory=dict)
    kept_shift: dict[int, float | None] | None = None

    def step(self, words: Mapping[int, float | None], absolute: bool) -> Step:
        """The step that `words` ask for; a word without a value leads to a place not known.

        >>> place = Position()
        >>> place.go(place.step({0: 3.0, 1: 4.0}, absolute=True))
        >>> place.step({2: -12.0}, absolute=False).length, place.at
        (12.0, (3.0, 4.0, 0.0))
        """
        end, known_end, known_way = list(self.at), list(self.known), [True, True, True]
        for axis, value in words.items():
            if value is None:
                known_end[axis] = known_way[axis] = False
            elif absolute:
                known_way[axis] = self.known[axis]
                end[axis], known_end[axis] = value, True
            else:
                end[axis] += value
        return Step(self.at, tuple(end), self.known, tuple(known_end), tuple(known_way))

    def go(self, step: Step, worded: Iterable[int] = ALL_AXES) -> None:
        """Stand at the end of `step`."""
        self.at, self.known = step.end, step.known_end
        self.worded.update(worded)

    def lose(self, axes: Iterable[int] = ALL_AXES) -> None:
        """From here on nobody knows where these axes stand in program coordinates."""
        axes = set(axes)
        self.known = tuple(known and axis not in axes for axis, known in enumerate(self.known))

    def _move_zero(self, axis: int, by: float | None) -> None:
        """The zero of one axis moves up by `by`: the tool stands, its coordinate falls."""
        if by is None:
            self.lose((axis,))
        elif by:
            self.at = tuple(v - by if i == axis else v for i, v in enumerate(self.at))

    # Work offsets

    def use_work_offset(self, code: int) -> None:
        """G54 to G59.3: the zero moves by the difference, where the program gave both values."""
        before, self.work_offset = self.work_offset, code
        if before == code:
            return
        for axis in self.worded:
            old = self.offset_values.get((before, axis))
            new = self.offset_values.get((code, axis))
            self._move_zero(axis, None if old is None or new is None else new - old)

    def set_work_offset(self, code: int, values: Mapping[int, float | None]) -> None:
        """G10 L2: a work offset takes `values`; that of the one in use moves the zero."""
        for axis, value in values.items():
            old = self.offset_values.pop((code, axis), None)
            if value is not None:
                self.offset_values[(code, axis)] = value
            if code == self.work_offset:
                self._move_zero(axis, None if old is None or value is None else value - old)

    # G92

    def call_it(self, values: Mapping[int, float | None]) -> None:
        """G92: the tool stands, and its axes are called `values` from here on.

        Worked example, NIST IR 6556 (2000), 3.5.18: at X4 `G92 X7` gives an offset of -3, then
        `G92 X9` one of -5.

        >>> place = Position(at=(4.0, 0.0, 0.0))
        >>> place.call_it({0: 7.0}); place.call_it({0: 9.0})
        >>> place.at[0], place.shift[0]
        (9.0, -5.0)
        """
        for axis, value in values.items():
            held = self.shift.get(axis, 0.0)
            by = self.at[axis] - value if value is not None and self.known[axis] else None
            self.shift[axis] = None if held is None or by is None else held + by
            if value is None:
                self.lose((axis,))
                continue
            self.at = tuple(value if i == axis else v for i, v in enumerate(self.at))
            self.known = tuple(i == axis or known for i, known in enumerate(self.known))
        self.worded.update(values)
        self.kept_shift = dict(self.shift)

    def drop_shift(self, forget: bool) -> None:
        """G92.1 (with `forget`) and G92.2: the zero goes back to where it was before G92."""
        for axis, by in self.shift.items():
            self._move_zero(axis, None if by is None else -by)
        self.shift = {}
        if forget:
            self.kept_shift = {}

    def take_up_shift(self) -> None:
        """G92.3: the offsets that G92 left behind hold again."""
        if self.kept_shift is None:
            self.lose()
            return
        self.drop_shift(forget=False)
        self.shift = dict(self.kept_shift)
        for axis, by in self.shift.items():
            self._move_zero(axis, by)
