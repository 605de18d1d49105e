"""Figures typed at the bench: kept with whatever step is pressed, so that none gets lost."""

from __future__ import annotations

from uuid import UUID, uuid5

from django.http import HttpRequest

from assemblies.actions import build as building
from assemblies.actions.stack_facts import holder_part, parts_of
from assemblies.forms.bench import FiguresForm
from assemblies.models import Assembly, Build
from assemblies.rules.stack import HolderPart
from assemblies.rules.torque_aim import tightened
from assemblies.views.assembly_page import live_build
from crib.rules.units import show_mm, show_nm
from crib.views.access import attempt


def figures_form(build: Build, holder: HolderPart | None, data=None) -> FiguresForm:
    """The figures that a draft with this holder has, beside them those of the build before."""
    initial = {name: getattr(build, name) for name in FiguresForm.FIGURES}
    form = FiguresForm(data, initial=initial)
    has_grip = holder is None or not holder.is_an_arbor
    return _beside(form.ask_only(tightens=tightened(holder), has_grip=has_grip), build)


def form_of_draft(build: Build, data) -> FiguresForm:
    """The same for a draft whose parts were not read yet."""
    return figures_form(build, holder_part(parts_of(build).get("holder")), data)


def _beside(form: FiguresForm, build: Build) -> FiguresForm:
    """Print the figures of the revision before under each field; none is ever filled in."""
    before = _before(build)
    if before is None:
        return form
    name_of_it = before.revision_text if before.assembly_id == build.assembly_id else str(before)
    for name, text in _figures_shown(before).items():
        if name in form.fields:
            form.fields[name].help_text = f"{name_of_it}: {text}"
    return form


def _before(build: Build) -> Build | None:
    """The last revision made, else the build that this one is a copy of."""
    made = build.assembly.builds.filter(revision__gt=0).order_by("-revision").first()
    return made or build.copied_from


def _figures_shown(before: Build) -> dict[str, str]:
    shown = {
        "stickout_um": f"{show_mm(before.stickout_um, 1)} mm",
        "grip_um": f"{show_mm(before.grip_um, 1)} mm",
        "torque_mnm": f"{show_nm(before.torque_mnm)} N·m",
        "wrench_mark": before.wrench_mark or "not recorded",
        "adapter_um": f"{show_mm(before.adapter_um, 1)} mm",
    }
    missing = {"adapter_um": "none"}
    return {
        name: missing.get(name, "not recorded") if getattr(before, name) is None else text
        for name, text in shown.items()
    }


def figures_sent_along(request: HttpRequest, assembly: Assembly) -> FiguresForm | None:
    """Keep figures that came with another step. The form with its reasons, when that failed."""
    form = sent_figures(request, assembly)
    if form is None or keep_figures(request, assembly, live_build(assembly), form):
        return None
    return form


def sent_figures(request: HttpRequest, assembly: Assembly) -> FiguresForm | None:
    """The figures of the whole page; None when only one step was sent, or it is no draft."""
    build = live_build(assembly)
    if "stickout_um" not in request.POST or build is None or not build.is_draft:
        return None
    data = request.POST.copy()
    data["submission"] = _number_for_figures(data.get("submission", ""))
    return form_of_draft(build, data)


def _number_for_figures(number: str) -> str:
    """The page has one one-time number; keeping figures beside its step needs another one."""
    try:
        return str(uuid5(UUID(number), "figures"))
    except ValueError:
        return number


def keep_figures(request: HttpRequest, assembly: Assembly, build: Build, form: FiguresForm) -> bool:
    """Whether the draft now has the figures typed. Writes only where they differ."""
    if not form.is_valid():
        return False
    if not differ(form, build):
        return True

    def act(data: dict):
        return building.set_figures(by=request.user, assembly=assembly, **data)

    done = attempt(form, act)
    if done is not None and done.repeated:
        # An old page, sent again with other figures: they were not kept, so none may be built.
        form.add_error(None, "This page was used before. Open the bench again.")
        return False
    return done is not None


def differ(form: FiguresForm, build: Build) -> bool:
    return any(form.cleaned_data[name] != getattr(build, name) for name in FiguresForm.FIGURES)
