"""Drilling cycles while the program runs: words that stay, rows of holes, where the tool ends.

Source: NIST IR 6556 (2000), 3.5.16. Words stay as numbers while one code repeats; another code
needs its own. What controls read in two ways is said.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from assemblies.rules.nc.codes import G74, G84, G87, g_name
from assemblies.rules.nc.cycles import (
    BY_HAND,
    DWELLING,
    PECKED,
    Hole,
    Levels,
    back_bored,
    hole,
    row_rapids,
)
from assemblies.rules.nc.expressions import near_integer
from assemblies.rules.nc.feeds import G93
from assemblies.rules.nc.orders import Orders
from assemblies.rules.nc.path import PLANES, Path
from assemblies.rules.nc.position import Step
from assemblies.rules.nc.reading import SPINDLE_FIGURES
from assemblies.rules.nc.state import CycleMemory
from crib.rules.finding import Level

_LETTERS = "XYZ"


class CycleFault(ValueError):
    """The words describe no row of holes; the message says why."""


@dataclass(frozen=True, slots=True)
class Row:
    """A block's holes: from `retract` to `bottom` along axis `across` [mm]."""

    code: int
    count: int
    across: int
    depth: float
    retract: float | None
    bottom: float | None


class Holes(Path):
    """G73, G74 and G81 to G89."""

    def make_cycle(self, orders: Orders, motion: int) -> None:
        use = self.current_use()
        use.cycles.add(motion // 10)
        if motion in (G84, G74):
            self.check_tapping(motion)
        self.begin_feed_move(orders)
        memory = self.remember(orders, motion)
        try:
            self.drill(orders, self.row(orders, memory), memory)
        except CycleFault as fault:
            self.note("cycle-word", Level.UNKNOWN, str(fault))
            self.record_feed(orders, 0.0, length_is_known=False)
            use.doubt(("dwell_time",))
            self.lose_path()
            self.state.cycle = memory

    def check_tapping(self, motion: int) -> None:
        """G84 cuts a right-hand thread and needs M3, G74 a left-hand one and needs M4."""
        wanted, word = ("cw", "M3") if motion == G84 else ("ccw", "M4")
        turning = self.state.rotation
        if turning == wanted:
            return
        use = self.current_use()
        use.doubt(("rotation",))
        if turning is None:
            text = f"{g_name(motion)} with the spindle stopped: it may start by itself"
            self.note_once("rotation", Level.UNKNOWN, text)
            use.doubt(SPINDLE_FIGURES)
        else:
            text = f"{g_name(motion)} needs {word}; the spindle turns the other way"
            self.note_once("rotation", Level.STOP_SOFT, text)

    # Words

    def remember(self, orders: Orders, motion: int) -> CycleMemory:
        """The words of the row so far, with those of this block."""
        state = self.state
        across = PLANES[state.plane][2]
        if state.cycle is None:
            level = state.position.at[across] if state.position.known[across] else None
            state.cycle = CycleMemory(motion, state.plane, level)
        memory = state.cycle
        for letter in orders.words.keys() & {*"IJKQR", _LETTERS[across]}:
            memory.words[letter] = self.length(orders, letter)
            memory.given_in[letter] = (state.absolute, state.unit)
        if "P" in orders.words:
            memory.words["P"] = orders.value("P")
            memory.dwell_doubt = self.is_dwell_doubtful(orders)
        if self.deletable:
            memory.words = dict.fromkeys(memory.words)
        return memory

    def row(self, orders: Orders, memory: CycleMemory) -> Row:
        """The holes that the words ask for; raises CycleFault."""
        state, code = self.state, memory.code
        across = PLANES[state.plane][2]
        self.check_words(orders, memory)
        count = near_integer(orders.value("L") or 0.0) if "L" in orders.words else 1
        if count is None or count < 1:
            raise CycleFault("L of a cycle is not a whole number above 0")
        r, z = memory.words["R"], memory.words[_LETTERS[across]]
        if state.absolute:
            return self.checked(Row(code, count, across, r - z, r, z))
        level = state.position.at[across] if state.position.known[across] else None
        if level != memory.level and r:
            raise CycleFault("R in G91 counts from a level that the row of holes changed")
        retract = None if level is None else level + r
        bottom = None if retract is None else retract + z
        return self.checked(Row(code, count, across, -z, retract, bottom))

    def check_words(self, orders: Orders, memory: CycleMemory) -> None:
        code, words, state = memory.code, memory.words, self.state
        needed = ["R", _LETTERS[PLANES[memory.plane][2]]]
        needed += ["Q"] if code in PECKED else []
        needed += ["K"] if code == G87 else []
        missing = [letter for letter in needed if words.get(letter) is None]
        if missing:
            raise CycleFault(f"{g_name(code)} without {' and '.join(missing)} of its own")
        # By the standard the number stays, on many controls the height that it meant.
        if any(given != (state.absolute, state.unit) for given in memory.given_in.values()):
            raise CycleFault("words of the row were given in the other distance mode or unit")
        if code != G87 and words.keys() & {"I", "J", "K"}:
            raise CycleFault(f"I, J or K with {g_name(code)}: another meaning on some controls")
        if code not in PECKED and "Q" in words:
            raise CycleFault(f"Q with {g_name(code)}: another meaning on some controls")
        if state.feed_mode == G93 or memory.plane != state.plane or "once" in orders.g:
            raise CycleFault("a cycle with G93 or G53, or in another plane than it began in")
        if "Q" in words and words["Q"] <= 0:
            raise CycleFault("Q of a cycle is not above 0")

    @staticmethod
    def checked(row: Row) -> Row:
        if row.depth < 0:
            raise CycleFault("the bottom of the hole lies above its R")
        return row

    # Holes

    def drill(self, orders: Orders, row: Row, memory: CycleMemory) -> None:
        """Add the holes of one block and stand over the last one."""
        position = self.state.position
        words = self.axis_words(orders)
        words.pop(row.across, None)
        step = position.step(words, self.absolute)
        one = self.one_hole(row, memory)
        feed = one.feed_length * row.count
        self.current_use().feed_path_length += feed
        levels = self.levels(row, memory)
        self.add_rapids(row, one, levels, step)
        last = self.last_place(row, step, levels)
        position.go(last, {*words, row.across})
        if row.across == 2:
            self.add_depths(row, memory, one)
        else:
            self.add_depths_aside(levels, step, last)
        self.add_dwell(row, memory)
        self.record_feed(orders, feed)

    def one_hole(self, row: Row, memory: CycleMemory) -> Hole:
        words = memory.words
        if row.code != G87:
            back_off = self.settings.peck_back_off_mm
            return hole(row.code, row.depth, words.get("Q") or 0.0, back_off)
        if None in (words.get("I", 0.0), words.get("J", 0.0)):
            raise CycleFault("I or J of G87 is not known")
        height = words["K"] - words[_LETTERS[row.across]] if self.absolute else words["K"]
        aside = math.hypot(words.get("I", 0.0), words.get("J", 0.0))
        return back_bored(row.depth, abs(height), aside)

    def levels(self, row: Row, memory: CycleMemory) -> Levels | None:
        """Start, retract and clear level; None where one of them cannot be told.

        Behind a hole that went back to R only, G98 leads to the level in force then by the
        standard, and to that before the whole row on many controls.
        """
        position = self.state.position
        start, retract = position.at[row.across], row.retract
        if retract is None or not position.known[row.across]:
            return None
        if self.state.retracts_to_r:
            return Levels(start, retract, retract)
        clear = max(start, retract)
        first = None if memory.level is None else max(memory.level, retract)
        return Levels(start, retract, clear) if first == clear else None

    def add_rapids(self, row: Row, one: Hole, levels: Levels | None, step: Step) -> None:
        use = self.current_use()
        if levels is None or not step.is_known or row.code in BY_HAND:
            use.doubt(("rapid_path_length",))
        held = levels or Levels(row.retract or 0.0, row.retract or 0.0, row.retract or 0.0)
        way = 0.0 if self.absolute else step.length
        use.rapid_path_length += row_rapids(one, row.count, held, step.length, way)

    def last_place(self, row: Row, step: Step, levels: Levels | None) -> Step:
        """Over the last hole, at the clear level."""
        end = list(step.end)
        if not self.absolute:
            end = [s + row.count * (e - s) for s, e in zip(step.start, step.end, strict=True)]
        known = list(step.known_end)
        known[row.across] = levels is not None
        if levels is not None:
            end[row.across] = levels.clear
        elif self.state.retracts_to_r and row.retract is not None:
            end[row.across], known[row.across] = row.retract, True
        return step._replace(end=tuple(end), known_end=tuple(known))

    def add_depths(self, row: Row, memory: CycleMemory, one: Hole) -> None:
        """Depths of holes along Z."""
        self.reach_rapid(None if row.retract is None else row.retract - one.rapid_depth)
        if row.bottom is None:
            self.doubt_fed(("deepest_z", "deepest_z_by_work_offset"))
        else:
            self.reach_fed(self.fed_bottom(row, memory))

    def add_depths_aside(self, levels: Levels | None, step: Step, last: Step) -> None:
        """Heights of a row of holes that are drilled along X or Y."""
        if levels is None or levels.start < levels.retract:
            # The way up to R goes before that to the first hole.
            self.reach_rapid(step.start[2] if step.known_start[2] else None)
        for place in (step, last):
            z = place.end[2] if place.known_end[2] else None
            self.reach_rapid(z)
            if z is None:
                self.doubt_fed(("deepest_z", "deepest_z_by_work_offset"))
            else:
                self.reach_fed(z)

    def fed_bottom(self, row: Row, memory: CycleMemory) -> float:
        """The lowest point of a hole that is reached at feed [mm]."""
        if row.code != G87:
            return row.bottom
        other = memory.words["K"] if self.absolute else row.bottom + memory.words["K"]
        return min(row.bottom, other)

    def add_dwell(self, row: Row, memory: CycleMemory) -> None:
        """Seconds at the bottom of each hole; where only some controls dwell, not exact."""
        use, seconds = self.current_use(), memory.words.get("P")
        given = "P" in memory.words
        if given != (row.code in DWELLING) or (given and (seconds is None or memory.dwell_doubt)):
            use.doubt(("dwell_time",))
            text = f"{g_name(row.code)} {'with' if given else 'without'} P: controls differ"
            self.note_once("cycle-dwell", Level.NOTE, text)
        if row.code in DWELLING and seconds:
            use.dwell_time += row.count * seconds / 60
