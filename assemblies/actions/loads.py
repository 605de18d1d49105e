"""Where assemblies are: put into a machine, taken out, borrowed, put back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import Q, QuerySet
from django.utils import timezone

from assemblies.actions.build import live_build, quarantine_in_act
from assemblies.models import (
    Assembly,
    AssemblyState,
    Decision,
    Edge,
    Load,
    Machine,
    NumberNames,
    Sighting,
    SpindleCheck,
    ToolChange,
)
from crib.actions.once import Done, do_once
from crib.models import Act, Person, Place
from crib.rules.refusal import Refused


@dataclass(frozen=True)
class PocketLine:
    """One pocket of a changer, and what was said to be in it; None: nothing."""

    pocket: int
    load: Load | None


def put_in(*, act: Act, spindle_check: SpindleCheck, pocket: int | None) -> Load:
    """Open the load that follows from a decision, inside the act and transaction of the caller.

    The assembly leaves the place where it was said to be; in a spindle the next tool takes the
    place of the last one. A pocket or a T number that another assembly holds is refused.
    """
    row = spindle_check
    if row.decision != Decision.LOADED:
        raise ValueError("Only a tool that was loaded is put in.")
    if row.build_id is None:
        raise Refused("load.no_build", f"{row.assembly} has no revision.", "Build it first.")
    # One load at a time on a machine; not the key, which the row of the decision holds already.
    machine = Machine.objects.select_for_update(no_key=True).get(pk=row.machine_id)
    pocket = place_for(machine, row.tool_number, pocket)
    _check_pocket(machine, row.tool_number, pocket)
    for load in list(_open_loads(machine, row.assembly_id)):
        _make_room(act, row, load, machine, pocket)
    return _open(row, pocket)


def _open(row: SpindleCheck, pocket: int | None) -> Load:
    try:
        with transaction.atomic():
            return Load.objects.create(
                machine_id=row.machine_id,
                pocket=pocket,
                tool_number=row.tool_number,
                assembly_id=row.assembly_id,
                build_id=row.build_id,
                spindle_check=row,
            )
    except IntegrityError as error:
        raise Refused(
            "load.taken_meanwhile", "Somebody else loaded here meanwhile.", "Look, then scan again."
        ) from error


def place_for(machine: Machine, tool_number: int | None, pocket: int | None) -> int | None:
    """The pocket a tool goes to; None is the spindle. Where T names the pocket, T is the answer."""
    if pocket is None and names_pockets(machine) and 1 <= (tool_number or 0) <= machine.pockets:
        return tool_number
    return pocket


def has_changer(machine: Machine) -> bool:
    return machine.tool_change != ToolChange.HAND


def names_pockets(machine: Machine) -> bool:
    """Whether a T number is the number of a pocket on this machine."""
    return has_changer(machine) and machine.number_names == NumberNames.SLOT


def _check_pocket(machine: Machine, tool_number: int | None, pocket: int | None) -> None:
    if pocket is None:
        return
    if not has_changer(machine):
        raise Refused(
            "load.no_pockets",
            f"{machine.name} has no pockets.",
            "Load into the spindle.",
            field="pocket",
        )
    if not 1 <= pocket <= machine.pockets:
        raise Refused(
            "load.pocket_unknown",
            f"{machine.name} has no pocket {pocket}: it has {machine.pockets}.",
            "Look at the pocket's number again.",
            field="pocket",
        )
    if names_pockets(machine) and tool_number is not None and tool_number != pocket:
        raise Refused(
            "load.pocket_is_number",
            f"T{tool_number} is pocket {tool_number} on {machine.name}, not pocket {pocket}.",
            f"Put it in pocket {tool_number}.",
            field="pocket",
        )


def _open_loads(machine: Machine, assembly_id: int):
    """What is in the machine, and where the assembly is. Locked in one order for everybody."""
    return (
        Load.objects.select_for_update(of=("self",), no_key=True)
        .filter(Q(machine=machine) | Q(assembly=assembly_id), out_at=None)
        .select_related("assembly")
        .order_by("pk")
    )


def _make_room(
    act: Act, row: SpindleCheck, load: Load, machine: Machine, pocket: int | None
) -> None:
    """Close `load` when the new one follows it; refuse when it stands in the way."""
    here = load.machine_id == machine.pk
    if load.assembly_id == row.assembly_id:
        again = here and load.pocket == pocket and load.tool_number == row.tool_number
        _close(act, load, note="checked again" if again else "moved")
    elif pocket is None and load.pocket is None:
        _close(act, load, note="the next tool took its place")
    elif load.pocket == pocket:
        raise Refused(
            "load.pocket_taken",
            f"Pocket {pocket} still holds {load.assembly}.",
            "Take it out first.",
            field="pocket",
        )
    elif row.tool_number is not None and load.tool_number == row.tool_number:
        raise Refused(
            "load.number_taken",
            f"T{row.tool_number} is still {load.assembly} in {named_place(load.pocket)}.",
            "Take it out first.",
        )


def named_place(pocket: int | None) -> str:
    return "the spindle" if pocket is None else f"pocket {pocket}"


def _close(act: Act, load: Load, *, out_as: str = "", note: str = "") -> None:
    load.out_at, load.out_by_id = timezone.now(), act.by_id
    load.out_as, load.out_note = out_as, note[:120]
    load.save(update_fields=["out_at", "out_by", "out_as", "out_note"])


def take_out(*, by: Person, submission: UUID, load: Load, out_as: str, note: str = "") -> Done:
    """Say that a tool came out, and how it was. A broken one is quarantined at once."""

    def work(act):
        if out_as not in Edge.values:
            raise Refused("load.edge", "Say how it came out: good, worn or broken.", field="out_as")
        assembly = Assembly.objects.select_for_update().get(pk=load.assembly_id)
        held = Load.objects.select_for_update(no_key=True).get(pk=load.pk)
        if held.out_at is not None:
            raise Refused(
                "load.out_already",
                f"{assembly} came out of {named_place(held.pocket)} already.",
                "Look where it is now.",
            )
        _close(act, held, out_as=out_as, note=note.strip())
        if out_as == Edge.BROKEN:
            _quarantine_broken(act, assembly, held)
        act.about = f"assembly {assembly.number}"
        act.details = {"out": out_as, "note": note.strip()[:120]}
        return held.pk

    done = do_once(
        submission=submission, kind="load.take_out", by=by, needs="check.decide", work=work
    )
    if done.repeated:
        _refuse_other_answer(done, load, out_as)
    return done


def _refuse_other_answer(done: Done, load: Load, out_as: str) -> None:
    """The same form with another answer was not done: whoever sent it must hear so."""
    said = Load.objects.select_related("assembly").get(pk=int(done.result))
    if (said.pk, said.out_as) != (load.pk, out_as):
        how = said.get_out_as_display().lower()
        raise Refused(
            "load.answered",
            f"This form was answered already: {said.assembly} came out {how}.",
            "Look where it is now.",
        )


def _quarantine_broken(act: Act, assembly: Assembly, load: Load) -> None:
    if assembly.state in (AssemblyState.RETIRED, AssemblyState.QUARANTINED):
        return
    note = f"Came out of {load.machine.name} broken"
    quarantine_in_act(act=act, assembly=assembly, note=note)


def borrow(
    *,
    by: Person,
    submission: UUID,
    assembly: Assembly,
    machine: Machine | None = None,
    place: Place | None = None,
    note: str = "",
) -> Done:
    """Say "I take it": from now on the last known place is with this person."""

    def work(act):
        _refuse_in_machine(assembly)
        _sight(act, assembly, Sighting.Kind.BORROWED, machine=machine, place=place, note=note)
        return assembly.number

    done = do_once(
        submission=submission, kind="assembly.borrow", by=by, needs="stock.issue", work=work
    )
    _refuse_other_assembly(done, assembly)
    return done


def _refuse_other_assembly(done: Done, assembly: Assembly) -> None:
    """A form that was answered for one assembly says nothing of another one."""
    if done.result != str(assembly.number):
        raise Refused(
            "load.answered", f"This form was answered already, for {done.result}.", "Open it anew."
        )


def put_back(*, by: Person, submission: UUID, assembly: Assembly, place: Place) -> Done:
    """Say in which rack or drawer a borrowed or taken out assembly stands again."""

    def work(act):
        _refuse_in_machine(assembly)
        if not place.is_usable:
            raise Refused("place.not_a_rack", f"{place.shown} is not a rack.", field="place")
        Place.objects.filter(pk=assembly.contents_id).update(parent=place)
        _sight(act, assembly, Sighting.Kind.RETURNED, place=place)
        act.details = {"place": place.code}
        return assembly.number

    done = do_once(
        submission=submission, kind="assembly.put_down", by=by, needs="stock.issue", work=work
    )
    _refuse_other_assembly(done, assembly)
    return done


def _refuse_in_machine(assembly: Assembly) -> None:
    """A tool that is said to be in a machine comes out first, so that somebody says how it was."""
    live_build(assembly)
    load = open_load_of(assembly)
    if load is not None:
        raise Refused(
            "load.still_in",
            f"{assembly} is in {named_place(load.pocket)} of {load.machine.name}.",
            "Take it out first: good, worn or broken.",
        )


def _sight(act: Act, assembly: Assembly, kind: str, *, note: str = "", **where) -> None:
    Sighting.objects.create(
        assembly=assembly, kind=kind, note=note.strip()[:120], act=act, by_id=act.by_id, **where
    )
    act.about = f"assembly {assembly.number}"
    act.details = {"note": note.strip()[:120]}


# ---- reading
def loads_in(machine: Machine) -> QuerySet[Load]:
    """What was said to be in a machine and not to have come out, with what its lines name."""
    return (
        machine.loads.filter(out_at=None)
        .select_related("machine", "assembly", "build", "spindle_check__revision__program")
        .select_related("spindle_check__by")
        .defer(
            "spindle_check__findings",
            "spindle_check__revision__content",
            "build__findings",
            "build__release_findings",
        )
        .order_by("pocket")
    )


def lines_of(machine: Machine, loads) -> list[PocketLine]:
    """Every pocket in order with what of `loads` is in it, the empty ones too.

    The spindle is no pocket; a load beyond the last pocket is not hidden, nor one that was left in
    a pocket of a machine that has none any more.
    """
    held = {load.pocket: load for load in loads if load.pocket is not None}
    there = range(1, machine.pockets + 1) if has_changer(machine) else ()
    pockets = sorted({*there, *held})
    return [PocketLine(pocket, held.get(pocket)) for pocket in pockets]


def free_pockets(machine: Machine) -> list[int]:
    """Numbers of the pockets that nothing was said to be in, in order."""
    if not has_changer(machine):
        return []
    held = machine.loads.filter(out_at=None, pocket__isnull=False)
    taken = set(held.values_list("pocket", flat=True))
    return [pocket for pocket in range(1, machine.pockets + 1) if pocket not in taken]


def is_still_in(check_pk: int) -> bool:
    """Whether what was loaded with that decision has not come out since."""
    return Load.objects.filter(spindle_check=check_pk, out_at=None).exists()


def open_load_of(assembly: Assembly) -> Load | None:
    """Where an assembly is said to be, when that is a machine."""
    return assembly.loads.filter(out_at=None).select_related("machine").first()


def ago(then: datetime, now: datetime) -> str:
    """How long ago, in the largest unit that is not a fraction."""
    minutes = int((now - then).total_seconds() // 60)
    if minutes < 60:
        return f"{minutes} min ago"
    if minutes < 48 * 60:
        return f"{minutes // 60} h ago"
    return f"{minutes // (24 * 60)} days ago"
