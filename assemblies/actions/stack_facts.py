"""From rows to the plain facts that the fit rules look at. Reads only."""

from __future__ import annotations

from dataclasses import replace

from django.db.models import Sum

from assemblies.models import (
    Build,
    BuildPart,
    Machine,
    Measurement,
    ToolRequirement,
    ToolUse,
    Weighing,
)
from assemblies.rules import stack as facts
from assemblies.rules.purpose import Wanted
from crib.models import CutterFacts, Item, ShankForm, StudState, Use

#: Shank forms of DIN 6535 that ours stand for.
_SHANK_FORMS = {
    ShankForm.PLAIN: "HA",
    ShankForm.FLAT: "HB",
    ShankForm.SLOPING: "HE",
    ShankForm.SQUARE: "square",
}


def parts_of(build: Build) -> dict[str, BuildPart]:
    """The parts of a build by role, with item, facts and piece, in one query."""
    rows = build.parts.select_related(
        "item",
        "item__holder_facts",
        "item__collet_facts",
        "item__nut_facts",
        "item__pull_stud_facts",
        "item__sleeve_facts",
        "item__cutter_facts",
        "piece",
    )
    return {part.role: part for part in rows}


def stack_of(
    build: Build, *, machine: Machine | None = None, call: facts.ProgramCall | None = None
) -> facts.Stack:
    """The stack of one build, with what was measured on it."""
    parts = parts_of(build)
    readings = Measurement.objects.latest_by_quantity(build.pk) if build.pk else {}
    weighed = build.weighings.first() if build.pk else None
    stack = put_together(
        build, parts, collet=collet_part(parts.get("collet")), readings=readings, weighed=weighed
    )
    return replace(stack, machine=machine_facts(machine) if machine else None, call=call)


def put_together(
    build: Build,
    parts: dict[str, BuildPart],
    *,
    collet: facts.ColletPart | None,
    readings: dict[str, Measurement],
    weighed: Weighing | None,
) -> facts.Stack:
    """The stack of a build whose rows are read already; asks nothing of the database."""
    return facts.Stack(
        holder=holder_part(parts.get("holder")),
        collet=collet,
        nut=nut_part(parts.get("nut")),
        sleeve=sleeve_part(parts.get("sleeve")),
        stud=stud_part(parts.get("holder"), parts.get("pull_stud")),
        cutter=cutter_part(parts.get("cutter"), parts.get("insert")),
        figures=_figures(build, readings, weighed),
        coolant_wanted=build.coolant_wanted,
    )


def _condition(part: BuildPart) -> str:
    return part.piece.condition if part.piece else facts.Condition.NOT_TRACKED


def _mark(part: BuildPart) -> str:
    return part.piece.mark if part.piece else part.item.code


def holder_part(part: BuildPart | None) -> facts.HolderPart | None:
    if part is None:
        return None
    row = _facts_row(part.item)
    if row is None:
        return facts.HolderPart(mark=_mark(part), condition=_condition(part))
    return facts.HolderPart(
        mark=_mark(part),
        interface=row.interface,
        clamping=row.clamping,
        series=row.collet_series or None,
        nose_thread=row.nose_thread or None,
        bore_um=row.bore_um,
        bore_min_um=row.bore_min_um,
        bore_depth_um=row.bore_depth_um,
        grip_min_um=row.grip_min_um,
        square_um=row.square_um,
        spigot_um=row.spigot_um,
        key_um=row.key_um,
        screw_torque_mnm=row.screw_torque_mnm,
        nose_diameter_um=row.nose_diameter_um,
        gauge_length_um=row.gauge_length_um,
        max_rpm=row.n_max_rpm,
        balance_grade_tenths=row.balance_grade_tenths,
        balance_rpm=row.balance_speed_rpm,
        mass_g=row.mass_g,
        centre_um=row.centre_um,
        coolant_through=row.coolant_through,
        condition=_condition(part),
    )


def _facts_row(item: Item):
    return item.facts


def collet_part(part: BuildPart | None) -> facts.ColletPart | None:
    if part is None:
        return None
    row = _facts_row(part.item)
    if row is None:
        return facts.ColletPart(mark=_mark(part), condition=_condition(part))
    return facts.ColletPart(
        mark=_mark(part),
        series=row.series,
        clamp_max_um=row.clamp_max_um,
        clamp_min_um=row.clamp_min_um,
        length_um=row.length_um,
        runout_class=row.runout_class,
        sealed=row.sealed,
        square_um=row.square_um,
        mass_g=row.mass_g,
        bought_in_inches=part.item.bought_in_inches,
        hours=_hours(part),
        hours_limit=None if row.life_limit_minutes is None else row.life_limit_minutes // 60,
        max_rpm=row.n_max_rpm,
        condition=_condition(part),
    )


def _hours(part: BuildPart) -> int | None:
    """Hours charged to a marked piece, rounded up; a loose one has no history."""
    if part.piece is None:
        return None
    minutes = Use.objects.filter(piece=part.piece).aggregate(n=Sum("minutes"))["n"]
    return -(-(minutes or 0) // 60)


def nut_part(part: BuildPart | None) -> facts.NutPart | None:
    if part is None:
        return None
    row = _facts_row(part.item)
    if row is None:
        return facts.NutPart(mark=_mark(part), condition=_condition(part))
    return facts.NutPart(
        mark=_mark(part),
        series=row.series,
        thread=row.thread or None,
        nut_type=row.style,
        recommended_mnm=row.torque_recommended_mnm,
        max_mnm=row.torque_max_mnm,
        sealed=row.sealed,
        seal_max_um=row.seal_max_um,
        seal_min_um=row.seal_min_um,
        mass_g=row.mass_g,
        max_rpm=row.n_max_rpm,
        condition=_condition(part),
    )


def sleeve_part(part: BuildPart | None) -> facts.SleevePart | None:
    if part is None:
        return None
    row = _facts_row(part.item)
    if row is None:
        return facts.SleevePart(mark=_mark(part), condition=_condition(part))
    return facts.SleevePart(
        mark=_mark(part),
        suits=row.suits,
        outer_um=row.outer_um,
        bore_um=row.bore_um,
        length_um=row.length_um,
        sealed=row.sealed,
        max_rpm=row.n_max_rpm,
        mass_g=row.mass_g,
        condition=_condition(part),
    )


def stud_part(holder: BuildPart | None, stud: BuildPart | None) -> facts.StudPart:
    """The stud recorded with the holder; a stud listed as a part adds its marked limit.

    Where the two name different patterns nobody knows which one is in: that is not known.
    """
    if holder is None or holder.piece is None:
        return facts.StudPart()
    row = _facts_row(stud.item) if stud else None
    state, pattern = facts.StudState(holder.piece.stud_state), holder.piece.stud_pattern or None
    if stud is not None and (row is None or row.pattern != pattern):
        state, pattern = facts.StudState.UNKNOWN, None
    return facts.StudPart(
        state=state,
        pattern=pattern,
        coolant_through=row.coolant_through if row else None,
        max_rpm=row.n_max_rpm if row else None,
        condition=_condition(stud) if stud else facts.Condition.NOT_TRACKED,
    )


def cutter_part(part: BuildPart | None, inserts: BuildPart | None) -> facts.CutterPart | None:
    if part is None:
        return None
    row = _facts_row(part.item)
    if row is None:
        return facts.CutterPart(mark=_mark(part), condition=_condition(part))
    bored = row.shank_form == ShankForm.BORE
    return facts.CutterPart(
        mark=_mark(part),
        kind=row.kind,
        name=part.item.description,
        diameter_um=_cutting_diameter(part, row),
        shank_um=None if bored else row.shank_um,
        shank_measured_um=part.piece.measured_shank_um if part.piece else None,
        shank_form=_SHANK_FORMS.get(row.shank_form),
        bore_um=row.shank_um if bored else None,
        plain_shank_um=row.plain_shank_um,
        overall_um=row.overall_um,
        flute_um=row.flute_um,
        teeth=row.teeth,
        corner_radius_um=row.corner_radius_um,
        point_angle_tenths=row.point_angle_tenths,
        material=row.material or None,
        square_um=row.square_um,
        pitch_um=row.pitch_um,
        keyway_um=row.keyway_um,
        coolant_through=row.coolant_through,
        marked_grip_um=row.marked_grip_um,
        max_rpm=row.n_max_rpm,
        hand=row.hand or None,
        mass_g=row.mass_g,
        bought_in_inches=part.item.bought_in_inches,
        insert_seats=row.seats,
        empty_seats=_empty_seats(row, inserts),
        condition=_condition(part),
    )


def _empty_seats(row: CutterFacts, inserts: BuildPart | None) -> int | None:
    """Seats without an insert fit for use; None where the records do not go together."""
    if inserts is None or inserts.quantity > row.seats:
        return None
    if row.insert_item_id not in (None, inserts.item_id):
        return None
    fit = _condition(inserts) in (facts.Condition.IN_SERVICE, facts.Condition.NOT_TRACKED)
    return row.seats - inserts.quantity if fit else row.seats


def _cutting_diameter(part: BuildPart, row: CutterFacts) -> int:
    """What was measured on this very piece after sharpening, else the nominal size."""
    if part.piece and part.piece.measured_diameter_um:
        return part.piece.measured_diameter_um
    return row.diameter_um


def _figures(
    build: Build, readings: dict[str, Measurement], weighed: Weighing | None
) -> facts.BuildFigures:
    def value(quantity: str) -> int | None:
        return readings[quantity].value_um if quantity in readings else None

    return facts.BuildFigures(
        stickout_um=build.stickout_um,
        grip_um=build.grip_um,
        torque_mnm=build.torque_mnm,
        gauge_length_um=value("gauge_length"),
        diameter_um=value("diameter"),
        runout_um=value("runout"),
        runout_distance_um=readings["runout"].distance_um if "runout" in readings else None,
        mass_g=weighed.mass_g if weighed else None,
        centre_um=weighed.centre_um if weighed else None,
    )


def machine_facts(machine: Machine) -> facts.MachineFacts:
    """A machine as the fit rules see it."""
    turns = {"cw": machine.turns_cw, "ccw": machine.turns_ccw}
    return facts.MachineFacts(
        mark=machine.mark,
        interface=machine.interface,
        stud_pattern=machine.stud_pattern if machine.uses_stud else StudState.NOT_USED,
        max_rpm=machine.speed_max_rpm,
        min_rpm=machine.speed_min_rpm,
        override_ceiling_percent=machine.override_ceiling_percent,
        rotations=frozenset(turn for turn, able in turns.items() if able),
        is_router=machine.is_router,
        max_gauge_length_um=machine.length_max_um,
        max_diameter_um=machine.diameter_max_um,
        max_diameter_beside_um=machine.diameter_beside_max_um,
        max_mass_g=machine.mass_max_g,
        max_moment_mnm=machine.moment_max_mnm,
        moment_plane_um=machine.moment_plane_um,
        coolant_through=machine.coolant_through,
    )


def call_of(wanted: ToolRequirement) -> facts.ProgramCall:
    """What the program asks of the spindle under the tool number of a requirement."""
    # Not through the revision: its row brings the whole text of the program along.
    read = ToolUse.objects.filter(reading__revision_id=wanted.revision_id)
    uses = list(read.filter(tool_number=wanted.tool_number))
    speeds = [use.spindle_speed_max_rpm for use in uses if use.spindle_speed_max_rpm is not None]
    turns = (any(use.turns_cw for use in uses), any(use.turns_ccw for use in uses))
    # Both directions under one number suit no cutter; then no rotation can be named.
    rotation = {(True, False): "cw", (False, True): "ccw"}.get(turns)
    return facts.ProgramCall(speed_rpm=max(speeds, default=None), rotation=rotation)


def wanted_of(row: ToolRequirement) -> Wanted:
    """What the tool number of a requirement asks of the cutter."""
    return Wanted(
        name=f"T{row.tool_number} in {row.revision}",
        kind=row.kind or None,
        diameter_um=row.diameter_um,
        diameter_tolerance_um=row.diameter_tolerance_um,
    )
