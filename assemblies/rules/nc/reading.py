"""What a reading of an NC program says: plain records, no database, no clock."""

from __future__ import annotations

import zlib
from dataclasses import asdict, dataclass, field

from crib.rules.finding import Level

#: Counts up with every change in what a reading says, so that stored readings can be told apart.
READER_VERSION = 3
#: So many letters of M numbers stand in the key of the settings; the whole stays under 180.
LONGEST_M_CODES = 100

#: The figures of a tool use that `ToolUse.exact` speaks of.
FIGURES = (
    "spindle_speed_max",
    "spindle_speed_min",
    "spindle_speed_carried",
    "rotation",
    "feed_rate_max",
    "feed_rate_min",
    "feed_per_revolution_max",
    "deepest_z",
    "deepest_z_rapid",
    "deepest_z_by_work_offset",
    "feed_path_length",
    "rapid_path_length",
    "cutting_time",
    "dwell_time",
    "cycles",
    "length_offsets",
    "radius_offsets",
    "coolant",
)
SPINDLE_FIGURES = ("spindle_speed_max", "spindle_speed_min", "spindle_speed_carried", "rotation")
SPEED_FIGURES = SPINDLE_FIGURES[:3]
FEED_FIGURES = ("feed_rate_max", "feed_rate_min", "feed_per_revolution_max")
DEPTH_FIGURES = ("deepest_z", "deepest_z_rapid", "deepest_z_by_work_offset")
LENGTH_FIGURES = ("feed_path_length", "rapid_path_length")
#: What a path that was not followed touches: how deep, how far and so how long.
SIDEWAYS_FIGURES = (*LENGTH_FIGURES, "cutting_time")
PATH_FIGURES = (*DEPTH_FIGURES, *SIDEWAYS_FIGURES)


@dataclass(frozen=True, slots=True)
class ReaderSettings:
    """How one machine reads what the standards leave open; the defaults are NIST IR 6556.

    default_units            `mm` or `inch`, in force until the program says G20 or G21
    t_alone_changes          a T word changes the tool without M6
    fixed_length_offsets     H numbers do not follow T numbers, so a difference says nothing
    g70_g71_are_units        G70 means inch and G71 mm (ISO 6983-1, from memory)
    harmless_m_codes         M numbers that leave tool, speed and turning direction alone
    largest_bytes            larger files are refused [bytes]
    counts_least_increments  lengths without a point count 0.001 mm or 0.0001 inch; dwells, and F in
                             inches or per revolution, are then not told without a point
    peck_back_off_mm         way back and forth between two pecks of G73 and G83 [mm]
    """

    default_units: str = "mm"
    t_alone_changes: bool = False
    fixed_length_offsets: bool = False
    g70_g71_are_units: bool = False
    harmless_m_codes: frozenset[int] = frozenset()
    largest_bytes: int = 64_000_000
    counts_least_increments: bool = False
    peck_back_off_mm: float = 0.0

    @property
    def key(self) -> str:
        """What differs from the defaults, as a short stable text; `standard` when nothing does.

        Two machines with one key read every program alike. Above 180 letters the list of M
        numbers is told by its count and check sum.

        >>> ReaderSettings().key
        'standard'
        >>> ReaderSettings(default_units="inch", harmless_m_codes=frozenset((11, 10))).key
        'inch;m10,m11'
        """
        named = (
            (self.default_units != "mm", self.default_units),
            (self.t_alone_changes, "t-alone"),
            (self.fixed_length_offsets, "fixed-h"),
            (self.g70_g71_are_units, "g70-g71"),
            (self.counts_least_increments, "increments"),
            (self.peck_back_off_mm != 0, f"back-off-{self.peck_back_off_mm:g}"),
        )
        parts = [text for differs, text in named if differs]
        parts += _named_m_codes(self.harmless_m_codes)
        return ";".join(parts) or "standard"


def _named_m_codes(codes: frozenset[int]) -> list[str]:
    """The M numbers in one text, cut short in a way that still tells two lists apart."""
    text = ",".join(f"m{code}" for code in sorted(codes))
    if len(text) > LONGEST_M_CODES:
        text = f"m-codes-{len(codes)}-{zlib.crc32(text.encode()):08x}"
    return [text] if text else []


@dataclass(frozen=True, slots=True)
class ReadingNote:
    """Something a person must know about the program.

    `severity` is UNKNOWN where the reading is incomplete because of it. `line` counts from 1;
    0 means the whole file.
    """

    code: str
    severity: Level
    line: int
    block: str
    text: str
    tool_number: int | None = None


@dataclass(frozen=True, slots=True)
class ToolCall:
    """One tool change, in the order of the program; `tool_number` None where it is not known."""

    sequence: int
    line: int
    block_number: str
    tool_number: int | None
    selected_on_line: int | None
    text: str


@dataclass(slots=True)
class ToolUse:
    """What the program asks of one tool number, over all its calls.

    Speeds in 1/min, feed rates in mm/min and mm per revolution, Z and lengths in mm, times in
    min. Z is what the program says, in the work offset in force; `deepest_z` and the depth by
    work offset take feed moves only, with their start; `deepest_z_rapid` takes the ends of
    rapids, those back into a hole included. Paths are those of the words: an offset of the tool's
    length moves no point. `tool_number` None stands for what is in the spindle before the first
    change, and for tools whose number is not known; 0 means an empty spindle (T0 M6).
    `exact[figure]` is False where the figure is only what could be read.

    Every speed in effect while the spindle turns counts, whether or not a move or a dwell
    follows: the cutter really turns at it. So an S given to a turning spindle counts for the tool
    in it, also on the block of an M5 and when it is meant for the next tool; an S given to a
    stopped spindle counts once it turns. On a block that changes the tool, S is the new tool's.
    """

    tool_number: int | None
    calls: int = 0
    first_line: int = 0
    last_line: int = 0
    description: str = ""
    spindle_speed_max: float | None = None
    spindle_speed_min: float | None = None
    spindle_speed_carried: float | None = None
    rotation: set[str] = field(default_factory=set)
    feed_rate_max: float | None = None
    feed_rate_min: float | None = None
    feed_per_revolution_max: float | None = None
    deepest_z: float | None = None
    deepest_z_rapid: float | None = None
    deepest_z_by_work_offset: dict[str, float] = field(default_factory=dict)
    feed_path_length: float = 0.0
    rapid_path_length: float = 0.0
    cutting_time: float = 0.0
    dwell_time: float = 0.0
    cycles: set[int] = field(default_factory=set)
    length_offsets: set[int] = field(default_factory=set)
    radius_offsets: set[int] = field(default_factory=set)
    coolant: set[str] = field(default_factory=set)
    exact: dict[str, bool] = field(default_factory=lambda: dict.fromkeys(FIGURES, True))

    def doubt(self, figures: tuple[str, ...]) -> None:
        """Mark `figures` as not exact."""
        for figure in figures:
            self.exact[figure] = False


@dataclass(frozen=True, slots=True)
class ProposedRequirement:
    """What a comment says a tool number must be, for a person to confirm.

    The text is always the program's own; a value is given only where the text leaves no choice.
    """

    tool_number: int
    text: str
    line: int
    diameter_um: int | None = None
    corner_radius_um: int | None = None
    kind: str | None = None


@dataclass(slots=True)
class ProgramReading:
    """The whole reading of one program file."""

    sha256: str
    size_bytes: int
    program_number: str = ""
    program_name: str = ""
    block_count: int = 0
    length_units: set[str] = field(default_factory=set)
    unit_at_first_motion: str | None = None
    tool_calls: list[ToolCall] = field(default_factory=list)
    tool_uses: dict[int | None, ToolUse] = field(default_factory=dict)
    tool_list: dict[int, str] = field(default_factory=dict)
    proposed_requirements: list[ProposedRequirement] = field(default_factory=list)
    selected_only: list[int] = field(default_factory=list)
    findings: list[ReadingNote] = field(default_factory=list)
    complete: bool = True
    end_of_program: str = "end of file"

    def as_dict(self) -> dict:
        """Plain dictionary for JSON, uses by tool number in order of use; sets become sorted lists.

        The tool that is in the spindle before the first change has no number: it stands at `null`.
        """
        plain = asdict(self)
        for note in plain["findings"]:
            note["severity"] = str(note["severity"])
        for record in (plain, *plain["tool_uses"].values()):
            for name, value in record.items():
                if isinstance(value, set):
                    record[name] = sorted(value)
        return plain
