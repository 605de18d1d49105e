"""A whole assembly taken apart in one act: each part to where it belongs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from uuid import UUID

from assemblies.actions.build import end_build, live_build
from assemblies.actions.part_returns import FIT, send_back
from assemblies.models import Assembly, AssemblyState, Build, BuildPart
from crib.actions.once import Done, do_once
from crib.actions.stock import hold
from crib.models import Act, Person
from crib.rules.refusal import Refused


@dataclass(frozen=True)
class Fate:
    """Where one part goes, and what is wrong with it where it does not go back to its drawer."""

    goes_to: str = FIT
    note: str = ""


def dismantle(
    *,
    by: Person,
    submission: UUID,
    assembly: Assembly,
    fates: Mapping[str, Fate],
    reason: str,
    retires: bool = False,
    seen: str = "",
) -> Done:
    """Take an assembly apart: `fates` by role; what it leaves out goes back to its drawer.

    The number stays with an empty draft, or is retired. Refuses other parts than were `seen`
    (as `parts_seen` names them): what is said of a broken cutter is not said of its successor.
    """

    def work(act):
        if not reason.strip():
            raise Refused("dismantle.reason", "Say why in a few words.", field="reason")
        _refuse_other_parts(assembly, seen)
        take_apart(act=act, assembly=assembly, fates=fates, reason=reason, retires=retires)
        act.details |= {"to": {role: fate.goes_to for role, fate in fates.items()}}
        return assembly.number

    return do_once(
        submission=submission, kind="build.dismantle", by=by, needs="assembly.build", work=work
    )


def parts_seen(parts: Iterable[BuildPart]) -> str:
    """The very parts of a page, in one line, to be held against those that are there later."""
    named = sorted(f"{part.role} {part.item_id} {part.piece_id or 'loose'}" for part in parts)
    return ", ".join(named) or "no parts"


def _refuse_other_parts(assembly: Assembly, seen: str) -> None:
    if seen and seen != parts_seen(live_build(assembly).parts.all()):
        raise Refused(
            "dismantle.parts_differ",
            f"The parts of {assembly.number} are others than on this page.",
            "Open the page again: somebody changed them.",
        )


def take_apart(
    *, act: Act, assembly: Assembly, fates: Mapping[str, Fate], reason: str, retires: bool
) -> None:
    """Empty an assembly inside the act of a caller. Its list of parts is kept as history."""
    build = live_build(assembly)
    _send_parts_back(act, assembly, build, fates)
    end_build(build, reason.strip())
    act.about = f"assembly {assembly.number}"
    act.details = {"reason": reason.strip()[:200], "ended": build.revision}
    if retires:
        _set(assembly, AssemblyState.RETIRED, reason.strip()[:200])
        return
    Build.objects.create(
        assembly=assembly,
        meant_for_id=build.meant_for_id,
        coolant_wanted=build.coolant_wanted,
    )
    _set(assembly, AssemblyState.DRAFT, "")


def _send_parts_back(act: Act, assembly: Assembly, build: Build, fates: Mapping[str, Fate]) -> None:
    parts = list(build.parts.select_related("item__home_place", "piece"))
    gone = sorted(set(fates) - {part.role for part in parts})
    if gone:
        raise Refused(
            "dismantle.parts_differ",
            f"There is no {gone[0].replace('_', ' ')} in {assembly.number} any more.",
            "Open the page again: its parts were changed.",
        )
    hold(part.item for part in parts)
    for part in parts:
        fate = fates.get(part.role, Fate())
        _send_one_back(act, assembly, part, fate)


def _send_one_back(act: Act, assembly: Assembly, part, fate: Fate) -> None:
    """A refusal names the field of this very part on the page."""
    try:
        send_back(act=act, assembly=assembly, part=part, goes_to=fate.goes_to, note=fate.note)
    except Refused as refused:
        if refused.field in ("goes_to", "note"):
            refused.field = f"{refused.field}_{part.role}"
        raise


def _set(assembly: Assembly, state: AssemblyState, note: str) -> None:
    assembly.state, assembly.state_note = state, note
    assembly.save(update_fields=["state", "state_note"])
