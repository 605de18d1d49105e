"""The tool numbers of one program revision, shaped for its page: figures in words, calls, notes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from assemblies.actions.readiness import Candidate, Readiness, Standing, standings
from assemblies.actions.readings import is_current
from assemblies.models import (
    STANDARD_KEY,
    Machine,
    Reading,
    ToolCall,
    ToolRequirement,
    ToolUse,
)
from crib.rules.finding import Level
from crib.rules.units import show_length

#: Notes listed on the page; the text of the program shows every one at its line.
MOST_NOTES = 200


@dataclass(frozen=True)
class Way:
    """One way of reading, and the machines that have it; none: the standard, for nobody."""

    key: str
    machines: list[Machine] = field(default_factory=list)

    @property
    def names(self) -> str:
        return ", ".join(machine.name for machine in self.machines)

    @property
    def is_standard(self) -> bool:
        return self.key == STANDARD_KEY


@dataclass(frozen=True)
class ShownReading:
    """What the page shows: the reading of one way, for one machine or for none."""

    reading: Reading | None
    machine: Machine | None
    way: Way
    ways: list[Way]
    #: Height of the top of the work [um]; None: not stated.
    top_um: int | None
    #: It is zero because the machine's programs have their zero there; nobody stated it.
    top_by_zero: bool

    @property
    def is_current(self) -> bool:
        return is_current(self.reading)

    @property
    def in_inches(self) -> bool:
        return self.reading is not None and "inch" in self.reading.details.get("length_units", ())


@dataclass(frozen=True)
class FigureLine:
    """One figure of a tool in words. Empty text: not known. `first`: seen without opening more."""

    name: str
    text: str
    first: bool = False


@dataclass(frozen=True)
class ToolLine:
    """One T number of a revision: what the program does with it, and what it must be."""

    tool_number: int
    use: ToolUse | None
    figures: list[FigureLine]
    requirement: ToolRequirement | None
    calls: list[int]
    asked: int
    standing: Standing

    @property
    def first_figures(self) -> list[FigureLine]:
        return [line for line in self.figures if line.first]

    @property
    def more_figures(self) -> list[FigureLine]:
        return [line for line in self.figures if not line.first]

    @property
    def to_build(self) -> bool:
        """Whether the toolroom has something to do for it, and knows what."""
        return self.standing.readiness in (Readiness.NONE, Readiness.NEEDS_WORK)

    @property
    def to_go_on_with(self) -> Candidate | None:
        """The assembly to put right for it: the listed one, else the first there is."""
        if not self.to_build or not self.standing.candidates:
            return None
        listed = self.requirement.preferred_id
        return min(self.standing.candidates, key=lambda one: one.assembly.pk != listed)


@dataclass(frozen=True)
class CallStep:
    """One call in the order of the program; `again` tells that the number was called before."""

    call: ToolCall
    again: bool


def tool_lines(
    shown: ShownReading,
    requirements: Iterable[ToolRequirement],
    calls: list[ToolCall],
    asked: dict[int, int],
) -> list[ToolLine]:
    """A line for each tool number that is called or stated, in the order of the numbers."""
    reading, top_um, inch = shown.reading, shown.top_um, shown.in_inches
    uses = {use.tool_number: use for use in reading.tool_uses.all()} if reading else {}
    stated = {row.tool_number: row for row in requirements}
    ready = standings(stated.values())
    lines: dict[int | None, list[int]] = {}
    for call in calls:
        lines.setdefault(call.tool_number, []).append(call.line)
    return [
        ToolLine(
            number,
            uses.get(number),
            list(figure_lines(uses[number], top_um, inch)) if number in uses else [],
            stated.get(number),
            lines.get(number, []),
            asked.get(number, 0),
            ready.get(number, Standing(Readiness.NOT_STATED)),
        )
        for number in sorted(uses.keys() | stated.keys() | asked.keys())
    ]


def tally(tools: list[ToolLine]) -> list[tuple[str, str, list[int]]]:
    """Groups of tool numbers by readiness, those to build first; empty groups left out."""
    order = (Readiness.NONE, Readiness.NEEDS_WORK, Readiness.NOT_STATED, Readiness.READY)
    groups = [
        (str(one), one.words, [t.tool_number for t in tools if t.standing.readiness == one])
        for one in order
    ]
    return [group for group in groups if group[2]]


def call_steps(calls: Iterable[ToolCall]) -> list[CallStep]:
    """The order of calls with its repeats marked: 1, 2, 3, 1 again."""
    seen: set[int | None] = set()
    steps = []
    for call in calls:
        steps.append(CallStep(call, call.tool_number is not None and call.tool_number in seen))
        seen.add(call.tool_number)
    return steps


def notes_of(reading: Reading | None) -> tuple[list[dict], int]:
    """The gravest notes of a reading, what was not understood first; how many are left out."""
    found = reading.notes if reading else []
    unknown = str(Level.UNKNOWN)
    ordered = sorted(
        found,
        key=lambda n: (n["severity"] != unknown, -Level(n["severity"]).weight, n["line"]),
    )
    return ordered[:MOST_NOTES], max(0, len(ordered) - MOST_NOTES)


def total_time(reading: Reading | None, tools: Iterable[ToolLine]) -> str:
    """Cutting time of all tools together; empty where that of one is not known."""
    details = [tool.use.details for tool in tools if tool.use]
    times = [one.get("cutting_time") for one in details]
    if not times or None in times:
        return ""
    certain = all((one.get("exact") or {}).get("cutting_time") for one in details)
    if not certain and sum(times) == 0:
        return ""
    return _at_least(f"{sum(times):.2f} min", certain and reading.complete)


# ---- the figures of one tool
def figure_lines(use: ToolUse, top_um: int | None, inch: bool = False) -> Iterator[FigureLine]:
    """Each figure of a tool in words; what is not certain says so, what is missing stays empty."""
    exact = use.details.get("exact") or {}
    yield FigureLine("Speed", _speed(use), first=True)
    yield FigureLine("Turns", _turns(use), first=True)
    yield FigureLine("Deepest Z", _deepest(use, inch), first=True)
    yield from _depths_by_offset(use, exact, inch)
    yield from _below_the_top(use, top_um, inch)
    yield from _lowest_rapid(use, exact, inch)
    yield FigureLine("Feed", _feed(use, exact))
    yield from _feed_per_turn(use, exact)
    yield FigureLine(
        "Cutting time", _amount(use, "cutting_time", "min", exact.get("cutting_time")), first=True
    )
    yield FigureLine("Feed path", _path(use, exact))
    if use.details.get("dwell_time") or not exact.get("dwell_time"):
        yield FigureLine("Dwell", _amount(use, "dwell_time", "min", exact.get("dwell_time")))
    yield from _named_codes(use, exact)


def _at_least(text: str, certain: bool | None) -> str:
    return text if certain or not text else f"at least {text}"


def _speed(use: ToolUse) -> str:
    high, low = use.spindle_speed_max_rpm, use.spindle_speed_min_rpm
    if high is None:
        return ""
    text = f"{high} 1/min"
    if not use.speed_exact:
        text = f"at least {text}"
    elif low is not None and low != high:
        text = f"{low} to {text}"
    return f"{text}, carried from the tool before" if use.speed_carried else text


def _turns(use: ToolUse) -> str:
    words = [
        word for word, so in (("right (M3)", use.turns_cw), ("left (M4)", use.turns_ccw)) if so
    ]
    text = ", ".join(words)
    return text if use.rotation_exact or not text else f"{text}, not certain"


def _z(z_um: int, inch: bool) -> str:
    return f"Z{show_length(z_um, inch, 1)}"


def _deepest(use: ToolUse, inch: bool) -> str:
    if use.deepest_z_um is None:
        return "no feed move" if use.depth_exact else ""
    text = _z(use.deepest_z_um, inch)
    return text if use.depth_exact else f"{text} or deeper"


def _depths_by_offset(use: ToolUse, exact: dict, inch: bool) -> Iterator[FigureLine]:
    """The depth in each work offset, where there is more than one."""
    depths = use.details.get("deepest_z_by_work_offset") or {}
    certain = exact.get("deepest_z_by_work_offset")
    for name in sorted(depths) if len(depths) > 1 else ():
        text = _z(round(depths[name] * 1000), inch)
        yield FigureLine(f"Deepest Z in {name}", text if certain else f"{text} or deeper")


def _below_the_top(use: ToolUse, top_um: int | None, inch: bool) -> Iterator[FigureLine]:
    if use.deepest_z_um is None:
        return
    if top_um is None:
        yield FigureLine("Below the top", "")
        return
    depth = show_length(top_um - use.deepest_z_um, inch, 1)
    yield FigureLine("Below the top", _at_least(depth, use.depth_exact))


def _lowest_rapid(use: ToolUse, exact: dict, inch: bool) -> Iterator[FigureLine]:
    """Only where a rapid goes deeper than any feed move: that is worth a look."""
    rapid_um, feed_um = use.deepest_z_rapid_um, use.deepest_z_um
    certain = exact.get("deepest_z_rapid")
    if rapid_um is not None and (feed_um is None or rapid_um < feed_um):
        text = _z(rapid_um, inch)
        yield FigureLine("Lowest rapid", text if certain else f"{text} or deeper")


def _feed(use: ToolUse, exact: dict) -> str:
    high, low = use.feed_max_mm_min, use.feed_min_mm_min
    certain = exact.get("feed_rate_max")
    if high is None:
        return "no feed move" if certain else ""
    text = f"{_short(high)} mm/min"
    if certain and low is not None and low != high:
        text = f"{_short(low)} to {text}"
    return _at_least(text, certain)


def _feed_per_turn(use: ToolUse, exact: dict) -> Iterator[FigureLine]:
    feed = use.details.get("feed_per_revolution_max")
    if feed is not None:
        text = f"{_short(feed)} mm"
        yield FigureLine("Feed per turn", _at_least(text, exact.get("feed_per_revolution_max")))


def _amount(use: ToolUse, name: str, unit: str, certain: bool | None) -> str:
    value = use.details.get(name)
    if value is None or (not value and not certain):
        return ""
    return _at_least(f"{value:.2f} {unit}" if value else "none", certain)


def _path(use: ToolUse, exact: dict) -> str:
    value_mm, certain = use.details.get("feed_path_length"), exact.get("feed_path_length")
    if value_mm is None or (not value_mm and not certain):
        return ""
    text = f"{value_mm:.1f} mm" if value_mm < 1000 else f"{value_mm / 1000:.2f} m"
    return _at_least(text, certain)


def _named_codes(use: ToolUse, exact: dict) -> Iterator[FigureLine]:
    """Cycles, offsets and coolant; a kind that is not used for certain is left out."""
    for name, key, letter in (
        ("Cycles", "cycles", "G"),
        ("Length offset", "length_offsets", "H"),
        ("Radius offset", "radius_offsets", "D"),
        ("Coolant", "coolant", ""),
    ):
        values, certain = use.details.get(key) or (), exact.get(key)
        if values or not certain:
            yield FigureLine(name, _at_least(_listed(values, letter, use.tool_number), certain))


def _listed(values: Iterable, letter: str, tool_number: int) -> str:
    """`H7, H12`; an offset of the tool's own number needs no figure: `as T`."""
    own = letter in ("H", "D")
    return ", ".join(
        f"{letter} as T" if own and value == tool_number else f"{letter}{value}" for value in values
    )


def _short(value: float) -> str:
    return f"{value:.3f}".rstrip("0").rstrip(".")
