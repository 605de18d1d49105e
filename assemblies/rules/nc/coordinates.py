"""Units, plane, distance mode, offsets and the zero: what the words of a move are read in."""

from __future__ import annotations

from assemblies.rules.nc.codes import (
    BENDS_UNTIL,
    G4,
    G10,
    G20,
    G40,
    G41,
    G42,
    G43,
    G49,
    G92,
    G92_1,
    G92_2,
    G92_3,
    g_name,
)
from assemblies.rules.nc.expressions import near_integer
from assemblies.rules.nc.feeds import Feeds
from assemblies.rules.nc.orders import Orders
from assemblies.rules.nc.position import WORK_OFFSETS
from crib.rules.finding import Level

#: Smallest step of a control that counts lengths without a point [mm].
LEAST_INCREMENT_MM = {"mm": 0.001, "inch": 0.00254}
_AXES = {"X": 0, "Y": 1, "Z": 2}
_OFFSETS = frozenset("HD")
_MOTION = frozenset(("motion",))
#: Groups that leave the meaning of the words of a move alone.
_NO_PLACE = frozenset(("path", "once", "feed mode", "speed mode", "length offset"))


class Coordinates(Feeds):
    """The state that a move is read in."""

    # Words of length

    def length(self, orders: Orders, letter: str) -> float | None:
        """The value of a word of length [mm], turned at the word; None where it is not known."""
        word = orders.words.get(letter)
        if word is None or word.value is None:
            return None
        counted = self.settings.counts_least_increments and word.digits and "." not in word.digits
        factor = LEAST_INCREMENT_MM[self.state.unit] if counted else self.state.scale
        return word.value * factor

    def axis_words(self, orders: Orders) -> dict[int, float | None]:
        """Values of X, Y and Z [mm] by axis number."""
        return {
            axis: self.length(orders, letter)
            for letter, axis in _AXES.items()
            if letter in orders.words
        }

    def set_coordinates(self, orders: Orders) -> None:
        """Everything of table 8 between the dwell and the motion."""
        if self.says_nothing(orders):
            return
        state = self.state
        state.plane = orders.g.get("plane", state.plane)
        self.set_units(orders)
        self.set_radius_offset(orders)
        self.set_length_offset(orders)
        self.set_work_offset(orders)
        if "distance" in orders.g:
            state.absolute = orders.g["distance"] == 900
        if "return" in orders.g:
            state.retracts_to_r = orders.g["return"] == 990
        self.set_bends(orders)
        self.move_zero(orders)
        if self.deletable and orders.g.keys() - _NO_PLACE:
            self.doubt_from_here("bent")

    def says_nothing(self, orders: Orders) -> bool:
        """Whether the block leaves all of this alone, as nearly every move does."""
        plain = not orders.g or (orders.g.keys() == _MOTION and not self.deletable)
        return plain and _OFFSETS.isdisjoint(orders.words) and not orders.bends

    def set_units(self, orders: Orders) -> None:
        code = orders.g.get("units")
        if code is None:
            return
        state = self.state
        unit = "inch" if code == G20 else "mm"
        if unit != state.unit:
            if state.units_given:
                self.note("unit-switch", Level.CHECK, f"the unit changes to {unit}")
            if "F" in orders.words:
                text = "F on the block that changes the unit: old or new unit"
                self.note("feed-on-unit-block", Level.UNKNOWN, text)
                state.feed_doubt = True
        state.unit, state.units_given = unit, True
        self.reading.length_units.add(unit)

    # Bends of the path

    def set_bends(self, orders: Orders) -> None:
        """Codes that bend the path hold until their own cancel, which leaves the place unknown."""
        state = self.state
        given = set(orders.g.values())
        ended = {bend for bend in state.bends if BENDS_UNTIL.get(bend) in given}
        if ended:
            state.bends -= ended
            state.position.lose()
        state.bends |= orders.bends

    # Offsets of the tool

    def set_length_offset(self, orders: Orders) -> None:
        state = self.state
        code = orders.g.get("length offset")
        if code == G49:
            state.length_offset = False
        elif code == G43:
            state.length_offset = True
        elif "H" in orders.words and not state.length_offset and not orders.unknown_g:
            self.note("not-understood", Level.UNKNOWN, "H without G43")
            self.current_use().doubt(("length_offsets",))
        if state.length_offset and (code == G43 or "H" in orders.words):
            state.length_offset_call = len(self.reading.tool_calls)
            self.record_length_offset(orders)

    def record_length_offset(self, orders: Orders) -> None:
        number = self.offset_number(orders, "H", "length_offsets")
        self.state.length_offset_number = number
        if number is None:
            return
        self.current_use().length_offsets.add(number)
        if number != self.state.tool and not self.settings.fixed_length_offsets:
            self.note("length-offset", Level.CHECK, f"H{number} is not the tool's own number")

    def set_radius_offset(self, orders: Orders) -> None:
        state = self.state
        code = orders.g.get("radius offset")
        if code == G40:
            state.radius_offset = False
        elif code in (G41, G42):
            state.radius_offset = True
            self.note_once("radius-offset", Level.NOTE, f"{g_name(code)}: path as programmed")
        elif "D" in orders.words and not state.radius_offset and not orders.unknown_g:
            self.note("not-understood", Level.UNKNOWN, "D without G41 or G42")
            self.current_use().doubt(("radius_offsets",))
        if state.radius_offset and (code in (G41, G42) or "D" in orders.words):
            state.radius_offset_call = len(self.reading.tool_calls)
            self.record_radius_offset(orders)

    def record_radius_offset(self, orders: Orders) -> None:
        number = self.offset_number(orders, "D", "radius_offsets")
        if number is None:
            return
        self.current_use().radius_offsets.add(number)
        if number != self.state.tool and not self.settings.fixed_length_offsets:
            self.note("radius-offset", Level.NOTE, f"D{number} is not the tool's own number")

    def offset_number(self, orders: Orders, letter: str, figure: str) -> int | None:
        """The number of an offset: its word, else the tool's own; None where neither is known."""
        if letter not in orders.words:
            self.doubt_word_before(letter, figure)
            return self.state.tool
        value = orders.value(letter)
        number = self.state.offset_words[letter] = None if value is None else near_integer(value)
        if number is None:
            self.current_use().doubt((figure,))
        return number

    def doubt_word_before(self, letter: str, figure: str) -> None:
        """Without a word, the number written before stays in force on many controls."""
        tool = self.state.tool
        before = self.state.offset_words.get(letter, tool)
        if before == tool:
            return
        self.current_use().doubt((figure,))
        if letter == "H" and not self.settings.fixed_length_offsets:
            text = f"G43 without H: H{'?' if before is None else before} may stay in force"
            self.note("length-offset", Level.CHECK, text)

    # The zero

    def set_work_offset(self, orders: Orders) -> None:
        if "work offset" in orders.g:
            self.state.position.use_work_offset(orders.g["work offset"])

    def move_zero(self, orders: Orders) -> None:
        """G10 L2, G92 and its relatives; on a block that may be skipped they leave no place."""
        once, position = orders.g.get("once"), self.state.position
        if once == G10:
            self.set_offset_values(orders)
        elif once == G92 and not orders.has_axis:
            self.note("not-understood", Level.UNKNOWN, "G92 without an axis word")
            self.doubt_from_here("path")
            position.lose()
        elif once == G92:
            position.call_it(self.axis_words(orders))
        elif once in (G92_1, G92_2):
            position.drop_shift(forget=once == G92_1)
        elif once == G92_3:
            position.take_up_shift()
        if self.deletable and once not in (None, G4):
            self.doubt_from_here("bent")
            position.lose()

    def set_offset_values(self, orders: Orders) -> None:
        """G10 L2 Pn; in G91 some controls add to what holds, so the values are not known then."""
        words, position = self.axis_words(orders), self.state.position
        number, kind = orders.value("P"), orders.value("L")
        code = None if number is None else WORK_OFFSETS.get(near_integer(number))
        if kind != 2 or code is None or "R" in orders.words:
            self.note("not-understood", Level.UNKNOWN, "G10 sets what is not followed")
            self.doubt_from_here("bent" if "R" in orders.words else "path")
            position.offset_values.clear()
            position.lose()
        else:
            unknown = dict.fromkeys(words)
            position.set_work_offset(code, words if self.state.absolute else unknown)
