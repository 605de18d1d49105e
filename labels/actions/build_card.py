"""The build card as paper: what one assembly is, in words ready for printing. Reads only."""

from __future__ import annotations

from datetime import datetime

from django.conf import settings
from django.utils import timezone

from assemblies.actions.drawing_facts import view_of
from assemblies.actions.shop_limits import current_limits
from assemblies.actions.stack_facts import parts_of, stack_of
from assemblies.actions.torque_facts import torque_of
from assemblies.models import AssemblyState, Build, BuildPart, Measurement, PartRole, Quantity
from assemblies.rules.build_steps import StepNumbers, build_steps, least_grip_um
from assemblies.rules.cautions import FOOTER, bench_cautions, cautions_for, is_large_cutter
from assemblies.rules.speed import speed_limit
from assemblies.rules.stack import ShopLimits, Stack
from assemblies.rules.wording import at_least
from crib.models import StudState
from crib.reference import tables
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm, show_nm
from labels.drawing.build_card_paper import CardPaper, PartLine
from labels.models import Label
from labels.rules.address import AddressRefused, label_url
from labels.rules.code import printed_code

DRAFT_STAMP = "DRAFT – not built"
_NOT_RELEASED = "NOT RELEASED"
_DOUBTS = (Level.CHECK, Level.UNKNOWN)
_NO_CHECK = "This card is no check: paper grows old. Scan the label at the spindle."


def build_card(build: Build) -> CardPaper:
    """Everything on the card of one build, draft or made."""
    parts, stack, limits = parts_of(build), stack_of(build), current_limits()
    stamps = _stamps(build)
    return CardPaper(
        number=str(build.assembly.number),
        revision=build.revision_text,
        name=build.assembly.name,
        holder_mark=stack.holder.mark if stack.holder else "",
        about=_about(build),
        stamps=stamps,
        **_label(build),
        view=view_of(build),
        parts=_parts(parts),
        figures=(*_torque(build, stack), *_readings(build, stack), *_speed(stack, limits)),
        accepted=_accepted(build),
        **_how_to(build, stack, limits),
        made_at=f"{timezone.localtime():%Y-%m-%d %H:%M}",
        foot=f"{'DEMO: invented shop and figures. ' if settings.DEMO else ''}{FOOTER}",
    )


def _stamps(build: Build) -> tuple[str, ...]:
    """What must be read first: that it is no finished, released assembly."""
    state = build.assembly.state
    if build.is_draft:
        return (DRAFT_STAMP,)
    if not build.live:
        return ("TAKEN APART",)
    if state == AssemblyState.QUARANTINED:
        return ("OUT OF USE",)
    return () if state == AssemblyState.RELEASED else (_NOT_RELEASED,)


def _about(build: Build) -> tuple[str, ...]:
    """State, who built and released it, what it is for and where it stands."""
    assembly = build.assembly
    said = [f"{assembly.get_state_display()}. {assembly.state_note}".strip()]
    if build.built_at:
        said.append(f"Built {_day(build.built_at)} by {build.built_by}.")
    if build.released_at:
        said.append(f"Released {_day(build.released_at)} by {build.released_by}.")
    if build.meant_for:
        said.append(f"For T{build.meant_for.tool_number} in {build.meant_for.revision}.")
    place = assembly.stands_at
    said.append(f"Stands at {place.shown}." if place else "Place not recorded.")
    return tuple(said)


def _day(at: datetime) -> str:
    return timezone.localtime(at).date().isoformat()


def _label(build: Build) -> dict[str, str]:
    """Code and symbol of the valid label; a void or missing one is said to be so, never drawn."""
    label = Label.objects.filter(build=build).first()
    if label is None:
        return {"label_note": "no label yet"}
    if not _is_valid(label, build):
        return {"label_note": "label void"}
    code = printed_code(label.code)
    try:
        return {"code": code, "address": label_url(settings.BASE_URL, label.code)}
    except AddressRefused:
        return {"code": code, "label_note": f"{code}: no symbol, address of the shop not usable"}


def _is_valid(label: Label, build: Build) -> bool:
    released = build.released_at is not None and build.assembly.state == AssemblyState.RELEASED
    return build.live and released and label.cancelled_at is None


# ---------------------------------------------------------------- parts and figures
def _parts(parts: dict[str, BuildPart]) -> tuple[PartLine, ...]:
    lines = [_part(parts[role]) for role in PartRole.values if role in parts]
    holder = parts.get("holder")
    if holder is not None and "pull_stud" not in parts:
        lines[1:1] = _stud(holder)
    return tuple(lines)


def _part(part: BuildPart) -> PartLine:
    count = f" × {part.quantity}" if part.quantity > 1 else ""
    condition = ""
    if part.piece and part.piece.condition != "in_service":
        condition = f" ({part.piece.get_condition_display().lower()})"
    return PartLine(
        role=part.get_role_display(),
        mark=part.piece.mark if part.piece else part.item.code,
        text=f"{part.item.description}{count}{condition}",
    )


def _stud(holder: BuildPart) -> list[PartLine]:
    """The stud that is recorded with the holder, in words."""
    piece = holder.piece
    state = piece.stud_state if piece else StudState.UNKNOWN
    if state == StudState.NOT_USED:
        return []
    known = state == StudState.FITTED
    text = f"pattern {piece.stud_pattern}" if known else StudState(state).label.lower()
    return [PartLine(role="Pull stud", mark="–", text=text)]


def _torque(build: Build, stack: Stack) -> tuple[tuple[str, str], ...]:
    """The aim with where it comes from, and what was recorded."""
    torque = torque_of(build, stack)
    if torque.aim.tightens == "nothing" and build.torque_mnm is None:
        return tuple(("Torque", line) for line in torque.lines)
    wrench = build.wrench.mark if build.wrench else build.wrench_mark
    with_what = f" with {wrench}" if wrench else ""
    done = "not recorded"
    if build.torque_mnm is not None:
        done = f"{show_nm(build.torque_mnm)} N·m{with_what}"
    first, *more = torque.lines or ("not known",)
    return (("Torque, aim", first), *(("", line) for line in more), ("Torque, recorded", done))


def _readings(build: Build, stack: Stack) -> tuple[tuple[str, str], ...]:
    """What was set and read; an arbor grips no shank."""
    set_there = [("Stick-out", _mm(build.stickout_um, 1))]
    if stack.holder is None or not stack.holder.is_an_arbor:
        set_there.append(("Grip length", _mm(build.grip_um, 1)))
    read = Measurement.objects.select_related("by", "measured_with")
    last = {m.quantity: m for m in read.filter(build=build).order_by("at", "id")}
    asked = (Quantity.GAUGE_LENGTH, Quantity.DIAMETER, Quantity.RUNOUT)
    quantities = [*asked, *(q for q in Quantity if q not in asked and q in last)]
    return (*set_there, *((q.label, _reading(last.get(q))) for q in quantities))


def _reading(row: Measurement | None) -> str:
    if row is None:
        return "not measured"
    at = f" at {show_mm(row.distance_um, 1)} mm" if row.distance_um is not None else ""
    decimals = {Quantity.GAUGE_LENGTH: 1, Quantity.RUNOUT: 3}.get(row.quantity, 2)
    tool = row.measured_with.mark if row.measured_with else row.instrument
    with_what = f", {tool}" if tool else ""
    day = f"{_day(row.at)} {row.by.shown_initials}"
    return f"{show_mm(row.value_um, decimals)} mm{at} ({day}{with_what})"


def _mm(value_um: int | None, decimals: int) -> str:
    return "not recorded" if value_um is None else f"{show_mm(value_um, decimals)} mm"


def _speed(stack: Stack, limits: ShopLimits) -> tuple[tuple[str, str], ...]:
    limit = speed_limit(stack, limits.mark_needed_from_um)
    known = "not known"
    if limit.limit_rpm is not None:
        known = f"{limit.limit_rpm} 1/min, set by the {limit.limiting_part}"
    if not limit.unknown_parts:
        return (("Speed limit", known),)
    lacking = ", ".join(limit.unknown_parts)
    return (("Speed limit", f"NOT KNOWN for: {lacking}. Lowest that is known: {known}"),)


# ---------------------------------------------------------------- words
def _accepted(build: Build) -> tuple[str, ...]:
    """Findings that somebody took with a reason, and that reason."""
    at_bench = _with_reason(build.findings, build.accepted_reason, build.accepted_by)
    released = _with_reason(build.release_findings, build.release_reason, build.released_by)
    return tuple(dict.fromkeys((*at_bench, *released)))


def _with_reason(frozen: list[dict], reason: str, by: object) -> tuple[str, ...]:
    if not reason:
        return ()
    found = [Finding.from_dict(row) for row in frozen]
    texts = tuple(f.text for f in found if f.level in _DOUBTS)
    return (*texts, f"Reason: {reason} ({by})")


def _how_to(build: Build, stack: Stack, limits: ShopLimits) -> dict[str, tuple[str, ...]]:
    """Steps and cautions of the way of clamping, with the numbers of this very stack."""
    least_um = least_grip_um(stack, limits, tables())
    torque = torque_of(build, stack)
    wrench = build.wrench.mark if build.wrench else build.wrench_mark
    numbers = StepNumbers(least_um, torque.aim, wrench, torque.setting_mnm)
    clamping = stack.holder.clamping if stack.holder else None
    shown = "" if least_um is None else at_least(least_um)
    return {
        "steps": tuple(step.text for step in build_steps(stack, numbers)),
        "cautions": (*bench_cautions(clamping, shown), *_of_the_cutter(stack), _NO_CHECK),
    }


def _of_the_cutter(stack: Stack) -> tuple[str, ...]:
    """The caution that goes with a large cutter; a size not known counts as large."""
    diameter_um = stack.figures.diameter_um or (stack.cutter and stack.cutter.diameter_um)
    if not is_large_cutter(diameter_um):
        return ()
    return tuple(c.text for c in cautions_for("label") if c.code == "large_cutter")
