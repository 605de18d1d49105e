"""Programs: handing a file in, saying what each tool number must be, approving it for machines."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass, fields
from uuid import UUID

from django.core.exceptions import ValidationError
from django.utils import timezone

from assemblies.models import (
    ApprovalState,
    Machine,
    Program,
    ProgramApproval,
    ProgramRevision,
    ToolCall,
    ToolRequirement,
    ToolUse,
)
from assemblies.rules.nc.reader import read_program
from assemblies.rules.nc.reading import ProgramReading, ReaderSettings
from assemblies.rules.nc.reading import ToolUse as ReadUse
from assemblies.rules.nc.text import NotAProgram
from crib.actions.once import Done, do_once
from crib.models import Act, Person
from crib.rules.keys import key_of
from crib.rules.refusal import Refused

#: What counts as the reader's own state of the art; a higher number asks for reading again.
READER_VERSION = 1
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
        _propose(program, revision, reading)
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
        complete=reading.complete,
        block_count=reading.block_count,
        program_number=reading.program_number[:20],
        program_title=reading.program_name[:120],
        end_of_program=reading.end_of_program[:12],
        notes=reading.as_dict()["findings"],
        reader_version=READER_VERSION,
    )


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
        _use_row(revision, use) for use in reading.tool_uses.values() if use.tool_number is not None
    )


def _use_row(revision: ProgramRevision, use: ReadUse) -> ToolUse:
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


def _propose(program: Program, revision: ProgramRevision, reading: ProgramReading) -> None:
    """A requirement for each tool number, to be confirmed: from the revision before, else comments.

    Nothing proposed counts until a person confirmed it for this very revision.
    """
    before = program.revisions.exclude(pk=revision.pk).order_by("-added_at", "-id").first()
    stated = before.requirements.exclude(kind="", diameter_um=None) if before else ()
    known = {row.tool_number: row for row in stated}
    from_text = {p.tool_number: p for p in reading.proposed_requirements}
    for tool_number in sorted(t for t in reading.tool_uses if t is not None):
        text = reading.tool_uses[tool_number].description
        proposal = from_text.get(tool_number)
        wanted = RequirementFigures.of(known[tool_number]) if tool_number in known else None
        if wanted is None and proposal is not None:
            wanted = RequirementFigures(
                kind=proposal.kind or "",
                diameter_um=proposal.diameter_um,
                diameter_tolerance_um=50 if proposal.diameter_um else None,
                corner_radius_um=proposal.corner_radius_um,
            )
        row = ToolRequirement(
            revision=revision,
            tool_number=tool_number,
            text=(text or (proposal.text if proposal else ""))[:_FIELD_LIMIT],
        )
        if wanted is not None:
            wanted.write_to(row)
        row.save()


@dataclass(frozen=True, kw_only=True)
class RequirementFigures:
    """What one T number must be; an empty field is not stated. Lengths in [um]."""

    kind: str = ""
    diameter_um: int | None = None
    diameter_tolerance_um: int | None = None
    controller_diameter: bool = False
    corner_radius_um: int | None = None
    corner_tolerance_um: int | None = None
    hand: str = ""
    length_rule: str = "not_stated"
    gauge_length_um: int | None = None
    gauge_tolerance_um: int | None = None
    stickout_min_um: int | None = None
    stickout_max_um: int | None = None
    flute_min_um: int | None = None

    @classmethod
    def of(cls, row: ToolRequirement) -> RequirementFigures:
        return cls(**{field.name: getattr(row, field.name) for field in fields(cls)})

    def write_to(self, row: ToolRequirement) -> None:
        for field in fields(self):
            setattr(row, field.name, getattr(self, field.name))


def confirm_requirement(
    *,
    by: Person,
    submission: UUID,
    revision: ProgramRevision,
    tool_number: int,
    figures: RequirementFigures,
    preferred=None,
    alternatives=(),
) -> Done:
    """Say, and answer for, what one T number of one revision must be."""

    def work(act):
        row = ToolRequirement.objects.filter(revision=revision, tool_number=tool_number).first()
        row = row or ToolRequirement(revision=revision, tool_number=tool_number)
        figures.write_to(row)
        row.preferred = preferred
        row.confirmed_by, row.confirmed_at = by, timezone.now()
        _check_figures(row)
        row.save()
        row.alternatives.set(alternatives)
        act.about = f"program {revision.program.name}"
        act.details = {"revision": revision.label, "T": tool_number}
        return row.pk

    return do_once(
        submission=submission, kind="program.confirm", by=by, needs="program.confirm", work=work
    )


def _check_figures(row: ToolRequirement) -> None:
    if not row.kind or row.diameter_um is None:
        raise Refused(
            "requirement.kind_and_diameter",
            f"T{row.tool_number} needs kind and diameter before it can be confirmed.",
            "Without them nothing can be compared at the spindle.",
            field="diameter_um" if row.kind else "kind",
        )
    try:
        row.full_clean()
    except ValidationError as error:
        field, messages = next(iter(error.message_dict.items()))
        raise Refused(
            "requirement.not_valid", " ".join(messages), field="" if field == "__all__" else field
        ) from error


def set_approval(
    *,
    by: Person,
    submission: UUID,
    revision: ProgramRevision,
    machine: Machine,
    state: ApprovalState,
    reason: str = "",
) -> Done:
    """Approve a revision for a machine, or withdraw it.

    The revision approved last is the one that stands. Approving one whose tool numbers are
    not all confirmed needs a reason: the check at the spindle can then tell less.
    """

    def work(act):
        if state == ApprovalState.WITHDRAWN and not reason.strip():
            raise Refused("approval.reason", "Say why it is withdrawn.", field="reason")
        if state == ApprovalState.APPROVED and not reason.strip():
            _refuse_unconfirmed(revision)
        ProgramApproval.objects.create(
            revision=revision,
            machine=machine,
            state=state,
            reason=reason.strip()[:120],
            act=act,
            by=by,
        )
        act.about = f"program {revision.program.name}"
        act.details = {"revision": revision.label, "machine": machine.mark, "state": str(state)}
        return revision.pk

    return do_once(
        submission=submission, kind="program.approve", by=by, needs="program.approve", work=work
    )


def _refuse_unconfirmed(revision: ProgramRevision) -> None:
    called = set(revision.tool_uses.values_list("tool_number", flat=True))
    done = set(
        revision.requirements.filter(confirmed_at__isnull=False).values_list(
            "tool_number", flat=True
        )
    )
    left = sorted(called - done)
    if left:
        names = ", ".join(f"T{number}" for number in left)
        raise Refused(
            "approval.unconfirmed",
            f"{revision}: {names} not confirmed yet.",
            "Confirm what each tool number must be, or say why it is approved without.",
            field="reason",
        )


def standing_revision(rows: Iterable[ProgramApproval]) -> int | None:
    """Key of the revision that stands, from one machine's approvals in the order of time.

    The revision approved last stands until it is withdrawn. Withdrawing it brings no older one
    back: nobody said that the older one may run again.
    """
    standing = None
    for row in rows:
        if row.state == ApprovalState.APPROVED:
            standing = row.revision_id
        elif row.revision_id == standing:
            standing = None
    return standing


def approved_revision(program: Program, machine: Machine) -> ProgramRevision | None:
    """The revision of a program that stands approved on a machine."""
    rows = ProgramApproval.objects.filter(revision__program=program, machine=machine)
    standing = standing_revision(rows.order_by("at", "id"))
    if standing is None:
        return None
    return ProgramRevision.objects.defer("content", "notes").get(pk=standing)
