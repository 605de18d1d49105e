"""The figures of each tool as the program runs: what a move adds, and what is in doubt."""

from __future__ import annotations

from assemblies.rules.nc.codes import G17
from assemblies.rules.nc.notes import NoteList
from assemblies.rules.nc.reading import (
    FIGURES,
    PATH_FIGURES,
    SIDEWAYS_FIGURES,
    SPEED_FIGURES,
    SPINDLE_FIGURES,
    ProgramReading,
    ReaderSettings,
    ToolUse,
)
from assemblies.rules.nc.state import FOR_GOOD, MachineState
from crib.rules.finding import Level

#: Doubts that touch only what this block itself says of the tool.
_DOUBTED_HERE = {"coolant": ("coolant",), "offsets": ("length_offsets", "radius_offsets")}


class Figures:
    """The reading that grows, the machine state behind it, and the notes on both."""

    def __init__(self, reading: ProgramReading, settings: ReaderSettings):
        self.reading, self.settings = reading, settings
        self.state = MachineState(unit=settings.default_units)
        self.notes = NoteList()
        self.doubts_all = False
        #: What another plain move would add to the figures: nothing. 1 after rapids, 2 after feed.
        self.settled = 0
        self.use: ToolUse | None = None
        self.said: set[tuple[str, Level, int]] = set()
        self.selections: dict[int, int] = {}
        #: Lowest rapid [mm] by tool number and work offset, to be held against the feed moves.
        self.rapid_depths: dict[tuple[int | None, str], float] = {}
        self.line, self.block, self.block_number = 0, "", ""
        self.deletable = False
        #: Part of this block's path is not understood.
        self.path_doubt = False

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
        """Mark the state so that each move until the next plain order is not exact.

        `path` ends with the block, `bent` never does.
        """
        state = self.state
        if reach == "path":
            self.path_doubt = True
        if reach in ("bent", "units"):
            state.bends.add(FOR_GOOD)
        if reach in ("speed", "spindle"):
            state.speed_doubt = True
        if reach == "spindle":
            state.rotation_doubt = True
        if reach in ("feed", "units"):
            state.feed_doubt = True
        if reach == "all":
            self.doubt_everything()
        if reach in _DOUBTED_HERE:
            self.current_use().doubt(_DOUBTED_HERE[reach])

    def lose_path(self) -> None:
        """A block that may have moved the tool anywhere: this tool's path is no longer known."""
        self.current_use().doubt(PATH_FIGURES)
        self.state.position.lose()
        self.state.cycle = None
        self.settled = 0

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
            self.use.last_line = max(line, self.use.first_line, self.use.last_line)

    def record_move(self) -> None:
        reading, state = self.reading, self.state
        if reading.unit_at_first_motion is None:
            reading.unit_at_first_motion = state.unit
            if not state.units_given:
                text = f"no G20 or G21 before the first move; read as {state.unit}"
                self.note("unit-switch", Level.NOTE, text)
        self.current_use().coolant |= state.coolant
        if state.bends or state.radius_offset:
            self.doubt_way()
        self.record_running()

    def doubt_way(self) -> None:
        """The tool goes another way than the words; an offset from before a change may end.

        An offset of the radius shifts the way within its plane: in X-Y the depth stays as written.
        """
        state = self.state
        only_sideways = not state.bends and state.plane == G17
        self.current_use().doubt(SIDEWAYS_FIGURES if only_sideways else PATH_FIGURES)
        if state.radius_offset and state.radius_offset_call < len(self.reading.tool_calls):
            self.current_use().doubt(("radius_offsets",))

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
        use.spindle_speed_max = largest(use.spindle_speed_max, state.speed)
        use.spindle_speed_min = smallest(use.spindle_speed_min, state.speed)

    def check_tool_is_known(self) -> None:
        """Before the first change nobody knows which tool the spindle turns."""
        if not self.reading.tool_calls and self.state.speed != 0:
            text = "the spindle turns before the first tool change: tool not known"
            self.note_once("before-first-change", Level.UNKNOWN, text)


def largest(held: float | None, value: float) -> float:
    """The larger of two, where the first may be missing."""
    return value if held is None else max(held, value)


def smallest(held: float | None, value: float) -> float:
    """The smaller of two, where the first may be missing."""
    return value if held is None else min(held, value)
