"""Short programs and the figures of their one tool, for the tests of the reader."""

from __future__ import annotations

from assemblies.rules.nc.reader import read_program
from assemblies.rules.nc.reading import ProgramReading, ReaderSettings, ToolUse

HEAD = ("G21 G90 G17", "T1 M6", "S1000 M3", "F100")


def read(*lines: str, **settings) -> ProgramReading:
    """The reading of `lines` behind a head that calls T1, turns it and sets F100 in mm."""
    text = "\n".join([*HEAD, *lines, "M30", ""])
    return read_program(text.encode(), ReaderSettings(**settings))


def use_of(*lines: str, **settings) -> ToolUse:
    """What the lines ask of T1."""
    return read(*lines, **settings).tool_uses[1]


def codes(reading: ProgramReading, severity=None) -> set[str]:
    """Codes of the notes of a reading."""
    return {n.code for n in reading.findings if severity is None or n.severity == severity}


def doubts(use: ToolUse) -> set[str]:
    """Figures that are not exact."""
    return {figure for figure, exact in use.exact.items() if not exact}
