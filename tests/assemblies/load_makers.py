"""Loads to test with: a decision written as the spindle writes it, and the load that follows."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import uuid4

from django.db import transaction

from assemblies.actions import loads
from assemblies.models import (
    Assembly,
    Decision,
    Load,
    Machine,
    Measurement,
    ProgramRevision,
    SpindleCheck,
)
from crib.models import Act, Person
from tests import assembly_makers as made


def changer(pockets: int = 12, **fields) -> Machine:
    """A machine with a carousel whose T number names the tool."""
    given = {
        "tool_change": "carousel",
        "pockets": pockets,
        "number_names": "tool",
        "length_max_um": 200_000,
        "diameter_max_um": 100_000,
        "mass_max_g": 5_000,
    }
    return made.machine(**given | fields)


def slots(pockets: int = 12, **fields) -> Machine:
    """A machine with a carousel whose T number names the pocket."""
    return changer(pockets, number_names="slot", **fields)


def decided(
    assembly: Assembly,
    machine: Machine,
    tool_number: int | None = made.TOOL,
    *,
    by: Person | None = None,
    **fields,
) -> SpindleCheck:
    """The row of a decision to load, without the load."""
    person = by or made.operator()
    act = Act.objects.create(kind="check.decide", by=person, about=f"assembly {assembly.number}")
    given = {
        "found_by": "label",
        "verdict": "match",
        "fully_known": True,
        "decision": Decision.LOADED,
        "shown_number": tool_number,
        "build": assembly.current_build,
        **_entered(assembly),
    }
    return SpindleCheck.objects.create(
        act=act, by=person, machine=machine, assembly=assembly, tool_number=tool_number,
        **given | fields,
    )  # fmt: skip


def _entered(assembly: Assembly) -> dict[str, int | None]:
    """The measured values, as somebody enters them at the control."""
    build = assembly.current_build
    read = Measurement.objects.latest_by_quantity(build.pk) if build else {}
    names = {"gauge_length_um": "gauge_length", "diameter_um": "diameter"}
    return {key: read[name].value_um for key, name in names.items() if name in read}


def put(
    assembly: Assembly,
    machine: Machine,
    pocket: int | None = None,
    tool_number: int | None = made.TOOL,
    **fields,
) -> Load:
    """`assembly` put into `machine`, decision and load in one transaction."""
    with transaction.atomic():
        row = decided(assembly, machine, tool_number, **fields)
        return loads.put_in(act=row.act, spindle_check=row, pocket=pocket)


def out(load: Load, out_as: str = "good", *, by: Person | None = None, submission=None, **note):
    return loads.take_out(
        by=by or made.operator(),
        submission=submission or uuid4(),
        load=load,
        out_as=out_as,
        **note,
    )


def held(machine: Machine) -> list[tuple[int | None, int]]:
    """(pocket, assembly number) of everything that is in a machine, the spindle first."""
    rows = machine.loads.filter(out_at=None).values_list("pocket", "assembly__number")
    return sorted(rows, key=lambda row: row[0] or 0)


def program_text(tools: int) -> str:
    """A program that calls T1 to T`tools`, each at a speed that every part allows."""
    calls = [
        f"T{n} M6\nS18000 M3\nG0 X0 Y0\nG43 H{n} Z5\nG1 Z-3 F1000\nX{n}0\nM5"
        for n in range(1, tools + 1)
    ]
    return "\n".join(["%", "O4121 (INVENTED: NEST)", "G21 G90", *calls, "M30", "%"])


@dataclass
class FillingShop:
    """A changer, a program, and for each of its T numbers the one assembly that is a MATCH."""

    machine: Machine
    revision: ProgramRevision
    assemblies: dict[int, Assembly]
    codes: dict[int, str]

    @classmethod
    def open(cls, machine: Machine, tools: int = 2) -> FillingShop:
        revision, assemblies = made.revision(text=program_text(tools)), {}
        for number in range(1, tools + 1):
            # Half a millimetre apart, so that each meets one T only.
            diameter_um = 12_000 - 500 * number
            some = made.some_parts(cutter={"diameter_um": diameter_um})
            assemblies[number] = made.released(some, diameter=diameter_um)
            made.confirm(revision, number, diameter_um=diameter_um)
        made.approve(revision, machine)
        codes = {number: made.label_of(row).code for number, row in assemblies.items()}
        return cls(machine, revision, assemblies, codes)
