"""Programs: handing a file in, and what is kept of its reading."""

from __future__ import annotations

import hashlib
from uuid import UUID

from django.core.exceptions import ValidationError

from assemblies.actions.approvals import read_anew
from assemblies.actions.proposals import propose
from assemblies.actions.readings import (
    Ways,
    held,
    read_each_way,
    read_in_ways,
    read_stale,
    store_readings,
    ways_of_the_shop,
)
from assemblies.models import Program, ProgramRevision
from assemblies.rules.nc.reading import READER_VERSION, ProgramReading
from crib.actions.once import Done, do_once, require
from crib.models import Act, Person
from crib.rules.keys import key_of
from crib.rules.refusal import Refused

_LABEL_LIMIT = 12


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
    ways = ways_of_the_shop()
    made = read_in_ways(data, ways)
    before = _newest(name)
    made_of_before = _read_today(before, ways) if before else {}

    def work(act):
        program = _program(name, title)
        _refuse_used(program, label, data)
        revision = _store(act, program, label, data, file_name)
        store_readings(revision, made)
        if before is not None:
            # Held while its answers are copied: nobody puts one right behind the copy's back.
            read_anew(act, held(before), made_of_before)
        propose(revision, made)
        act.about = f"program {program.name}"
        act.details = {"revision": revision.label, "sha256": revision.sha256}
        return revision.pk

    return do_once(submission=submission, kind="program.add", by=by, needs="program.add", work=work)


def _newest(name: str) -> ProgramRevision | None:
    """The revision that the next one follows."""
    rows = ProgramRevision.objects.filter(program__name_key=key_of(name)).defer("content")
    return rows.order_by("-added_at", "-id").first()


def _read_today(before: ProgramRevision, ways: Ways) -> dict[str, ProgramReading]:
    """The revision before, read as the new one is: else nothing could be told to be as it was."""
    try:
        return read_stale(before, ways)
    except Refused:
        # What today's reader does not take is not comparable; that holds up no new file.
        return {}


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


def _store(act: Act, program: Program, label: str, data: bytes, file_name: str) -> ProgramRevision:
    return ProgramRevision.objects.create(
        program=program,
        label=label.strip(),
        file_name=file_name[-120:],
        content=data,
        sha256=hashlib.sha256(data).hexdigest(),
        size_bytes=len(data),
        added_by_id=act.by_id,
    )


def read_again(*, by: Person, submission: UUID, revision: ProgramRevision) -> Done:
    """Read the kept file with today's reader; what an older one made of it is replaced.

    Every way in which a machine reads it is read. What the tool numbers must be stays as it was
    stated; numbers not seen before are proposed. Where a machine reads something else than before,
    its approval is withdrawn.
    """
    require(by, "program.add")
    made = read_each_way(revision)

    def work(act):
        ours = held(revision)
        read_anew(act, ours, made)
        propose(ours, made)
        act.about = f"program {ours.program.name}"
        act.details = {"revision": ours.label, "reader": READER_VERSION}
        return ours.pk

    return do_once(
        submission=submission, kind="program.read_again", by=by, needs="program.add", work=work
    )
