"""Programs: handing a file in, and what is kept of its reading."""

from __future__ import annotations

import hashlib
from dataclasses import asdict, fields, is_dataclass, replace
from uuid import UUID

from django.core.exceptions import ValidationError

from assemblies.actions.requirements import propose
from assemblies.models import Program, ProgramRevision, ToolCall, ToolUse
from assemblies.rules.nc.reader import read_program
from assemblies.rules.nc.reading import (
    READER_VERSION,
    ProgramReading,
    ReaderSettings,
    ReadingNote,
)
from assemblies.rules.nc.reading import ToolUse as ReadUse
from assemblies.rules.nc.text import NotAProgram
from crib.actions.once import Done, do_once, require
from crib.models import Act, Person
from crib.rules.keys import key_of
from crib.rules.refusal import Refused

_FIELD_LIMIT = 200
_LABEL_LIMIT = 12
#: No shop's program changes tools more often; every change is a row, and a line on a page.
MOST_TOOL_CHANGES = 5_000
#: Stands for a NUL in what is kept of a reading: PostgreSQL keeps no text with one in it.
_NUL_SIGN = "␀"


def add_revision(
    *,
    by: Person,
    submission: UUID,
    name: str,
    label: str,
    data: bytes,
    title: str = "",
    file_name: str = "",
) -> Done:
    """Keep a program file as a revision of `name`, read it, and propose what its tools must be.

    Refuses an empty name, a mark used before, the same file twice, and what is no program.
    """
    require(by, "program.add")
    # Before the records are held: a long file takes a while, and nobody else could write.
    reading = _read(data)

    def work(act):
        program = _program(name, title)
        _refuse_used(program, label, data)
        revision = _store(act, program, label, data, file_name, reading)
        _store_reading(revision, reading)
        propose(program, revision, reading)
        act.about = f"program {program.name}"
        act.details = {"revision": revision.label, "sha256": revision.sha256}
        return revision.pk

    return do_once(submission=submission, kind="program.add", by=by, needs="program.add", work=work)


def _program(name: str, title: str) -> Program:
    if not key_of(name):
        raise Refused("program.name", "The program needs a name.", field="name")
    program = Program.objects.filter(name_key=key_of(name)).first()
    if program is None:
        program = Program(name=name.strip(), title=title.strip())
        program.name_key = key_of(name)
        try:
            program.full_clean()
        except ValidationError as error:
            raise Refused("program.name", " ".join(error.messages), field="name") from error
        program.save()
    elif title.strip() and program.title != title.strip():
        program.title = title.strip()[:120]
        program.save()
    return program


def _refuse_used(program: Program, label: str, data: bytes) -> None:
    # Compared in its folded form, which may be longer: ß becomes ss.
    longest = max(len(label.strip()), len(key_of(label)))
    if not key_of(label) or longest > _LABEL_LIMIT:
        raise Refused(
            "program.label",
            f"The revision needs a mark of 1 to {_LABEL_LIMIT} characters.",
            "Type the shop's own, as B.",
            field="label",
        )
    if program.revisions.filter(label_key=key_of(label)).exists():
        raise Refused(
            "program.label_used",
            f"{program.name} has a revision {label.strip()} already.",
            "A changed file takes the next mark.",
            field="label",
        )
    same = program.revisions.filter(sha256=hashlib.sha256(data).hexdigest()).first()
    if same is not None:
        raise Refused(
            "program.same_file",
            f"This is the very file of {program.name} {same.label}.",
            "Pick the changed file.",
            field="file",
        )


def _read(data: bytes) -> ProgramReading:
    try:
        reading = read_program(data, ReaderSettings())
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


def _store(
    act: Act, program: Program, label: str, data: bytes, file_name: str, reading: ProgramReading
) -> ProgramRevision:
    return ProgramRevision.objects.create(
        program=program,
        label=label.strip(),
        file_name=file_name[-120:],
        content=data,
        sha256=reading.sha256,
        size_bytes=reading.size_bytes,
        added_by_id=act.by_id,
        **_what_was_read(reading),
    )


def _what_was_read(reading: ProgramReading) -> dict:
    return {
        "complete": reading.complete,
        "block_count": reading.block_count,
        "program_number": reading.program_number[:20],
        "program_title": reading.program_name[:120],
        "end_of_program": reading.end_of_program[:12],
        "notes": [asdict(note) | {"severity": str(note.severity)} for note in reading.findings],
        "reader_version": READER_VERSION,
    }


def read_again(*, by: Person, submission: UUID, revision: ProgramRevision) -> Done:
    """Read the kept file with today's reader; what an older one made of it is replaced.

    What the tool numbers must be stays as it was stated; numbers not seen before are proposed.
    """
    require(by, "program.add")
    content = ProgramRevision.objects.values_list("content", flat=True).get(pk=revision.pk)
    reading = _read(bytes(content))

    def work(act):
        rows = ProgramRevision.objects.select_for_update().defer("content", "notes")
        held = rows.get(pk=revision.pk)
        held.tool_calls.all().delete()
        held.tool_uses.all().delete()
        ProgramRevision.objects.filter(pk=held.pk).update(**_what_was_read(reading))
        _store_reading(held, reading)
        propose(held.program, held, reading)
        act.about = f"program {held.program.name}"
        act.details = {"revision": held.label, "reader": READER_VERSION}
        return held.pk

    return do_once(
        submission=submission, kind="program.read_again", by=by, needs="program.add", work=work
    )


#: Notes of the reader that speak of one tool number and are weighed at the spindle.
WEIGHED_NOTES = frozenset({"length-offset", "no-spindle", "no-speed", "no-feed", "rotation"})


def _store_reading(revision: ProgramRevision, reading: ProgramReading) -> None:
    ToolCall.objects.bulk_create(
        ToolCall(
            revision=revision,
            sequence=call.sequence,
            line=call.line,
            tool_number=call.tool_number,
            text=call.text[:_FIELD_LIMIT],
        )
        for call in reading.tool_calls
    )
    ToolUse.objects.bulk_create(
        _use_row(revision, use, _weighed(reading, use.tool_number))
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


def _use_row(revision: ProgramRevision, use: ReadUse, notes: list[dict]) -> ToolUse:
    return ToolUse(
        revision=revision,
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
        details={
            "calls": use.calls,
            "notes": notes,
            "feed_per_revolution_max": use.feed_per_revolution_max,
            "cycles": sorted(use.cycles),
            "length_offsets": sorted(use.length_offsets),
            "radius_offsets": sorted(use.radius_offsets),
            "coolant": sorted(use.coolant),
        },
    )


def _up(speed: float | None) -> int | None:
    """Whole 1/min, rounded up: a speed that is compared with a limit rounds to the safe side."""
    return None if speed is None else -int(-speed // 1)


def _down(speed: float | None) -> int | None:
    return None if speed is None else int(speed // 1)
