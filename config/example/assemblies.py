"""The assemblies of the example shop, each brought to its revision by really building it."""

from __future__ import annotations

from uuid import uuid4

from assemblies.actions.build import make_assembly, make_build, release, set_figures, start_rebuild
from assemblies.actions.measure import Reading, record_measurements
from assemblies.actions.part_returns import GONE
from assemblies.actions.parts import put_down, put_part, take_out
from assemblies.models import Assembly, Build, ReadOn
from config.example.data import in_columns, shop
from config.example.dates import move_into_the_past
from config.example.people import Crew
from crib.actions.once import do_once
from crib.models import Instrument, Item, Person, Piece, Place
from crib.rules.units import um_from_mm
from labels.actions.print_label import print_label

_WRENCH = "W-1"


def add_assemblies(crew: Crew, group: str) -> None:
    for row in shop()[group]:
        assembly = _start(crew[row["revisions"][0]["by"]], row["number"])
        for revision in row["revisions"]:
            _add_revision(crew[revision["by"]], assembly, revision)
        rack = Place.objects.get(code=row["rack"])
        put_down(by=crew["ines"], submission=uuid4(), assembly=_fresh(assembly), place=rack)
        move_into_the_past(assembly, row["revisions"])


def _start(by: Person, number: int) -> Assembly:
    """Open an assembly under its own number: some numbers before it were given out and retired."""

    def work(act):
        assembly = make_assembly(number)
        Build.objects.create(assembly=assembly)
        act.about = f"assembly {number}"
        return number

    do_once(submission=uuid4(), kind="assembly.start", by=by, needs="assembly.build", work=work)
    return Assembly.objects.get(number=number)


def _fresh(assembly: Assembly) -> Assembly:
    return Assembly.objects.select_related("contents").get(pk=assembly.pk)


def _add_revision(by: Person, assembly: Assembly, row: dict) -> None:
    assembly = _fresh(assembly)
    if "why" in row:
        start_rebuild(by=by, submission=uuid4(), assembly=assembly, reason=row["why"])
    _change_parts(by, assembly, row)
    _set_figures(by, assembly, row)
    if not row.get("built", True):
        return
    reason = row.get("accepted", "")
    make_build(by=by, submission=uuid4(), assembly=assembly, reason=reason)
    _measure(by, assembly, row)
    if row.get("released", True):
        because = row.get("released_because", "")
        release(by=by, submission=uuid4(), assembly=assembly, reason=because)
        print_label(by=by, submission=uuid4(), assembly=assembly)


def _change_parts(by: Person, assembly: Assembly, row: dict) -> None:
    for role, note in row.get("taken_out", {}).items():
        take_out(by=by, submission=uuid4(), assembly=assembly, role=role, goes_to=GONE, note=note)
    for name in row.get("parts", []):
        piece = Piece.objects.select_related("item", "place").filter(mark=name).first()
        item = piece.item if piece else Item.objects.get(code=name)
        put_part(by=by, submission=uuid4(), assembly=assembly, item=item, piece=piece)


def _set_figures(by: Person, assembly: Assembly, row: dict) -> None:
    figures = in_columns(
        {name: row[name] for name in ("stickout_mm", "grip_mm", "torque_nm") if name in row}
    )
    set_figures(
        by=by,
        submission=uuid4(),
        assembly=assembly,
        stickout_um=figures["stickout_um"],
        grip_um=figures.get("grip_um"),
        torque_mnm=figures.get("torque_mnm"),
        wrench_mark=row.get("wrench", _WRENCH) if "torque_nm" in row else "",
    )


def _read_with(quantity: str, instrument: str, row: dict) -> dict:
    """Place and instrument of a reading; revisions with an angle were read with those on record."""
    place = {}
    if quantity == "runout":
        place = {"distance_um": um_from_mm(shop()["runout_at_mm"])}
    if "clock_deg" not in row:
        return place | {"instrument": instrument}
    on_record = Instrument.objects.get(mark=instrument.split()[-1])
    if quantity == "runout":
        place |= {"clock_deg": row["clock_deg"], "read_on": ReadOn.SHANK}
    return place | {"measured_with": on_record}


def _measure(by: Person, assembly: Assembly, row: dict) -> None:
    readings = [
        Reading(
            quantity=quantity,
            value_um=um_from_mm(row[f"{quantity}_mm"]),
            **_read_with(quantity, instrument, row),
        )
        for quantity, instrument in shop()["measured_with"].items()
    ]
    record_measurements(by=by, submission=uuid4(), assembly=assembly, readings=readings)
