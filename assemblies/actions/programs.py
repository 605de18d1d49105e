"""Programs: handing a file in, and what is kept of its reading."""

from __future__ import annotations

import hashlib
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
from crib.actions.once import Done, do_once
from crib.models import Act, Person
from crib.rules.keys import key_of
from crib.rules.refusal import Refused

_FIELD_LIMIT = 200


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

    def work(act):
        program = _program(name, title)
        _refuse_used(program, label, data)
        reading = _read(data)
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
    if not key_of(label) or len(label.strip()) > 12:
        raise Refused(
            "program.label",
            "The revision needs a mark of 1 to 12 characters.",
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
        return read_program(data, ReaderSettings())
    except NotAProgram as error:
        raise Refused("program.not_a_program", str(error), field="file") from error


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
        "notes": reading.as_dict()["findings"],
        "reader_version": READER_VERSION,
    }


def read_again(*, by: Person, submission: UUID, revision: ProgramRevision) -> Done:
    """Read the kept file with today's reader; what an older one made of it is replaced.

    What the tool numbers must be stays as it was stated; numbers not seen before are proposed.
    """

    def work(act):
        held = ProgramRevision.objects.select_for_update().get(pk=revision.pk)
        reading = _read(bytes(held.content))
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
