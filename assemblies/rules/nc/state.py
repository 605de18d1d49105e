"""What the machine remembers from block to block."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(slots=True)
class MachineState:
    """Modal state between two blocks.

    `unit` is `mm` or `inch`. `feed` is in mm/min (G94), 1/min (G93) or mm per revolution (G95),
    already turned into millimetres. A `..._call` is the count of tool calls at which the value
    was given, so that a value carried over a change can be told. A `..._doubt` is set while a
    value that could not be read may be in force. `waiting` is a tool selected and not yet changed
    in; `calls_with_t` says that a T on the block of M6 has called a tool while none was waiting.
    """

    unit: str
    units_given: bool = False
    feed_mode: int = 940
    feed: float | None = None
    feed_call: int = 0
    feed_doubt: bool = False
    feed_unit: str = ""
    speed: float | None = None
    speed_line: int = 0
    speed_call: int = 0
    speed_doubt: bool = False
    speed_moved: bool = True
    rotation: str | None = None
    rotation_doubt: bool = False
    turning_at_change: bool = False
    tool: int | None = None
    tool_known: bool = True
    selected: int | None = None
    selected_line: int | None = None
    selection_doubt: bool = False
    waiting: int | None = None
    calls_with_t: bool = False
    coolant: set[str] = field(default_factory=set)
    motion: int | None = None
    length_offset: bool = False
    length_offset_call: int = -1
    parameters: dict[int, float] = field(default_factory=dict)
