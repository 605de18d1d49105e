"""The quick way: plain moves and arcs, taken by one pattern a block.

Nearly every block of a long program is a plain move in the usual order of words. While the state
is plain (`Path.is_plain`) and a move of its kind has gone the general way, such a block can bring
nothing but geometry and a feed. The sums here are those of the general way, in the same order;
tests hold the two against each other, digit by digit.
"""

from __future__ import annotations

import math
import re
from contextlib import suppress
from functools import cache
from typing import NamedTuple

from assemblies.rules.nc.arcs import ArcFault, arc_about, arc_of_radius
from assemblies.rules.nc.codes import g_name
from assemblies.rules.nc.figures import Figures, largest, smallest

_NUMBER = r"([-+]?(?:[0-9]{1,7}(?:\.[0-9]{0,9})?|\.[0-9]{1,9})) ?"
_NUMBER_WITH_POINT = r"([-+]?(?:[0-9]{1,7}\.[0-9]{0,9}|\.[0-9]{1,9})) ?"
#: Found faster; what is no number in it is told by `float`, and nothing in it is above 1e9.
_SHORT_NUMBER = r"([-+.0-9]{1,9}) ?"
_HEAD = r"(?:[Nn][0-9]{1,%(digits)d} ?)?"
_AXES = r"(?=[XYZxyz])(?:[Xx]%(number)s)?(?:[Yy]%(number)s)?(?:[Zz]%(number)s)?"
_LINE = _HEAD + r"(?:[Gg]0?1 ?)?" + _AXES + r"\n"
_BLOCK = (
    _HEAD
    + r"(?:[Gg]0?([0-3]) ?)?"
    + _AXES
    + r"(?:[Ii]%(number)s)?(?:[Jj]%(number)s)?(?:[Rr]%(number)s)?"
    + r"(?:[Ff]([0-9]{1,7}\.?[0-9]{0,6}) ?)?\n"
)


class Patterns(NamedTuple):
    """A straight move in the feed in force, and any plain block."""

    line: re.Pattern[str]
    block: re.Pattern[str]


@cache
def patterns(line_number_digits: int, with_points: bool) -> Patterns:
    """Patterns of plain blocks; `with_points` where only lengths with a point are plain.

    >>> patterns(5, with_points=False).line.match("N10 G1 X1.5 Y-2\\n").groups()
    ('1.5', '-2', None)
    """
    short, full = (_NUMBER_WITH_POINT,) * 2 if with_points else (_SHORT_NUMBER, _NUMBER)
    digits = {"digits": line_number_digits}
    line, block = _LINE % (digits | {"number": short}), _BLOCK % (digits | {"number": full})
    return Patterns(re.compile(line), re.compile(block))


def run_plain(machine: Figures, text: str, place: int, plain: Patterns) -> int:
    """Take plain blocks from `text[place]` on; the place of the first that is not plain."""
    run = _PlainRun(machine, text, plain)
    place = run.blocks(place)
    run.give_back()
    return place


class _PlainRun:
    """One run of plain blocks: figures as own sums, given back when it ends."""

    def __init__(self, machine: Figures, text: str, plain: Patterns):
        self.machine, self.text, self.plain = machine, text, plain
        state, use = machine.state, machine.current_use()
        self.at, self.scale, self.motion = state.position.at, state.scale, state.motion // 10
        self.feed, self.feed_is_new, self.has_new_feed = state.feed, False, False
        counts = machine.settings.counts_least_increments
        self.doubts_whole_feeds = counts and state.unit == "inch"
        self.worded = state.position.worded
        self.may_feed = machine.settled == 2
        self.fed, self.rapid = use.feed_path_length, use.rapid_path_length
        self.minutes = use.cutting_time
        self.name = g_name(state.position.work_offset)
        self.lowest = use.deepest_z_by_work_offset.get(self.name, math.inf)
        self.lowest_rapid = machine.rapid_depths.get((use.tool_number, self.name), math.inf)

    def blocks(self, place: int) -> int:
        """Take blocks while they are plain; the place of the first that is not."""
        text, match = self.text, self.plain.block.match
        while True:
            if self.motion == 1 and self.may_feed and len(self.worded) == 3:
                place = self.lines(place)
            found = match(text, place)
            if found is None or not self.block(found):
                return place
            place = found.end()

    def lines(self, place: int) -> int:
        """Take straight moves in the feed in force: the innermost loop of the reader."""
        (x, y, z), scale, feed = self.at, self.scale, self.feed
        fed, minutes, lowest = self.fed, self.minutes, self.lowest
        match, text, sqrt = self.plain.line.match, self.text, math.sqrt
        with suppress(ValueError):
            while found := match(text, place):
                new_x, new_y, new_z = found.groups()
                new_x = x if new_x is None else float(new_x) * scale
                new_y = y if new_y is None else float(new_y) * scale
                new_z = z if new_z is None else float(new_z) * scale
                place = found.end()
                way_x, way_y, way_z = new_x - x, new_y - y, new_z - z
                x, y, z = new_x, new_y, new_z
                length = sqrt(way_x * way_x + way_y * way_y + way_z * way_z)
                fed += length
                if feed:
                    minutes += length / feed
                if z < lowest:
                    lowest = z
        self.at, self.fed, self.minutes, self.lowest = (x, y, z), fed, minutes, lowest
        return place

    def block(self, found: re.Match[str]) -> bool:
        """Take one block of any plain kind; False where the general way must read it."""
        motion_word, x, y, z, i, j, radius, feed_word = found.groups()
        motion = self.motion if motion_word is None else int(motion_word)
        has_arc = i is not None or j is not None or radius is not None
        if has_arc != (motion >= 2) or (motion and not self.may_feed):
            return False
        if feed_word is not None and not self.takes_feed(feed_word):
            return False
        (old_x, old_y, old_z), scale = self.at, self.scale
        new_x = old_x if x is None else float(x) * scale
        new_y = old_y if y is None else float(y) * scale
        new_z = old_z if z is None else float(z) * scale
        way_x, way_y, way_z = new_x - old_x, new_y - old_y, new_z - old_z
        flat = way_x * way_x + way_y * way_y
        if has_arc:
            along = self.arc_length((way_x, way_y), (i, j), radius, motion == 2)
            if along is None:
                return False
            flat = along * along
        self.at, self.motion = (new_x, new_y, new_z), motion
        if len(self.worded) < 3:
            self.worded.update(axis for axis, word in enumerate((x, y, z)) if word is not None)
        self.add(math.sqrt(flat + way_z * way_z), old_z, new_z)
        return True

    def takes_feed(self, word: str) -> bool:
        """Take a new F; not one which the general way has something to say about, as F0."""
        feed = float(word) * self.scale
        if not feed or (self.doubts_whole_feeds and "." not in word):
            return False
        self.feed, self.feed_is_new, self.has_new_feed = feed, True, True
        return True

    def arc_length(self, way, centre, radius, clockwise) -> float | None:
        """Length of the arc in the X-Y plane [mm]; None where the words describe none."""
        i, j = centre
        scale = self.scale
        try:
            if radius is None:
                i, j = float(i or 0) * scale, float(j or 0) * scale
                return arc_about(way, (i, j), clockwise).length
            if i is None and j is None:
                return arc_of_radius(way, float(radius) * scale, clockwise).length
        except ArcFault:
            pass
        return None

    def add(self, length: float, old_z: float, new_z: float) -> None:
        """Add one move of the motion in force."""
        if self.motion == 0:
            self.rapid += length
            self.lowest_rapid = min(self.lowest_rapid, new_z)
            return
        self.fed += length
        self.lowest = min(self.lowest, old_z, new_z)
        if self.feed:
            self.minutes += length / self.feed
            if self.feed_is_new:
                self.record_rate()

    def record_rate(self) -> None:
        use = self.machine.current_use()
        use.feed_rate_max = largest(use.feed_rate_max, self.feed)
        use.feed_rate_min = smallest(use.feed_rate_min, self.feed)
        self.feed_is_new = False

    def give_back(self) -> None:
        """Write the sums back to the machine and the figures of the tool."""
        machine, state, use = self.machine, self.machine.state, self.machine.current_use()
        state.position.at, state.motion = self.at, self.motion * 10
        if self.has_new_feed:
            state.feed, state.feed_doubt, state.feed_unit = self.feed, False, state.unit
            state.feed_call = len(machine.reading.tool_calls)
        use.feed_path_length, use.rapid_path_length = self.fed, self.rapid
        use.cutting_time = self.minutes
        if self.lowest < math.inf:
            use.deepest_z = smallest(use.deepest_z, self.lowest)
            use.deepest_z_by_work_offset[self.name] = self.lowest
        if self.lowest_rapid < math.inf:
            use.deepest_z_rapid = smallest(use.deepest_z_rapid, self.lowest_rapid)
            machine.rapid_depths[(use.tool_number, self.name)] = self.lowest_rapid
