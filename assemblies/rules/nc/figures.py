"""The figures of each tool as the program runs: what a move adds, and what is in doubt."""

from __future__ import annotations

from assemblies.rules.nc.codes import PROBE
from assemblies.rules.nc.notes import NoteList
from assemblies.rules.nc.orders import Orders
from assemblies.rules.nc.reading import (
    FEED_FIGURES,
    FIGURES,
    SPEED_FIGURES,
    SPINDLE_FIGURES,
    ProgramReading,
    ReaderSettings,
    ToolUse,
)
from assemblies.rules.nc.state import MachineState
from crib.rules.finding import Level

_G93, _G94, _G95 = 930, 940, 950


class Figures:
    """The reading that grows, the machine state behind it, and the notes on both."""

    def __init__(self, reading: ProgramReading, settings: ReaderSettings):
        self.reading, self.settings = reading, settings
        self.state = MachineState(unit=settings.default_units)
        self.notes = NoteList()
        self.doubts_all = False
        #: What another plain move would add to the figures: nothing. 1 after rapids, 2 after feed.
        self.settled = 0
        self.plain_blocks = 0
        self.use: ToolUse | None = None
        self.said: set[tuple[str, Level, int]] = set()
        self.selections: dict[int, int] = {}
        self.line, self.block, self.block_number = 0, "", ""
        self.deletable = False

    def note(self, code: str, severity: Level, text: str) -> None:
        self.notes.add(code, severity, self.line, self.block, text, self.state.tool)

    def note_once(self, code: str, severity: Level, text: str) -> None:
        """Note once for each tool call; one kind may be said once at each severity."""
        key = (code, severity, len(self.reading.tool_calls))
        if key not in self.said:
            self.said.add(key)
            self.note(code, severity, text)

    def doubt_everything(self, tool_may_change: bool = False) -> None:
        """Any figure of any tool may differ from here on, and parameters may have changed."""
        self.doubts_all = True
        self.settled = 0
        self.state.parameters.clear()
        if tool_may_change:
            self.state.selection_doubt = True
            self.enter_unknown_tool()

    def enter_unknown_tool(self) -> None:
        self.close_use(self.line)
        self.state.tool, self.state.tool_known = None, False
        self.use = None

    def doubt_from_here(self, reach: str) -> None:
        """Mark the state so that each move until the next plain order is not exact."""
        state = self.state
        if reach in ("speed", "spindle"):
            state.speed_doubt = True
        if reach == "spindle":
            state.rotation_doubt = True
        if reach == "feed":
            state.feed_doubt = True
        if reach == "all":
            self.doubt_everything()

    def current_use(self) -> ToolUse:
        """The record of the tool in the spindle, begun when it is first needed."""
        if self.use is None:
            uses, number = self.reading.tool_uses, self.state.tool
            self.use = uses.setdefault(number, ToolUse(number, first_line=self.line))
            if not self.state.tool_known:
                self.use.doubt(FIGURES)
        return self.use

    def close_use(self, line: int) -> None:
        if self.use is not None:
            self.use.last_line = max(line, self.use.first_line)

    def record_move(self) -> None:
        reading, state = self.reading, self.state
        if reading.unit_at_first_motion is None:
            reading.unit_at_first_motion = state.unit
            if not state.units_given:
                text = f"no G20 or G21 before the first move; read as {state.unit}"
                self.note("unit-switch", Level.NOTE, text)
        self.current_use().coolant |= state.coolant
        self.record_running()

    def record_running(self) -> None:
        """A move or a dwell: what the spindle does now is what the programmer sees it do."""
        self.record_spindle()
        if self.state.rotation:
            self.state.speed_moved = True

    def record_turning(self) -> None:
        """Count the speed in force while the spindle turns, whether or not a move follows.

        The cutter really turns at that speed, so it is held against the limits of the tool. At S0
        nothing turns.
        """
        state = self.state
        if state.speed != 0 and (state.rotation or state.rotation_doubt):
            self.record_spindle()

    def record_spindle(self) -> None:
        """Take the speed and direction in force into the figures of the tool in the spindle."""
        state, use = self.state, self.current_use()
        if state.rotation_doubt:
            use.doubt(SPINDLE_FIGURES)
        if state.rotation is None:
            return
        use.rotation.add(state.rotation)
        self.check_tool_is_known()
        if state.speed_doubt or state.speed is None:
            use.doubt(SPEED_FIGURES)
        if state.speed is None:
            return
        use.spindle_speed_max = _largest(use.spindle_speed_max, state.speed)
        use.spindle_speed_min = _smallest(use.spindle_speed_min, state.speed)

    def check_tool_is_known(self) -> None:
        """Before the first change nobody knows which tool the spindle turns."""
        if not self.reading.tool_calls and self.state.speed != 0:
            text = "the spindle turns before the first tool change: tool not known"
            self.note_once("before-first-change", Level.UNKNOWN, text)

    def record_feed_move(self, orders: Orders) -> None:
        self.record_move()
        if self.state.motion != PROBE:
            self.check_spindle(orders)
        self.check_length_offset()
        self.record_feed()

    def check_spindle(self, orders: Orders) -> None:
        state = self.state
        if state.rotation is None:
            if state.turning_at_change:
                text = "no M3 or M4 since the change; by the standard the spindle stands"
                self.note_once("no-spindle", Level.UNKNOWN, text)
                self.current_use().doubt(SPINDLE_FIGURES)
            elif 5 not in orders.m:
                self.note_once("no-spindle", Level.CHECK, "feed move with the spindle stopped")
        elif not state.speed:
            self.note_once("no-speed", Level.CHECK, "feed move without a speed")

    def check_length_offset(self) -> None:
        calls = len(self.reading.tool_calls)
        missing = calls and self.state.length_offset_call < calls
        if missing and not self.settings.fixed_length_offsets:
            text = "feed move without G43 since the tool change"
            self.note_once("no-length-offset", Level.NOTE, text)

    def record_feed(self) -> None:
        state, use = self.state, self.current_use()
        if state.feed_doubt:
            use.doubt(FEED_FIGURES)
        if state.feed is None:
            self.say_no_feed(use)
            return
        if state.feed_call < len(self.reading.tool_calls):
            self.note_once("feed-carried", Level.NOTE, "the feed of the tool before stays in force")
        if state.feed_unit != state.unit and state.feed_mode != _G93:
            self.note_once("unit-switch", Level.CHECK, "feed move with an F of the other unit")
            use.doubt(FEED_FIGURES)
        rate = self.feed_per_minute(use)
        if rate is not None:
            use.feed_rate_max = _largest(use.feed_rate_max, rate)
            use.feed_rate_min = _smallest(use.feed_rate_min, rate)

    def say_no_feed(self, use: ToolUse) -> None:
        use.doubt(FEED_FIGURES)
        if not self.state.feed_doubt:
            bound = self.state.feed_mode in (_G93, _G95)
            level = Level.STOP_SOFT if bound else Level.CHECK
            self.note_once("no-feed", level, "feed move without F since the start or the feed mode")

    def feed_per_minute(self, use: ToolUse) -> float | None:
        """The feed rate in force [mm/min]; None where it cannot be told."""
        state = self.state
        if state.feed_mode == _G94:
            return state.feed
        if state.feed_mode == _G93:
            self.note_once("inverse-time", Level.UNKNOWN, "G93: feed rate not worked out")
            use.doubt(FEED_FIGURES)
            return None
        use.feed_per_revolution_max = _largest(use.feed_per_revolution_max, state.feed)
        if not state.rotation or state.speed is None or state.speed_doubt:
            use.doubt(FEED_FIGURES[:2])
            return None
        return state.feed * state.speed


def _largest(held: float | None, value: float) -> float:
    return value if held is None else max(held, value)


def _smallest(held: float | None, value: float) -> float:
    return value if held is None else min(held, value)
