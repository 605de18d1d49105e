"""What the machine remembers from block to block."""

from __future__ import annotations

from dataclasses import dataclass, field

from assemblies.rules.nc.position import Position

MM_PER_INCH = 25.4
#: Stands among the codes that bend the path where nothing can end the doubt.
FOR_GOOD = -1


@dataclass(slots=True)
class CycleMemory:
    """What a row of holes keeps while its code repeats: words in mm, and where it began.

    `level` is the height along the holes' axis before the first one [mm], None when not known.
    `given_in` is the distance mode and the unit in force when a word of length was given.
    """

    code: int
    plane: int
    level: float | None
    words: dict[str, float | None] = field(default_factory=dict)
    given_in: dict[str, tuple[bool, str]] = field(default_factory=dict)
    dwell_doubt: bool = False


@dataclass(slots=True)
class MachineState:
    """Modal state between two blocks.

    `unit` is `mm` or `inch`. `feed` is in mm/min (G94), 1/min (G93) or mm per revolution (G95),
    already turned into millimetres. A `..._call` is the count of tool calls at which the value
    was given, so that a value carried over a change can be told. A `..._doubt` is set while a
    value that could not be read may be in force. `waiting` is a tool selected and not yet changed
    in; `calls_with_t` says that a T on the block of M6 has called a tool while none was waiting.
    `length_offset_number` is the H in force, None when not known; `offset_words` holds the last H
    and D that were written. `bends` are the codes in force that lead the tool another way than its
    words say.
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
    length_offset_number: int | None = None
    radius_offset: bool = False
    radius_offset_call: int = -1
    offset_words: dict[str, int | None] = field(default_factory=dict)
    position: Position = field(default_factory=Position)
    plane: int = 170
    absolute: bool = True
    retracts_to_r: bool = False
    cycle: CycleMemory | None = None
    bends: set[int] = field(default_factory=set)
    parameters: dict[int, float] = field(default_factory=dict)

    @property
    def scale(self) -> float:
        """Millimetres in one unit of length."""
        return MM_PER_INCH if self.unit == "inch" else 1.0
