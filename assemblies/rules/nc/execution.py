"""What one block does to the machine, in the order of NIST IR 6556 (2000), table 8."""

from __future__ import annotations

from assemblies.rules.nc.codes import (
    ARCS,
    CYCLES,
    END_CODES,
    G0,
    G74,
    G80,
    G84,
    PROBE,
    g_name,
)
from assemblies.rules.nc.expressions import near_integer
from assemblies.rules.nc.figures import Figures
from assemblies.rules.nc.lexer import Block
from assemblies.rules.nc.notes import shown
from assemblies.rules.nc.orders import Orders
from assemblies.rules.nc.reading import (
    FEED_FIGURES,
    FIGURES,
    SPEED_FIGURES,
    SPINDLE_FIGURES,
    ToolCall,
)
from crib.rules.finding import Level

MM_PER_INCH = 25.4
_ROTATION = {3: "cw", 4: "ccw", 5: None}
_COOLANT = {7: "mist", 8: "flood"}
_G28, _G30, _G4, _G10, _G92 = 280, 300, 40, 100, 920
_NOT_A_MOTION = frozenset((_G4, _G10, _G92, 921, 922, 923))
_G93, _G94 = 930, 940


class Execution(Figures):
    """The machine while the program runs: what each order of a block changes."""

    def takes_plain(self, motion: str | None, feed: str | None) -> bool:
        """Whether a plain move with G `motion` and F `feed` adds nothing to the figures.

        None stands for the value in force.
        """
        tenfold = self.state.motion if motion is None else int(motion) * 10
        if self.settled < 2 and tenfold != G0:
            return False
        if feed is not None and not self.is_feed_in_force(feed):
            return False
        self.state.motion = tenfold
        return True

    def is_feed_in_force(self, feed: str) -> bool:
        """Whether an F word written `feed` says again what this tool's last F word said."""
        state = self.state
        value = float(feed) * (MM_PER_INCH if state.unit == "inch" else 1.0)
        same = value == state.feed and state.feed_unit == state.unit and not state.feed_doubt
        return same and state.feed_call == len(self.reading.tool_calls)

    def run(self, block: Block, orders: Orders, bare: str, line: int) -> str:
        """Execute one block; how the program ends with it, or an empty string."""
        self.line, self.block, self.block_number = line, bare, block.number
        self.settled, self.deletable = 0, block.deletable
        if block.deletable:
            self.doubt_deletable(orders, block)
        self.say_doubts(orders)
        self.set_feed(orders)
        self.set_speed(orders)
        self.select_and_change(orders)
        self.turn_spindle(orders)
        self.set_coolant(orders)
        self.dwell(orders)
        self.set_units(orders)
        self.set_offsets(orders)
        self.move(orders)
        self.set_parameters(block)
        return self.stop(orders)

    # Notes and doubts

    def doubt_deletable(self, orders: Orders, block: Block) -> None:
        text = "block delete: read as executed, the switch decides"
        self.note("block-delete", Level.UNKNOWN, text)
        reach_all = "T" in orders.words or orders.m & {6, *END_CODES} or block.settings
        if reach_all:
            self.doubts_all = True
        for letters, figure in (("S", "speed"), ("F", "feed")):
            if letters in orders.words:
                self.doubt_from_here(figure)
        if orders.m & {3, 4, 5}:
            self.doubt_from_here("spindle")
        if orders.g.keys() & {"units", "feed mode"}:
            self.doubt_from_here("feed")
        self.current_use().doubt(FIGURES)

    def say_doubts(self, orders: Orders) -> None:
        for doubt in orders.doubts:
            self.note(doubt.code, Level.UNKNOWN, doubt.text)
            self.doubt_from_here(doubt.reach)
        for code, text in orders.remarks:
            self.note(code, Level.NOTE, text)

    # Feed, speed

    def set_feed(self, orders: Orders) -> None:
        state = self.state
        mode = orders.g.get("feed mode")
        if mode is not None and mode != state.feed_mode:
            state.feed_mode, state.feed = mode, None
        if "F" not in orders.words:
            return
        value = orders.value("F")
        factor = MM_PER_INCH if state.unit == "inch" and state.feed_mode != _G93 else 1.0
        state.feed = None if value is None else value * factor
        state.feed_doubt = value is None or self.deletable
        state.feed_call = self.call_of(orders)
        state.feed_unit = state.unit

    def call_of(self, orders: Orders) -> int:
        """The tool call a value of this block belongs to; with a change in it, the new one."""
        return len(self.reading.tool_calls) + self.changes(orders)

    def changes(self, orders: Orders) -> bool:
        """Whether the block changes the tool."""
        return 6 in orders.m or (self.settings.t_alone_changes and "T" in orders.words)

    def set_speed(self, orders: Orders) -> None:
        if "S" not in orders.words:
            return
        state = self.state
        self.say_unused_speed()
        self.doubt_stop_timing(orders)
        state.speed = orders.value("S")
        state.speed_doubt = state.speed is None or self.deletable
        state.speed_line = self.line
        state.speed_call = self.call_of(orders)
        state.speed_moved = False
        # S comes before M5 and before M6 in table 8; on a block with M6 it is the new tool's.
        if not self.changes(orders):
            self.record_turning()

    def say_unused_speed(self) -> None:
        """A speed the spindle ran at without a move counts, and no move shows it, so it is said."""
        state = self.state
        is_of_this_tool = state.speed_call <= len(self.reading.tool_calls)
        if state.rotation and not state.speed_moved and state.speed and is_of_this_tool:
            text = f"S{state.speed:g} of line {state.speed_line} turned without a move"
            self.note("speed-without-move", Level.NOTE, text)

    def doubt_stop_timing(self, orders: Orders) -> None:
        """M5 acts before the move by NIST IR 6556, after it by ISO 6983 (from memory)."""
        if 5 in orders.m and self.state.rotation and orders.has_axis:
            self.note("stop-timing", Level.UNKNOWN, "new S, M5 and a move in one block")
            self.current_use().doubt(SPEED_FIGURES)

    # Tools

    def select_and_change(self, orders: Orders) -> None:
        waiting = self.state.waiting
        if "T" in orders.words:
            self.select(orders.value("T"))
        if self.changes(orders):
            if "T" in orders.words and 6 in orders.m:
                self.check_waiting(waiting)
            self.change()

    def check_waiting(self, waiting: int | None) -> None:
        """T on the block of M6 while another tool waits: some changers take the waiting one.

        The T then only stages the next tool. A program that called a tool this way before, with
        none waiting, has shown that it means the tool itself.
        """
        state = self.state
        if waiting is None:
            state.calls_with_t = True
        elif waiting != state.selected and not state.calls_with_t:
            self.doubts_all = True
            text = f"T{waiting} was selected before this M6: which one is changed in"
            self.note("change-order", Level.UNKNOWN, text)

    def select(self, value: float | None) -> None:
        state = self.state
        state.selection_doubt = value is None
        state.selected = None if value is None else near_integer(value)
        state.selected_line = self.line
        state.waiting = state.selected
        if state.selected is not None:
            self.selections.setdefault(state.selected, self.line)

    def change(self) -> None:
        state, calls = self.state, self.reading.tool_calls
        self.say_unused_speed()
        self.say_change()
        self.close_use(self.line - 1)
        known = not state.selection_doubt and state.selected is not None
        number = state.selected if known else None
        calls.append(
            ToolCall(
                len(calls) + 1,
                self.line,
                self.block_number,
                number,
                state.selected_line,
                shown(self.block),
            )
        )
        state.tool, state.tool_known = number, known
        state.waiting = None
        state.turning_at_change = state.rotation is not None or state.turning_at_change
        state.rotation, state.rotation_doubt, state.speed_moved = None, False, True
        self.use = None
        self.current_use().calls += 1

    def say_change(self) -> None:
        state = self.state
        if state.selection_doubt:
            self.doubts_all = True
            text = "the tool number of this change is not known"
            self.note("not-understood", Level.UNKNOWN, text)
        elif state.selected is None:
            self.doubts_all = True
            self.note("change-no-selection", Level.UNKNOWN, "M6 before any T: tool not known")
        elif state.tool == state.selected and state.tool_known and self.reading.tool_calls:
            self.note("repeated-change", Level.NOTE, f"T{state.tool} is already in the spindle")

    # Spindle, coolant, dwell

    def turn_spindle(self, orders: Orders) -> None:
        codes = orders.m & _ROTATION.keys()
        if len(codes) != 1:
            return
        state = self.state
        code = codes.pop()
        if code == 5:
            self.say_unused_speed()
        elif state.rotation is None:
            state.speed_moved = False
        state.rotation = _ROTATION[code]
        state.rotation_doubt = self.deletable
        state.turning_at_change = False
        if state.rotation:
            self.current_use().rotation.add(state.rotation)
            self.check_start()
            self.check_carried_speed()
            self.record_turning()

    def check_start(self) -> None:
        """Without any S so far the spindle turns at whatever the control still holds."""
        if self.state.speed is None and not self.state.speed_doubt:
            self.note_once("no-speed", Level.CHECK, "spindle started before any S")

    def check_carried_speed(self) -> None:
        state, calls = self.state, len(self.reading.tool_calls)
        if state.speed_call >= calls:
            return
        if state.speed is None:
            if state.speed_doubt:
                self.current_use().doubt(SPEED_FIGURES)
            return
        use = self.current_use()
        use.spindle_speed_carried = max(use.spindle_speed_carried or 0.0, state.speed)
        text = f"no S since the change: S{state.speed:g} of line {state.speed_line} stays in force"
        self.note_once("speed-carried", Level.CHECK, text)

    def set_coolant(self, orders: Orders) -> None:
        if 9 in orders.m:
            self.state.coolant.clear()
        for code in orders.m & _COOLANT.keys():
            self.state.coolant.add(_COOLANT[code])
            self.current_use().coolant.add(_COOLANT[code])

    def dwell(self, orders: Orders) -> None:
        if orders.g.get("once") != _G4:
            return
        self.record_running()
        word = orders.words.get("P")
        if word and word.value is not None and word.value >= 1000 and "." not in word.digits:
            self.note("dwell-unit", Level.CHECK, f"G4 P{word.digits}: seconds or milliseconds")

    # Units, offsets

    def set_units(self, orders: Orders) -> None:
        code = orders.g.get("units")
        if code is None:
            return
        state = self.state
        unit = "inch" if code == 200 else "mm"
        if unit != state.unit:
            if state.units_given:
                self.note("unit-switch", Level.CHECK, f"the unit changes to {unit}")
            if "F" in orders.words:
                text = "F on the block that changes the unit: old or new unit"
                self.note("feed-on-unit-block", Level.UNKNOWN, text)
                state.feed_doubt = True
        state.unit, state.units_given = unit, True
        self.reading.length_units.add(unit)

    def set_offsets(self, orders: Orders) -> None:
        self.set_length_offset(orders)
        code = orders.g.get("radius offset")
        if code in (410, 420):
            self.note_once("radius-offset", Level.NOTE, f"{g_name(code)}: path as programmed")
            self.record_radius_offset(orders)

    def set_length_offset(self, orders: Orders) -> None:
        state = self.state
        code = orders.g.get("length offset")
        if code == 490:
            state.length_offset = False
        elif code == 430:
            state.length_offset = True
        elif "H" in orders.words and not state.length_offset and not orders.unknown_g:
            self.note("not-understood", Level.UNKNOWN, "H without G43")
            self.current_use().doubt(("length_offsets",))
        if state.length_offset and (code == 430 or "H" in orders.words):
            state.length_offset_call = len(self.reading.tool_calls)
            self.record_length_offset(orders)

    def record_length_offset(self, orders: Orders) -> None:
        use, number = self.current_use(), self.state.tool
        if "H" in orders.words:
            value = orders.value("H")
            if value is None:
                use.doubt(("length_offsets",))
                return
            number = near_integer(value)
        if number is None:
            return
        use.length_offsets.add(number)
        if number != self.state.tool and not self.settings.fixed_length_offsets:
            self.note("length-offset", Level.CHECK, f"H{number} is not the tool's own number")

    def record_radius_offset(self, orders: Orders) -> None:
        use, number = self.current_use(), self.state.tool
        if "D" in orders.words:
            value = orders.value("D")
            if value is None:
                use.doubt(("radius_offsets",))
                return
            number = near_integer(value)
        if number is None:
            return
        use.radius_offsets.add(number)
        if number != self.state.tool and not self.settings.fixed_length_offsets:
            self.note("radius-offset", Level.NOTE, f"D{number} is not the tool's own number")

    # Moves

    def move(self, orders: Orders) -> None:
        state = self.state
        named, once = orders.g.get("motion"), orders.g.get("once")
        if named is not None:
            state.motion = named
        if once in (_G28, _G30):
            self.record_move()
        elif once in _NOT_A_MOTION:
            return
        elif self.moves(orders):
            self.make_motion(orders)

    def moves(self, orders: Orders) -> bool:
        """Whether the block moves: an axis word, or an arc's centre without an end point."""
        if orders.has_axis:
            return True
        return self.state.motion in ARCS and bool(orders.words.keys() & {"I", "J", "K"})

    def make_motion(self, orders: Orders) -> None:
        motion = self.state.motion
        if motion is None or motion == G80:
            self.note("no-motion-code", Level.UNKNOWN, "axis words without a motion code in force")
            self.current_use().doubt(SPEED_FIGURES + FEED_FIGURES)
            self.record_move()
        elif motion == G0:
            self.record_move()
            self.settled = 1
        elif motion in CYCLES:
            self.make_cycle(orders, motion)
        else:
            self.record_feed_move(orders)
            # The block of an M5 is spared a finding that the next plain feed move is not.
            plain = motion != PROBE and self.state.feed_mode == _G94 and 5 not in orders.m
            self.settled = 2 if plain else 0

    def make_cycle(self, orders: Orders, motion: int) -> None:
        use = self.current_use()
        use.cycles.add(motion // 10)
        if orders.value("L") == 0:
            self.note("not-understood", Level.UNKNOWN, "cycle with L0")
        if motion in (G84, G74):
            self.check_tapping(motion)
        self.record_feed_move(orders)

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

    # Parameters and the end

    def set_parameters(self, block: Block) -> None:
        """Settings act after every value of the block was read; the last of two wins."""
        parameters = self.state.parameters
        for index, value in block.settings:
            if index is None:
                parameters.clear()
                self.note("not-understood", Level.UNKNOWN, "which parameter is set is not known")
            elif index >= 1000:
                text = f"#{index} may be a variable of the control"
                self.note("not-understood", Level.UNKNOWN, text)
                self.doubts_all = True
            elif value is None or block.deletable:
                parameters.pop(index, None)
            else:
                parameters[index] = value

    def stop(self, orders: Orders) -> str:
        if 99 in orders.m:
            return "M99"
        ends = orders.m & END_CODES
        return f"M{min(ends)}" if ends else ""

    def finish(self, line: int) -> None:
        """What can be said only at the end: selections never changed in, the last use's line."""
        self.say_unused_speed()
        self.close_use(line)
        called = {call.tool_number for call in self.reading.tool_calls}
        only = [number for number in self.selections if number not in called]
        self.reading.selected_only = only
        for number in only:
            self.line, self.block = self.selections[number], f"T{number}"
            self.state.tool = number
            if self.reading.tool_calls:
                text = f"T{number} is selected and never changed in"
                self.note("staged-unused", Level.NOTE, text)
            else:
                text = f"T{number} is selected, no M6 in the program"
                self.note("selected-no-change", Level.UNKNOWN, text)
