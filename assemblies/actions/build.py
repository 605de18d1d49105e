"""Assemblies from the first part on the bench to the release, and out of use again."""

from __future__ import annotations

from uuid import UUID

from django.db import IntegrityError, transaction
from django.utils import timezone

from assemblies.actions.approvals import machines_of
from assemblies.actions.measured_facts import measured_findings
from assemblies.actions.shop_limits import current_limits
from assemblies.actions.stack_facts import call_of, stack_of, wanted_of
from assemblies.actions.torque_facts import wrench_marked
from assemblies.actions.wrench_facts import wrench_findings
from assemblies.models import Assembly, AssemblyState, Build, ToolRequirement
from assemblies.rules.fit import stack_findings
from assemblies.rules.purpose import purpose_findings
from assemblies.rules.stack import ShopLimits, Stack, Stage
from crib.actions.once import Done, do_once
from crib.actions.pieces import change_stud
from crib.models import Act, Person, Place, PlaceKind, StudState
from crib.reference import tables
from crib.rules.finding import Finding, Level, stops
from crib.rules.refusal import Refused

#: What may not be left unknown in a build, and in a release, whatever reason is given.
CRITICAL_AT_BENCH = frozenset(
    {"collet", "bore", "sleeve", "chuck", "tap", "shank", "cutter", "holder"}
)
CRITICAL = CRITICAL_AT_BENCH | {"interface", "stud", "diameter"}
#: Unknown points of those subjects that a reason does answer.
ANSWERABLE = frozenset({"collet.hours_not_known"})

#: A nut without its torque, and a screw without the torque that is marked for it.
_TORQUE_LEFT_OUT = frozenset({"torque.not_known", "screw.not_known"})


def live_build(assembly: Assembly) -> Build:
    """The live build, locked for the rest of the transaction. Refuses a retired assembly.

    The state of `assembly` is read again: it may have been quarantined since the page was opened.
    """
    held = Assembly.objects.select_for_update(no_key=True).get(pk=assembly.pk)
    assembly.state, assembly.state_note = held.state, held.state_note
    build = Build.objects.select_for_update().filter(assembly=assembly, live=True).first()
    if build is None:
        raise Refused(
            "assembly.retired",
            f"Assembly {assembly.number} is retired.",
            "Start a new assembly.",
        )
    return build


def draft_of(assembly: Assembly) -> Build:
    """The live build, which has to be a draft. Refuses a made one."""
    build = live_build(assembly)
    if not build.is_draft:
        raise Refused(
            "build.made",
            f"{assembly.number} {build.revision_text} is made and does not change.",
            "Start a rebuild first.",
        )
    return build


def refuse_other_revision(code: str, build: Build, revision: int | None) -> None:
    """Refuse what was read off another revision than stands now; None: nobody said which."""
    if revision is not None and build.revision != revision:
        raise Refused(
            code,
            f"It is {build.revision_text} by now; the page was of r{revision}.",
            "Open the page again and look which parts are in it.",
        )


def start_assembly(*, by: Person, submission: UUID, name: str = "") -> Done:
    """Give out the next free number and open its first draft. Numbers are never used again."""

    def work(act):
        assembly = new_assembly(name.strip())
        Build.objects.create(assembly=assembly)
        act.about = f"assembly {assembly.number}"
        return assembly.number

    return do_once(
        submission=submission, kind="assembly.start", by=by, needs="assembly.build", work=work
    )


FIRST_NUMBER = 1001
_TRIES = 8


def new_assembly(name: str) -> Assembly:
    """The assembly with the next number, inside the act of a caller.

    Tries again when somebody else took the number just now.
    """
    for _ in range(_TRIES):
        last = Assembly.objects.order_by("-number").values_list("number", flat=True).first()
        try:
            with transaction.atomic():
                return make_assembly((last or FIRST_NUMBER - 1) + 1, name)
        except IntegrityError:
            continue
    raise Refused("assembly.number_taken", "Others are taking numbers right now.", "Try again.")


def make_assembly(number: int, name: str = "") -> Assembly:
    """The row of an assembly with its place in the ledger, inside the act of a caller."""
    code = f"Assembly {number}"
    contents = Place.objects.create(code=code, kind=PlaceKind.ASSEMBLY)
    return Assembly.objects.create(
        number=number, name=name, contents=contents, started_at=timezone.now()
    )


def set_figures(
    *,
    by: Person,
    submission: UUID,
    assembly: Assembly,
    stickout_um: int | None,
    grip_um: int | None,
    torque_mnm: int | None,
    wrench_mark: str = "",
    adapter_um: int | None = None,
) -> Done:
    """Keep what was set at the bench on the draft; anything may still be missing.

    A wrench whose mark is on record is tied to the build; any other mark is kept as words.
    """

    def work(act):
        build = draft_of(assembly)
        build.stickout_um, build.grip_um = stickout_um, grip_um
        build.torque_mnm, build.adapter_um = torque_mnm, adapter_um
        _take_wrench(build, wrench_mark)
        build.save()
        act.about = f"assembly {assembly.number}"
        return assembly.number

    return do_once(
        submission=submission, kind="build.figures", by=by, needs="assembly.build", work=work
    )


def _take_wrench(build: Build, mark: str) -> None:
    build.wrench = wrench_marked(mark)
    build.wrench_mark = build.wrench.mark if build.wrench else mark.strip()


def set_wrench(*, by: Person, submission: UUID, assembly: Assembly, mark: str) -> Done:
    """Say which wrench tightens the draft: scanned at the bench. It has to be on record."""

    def work(act):
        build = draft_of(assembly)
        _take_wrench(build, mark)
        if build.wrench is None:
            raise Refused("build.wrench_unknown", f"No wrench is marked “{mark[:20]}”.")
        build.save(update_fields=["wrench", "wrench_mark"])
        act.about = f"assembly {assembly.number}"
        act.details = {"wrench": build.wrench.mark}
        return assembly.number

    return do_once(
        submission=submission, kind="build.wrench", by=by, needs="assembly.build", work=work
    )


def set_purpose(
    *,
    by: Person,
    submission: UUID,
    assembly: Assembly,
    meant_for: ToolRequirement | None,
    coolant_wanted: bool | None = None,
) -> Done:
    """Say which tool number of which program the draft is built for, or that it is for any.

    `coolant_wanted`: whether coolant is to come through the tool; None, nobody said.
    """

    def work(act):
        build = draft_of(assembly)
        build.meant_for, build.coolant_wanted = meant_for, coolant_wanted
        build.save(update_fields=["meant_for", "coolant_wanted"])
        act.about = f"assembly {assembly.number}"
        return assembly.number

    return do_once(
        submission=submission, kind="build.purpose", by=by, needs="assembly.build", work=work
    )


def set_stud(
    *, by: Person, submission: UUID, assembly: Assembly, stud_state: StudState, stud_pattern: str
) -> Done:
    """Record the pull stud of the holder in a build that is not released yet."""

    def work(act):
        build = live_build(assembly)
        if build.released_at is not None:
            raise Refused(
                "build.released",
                f"{build} is released with the stud it has.",
                "Start a rebuild to change the stud.",
            )
        part = build.parts.select_related("piece__item").filter(role="holder").first()
        if part is None or part.piece is None:
            raise Refused("build.no_holder", "No holder is in this build yet.", "Add it first.")
        change_stud(act=act, piece=part.piece, stud_state=stud_state, stud_pattern=stud_pattern)
        act.about = f"assembly {assembly.number}"
        return assembly.number

    return do_once(
        submission=submission, kind="build.stud", by=by, needs="assembly.build", work=work
    )


def preview(build: Build, stage: Stage = Stage.BUILD) -> list[Finding]:
    """What the rules say of a build as it lies on the bench. Writes nothing.

    A build meant for one tool number of a program is also held against what that asks for, and
    against the machine that the program is approved on, when that is one.
    """
    return findings_of(build, meant_stack(build), current_limits(), stage)


def meant_stack(build: Build) -> Stack:
    """The stack of a build with the machine and the call of what it is meant for."""
    wanted = build.meant_for
    machines = machines_of(wanted.revision) if wanted else []
    return stack_of(
        build,
        machine=machines[0] if len(machines) == 1 else None,
        call=call_of(wanted) if wanted else None,
    )


def findings_of(
    build: Build, stack: Stack, limits: ShopLimits, stage: Stage = Stage.BUILD
) -> list[Finding]:
    """`preview` for a page that has the stack and the limits already."""
    found = stack_findings(stack, limits, stage, tables()) + wrench_findings(build)
    if stage == Stage.RELEASE:
        found += measured_findings(build, stack, limits)
    wanted = build.meant_for
    return found + (purpose_findings(stack.cutter, wanted_of(wanted)) if wanted else [])


def make_build(*, by: Person, submission: UUID, assembly: Assembly, reason: str = "") -> Done:
    """Turn the draft into the next revision. A stop refuses it; a doubt needs a reason."""

    def work(act):
        build = draft_of(assembly)
        _refuse_quarantined("build.quarantined", assembly)
        findings = preview(build, Stage.BUILD)
        _refuse_stops("build.stop", "This cannot be built", findings)
        _refuse_gaps("build.not_known", "Not built", findings, CRITICAL_AT_BENCH)
        findings += _left_out(build)
        _need_reason(findings, reason)
        made = assembly.builds.exclude(pk=build.pk).order_by("-revision").first()
        build.revision = (made.revision if made else 0) + 1
        build.built_at, build.built_by = timezone.now(), by
        build.findings = [finding.as_dict() for finding in findings]
        _keep_reason(build, findings, reason, by)
        build.save()
        _set_state(assembly, AssemblyState.BUILT)
        act.about = f"assembly {assembly.number}"
        act.details = {"revision": build.revision}
        return assembly.number

    return do_once(
        submission=submission, kind="build.make", by=by, needs="assembly.build", work=work
    )


def _refuse_quarantined(code: str, assembly: Assembly) -> None:
    if assembly.state == AssemblyState.QUARANTINED:
        raise Refused(
            code,
            f"Assembly {assembly.number} is quarantined: {assembly.state_note}",
            "Start a rebuild.",
        )


def doubtful(findings: list[Finding]) -> list[Finding]:
    """Checks and unknowns: what a person has to answer for with a reason."""
    return [f for f in findings if f.level in (Level.CHECK, Level.UNKNOWN)]


def _refuse_stops(code: str, what: str, findings: list[Finding]) -> None:
    found = stops(findings)
    if found:
        raise Refused(code, f"{what}: {found[0].text}", found[0].remedy, findings=found)


def _need_reason(findings: list[Finding], reason: str) -> None:
    open_points = doubtful(findings)
    if open_points and not reason.strip():
        count = len(open_points)
        points = "1 point needs" if count == 1 else f"{count} points need"
        raise Refused(
            "build.reason_needed",
            f"{points} a reason: {open_points[0].text}",
            "Put it right, or say why it is accepted.",
            field="reason",
            findings=open_points,
        )


def _keep_reason(build: Build, findings: list[Finding], reason: str, by: Person) -> None:
    if doubtful(findings):
        build.accepted_reason, build.accepted_by = reason.strip()[:200], by


def _set_state(assembly: Assembly, state: AssemblyState, note: str = "") -> None:
    assembly.state, assembly.state_note = state, note
    assembly.save(update_fields=["state", "state_note"])


def release_findings(build: Build) -> list[Finding]:
    """What the rules say of a made build before it may go to a machine. Writes nothing."""
    return preview(build, Stage.RELEASE)


def release(*, by: Person, submission: UUID, assembly: Assembly, reason: str = "") -> Done:
    """Declare a measured build fit for machines; from now on its label is valid."""

    def work(act):
        build = live_build(assembly)
        _require_releasable(assembly, build)
        findings = release_findings(build)
        _refuse_stops("release.stop", "Not released", findings)
        _refuse_gaps("release.not_known", "Not released", findings, CRITICAL)
        _need_reason(_new_points(build, findings), reason)
        build.release_findings = [finding.as_dict() for finding in findings]
        build.release_reason = reason.strip()[:200]
        build.released_at, build.released_by = timezone.now(), by
        build.save()
        _set_state(assembly, AssemblyState.RELEASED)
        act.about = f"assembly {assembly.number}"
        act.details = {"revision": build.revision}
        return assembly.number

    return do_once(
        submission=submission, kind="build.release", by=by, needs="assembly.release", work=work
    )


def _require_releasable(assembly: Assembly, build: Build) -> None:
    _refuse_quarantined("release.quarantined", assembly)
    if build.is_draft:
        raise Refused("release.draft", f"{build} is not built yet.", "Build it first.")
    if build.released_at is not None:
        raise Refused("release.done", f"{build} is released already.", "Print its label.")


def _refuse_gaps(code: str, what: str, findings: list[Finding], subjects: frozenset) -> None:
    """Refuse what no reason answers; the remedy says what to record."""
    gaps = [
        f
        for f in findings
        if f.level == Level.UNKNOWN
        and f.code.split(".")[0] in subjects
        and f.code not in ANSWERABLE
    ]
    if gaps:
        remedy = gaps[0].remedy or "Look and record it."
        text = f"{what}: {gaps[0].text}"
        raise Refused(code, text, f"No reason answers this. {remedy}", findings=gaps)


def _left_out(build: Build) -> list[Finding]:
    """Figures of the bench that are not there. Lengths have to be; a torque needs a reason."""
    stack = stack_of(build)
    in_collet = stack.holder is not None and stack.holder.takes_a_collet
    missing = [("stickout_um", "stick-out")] if build.stickout_um is None else []
    if in_collet and build.grip_um is None:
        missing.append(("grip_um", "grip length"))
    if missing:
        names = " and ".join(name for _, name in missing)
        raise Refused(
            "build.figures_missing",
            f"Not built: {names} not entered.",
            "Read them at the bench and enter them.",
            field=missing[0][0],
        )
    wanted = preview(build, Stage.RELEASE) if build.torque_mnm is None else []
    return [finding for finding in wanted if finding.code in _TORQUE_LEFT_OUT]


def _new_points(build: Build, findings: list[Finding]) -> list[Finding]:
    """Doubtful points that nobody has given a reason for when the build was made."""
    answered = {(f["code"], f["level"]) for f in build.findings} if build.accepted_reason else set()
    return [f for f in findings if (f.code, str(f.level)) not in answered]


def quarantine(*, by: Person, submission: UUID, assembly: Assembly, note: str) -> Done:
    """Take an assembly out of use at once. Its label is void until it is rebuilt."""

    def work(act):
        quarantine_in_act(act=act, assembly=assembly, note=note)
        return assembly.number

    return do_once(
        submission=submission,
        kind="assembly.quarantine",
        by=by,
        needs="assembly.quarantine",
        work=work,
    )


def quarantine_in_act(*, act: Act, assembly: Assembly, note: str) -> None:
    """Quarantine inside the act of a caller."""
    if not note.strip():
        raise Refused("quarantine.reason", "Say why in a few words.", field="note")
    live_build(assembly)
    _set_state(assembly, AssemblyState.QUARANTINED, note.strip()[:200])
    act.about = f"assembly {assembly.number}"
    act.details = {"note": note.strip()[:200]}


def start_rebuild(*, by: Person, submission: UUID, assembly: Assembly, reason: str) -> Done:
    """End the live revision, which voids its label, and open a draft with the same parts."""

    def work(act):
        build = live_build(assembly)
        # A quarantined draft is on the bench too; only a new one leaves the quarantine behind.
        if build.is_draft and assembly.state != AssemblyState.QUARANTINED:
            raise Refused("rebuild.draft", f"{assembly.number} is on the bench already.")
        if not reason.strip():
            raise Refused("rebuild.reason", "Say why in a few words.", field="reason")
        _open_successor(build, reason.strip())
        _set_state(assembly, AssemblyState.DRAFT)
        act.about = f"assembly {assembly.number}"
        act.details = {"ended": build.revision, "reason": reason.strip()}
        return assembly.number

    return do_once(
        submission=submission, kind="build.rebuild", by=by, needs="assembly.build", work=work
    )


def _open_successor(build: Build, reason: str) -> Build:
    """End `build` and open a draft with the same parts and purpose; figures start empty."""
    parts = list(build.parts.all())
    end_build(build, reason)
    draft = Build.objects.create(
        assembly=build.assembly,
        meant_for_id=build.meant_for_id,
        coolant_wanted=build.coolant_wanted,
    )
    for part in parts:
        draft.parts.create(
            role=part.role, item_id=part.item_id, piece_id=part.piece_id, quantity=part.quantity
        )
    return draft


def end_build(build: Build, reason: str) -> None:
    """Close a build for good. Its parts follow by a trigger of the database."""
    build.live, build.ended_at, build.end_reason = False, timezone.now(), reason[:200]
    build.save()
