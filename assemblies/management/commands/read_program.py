"""`manage.py read_program FILE [--json] [--machine MARK]`: what a program asks of each tool.

Ends with 0 when the program was read whole, with 1 when not, with 2 when it is no program.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

from django.core.management.base import BaseCommand, CommandError

from assemblies.models import Machine
from assemblies.rules.nc.reader import NotAProgram, read_program
from assemblies.rules.nc.reading import ProgramReading, ReaderSettings, ToolUse
from crib.rules.keys import key_of

NOT_WHOLE, NO_PROGRAM = 1, 2
_HEAD = (
    *("T", "calls", "1/min", "turns", "mm/min", "Z deepest", "Z rapid"),
    *("fed mm", "rapid mm", "cut min", "dwell min", "text"),
)


class Command(BaseCommand):
    help = "Read an NC program and print what it asks of each tool. Writes nothing."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("file", help="the program's file; - for standard input")
        parser.add_argument("--json", action="store_true", help="all of it, for scripts")
        parser.add_argument("--machine", metavar="MARK", help="read as this machine's control does")

    def handle(self, *args, file: str, machine: str | None = None, **options):
        settings = _settings_of(machine)
        try:
            reading = read_program(_bytes_of(file), settings)
        except NotAProgram as error:
            raise CommandError(str(error), returncode=NO_PROGRAM) from error
        if options["json"]:
            self.stdout.write(json.dumps(reading.as_dict(), indent=2, ensure_ascii=False))
        else:
            self.stdout.write("\n".join(_lines(reading, settings)))
        if not reading.complete:
            sys.exit(NOT_WHOLE)


def _settings_of(mark: str | None) -> ReaderSettings:
    if mark is None:
        return ReaderSettings()
    machine = Machine.objects.filter(mark_key=key_of(mark)).first()
    if machine is None:
        raise CommandError(f"No machine is marked {mark}.", returncode=NO_PROGRAM)
    return machine.reader_settings()


def _bytes_of(file: str) -> bytes:
    if file == "-":
        return sys.stdin.buffer.read()
    try:
        return Path(file).read_bytes()
    except OSError as error:
        raise CommandError(f"{file}: {error.strerror}.", returncode=NO_PROGRAM) from error


def _lines(reading: ProgramReading, settings: ReaderSettings) -> Iterable[str]:
    number = f"O{reading.program_number} " if reading.program_number else ""
    yield f"{number}{reading.program_name}".strip() or "program without a number"
    units = " and ".join(sorted(reading.length_units)) or f"{settings.default_units}, not stated"
    yield f"blocks {reading.block_count}, units {units}, read as {settings.key}"
    calls = " ".join(_number(call.tool_number) for call in reading.tool_calls)
    yield f"calls: {calls or 'none'}; ends with {reading.end_of_program}"
    yield from _table([_HEAD, *(_row(use) for use in reading.tool_uses.values())])
    for note in reading.findings:
        tool = "" if note.tool_number is None else f" T{note.tool_number}"
        yield f"{note.severity:9} line {note.line}{tool}: {note.text}"
    yield "Read whole." if reading.complete else "Not fully read: ≥ is at least, ? is not known."


def _row(use: ToolUse) -> tuple[str, ...]:
    rotation = "+".join(sorted(use.rotation))
    return (
        _number(use.tool_number),
        str(use.calls),
        _figure(use, "spindle_speed_max", 0),
        rotation + ("" if use.exact["rotation"] else "?"),
        _figure(use, "feed_rate_max", 0),
        _figure(use, "deepest_z", 3),
        _figure(use, "deepest_z_rapid", 3),
        _figure(use, "feed_path_length", 1),
        _figure(use, "rapid_path_length", 1),
        _figure(use, "cutting_time", 2),
        _figure(use, "dwell_time", 2),
        use.description,
    )


def _number(tool: int | None) -> str:
    return "?" if tool is None else str(tool)


def _figure(use: ToolUse, name: str, places: int) -> str:
    """A figure as printed: `≥` before what is only at least, `?` for what is not known at all.

    Depths grow downwards, so a depth that may be deeper takes `≤`.
    """
    value, exact = getattr(use, name), use.exact[name]
    if value is None:
        return "-" if exact else "?"
    sign = "≤" if name.startswith("deepest") else "≥"
    return f"{'' if exact else sign}{value:.{places}f}"


def _table(rows: Sequence[Sequence[str]]) -> Iterable[str]:
    """Rows in columns; numbers to the right, the text to the left."""
    widths = [max(len(row[column]) for row in rows) for column in range(len(_HEAD))]
    for row in rows:
        cells = [cell.rjust(width) for cell, width in zip(row[:-1], widths, strict=False)]
        yield "  ".join([*cells, row[-1]]).rstrip()
