"""What one block does to the machine, in the order of NIST IR 6556 (2000), table 8."""

from __future__ import annotations

from assemblies.rules.nc.codes import END_CODES, G4, M99, M_CALLS
from assemblies.rules.nc.expressions import near_integer
from assemblies.rules.nc.holes import Holes
from assemblies.rules.nc.lexer import Block
from assemblies.rules.nc.notes import shown
from assemblies.rules.nc.orders import Orders
from assemblies.rules.nc.reading import FIGURES, SPEED_FIGURES, ToolCall, ToolUse
from assemblies.rules.nc.text import NotAProgram
from crib.rules.finding import Level

_ROTATION = {3: "cw", 4: "ccw", 5: None}
_COOLANT = {7: "mist", 8: "flood"}
#: No program has more; each change is kept, so a file of nothing else would fill the memory.
MOST_CHANGES = 100_000
#: A rapid counts as deeper than the feed moves from this difference on.
SMALLEST_DEPTH_MM = 0.001


class Execution(Holes):
    """The machine while the program runs: what each order of a block changes."""

    def run(self, block: Block, orders: Orders, bare: str, line: int) -> str:
        """Execute one block; how the program ends with it, or an empty string."""
        self.line, self.block, self.block_number = line, bare, block.number
        self.settled, self.deletable, self.path_doubt = 0, block.deletable, False
        if block.deletable:
            self.doubt_deletable(orders, block)
        self.say_doubts(orders)
        self.set_feed(orders)
        self.set_speed(orders)
        self.select_and_change(orders)
        self.turn_spindle(orders)
        self.set_coolant(orders)
        self.dwell(orders)
        self.set_coordinates(orders)
        self.move(orders)
        self.set_parameters(block)
        return self.stop(orders)

    # Notes and doubts

    def doubt_deletable(self, orders: Orders, block: Block) -> None:
        text = "block delete: read as executed, the switch decides"
        self.note("block-delete", Level.UNKNOWN, text)
        reach_all = "T" in orders.words or orders.m & {6, *M_CALLS, *END_CODES} or block.settings
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

    # Tool of a value, speed

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
        if len(self.selections) > MOST_CHANGES:
            raise NotAProgram(f"More than {MOST_CHANGES} tool numbers. Split the program.")

    def change(self) -> None:
        state, calls = self.state, self.reading.tool_calls
        if len(calls) >= MOST_CHANGES:
            raise NotAProgram(f"More than {MOST_CHANGES} tool changes. Split the program.")
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
        elif state.waiting is None and not self.settings.t_alone_changes:
            self.doubts_all = True
            text = "M6 without a T since the last change: the same tool, or the one put away"
            self.note("change-no-selection", Level.UNKNOWN, text)
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
        """G4: P seconds; axis words beside it are a move by the standard, seconds elsewhere."""
        if orders.g.get("once") != G4:
            return
        self.record_running()
        self.record_dwell(orders)
        if orders.has_axis:
            self.note("dwell-unit", Level.UNKNOWN, "G4 with an axis word: a move or a time")
            self.current_use().doubt(("dwell_time",))
            self.lose_path()

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
        if M99 in orders.m:
            return "M99"
        ends = orders.m & END_CODES
        return f"M{min(ends)}" if ends else ""

    def finish(self, line: int) -> None:
        """What can be said only at the end: deep rapids, selections, the last use's line."""
        self.say_unused_speed()
        self.close_use(line)
        for use in self.reading.tool_uses.values():
            self.check_rapid_depth(use)
        self.say_selected_only()

    def check_rapid_depth(self, use: ToolUse) -> None:
        """A rapid below every feed move of its tool runs into what was not cut."""
        for name, fed in use.deepest_z_by_work_offset.items():
            rapid = self.rapid_depths.get((use.tool_number, name), fed)
            if rapid < fed - SMALLEST_DEPTH_MM:
                self.line, self.block, self.state.tool = use.first_line, "", use.tool_number
                text = f"a rapid goes to Z{rapid:.3f}, the deepest feed move to Z{fed:.3f} ({name})"
                self.note("depth-rapid", Level.CHECK, text)

    def say_selected_only(self) -> None:
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
