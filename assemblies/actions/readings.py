"""Readings: a file read the way a machine reads it, and what is kept of that."""

from __future__ import annotations

from dataclasses import asdict, fields, is_dataclass, replace

from assemblies.models import (
    STANDARD_KEY,
    Machine,
    ProgramRevision,
    Reading,
    ToolCall,
    ToolUse,
)
from assemblies.rules.nc.reader import read_program
from assemblies.rules.nc.reading import (
    READER_VERSION,
    ProgramReading,
    ReaderSettings,
    ReadingNote,
)
from assemblies.rules.nc.reading import ToolUse as ReadUse
from assemblies.rules.nc.text import NotAProgram
from crib.rules.refusal import Refused

_FIELD_LIMIT = 200
#: No shop's program changes tools more often; every change is a row, and a line on a page.
MOST_TOOL_CHANGES = 5_000
#: Stands for a NUL in what is kept of a reading: PostgreSQL keeps no text with one in it.
_NUL_SIGN = "␀"
#: By the key of its settings.
Ways = dict[str, ReaderSettings]


def ways_of_the_shop() -> Ways:
    """The standard way of reading, and each other one that a machine of the shop has."""
    ways = {STANDARD_KEY: ReaderSettings()}
    for machine in Machine.objects.all():
        settings = machine.reader_settings()
        ways.setdefault(settings.key, settings)
    return ways


def read_in_ways(data: bytes, ways: Ways) -> dict[str, ProgramReading]:
    """`data` read in each of `ways`. Refuses what is no program."""
    return {key: _read(data, settings) for key, settings in ways.items()}


def read_each_way(revision: ProgramRevision) -> dict[str, ProgramReading]:
    """The kept file read in every way of the shop."""
    return read_in_ways(_content(revision), ways_of_the_shop())


def _content(revision: ProgramRevision) -> bytes:
    return bytes(ProgramRevision.objects.values_list("content", flat=True).get(pk=revision.pk))


def reading_of(revision: ProgramRevision, machine: Machine | None = None) -> Reading | None:
    """The file as read for `machine`, the standard way without one; None: not read that way."""
    key = machine.reader_settings().key if machine is not None else STANDARD_KEY
    return revision.readings.filter(settings_key=key).first()


def read_missing(revision: ProgramRevision, machine: Machine) -> dict[str, ProgramReading]:
    """The kept file read the way `machine` reads; empty when today's reader did so before.

    Writes nothing, so that a long file can be read while the records are free for others.
    """
    settings = machine.reader_settings()
    return read_stale(revision, {settings.key: settings})


def read_stale(revision: ProgramRevision, ways: Ways) -> dict[str, ProgramReading]:
    """The kept file read in those of `ways` in which today's reader has not read it."""
    rows = revision.readings.defer("notes", "details")
    current = {row.settings_key for row in rows if is_current(row)}
    left = {key: settings for key, settings in ways.items() if key not in current}
    return read_in_ways(_content(revision), left) if left else {}


def held(revision: ProgramRevision) -> ProgramRevision:
    """The revision as it stands now, locked until the transaction ends.

    Whoever writes its readings, what its tools must be or its approvals holds it first.
    """
    rows = ProgramRevision.objects.select_for_update(of=("self",)).select_related("program")
    return rows.defer("content").get(pk=revision.pk)


def is_current(reading: Reading | None) -> bool:
    """Whether today's reader made it."""
    return reading is not None and reading.reader_version == READER_VERSION


def store_readings(revision: ProgramRevision, made: dict[str, ProgramReading]) -> None:
    """Keep what was read in each of several ways."""
    for settings_key, reading in made.items():
        store_reading(revision, settings_key, reading)


def store_reading(revision: ProgramRevision, settings_key: str, reading: ProgramReading) -> Reading:
    """Keep what was read; an older reading of the same way is replaced."""
    revision.readings.filter(settings_key=settings_key).delete()
    row = Reading.objects.create(
        revision=revision, settings_key=settings_key, **_what_was_read(reading)
    )
    _store_tools(row, reading)
    return row


def _read(data: bytes, settings: ReaderSettings) -> ProgramReading:
    try:
        reading = read_program(data, settings)
    except NotAProgram as error:
        raise Refused("program.not_a_program", str(error), field="file") from error
    _refuse_endless(reading)
    return _storable(reading) if b"\0" in data else reading


def _refuse_endless(reading: ProgramReading) -> None:
    changes = len(reading.tool_calls)
    if changes > MOST_TOOL_CHANGES:
        raise Refused(
            "program.too_many_changes",
            f"It has {changes} tool changes; {MOST_TOOL_CHANGES} is the most.",
            "Split the program.",
            field="file",
        )


def _storable(value: object) -> object:
    """A reading, or a part of one, with no NUL in its texts."""
    if type(value) is str:
        return value.replace("\0", _NUL_SIGN)
    if isinstance(value, list):
        return [_storable(part) for part in value]
    if isinstance(value, dict):
        return {key: _storable(part) for key, part in value.items()}
    if is_dataclass(value):
        parts = {field.name: _storable(getattr(value, field.name)) for field in fields(value)}
        return replace(value, **parts)
    return value


def _what_was_read(reading: ProgramReading) -> dict:
    return {
        "complete": reading.complete,
        "block_count": reading.block_count,
        "program_number": reading.program_number[:20],
        "program_title": reading.program_name[:120],
        "end_of_program": reading.end_of_program[:12],
        "notes": [asdict(note) | {"severity": str(note.severity)} for note in reading.findings],
        "details": {
            "length_units": sorted(reading.length_units),
            "selected_only": reading.selected_only,
            "tool_list": {str(number): text for number, text in reading.tool_list.items()},
        },
        "reader_version": READER_VERSION,
    }


#: Notes of the reader that speak of one tool number and are weighed at the spindle.
WEIGHED_NOTES = frozenset(
    {
        "length-offset",
        "no-length-offset",
        "no-spindle",
        "no-speed",
        "no-feed",
        "rotation",
        "depth-rapid",
    }
)


def _store_tools(row: Reading, reading: ProgramReading) -> None:
    ToolCall.objects.bulk_create(
        ToolCall(
            reading=row,
            sequence=call.sequence,
            line=call.line,
            tool_number=call.tool_number,
            text=call.text[:_FIELD_LIMIT],
        )
        for call in reading.tool_calls
    )
    ToolUse.objects.bulk_create(
        _use_row(row, use, _weighed(reading, use.tool_number))
        for use in reading.tool_uses.values()
        if use.tool_number is not None
    )


def _weighed(reading: ProgramReading, tool_number: int) -> list[dict]:
    """The gravest note of each kind about one tool number, with its line."""
    gravest: dict[str, ReadingNote] = {}
    for note in reading.findings:
        if note.tool_number != tool_number or note.code not in WEIGHED_NOTES:
            continue
        kept = gravest.get(note.code)
        if kept is None or note.severity.weight > kept.severity.weight:
            gravest[note.code] = note
    return [
        {"code": n.code, "severity": str(n.severity), "line": n.line, "text": n.text}
        for n in gravest.values()
    ]


def _use_row(row: Reading, use: ReadUse, notes: list[dict]) -> ToolUse:
    return ToolUse(
        reading=row,
        tool_number=use.tool_number,
        first_line=use.first_line,
        description=use.description[:_FIELD_LIMIT],
        spindle_speed_max_rpm=_up(use.spindle_speed_max),
        spindle_speed_min_rpm=_down(use.spindle_speed_min),
        speed_carried=use.spindle_speed_carried is not None,
        turns_cw="cw" in use.rotation,
        turns_ccw="ccw" in use.rotation,
        feed_max_mm_min=use.feed_rate_max,
        feed_min_mm_min=use.feed_rate_min,
        speed_exact=use.exact["spindle_speed_max"],
        rotation_exact=use.exact["rotation"],
        deepest_z_um=_um(use.deepest_z),
        deepest_z_rapid_um=_um(use.deepest_z_rapid),
        depth_exact=use.exact["deepest_z"] and abs(use.deepest_z or 0) <= _FARTHEST_MM,
        details={
            "calls": use.calls,
            "notes": notes,
            "feed_per_revolution_max": use.feed_per_revolution_max,
            "cycles": sorted(use.cycles),
            "length_offsets": sorted(use.length_offsets),
            "radius_offsets": sorted(use.radius_offsets),
            "coolant": sorted(use.coolant),
            "deepest_z_by_work_offset": use.deepest_z_by_work_offset,
            "feed_path_length": _rounded(use.feed_path_length, 3),
            "rapid_path_length": _rounded(use.rapid_path_length, 3),
            "cutting_time": _rounded(use.cutting_time, 4),
            "dwell_time": _rounded(use.dwell_time, 4),
            "exact": use.exact,
        },
    )


def _up(speed: float | None) -> int | None:
    """Whole 1/min, rounded up: a speed that is compared with a limit rounds to the safe side."""
    return None if speed is None else -int(-speed // 1)


def _down(speed: float | None) -> int | None:
    return None if speed is None else int(speed // 1)


#: Deeper or higher than any machine reaches: such a figure is a slip, and no column keeps it.
_FARTHEST_MM = 1e6


def _um(length_mm: float | None) -> int | None:
    """Whole micrometres, rounded half to even."""
    if length_mm is None or abs(length_mm) > _FARTHEST_MM:
        return None
    return round(length_mm * 1000)


def _rounded(figure: float | None, places: int) -> float | None:
    return None if figure is None else round(figure, places)
