"""The mark on the metal is not the one on record: two labels are swapped, and both tools wait."""

from __future__ import annotations

from assemblies.actions.build import quarantine_in_act
from assemblies.actions.holder_marks import assembly_with_holder
from assemblies.models import Assembly, AssemblyState
from crib.models import Act
from crib.rules.refusal import Refused

_OUT_OF_USE = (AssemblyState.RETIRED, AssemblyState.QUARANTINED)


def other_assembly(assembly: Assembly, mark_there: str) -> Assembly | None:
    """The assembly that the mark on the metal belongs to; None when no mark was keyed, or nobody
    has it. Raises Refused when it is the very mark on record.
    """
    other = assembly_with_holder(mark_there) if mark_there.strip() else None
    if other is not None and other.pk == assembly.pk:
        raise Refused(
            "check.mark_same",
            f"{mark_there.strip()} is the mark on record for {assembly.number}.",
            "Read the holder again. It does not differ.",
            field="mark_there",
        )
    return other


def quarantine_both(act: Act, assembly: Assembly, other: Assembly | None, mark_there: str) -> None:
    """Take the scanned assembly out of use, and the one its holder belongs to."""
    said = mark_there.strip()
    reads = f" It reads {said}" if said else ""
    whose = f", the holder of {other.number}" if other else ""
    _quarantine(act, assembly, f"Mark on the holder differs.{reads}{whose}")
    if other is not None:
        _quarantine(act, other, f"The label of {assembly.number} was on holder {said}")
    held = [row for row in (assembly, other) if row is not None]
    out = [row.number for row in held if row.state == AssemblyState.QUARANTINED]
    act.about = f"assembly {assembly.number}"
    act.details = {
        "mark_there": said,
        "other": other.number if other else None,
        "quarantined": out,
    }


def _quarantine(act: Act, assembly: Assembly, note: str) -> None:
    if assembly.state not in _OUT_OF_USE:
        quarantine_in_act(act=act, assembly=assembly, note=note)
