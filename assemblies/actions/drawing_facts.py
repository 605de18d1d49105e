"""From the rows of a build to what is known of its form. Reads only."""

from __future__ import annotations

from assemblies.actions.setup_sheet_rows import BuildRows, rows_of
from assemblies.actions.stack_facts import cutter_part, holder_part
from assemblies.models import Build
from assemblies.reference import nut_size
from assemblies.rules.drawing.side import NutForm, SideFacts, SideView, TaperForm, side_view
from assemblies.rules.stack import CutterPart, HolderPart
from crib.models import StudState
from crib.reference import collet_series, tapers
from crib.rules.standards import TaperRow, series_named, taper_coded

#: Forms of hollow taper that are changed by hand: their flange has no gripper groove.
_MANUAL_HOLLOW = frozenset({"C", "D"})


def view_of(build: Build) -> SideView:
    """The side view of one build, draft or made, in two queries."""
    return side_view(side_facts(build, rows_of([build])[build.pk]))


def side_facts(build: Build, rows: BuildRows) -> SideFacts:
    """What is known of the form of one build."""
    holder = holder_part(rows.parts.get("holder"))
    cutter = cutter_part(rows.parts.get("cutter"), rows.parts.get("insert"))
    return SideFacts(
        **_holder_side(holder, rows),
        **_collet_side(holder, rows),
        **_sleeve_side(rows),
        **_cutter_side(cutter, rows),
        grip_um=build.grip_um,
        stickout_um=build.stickout_um,
        gauge_length_um=rows.read_um("gauge_length"),
        bought_in_inches=rows.bought_in_inches,
    )


def _holder_side(holder: HolderPart | None, rows: BuildRows) -> dict:
    if holder is None:
        return {"clamping": None}
    taper = taper_coded(tapers(), holder.interface)
    return {
        "taper": _taper_form(taper),
        "stud": _stud(taper, rows),
        "gauge_diameter_um": taper.gauge_diameter_um if taper else None,
        "flange_diameter_um": taper.flange_diameter_um if taper else None,
        "clamping": holder.clamping,
        "holder_um": holder.gauge_length_um,
        "nose_diameter_um": holder.nose_diameter_um,
        "bore_um": holder.bore_um,
        "bore_depth_um": holder.bore_depth_um,
        "spigot_um": holder.spigot_um,
        "key_um": holder.key_um,
    }


def _taper_form(taper: TaperRow | None) -> TaperForm:
    """How the spindle side looks; an unknown one is drawn in dashes as a steep taper."""
    if taper is None:
        return TaperForm.STEEP
    if taper.family.startswith("HSK"):
        return TaperForm.HOLLOW_MANUAL if taper.form in _MANUAL_HOLLOW else TaperForm.HOLLOW
    if taper.family.startswith("polygonal"):
        return TaperForm.POLYGON
    if taper.for_routers:
        return TaperForm.ROUTER
    if not taper.takes_a_stud:
        return TaperForm.MANUAL
    return TaperForm.STEEP_THICK if taper.form.startswith("J") else TaperForm.STEEP


def _stud(taper: TaperRow | None, rows: BuildRows) -> str:
    """What is known of the pull stud; "" where the taper takes none."""
    part = rows.parts.get("holder")
    if taper is None or not taper.takes_a_stud:
        return ""
    state = part.piece.stud_state if part and part.piece else StudState.UNKNOWN
    return "" if state == StudState.NOT_USED else str(state)


def _collet_side(holder: HolderPart | None, rows: BuildRows) -> dict:
    """Collet and nut: what is recorded with them, else what their series usually has."""
    if holder is None or not holder.takes_a_collet:
        return {}
    nut, collet = rows.facts("nut"), rows.facts("collet")
    series = nut.series if nut else holder.series
    size = nut_size(series, nut.style if nut else "standard")
    row = series_named(collet_series(), collet.series if collet else None)
    recorded_um = collet.length_um if collet else None
    return {
        "nut_um": size.outside_um if size else None,
        "nut_form": size.form if size else NutForm.SLOTTED,
        "collet_gauge_um": row.gauge_diameter_um if row else None,
        "collet_length_um": recorded_um or (row.length_um if row else None),
    }


def _sleeve_side(rows: BuildRows) -> dict:
    sleeve = rows.facts("sleeve")
    if sleeve is None:
        return {}
    return {"sleeve_um": sleeve.outer_um, "sleeve_length_um": sleeve.length_um}


def _cutter_side(cutter: CutterPart | None, rows: BuildRows) -> dict:
    read_um, corner_um = rows.read_um("diameter"), rows.read_um("corner_radius")
    if cutter is None or cutter.kind is None:
        return {"diameter_um": read_um}
    nominal_um = rows.facts("cutter").diameter_um
    return {
        "shank_um": cutter.shank_um,
        "shank_form": cutter.shank_form or "",
        "square_um": cutter.square_um,
        "kind": cutter.kind,
        "left_hand": cutter.hand == "left",
        "teeth": cutter.teeth,
        "seats": cutter.insert_seats or 0,
        "diameter_um": cutter.diameter_um if read_um is None else read_um,
        # After sharpening the piece has a measured diameter of its own.
        "diameter_is_nominal": read_um is None and cutter.diameter_um == nominal_um,
        "nominal_diameter_um": nominal_um,
        "flute_um": cutter.flute_um,
        "corner_radius_um": cutter.corner_radius_um if corner_um is None else corner_um,
        "corner_is_measured": corner_um is not None,
        "nominal_corner_um": cutter.corner_radius_um,
        "point_angle_tenths": cutter.point_angle_tenths,
        "pitch_um": cutter.pitch_um,
    }
