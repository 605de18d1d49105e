"""Which revision of a program may run on which machine, and who said so."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID

from assemblies.actions.readings import reading_of, store_missing
from assemblies.models import (
    ApprovalState,
    Machine,
    Program,
    ProgramApproval,
    ProgramRevision,
)
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
) -> Done:
    """Approve a revision for a machine, or withdraw it.

    The revision approved last is the one that stands. Approving one whose tool numbers are
    not all confirmed needs a reason: the check at the spindle can then tell less. A file that was
    not yet read the way this machine reads is read now.
    """
    require(by, "program.approve")
    store_missing(revision, machine)

    def work(act):
        if state == ApprovalState.WITHDRAWN and not reason.strip():
            raise Refused("approval.reason", "Say why it is withdrawn.", field="reason")
        if state == ApprovalState.APPROVED and not reason.strip():
            _refuse_unconfirmed(revision, machine)
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


def withdraw_everywhere(act: Act, revision: ProgramRevision, reason: str) -> None:
    """Every machine on which the revision stands loses it until somebody approves anew."""
    rows: dict[int, list[ProgramApproval]] = {}
    found = ProgramApproval.objects.filter(revision__program_id=revision.program_id)
    for row in found.order_by("at", "id"):
        rows.setdefault(row.machine_id, []).append(row)
    for machine_id, given in rows.items():
        if standing_revision(given) == revision.pk:
            ProgramApproval.objects.create(
                revision=revision,
                machine_id=machine_id,
                state=ApprovalState.WITHDRAWN,
                reason=reason[:120],
                act=act,
                by_id=act.by_id,
            )
