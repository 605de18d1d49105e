"""Which revision of a program may run on which machine, and who said so."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from uuid import UUID

from django.db.models import prefetch_related_objects

from assemblies.actions.carried import ask_again, carried_otherwise, read_origins
from assemblies.actions.comparing import says_the_same
from assemblies.actions.readings import (
    held,
    is_current,
    read_missing,
    reading_of,
    store_readings,
)
from assemblies.models import (
    ApprovalState,
    Machine,
    Program,
    ProgramApproval,
    ProgramRevision,
    Reading,
    ToolRequirement,
)
from assemblies.rules.nc.reading import ProgramReading
from crib.actions.once import Done, do_once, require
from crib.models import Act, Person
from crib.rules.refusal import Refused


def set_approval(
    *,
    by: Person,
    submission: UUID,
    revision: ProgramRevision,
    machine: Machine,
    state: ApprovalState,
    reason: str = "",
    seen: str = "",
) -> Done:
    """Approve a revision for a machine, or withdraw it.

    The revision approved last is the one that stands. Approving one whose tool numbers are
    not all confirmed needs a reason: the check at the spindle can then tell less. A file that was
    not yet read the way this machine reads is read now. `seen` is what `stated_mark` gave when the
    page was shown: an approval covers what its giver saw, so later statements refuse it.
    """
    require(by, "program.approve")
    # Before the records are held: a long file takes a while, and nobody else could write.
    approving = state == ApprovalState.APPROVED
    made = read_missing(revision, machine) if approving else {}
    made_of_origins = read_origins(revision, machine) if approving else {}

    def work(act):
        # The older ones first: everybody holds revisions in this order.
        for pk, made_of_one in made_of_origins.items():
            read_anew(act, held(ProgramRevision(pk=pk)), made_of_one)
        ours = held(revision)
        if state == ApprovalState.WITHDRAWN and not reason.strip():
            raise Refused("approval.reason", "Say why it is withdrawn.", field="reason")
        act.about = f"program {ours.program.name}"
        act.details = {"revision": ours.label, "machine": machine.mark, "state": str(state)}
        if approving:
            read_anew(act, ours, made)
            _refuse_what_changed(ours, machine, seen)
            if not reason.strip():
                _refuse_unconfirmed(ours, machine)
            _ask_carried_again(act, ours, machine, reason)
        _record(act, ours, machine.pk, state, reason)
        return ours.pk

    return do_once(
        submission=submission, kind="program.approve", by=by, needs="program.approve", work=work
    )


def stated_mark(revision: ProgramRevision, rows: Iterable[ToolRequirement] | None = None) -> str:
    """A short mark of all that is stated for a revision; it differs as soon as a figure does.

    `rows` are its requirements with their alternatives, where the caller has them already.
    """
    if rows is None:
        rows = revision.requirements.prefetch_related("alternatives")
    said = [revision.top_of_stock_um, *map(_row_said, rows)]
    return hashlib.sha256(repr(said).encode()).hexdigest()[:16]


def _row_said(row: ToolRequirement) -> tuple:
    others = sorted(assembly.pk for assembly in row.alternatives.all())
    return (*(getattr(row, field.attname) for field in row._meta.concrete_fields), others)


def _refuse_what_changed(revision: ProgramRevision, machine: Machine, seen: str) -> None:
    if seen and seen != stated_mark(revision):
        raise Refused(
            "approval.stated_anew",
            f"What {revision} states changed since this page was opened.",
            "Look at the tool numbers again, then approve.",
        )
    today = Machine.objects.get(pk=machine.pk)
    if not is_current(reading_of(revision, today)):
        raise Refused(
            "approval.settings_changed",
            f"How {today} reads programs was changed just now.",
            "Record it again: the file is then read that way.",
        )


def _record(
    act: Act, revision: ProgramRevision, machine_id: int, state: ApprovalState, reason: str
) -> None:
    ProgramApproval.objects.create(
        revision=revision,
        machine_id=machine_id,
        state=state,
        reason=reason.strip()[:120],
        act=act,
        by_id=act.by_id,
    )


#: `T0 M6` empties the spindle: there is nothing that it must be.
EMPTY_SPINDLE = 0


def _refuse_unconfirmed(revision: ProgramRevision, machine: Machine) -> None:
    uses = reading_of(revision, machine).tool_uses
    called = set(uses.values_list("tool_number", flat=True)) - {EMPTY_SPINDLE}
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


def _ask_carried_again(act: Act, revision: ProgramRevision, machine: Machine, reason: str) -> None:
    """Answers carried on that do not hold for what this machine reads; refuses without a reason."""
    doubtful = carried_otherwise(revision, machine)
    if not doubtful:
        return
    names = [f"T{number}" for number in doubtful]
    if not reason.strip():
        raise Refused(
            "approval.carried",
            f"{machine} reads {', '.join(names)} otherwise than when confirmed.",
            "Confirm it for this revision, or say why it is approved without.",
            field="reason",
        )
    for number, why in doubtful.items():
        ask_again(revision, number, f"as {machine} reads it: {why}")
    act.details["asked_again"] = names


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


def machines_of(revision: ProgramRevision) -> list[Machine]:
    """The machines on which this very revision stands approved."""
    rows: dict[int, list[ProgramApproval]] = {}
    found = ProgramApproval.objects.filter(revision__program_id=revision.program_id)
    for row in found.select_related("machine").order_by("at", "id"):
        rows.setdefault(row.machine_id, []).append(row)
    return [given[0].machine for given in rows.values() if standing_revision(given) == revision.pk]


def approved_revision(program: Program, machine: Machine) -> ProgramRevision | None:
    """The revision of a program that stands approved on a machine."""
    rows = ProgramApproval.objects.filter(revision__program=program, machine=machine)
    standing = standing_revision(rows.order_by("at", "id"))
    if standing is None:
        return None
    return ProgramRevision.objects.defer("content").get(pk=standing)


def standing_on(machine: Machine) -> list[int]:
    """Keys of the revisions that stand approved on a machine, one for each program at most."""
    by_program: dict[int, list[ProgramApproval]] = {}
    rows = ProgramApproval.objects.filter(machine=machine).select_related("revision")
    for row in rows.defer("revision__content").order_by("at", "id"):
        by_program.setdefault(row.revision.program_id, []).append(row)
    standing = (standing_revision(given) for given in by_program.values())
    return sorted(pk for pk in standing if pk is not None)


def read_anew(act: Act, revision: ProgramRevision, made: dict[str, ProgramReading]) -> None:
    """Keep new readings of a held revision, in place of older ones in the same ways.

    An approval covers the program as its machine read it when it was given.
    """
    if not made:
        return
    machines = [one for one in machines_of(revision) if one.reader_settings().key in made]
    before = {one.pk: whole_reading_of(revision, one) for one in machines}
    store_readings(revision, made)
    for machine in machines:
        withdraw_where_read_otherwise(act, revision, machine, before[machine.pk])


def whole_reading_of(revision: ProgramRevision, machine: Machine) -> Reading | None:
    """The file as read for `machine` with its tools, which stay known when it is read anew."""
    reading = reading_of(revision, machine)
    if reading is not None:
        prefetch_related_objects([reading], "tool_uses", "tool_calls")
    return reading


def withdraw_where_read_otherwise(
    act: Act, revision: ProgramRevision, machine: Machine, before: Reading | None
) -> bool:
    """Withdraw an approval given on another reading than today's; whether that was so."""
    if says_the_same(before, reading_of(revision, machine)):
        return False
    reason = f"{machine} reads it in another way than when it was approved"
    _record(act, revision, machine.pk, ApprovalState.WITHDRAWN, reason)
    return True


def withdraw_everywhere(act: Act, revision: ProgramRevision, reason: str) -> None:
    """Every machine on which the revision stands loses it until somebody approves anew."""
    rows: dict[int, list[ProgramApproval]] = {}
    found = ProgramApproval.objects.filter(revision__program_id=revision.program_id)
    for row in found.order_by("at", "id"):
        rows.setdefault(row.machine_id, []).append(row)
    for machine_id, given in rows.items():
        if standing_revision(given) == revision.pk:
            _record(act, revision, machine_id, ApprovalState.WITHDRAWN, reason)
