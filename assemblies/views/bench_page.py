"""The page of the bench: parts from the spindle to the tip, figures, and what the rules say."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from assemblies.actions import build as building
from assemblies.actions.part_choices import Slot, longest_grip_text, slots_of
from assemblies.actions.shop_limits import current_limits
from assemblies.actions.stack_facts import parts_of
from assemblies.actions.torque_facts import Torque, torque_of, wrenches
from assemblies.forms.bench import PurposeForm, PutForm, ReasonForm, StudForm
from assemblies.models import Assembly, Build, PartRole
from assemblies.rules.build_steps import StepNumbers, build_steps, least_grip_um
from assemblies.rules.cautions import bench_cautions
from assemblies.rules.stack import ShopLimits, Stack
from assemblies.rules.wording import at_least
from assemblies.views.assembly_page import folded, live_build
from assemblies.views.bench_figures import figures_form
from assemblies.views.drawing import drawing_of
from crib.context import shell
from crib.models import StudState
from crib.reference import tables
from crib.rules.finding import Finding, Level, stops
from crib.rules.units import show_mm, show_nm

#: All of the page is one form, so that no step loses what was typed elsewhere on it.
PUT_IDS, STUD_IDS, PURPOSE_IDS, REASON_PREFIX = "put_%s", "stud_%s", "purpose_%s", "build"

#: Subject of a finding's code -> the part that is the first to look at.
_LOOK_AT = {
    "interface": "holder",
    "holder": "holder",
    "bore": "holder",
    "arbor": "holder",
    "chuck": "holder",
    "stud": "pull_stud",
    "collet": "collet",
    "nut": "nut",
    "seal": "nut",
    "sleeve": "sleeve",
    "insert": "insert",
    "shank": "cutter",
    "cutter": "cutter",
    "shrink": "cutter",
    "tap": "cutter",
    "rotation": "cutter",
    "speed": "cutter",
}


@dataclass(frozen=True)
class Compartment:
    """One slot of the tray with the stops that concern its part."""

    slot: Slot
    stops: list[Finding]
    #: The part to put in next: its choices stand open.
    is_next: bool = False
    #: What the assembly that this one is a copy of has here.
    like: str = ""


@dataclass(frozen=True)
class Draft:
    """A draft with all that the page asks about it, each asked once."""

    build: Build
    parts: dict
    limits: ShopLimits
    stack: Stack

    @classmethod
    def of(cls, build: Build) -> Draft:
        return cls(build, parts_of(build), current_limits(), building.meant_stack(build))


def bench_page(request: HttpRequest, assembly: Assembly, **refused) -> HttpResponse:
    """The bench with its forms; a refused one is handed in and shown with its reasons."""
    build = live_build(assembly)
    if build is None or not build.is_draft:
        return redirect("assemblies:assembly_detail", number=assembly.number)
    draft = Draft.of(build)
    refusal = _refusal(refused)
    context = {
        "assembly": assembly,
        "build": build,
        "submission": uuid4,
        "drawing": drawing_of(build) if draft.parts else None,
        # A scanner's burst goes to the one field of the page that takes parts.
        "shell": shell(request)["shell"] | {"scan_url": ""},
        **_forms(draft),
        **answers(draft),
        **refused,
        "refusal": refusal,
    }
    context["wrenches"] = wrenches(build, context["torque"].aim)
    context |= _tray_of(draft, context["all_findings"]) | _how_to(draft, context["torque"])
    return render(request, "assemblies/bench.html", context, status=422 if refusal else 200)


def _refusal(forms: dict) -> list[str]:
    """Every reason of the refused forms, for the head of a page longer than a screen."""
    return [text for form in forms.values() for texts in form.errors.values() for text in texts]


def _forms(draft: Draft) -> dict:
    return {
        "put_form": PutForm(auto_id=PUT_IDS),
        "figures_form": figures_form(draft.build, draft.stack.holder),
        "stud_form": _stud_form(draft.parts),
        "stud_known": _stud_known(draft.parts),
        "purpose_form": _purpose_form(draft.build),
        "build_form": ReasonForm(prefix=REASON_PREFIX),
    }


def _tray_of(draft: Draft, findings: list[Finding]) -> dict:
    slots = slots_of(draft.build, draft.parts, draft.limits)
    return {"tray": _tray(slots, findings, _like(draft.build)), "all_in": not _missing(slots)}


def _like(build: Build) -> dict[str, str]:
    """What the build that this one is a copy of is made of, by role."""
    if build.copied_from_id is None:
        return {}
    rows = build.copied_from.parts.values_list("role", "item__code", "item__description")
    return {role: f"{code} {text}" for role, code, text in rows}


def _how_to(draft: Draft, torque: Torque) -> dict:
    """The steps of this very build, and its cautions, with their numbers filled in."""
    stack = draft.stack
    least_um = least_grip_um(stack, draft.limits, tables())
    numbers = StepNumbers(least_um, torque.aim, draft.build.wrench_mark, torque.setting_mnm)
    steps = build_steps(stack, numbers)
    clamping = stack.holder.clamping if stack.holder else None
    shown = "" if least_um is None else at_least(least_um)
    return {"steps": steps, "cautions": bench_cautions(clamping, shown)}


def answers(draft: Draft) -> dict:
    """What the rules say of the draft as it stands, and of which figures they speak."""
    build = draft.build
    findings = building.findings_of(build, draft.stack, draft.limits)
    return {
        **_put_off(folded(findings), draft.parts),
        "all_findings": findings,
        "stop_count": len(stops(findings)),
        "doubtful": building.doubtful(findings),
        "spoken_of": _spoken_of(build),
        "grip_hint": longest_grip_text(draft.parts, build.stickout_um),
        "torque": torque_of(build, draft.stack),
    }


def _put_off(shown: dict[str, list[Finding]], parts: dict) -> dict[str, list[Finding]]:
    """Fold away what cannot be known yet while the two parts are missing that all hangs on."""
    if {"holder", "cutter"} <= parts.keys():
        return shown | {"waiting": []}
    waiting = [f for f in shown["findings"] if f.level is Level.UNKNOWN]
    rest = [f for f in shown["findings"] if f.level is not Level.UNKNOWN]
    return shown | {"findings": rest, "waiting": waiting}


def _spoken_of(build: Build) -> str:
    """`stick-out 45.0 mm, grip not entered, torque 136 N·m`."""
    shown = {
        "stick-out": build.stickout_um is not None and f"{show_mm(build.stickout_um, 1)} mm",
        "grip": build.grip_um is not None and f"{show_mm(build.grip_um, 1)} mm",
        "torque": build.torque_mnm is not None and f"{show_nm(build.torque_mnm)} N·m",
    }
    return ", ".join(f"{name} {text or 'not entered'}" for name, text in shown.items())


def _tray(slots: list[Slot], findings: list[Finding], like: dict[str, str]) -> list[Compartment]:
    wrong: dict[str, list[Finding]] = {}
    for finding in stops(findings):
        wrong.setdefault(_LOOK_AT.get(finding.code.split(".")[0], ""), []).append(finding)
    following = next(iter(_missing(slots)), None)
    return [
        Compartment(slot, wrong.get(slot.role, []), slot is following, like.get(slot.role, ""))
        for slot in slots
    ]


def _missing(slots: list[Slot]) -> list[Slot]:
    """Slots that still want a part; the stud comes with its holder, a sleeve may be needless."""
    needless = (PartRole.PULL_STUD, PartRole.SLEEVE)
    return [s for s in slots if s.used and s.part is None and s.role not in needless]


def _stud_form(parts: dict) -> StudForm | None:
    holder = parts.get("holder")
    if holder is None or holder.piece is None:
        return None
    piece = holder.piece
    initial = {"stud_state": piece.stud_state, "stud_pattern": piece.stud_pattern}
    return StudForm(initial=initial, auto_id=STUD_IDS)


def _stud_known(parts: dict) -> str:
    """What is recorded of the pull stud, in words; "" when nobody has said."""
    holder = parts.get("holder")
    piece = holder.piece if holder else None
    if piece is None or piece.stud_state == StudState.UNKNOWN:
        return ""
    if piece.stud_state == StudState.FITTED:
        return f"Fitted, pattern {piece.stud_pattern}"
    return piece.get_stud_state_display()


_SAID = {True: "yes", False: "no", None: ""}


def _purpose_form(build: Build) -> PurposeForm:
    initial = {
        "meant_for": build.meant_for_id,
        "coolant_wanted": _SAID[build.coolant_wanted],
    }
    return PurposeForm(chosen=build.meant_for_id, initial=initial, auto_id=PURPOSE_IDS)
