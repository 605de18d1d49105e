"""Moves: where each one leads, how long it is and how deep it goes.

Lengths are those of the path as the words say it; a length offset moves no programmed point.
Source: NIST IR 6556 (2000), 3.5.1 to 3.5.3.
"""

from __future__ import annotations

import math

from assemblies.rules.nc.arcs import Arc, ArcFault, arc_about, arc_of_radius
from assemblies.rules.nc.codes import (
    ARCS,
    CYCLES,
    G0,
    G1,
    G2,
    G4,
    G10,
    G17,
    G28,
    G30,
    G53,
    G64,
    G80,
    G92,
    G92_1,
    G92_2,
    G92_3,
    M98,
    PROBE,
    g_name,
)
from assemblies.rules.nc.coordinates import Coordinates
from assemblies.rules.nc.feeds import G94, TIMED_FIGURES
from assemblies.rules.nc.figures import smallest
from assemblies.rules.nc.orders import Orders
from assemblies.rules.nc.position import ALL_AXES, WORK_OFFSETS, Step
from assemblies.rules.nc.reading import DEPTH_FIGURES, FEED_FIGURES, PATH_FIGURES, SPEED_FIGURES
from crib.rules.finding import Level

#: Axes of a plane in their order, then the one across.
PLANES = {170: (0, 1, 2), 180: (2, 0, 1), 190: (1, 2, 0)}
_NOT_A_MOTION = frozenset((G4, G10, G92, G92_1, G92_2, G92_3))
#: Axis words whose way is not followed: rotary, and seconds of X, Y and Z.
_OTHER_AXES = frozenset("ABCUVW")
_CENTRE = "IJK"
#: Words that serve a code of their block; the second kind means nothing without a move.
_SERVING = frozenset("IJKLPQR")
_QUIET_ALONE = frozenset("LPQ")
OFFSET_NAMES = {code: g_name(code) for code in WORK_OFFSETS.values()}
#: Half the difference of the radii may lie in the lowest point of an arc [mm].
LARGEST_SPREAD_MM = 0.004
#: What a feed move of unknown way or start leaves open.
_FED = ("feed_path_length", "cutting_time")
_FED_DEPTH = ("deepest_z", "deepest_z_by_work_offset")


class Path(Coordinates):
    """Rapids, straight feed moves, arcs and probing."""

    def move(self, orders: Orders) -> None:
        self.name_motion(orders)
        once = orders.g.get("once")
        self.check_unused_words(orders)
        self.check_machine_move(orders)
        if once in (G28, G30):
            self.go_home(orders)
        elif once not in _NOT_A_MOTION and self.moves(orders):
            self.check_other_axes(orders)
            self.make_motion(orders)
            if self.deletable:
                self.settled = 0
                in_cycle = self.state.motion in CYCLES
                self.state.position.lose(ALL_AXES if in_cycle else self.axis_words(orders))
        if self.path_doubt and self.use is not None:
            self.use.doubt(PATH_FIGURES)

    def name_motion(self, orders: Orders) -> None:
        named = orders.g.get("motion")
        if named is None:
            return
        if self.state.cycle is not None and self.state.cycle.code != named:
            self.state.cycle = None
        self.state.motion = named

    def moves(self, orders: Orders) -> bool:
        """Whether the block moves: an axis word, or an arc without an end point."""
        if orders.has_axis:
            return True
        return self.state.motion in ARCS and bool(orders.words.keys() & {"I", "J", "K", "R"})

    def make_motion(self, orders: Orders) -> None:
        motion = self.state.motion
        if motion is None or motion == G80:
            self.note("no-motion-code", Level.UNKNOWN, "axis words without a motion code in force")
            self.current_use().doubt(SPEED_FIGURES + FEED_FIGURES)
            self.record_move()
            self.lose_path()
        elif motion == G0:
            self.make_rapid(orders)
            self.settled = 1 if self.is_plain() else 0
        elif motion in CYCLES:
            self.make_cycle(orders, motion)
        else:
            self.make_feed(orders, motion)
            # The block of an M5 is spared a finding that the next plain feed move is not.
            plain = motion != PROBE and 5 not in orders.m and self.state.feed != 0
            plain = plain and not self.path_doubt
            self.settled = 2 if plain and self.is_plain() else 0

    def is_plain(self) -> bool:
        """Whether the blocks that follow can be taken by their words alone."""
        state = self.state
        return (
            state.feed_mode == G94
            and state.absolute
            and state.plane == G17
            and all(state.position.known)
        )

    # What cannot be followed

    def check_unused_words(self, orders: Orders) -> None:
        """Words that no code of the block asks for may mean something that is not known."""
        letters = orders.words.keys()
        if _SERVING.isdisjoint(letters) or orders.unknown_g or orders.subprogram:
            return
        unused = letters & _SERVING - self.used_letters(orders)
        in_row = self.state.motion in CYCLES
        if not (in_row or self.moves(orders)):
            unused -= _QUIET_ALONE
        if unused:
            names = ", ".join(sorted(unused))
            self.note("not-understood", Level.UNKNOWN, f"{names} without a code that uses it")
            self.doubt_from_here("path")
        if unused and in_row:
            # A new number for the holes to come, an error, or a hole: controls differ.
            self.current_use().doubt(("dwell_time",))
            self.lose_path()

    def check_machine_move(self, orders: Orders) -> None:
        """G53 needs G0 or G1 and an axis; alone it ends the work offset on some controls."""
        if orders.g.get("once") != G53:
            return
        if not orders.has_axis or self.state.motion not in (G0, G1):
            self.note("not-understood", Level.UNKNOWN, "G53 without a straight move")
            self.doubt_from_here("path")
            self.state.position.lose()

    def used_letters(self, orders: Orders) -> set[str]:
        """The letters beside axis words that the codes of the block use."""
        once, motion = orders.g.get("once"), self.state.motion
        used = {G4: "P", G10: "LPR"}.get(once, "")
        used += "LP" if M98 in orders.m else ""
        used += "PQ" if orders.g.get("path") == G64 else ""
        if once is None and motion in ARCS:
            used += "IJKR"
        elif once is None and motion in CYCLES and orders.has_axis:
            used += "IJKLPQR"
        return set(used)

    def check_other_axes(self, orders: Orders) -> None:
        others = orders.words.keys() & _OTHER_AXES
        if not others:
            return
        names = ", ".join(sorted(others))
        self.note("not-understood", Level.UNKNOWN, f"{names}: way of this axis not followed")
        self.doubt_from_here("path")
        if others & set("UVW"):
            self.state.position.lose()
        if orders.words.keys().isdisjoint("XYZ"):
            self.current_use().doubt(TIMED_FIGURES)

    def doubt_fed(self, figures: tuple[str, ...]) -> None:
        """A feed move from a point that nobody knows: never silent."""
        text = "feed move from a point that the program does not tell"
        self.note_once("position-not-known", Level.UNKNOWN, text)
        self.current_use().doubt(figures)

    # Rapids

    def make_rapid(self, orders: Orders) -> None:
        words = self.axis_words(orders)
        in_machine = orders.g.get("once") == G53
        step = self.state.position.step(
            dict.fromkeys(words) if in_machine else words, self.absolute
        )
        self.record_move()
        self.add_rapid(step)
        self.state.position.go(step, words)

    @property
    def absolute(self) -> bool:
        return self.state.absolute

    def add_rapid(self, step: Step) -> None:
        use = self.current_use()
        use.rapid_path_length += step.length
        if not step.is_known:
            use.doubt(("rapid_path_length",))
        self.reach_rapid(step.end[2] if step.known_end[2] else None)

    def reach_rapid(self, z: float | None) -> None:
        """A rapid ends at `z` [mm]; None where that is not known."""
        use = self.current_use()
        if z is None:
            use.doubt(("deepest_z_rapid",))
            return
        use.deepest_z_rapid = smallest(use.deepest_z_rapid, z)
        key = (use.tool_number, self.offset_name)
        self.rapid_depths[key] = smallest(self.rapid_depths.get(key), z)

    @property
    def offset_name(self) -> str:
        return OFFSET_NAMES[self.state.position.work_offset]

    def go_home(self, orders: Orders) -> None:
        """G28, G30: by way of the point named to a place only the machine knows.

        By the standard every axis goes home, on many controls those with a word; none is known.
        """
        position, words = self.state.position, self.axis_words(orders)
        self.record_move()
        self.add_rapid(position.step(words, self.absolute))
        position.lose()
        self.current_use().doubt(("rapid_path_length", "deepest_z_rapid"))

    # Feed moves

    def make_feed(self, orders: Orders, motion: int) -> None:
        words = self.axis_words(orders)
        in_machine = orders.g.get("once") == G53
        position = self.state.position
        step = position.step(dict.fromkeys(words) if in_machine else words, self.absolute)
        self.begin_feed_move(orders)
        if motion == PROBE:
            self.make_probe(orders, step)
            step = position.step(dict.fromkeys(words), self.absolute)
        elif motion in ARCS:
            self.make_arc(orders, step, clockwise=motion == G2)
        else:
            self.add_feed(orders, step, step.length)
        position.go(step, words)

    def make_probe(self, orders: Orders, step: Step) -> None:
        """G38.2 ends where it touches: at the latest at the point named."""
        self.current_use().doubt(PATH_FIGURES)
        self.add_depth(step)
        self.record_feed(orders, 0.0, length_is_known=False)

    def add_feed(self, orders: Orders, step: Step, length: float) -> None:
        self.current_use().feed_path_length += length
        if not step.is_known:
            self.doubt_fed(_FED)
        self.add_depth(step)
        self.record_feed(orders, length, length_is_known=step.is_known)

    def add_depth(self, step: Step, lowest: float = math.inf) -> None:
        """Take start, end and `lowest` point [mm] of a feed move into the depths."""
        from_known, to_known = step.known_start[2], step.known_end[2]
        if not (from_known and to_known):
            self.doubt_fed(_FED_DEPTH)
        if from_known:
            lowest = min(lowest, step.start[2])
        if to_known:
            lowest = min(lowest, step.end[2])
        if lowest < math.inf:
            self.reach_fed(lowest)

    def reach_fed(self, z: float) -> None:
        use, name = self.current_use(), self.offset_name
        use.deepest_z = smallest(use.deepest_z, z)
        depths = use.deepest_z_by_work_offset
        depths[name] = smallest(depths.get(name), z)

    # Arcs

    def make_arc(self, orders: Orders, step: Step, clockwise: bool) -> None:
        try:
            arc = self.arc(orders, step, clockwise)
        except ArcFault as fault:
            self.note("arc-fault", Level.UNKNOWN, str(fault))
            self.doubt_from_here("path")
            self.add_feed(orders, step, step.length)
            return
        across = PLANES[self.state.plane][2]
        along, rise = arc.length, step.way(across)
        length = math.sqrt(along * along + rise * rise)
        self.current_use().feed_path_length += length
        if not step.known_way[across]:
            self.doubt_fed(_FED)
        self.add_depth(step, self.lowest_of(arc, step))
        self.record_feed(orders, length, length_is_known=step.known_way[across])

    def lowest_of(self, arc: Arc, step: Step) -> float:
        """The lowest Z of an arc that bulges in Z [mm]; infinity in the X-Y plane."""
        axes = PLANES[self.state.plane][:2]
        if 2 not in axes or not step.known_start[2]:
            return math.inf
        lowest = step.start[2] + arc.lowest(axes.index(2))
        if arc.spread > LARGEST_SPREAD_MM and lowest < min(step.start[2], step.end[2]):
            self.current_use().doubt(DEPTH_FIGURES)
        return lowest

    def arc(self, orders: Orders, step: Step, clockwise: bool) -> Arc:
        """The arc that the words describe; raises ArcFault."""
        axes = PLANES[self.state.plane]
        centre = [letter for letter in _CENTRE if letter in orders.words]
        if not (step.known_way[axes[0]] and step.known_way[axes[1]]):
            raise ArcFault("the arc begins or ends where nobody knows")
        way = (step.way(axes[0]), step.way(axes[1]))
        if "R" in orders.words and centre:
            raise ArcFault("an arc with both R and a centre")
        if "R" in orders.words:
            return arc_of_radius(way, self.arc_word(orders, "R"), clockwise)
        if _CENTRE[axes[2]] in centre or not centre:
            raise ArcFault("the centre of the arc is not given in its plane")
        offsets = [self.arc_word(orders, _CENTRE[axis]) for axis in axes[:2]]
        return arc_about(way, (offsets[0], offsets[1]), clockwise)

    def arc_word(self, orders: Orders, letter: str) -> float:
        """A word of an arc [mm], 0 when it is missing; raises ArcFault when it is not known."""
        value = self.length(orders, letter)
        if value is None and letter in orders.words:
            raise ArcFault(f"{letter} of the arc is not known")
        return value or 0.0
