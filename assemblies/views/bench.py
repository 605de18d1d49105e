"""The bench: a draft with its parts and figures, every rule answered while typing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from uuid import UUID, uuid4, uuid5

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from assemblies.actions import build as building
from assemblies.actions import parts as benching
from assemblies.actions.part_choices import Slot, entry_item, longest_grip_text, slots_of
from assemblies.actions.stack_facts import parts_of
from assemblies.forms.bench import (
    FiguresForm,
    PurposeForm,
    PutForm,
    ReasonForm,
    StudForm,
    TakeOutForm,
)
from assemblies.models import Assembly, Build, PartRole
from assemblies.rules.cautions import BUILD_STEPS, cautions_for
from assemblies.views.assembly_page import find_assembly, folded, live_build
from crib.context import shell
from crib.models import StudState
from crib.rules.finding import Finding, Level, stops
from crib.rules.refusal import Refused
from crib.rules.units import show_mm, show_nm
from crib.views.access import attempt, needs, tell
from crib.views.form_page import form_page, posted

#: All of the page is one form, so that no step loses what was typed elsewhere on it.
PUT_IDS, STUD_IDS, PURPOSE_IDS, REASON_PREFIX = "put_%s", "stud_%s", "purpose_%s", "build"
_FIGURES = ("stickout_um", "grip_um", "torque_mnm", "wrench_mark")

#: Subject of a finding's code -> the part that is the first to look at.
_LOOK_AT = {
    "interface": "holder",
    "holder": "holder",
    "bore": "holder",
    "stud": "pull_stud",
    "collet": "collet",
    "nut": "nut",
    "insert": "insert",
    "shank": "cutter",
    "cutter": "cutter",
    "rotation": "cutter",
    "speed": "cutter",
}


@needs("assembly.build")
@require_safe
def bench(request: HttpRequest, number: int) -> HttpResponse:
    return _bench_page(request, find_assembly(number))


@dataclass(frozen=True)
class Compartment:
    """One slot of the tray with the stops that concern its part."""

    slot: Slot
    stops: list[Finding]
    #: The part to put in next: its choices stand open.
    is_next: bool = False


def _bench_page(request: HttpRequest, assembly: Assembly, **refused) -> HttpResponse:
    """The bench with its forms; a refused one is handed in and shown with its reasons."""
    build = live_build(assembly)
    if build is None or not build.is_draft:
        return redirect("assemblies:assembly_detail", number=assembly.number)
    parts = parts_of(build)
    answers = _answers(build, parts)
    slots = slots_of(build, parts)
    context = {
        "assembly": assembly,
        "build": build,
        "tray": _tray(slots, answers["all_findings"]),
        "all_in": not _missing(slots),
        "steps": BUILD_STEPS,
        "cautions": _cautions(answers["all_findings"]),
        "submission": uuid4,
        "put_form": PutForm(auto_id=PUT_IDS),
        "figures_form": _figures_form(build),
        "stud_form": _stud_form(parts),
        "stud_known": _stud_known(parts),
        "purpose_form": _purpose_form(build),
        "build_form": ReasonForm(prefix=REASON_PREFIX),
        # A scanner's burst goes to the one field of the page that takes parts.
        "shell": shell(request)["shell"] | {"scan_url": ""},
    }
    refusal = _refusal(refused)
    context |= answers | refused | {"refusal": refusal}
    return render(request, "assemblies/bench.html", context, status=422 if refusal else 200)


def _refusal(forms: dict) -> list[str]:
    """Every reason of the refused forms, for the head of a page longer than a screen."""
    return [text for form in forms.values() for texts in form.errors.values() for text in texts]


def _answers(build: Build, parts: dict) -> dict:
    """What the rules say of the draft as it stands, and of which figures they speak."""
    findings = building.preview(build)
    return {
        **_put_off(folded(findings), parts),
        "all_findings": findings,
        "stop_count": len(stops(findings)),
        "doubtful": building.doubtful(findings),
        "spoken_of": _spoken_of(build),
        "grip_hint": longest_grip_text(parts, build.stickout_um),
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


def _tray(slots: list[Slot], findings: list[Finding]) -> list[Compartment]:
    wrong: dict[str, list[Finding]] = {}
    for finding in stops(findings):
        wrong.setdefault(_LOOK_AT.get(finding.code.split(".")[0], ""), []).append(finding)
    following = next(iter(_missing(slots)), None)
    return [Compartment(slot, wrong.get(slot.role, []), slot is following) for slot in slots]


def _missing(slots: list[Slot]) -> list[Slot]:
    """Slots that still want a part; the pull stud comes with its holder."""
    return [s for s in slots if s.used and s.part is None and s.role != PartRole.PULL_STUD]


def _cautions(findings: list[Finding]) -> list[str]:
    """The cautions of the bench, with the millimetres and torque of this very build filled in.

    A caution whose number is not known is left out: the finding says what is missing.
    """
    limits = {f.code.split(".")[0]: f.limit for f in findings if f.limit is not None}
    numbers = {"{needs}": limits.get("grip"), "{torque}": limits.get("torque")}
    texts = [caution.text for caution in cautions_for("build")]
    for mark, number in numbers.items():
        shown = "" if number is None else f"{number:g}"
        texts = [text.replace(mark, shown) for text in texts if shown or mark not in text]
    return texts


def _figures_form(build: Build, data=None) -> FiguresForm:
    form = FiguresForm(data, initial={name: getattr(build, name) for name in _FIGURES})
    return _beside(form, build)


def _beside(form: FiguresForm, build: Build) -> FiguresForm:
    """Print the figures of the revision before under each field; none is ever filled in."""
    before = build.assembly.builds.filter(revision__gt=0).order_by("-revision").first()
    if before is not None:
        shown = {
            "stickout_um": f"{show_mm(before.stickout_um, 1)} mm",
            "grip_um": f"{show_mm(before.grip_um, 1)} mm",
            "torque_mnm": f"{show_nm(before.torque_mnm)} N·m",
            "wrench_mark": before.wrench_mark or "not recorded",
        }
        for name, text in shown.items():
            text = "not recorded" if getattr(before, name) is None else text
            form.fields[name].help_text = f"{before.revision_text}: {text}"
    return form


def _stud_form(parts: dict, data=None) -> StudForm | None:
    holder = parts.get("holder")
    if holder is None or holder.piece is None:
        return None
    piece = holder.piece
    initial = {"stud_state": piece.stud_state, "stud_pattern": piece.stud_pattern}
    return StudForm(data, initial=initial, auto_id=STUD_IDS)


def _stud_known(parts: dict) -> str:
    """What is recorded of the pull stud, in words; "" when nobody has said."""
    holder = parts.get("holder")
    piece = holder.piece if holder else None
    if piece is None or piece.stud_state == StudState.UNKNOWN:
        return ""
    if piece.stud_state == StudState.FITTED:
        return f"Fitted, pattern {piece.stud_pattern}"
    return piece.get_stud_state_display()


def _purpose_form(build: Build, data=None) -> PurposeForm:
    initial = {"meant_for": build.meant_for_id}
    return PurposeForm(data, chosen=build.meant_for_id, initial=initial, auto_id=PURPOSE_IDS)


def _act_on_bench(
    request: HttpRequest,
    assembly: Assembly,
    form,
    name: str,
    act: Callable[[dict], object],
    said: str,
) -> HttpResponse:
    """Do one thing at the bench and come back to it, or show it again with the reasons.

    The figures sent along are kept first; those that cannot be read do not hold the step up.
    """
    unkept = _figures_sent_along(request, assembly)
    done = attempt(form, act)
    if done is not None:
        tell(request, done, said)
    refused = {} if done is not None else {name: form}
    refused |= {"figures_form": unkept} if unkept is not None else {}
    if refused:
        return _bench_page(request, assembly, **refused)
    return redirect("assemblies:bench", number=assembly.number)


def _figures_sent_along(request: HttpRequest, assembly: Assembly) -> FiguresForm | None:
    """Keep figures that came with another step. The form with its reasons, when that failed."""
    form = _sent_figures(request, assembly)
    if form is None or _keep_figures(request, assembly, live_build(assembly), form):
        return None
    return form


def _sent_figures(request: HttpRequest, assembly: Assembly) -> FiguresForm | None:
    """The figures of the whole page; None when only one step was sent, or it is no draft."""
    build = live_build(assembly)
    if "stickout_um" not in request.POST or build is None or not build.is_draft:
        return None
    data = request.POST.copy()
    data["submission"] = _number_for_figures(data.get("submission", ""))
    return _figures_form(build, data)


def _number_for_figures(number: str) -> str:
    """The page has one one-time number; keeping figures beside its step needs another one."""
    try:
        return str(uuid5(UUID(number), "figures"))
    except ValueError:
        return number


@needs("assembly.build")
@require_POST
def put(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    entry = _entry(request)
    form = PutForm({**request.POST.dict(), "entry": entry}, auto_id=PUT_IDS)
    if not entry and _new_figures(request, assembly):
        # Enter in a figure sends the page as its first button does.
        messages.success(request, "Figures kept.")
        return redirect("assemblies:bench", number=number)

    def act(data: dict):
        item, piece = _named(data["entry"])
        return benching.put_part(
            by=request.user,
            submission=data["submission"],
            assembly=assembly,
            item=item,
            piece=piece,
        )

    return _act_on_bench(request, assembly, form, "put_form", act, f"{entry[:40]} is in.")


def _entry(request: HttpRequest) -> str:
    """The part named: picked from the list of one slot, tapped, else scanned or typed."""
    sent = request.POST
    if "from_list" in sent:
        return sent.get(f"listed-{sent['from_list']}", "")
    return sent.get("pick") or sent.get("entry", "").strip()


def _new_figures(request: HttpRequest, assembly: Assembly) -> bool:
    """Whether figures were sent that the draft does not have yet, and are kept now."""
    form, build = _sent_figures(request, assembly), live_build(assembly)
    if form is None or not form.is_valid() or not _differ(form, build):
        return False
    return _keep_figures(request, assembly, build, form)


def _named(entry: str):
    """Item and piece that an entry names. Raises Refused when there is no such part."""
    item, piece = entry_item(entry)
    if item is None:
        raise Refused(
            "part.unknown",
            f"“{entry}” is neither a mark nor an item code.",
            "Scan it again, or pick it from the tray.",
            field="entry",
        )
    return item, piece


@needs("assembly.build")
@require_http_methods(["GET", "HEAD", "POST"])
def take_out(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    back_url = reverse("assemblies:bench", args=[number])
    build = live_build(assembly)
    if request.method != "POST" and (build is None or not build.is_draft):
        return redirect("assemblies:assembly_detail", number=number)
    form = TakeOutForm(posted(request), initial={"role": request.GET.get("role", "")})
    if request.method != "POST":
        form.offer(list(parts_of(build)))

    def act(data: dict):
        return benching.take_out(by=request.user, assembly=assembly, **data)

    return form_page(
        request,
        form,
        act,
        then=back_url,
        said="Part taken out.",
        template="assemblies/form_page.html",
        heading=f"Take a part out of {number}",
        submit="Take it out",
        back_url=back_url,
    )


@needs("assembly.build")
@require_POST
def figures(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    role = request.POST.get("take_out", "")
    if role:
        return _on_to_take_out(request, assembly, role)
    build = live_build(assembly)
    form = _figures_form(build, request.POST) if build else FiguresForm(request.POST)

    def act(data: dict):
        return building.set_figures(by=request.user, assembly=assembly, **data)

    done = attempt(form, act)
    if done is None:
        return _bench_page(request, assembly, figures_form=form)
    tell(request, done, "Figures kept.")
    return redirect("assemblies:bench", number=number)


def _on_to_take_out(request: HttpRequest, assembly: Assembly, role: str) -> HttpResponse:
    """The page that takes a part out, with the figures typed here kept first."""
    unkept = _figures_sent_along(request, assembly)
    if unkept is not None:
        return _bench_page(request, assembly, figures_form=unkept)
    return redirect(
        reverse("assemblies:bench_take_out", args=[assembly.number], query={"role": role})
    )


@needs("assembly.build")
@require_safe
def findings(request: HttpRequest, number: int) -> HttpResponse:
    """What the rules would say of the figures being typed. Writes nothing."""
    build = live_build(find_assembly(number))
    if build is None or not build.is_draft:
        return render(request, "assemblies/_bench_findings.html", {"findings": []})
    form = FiguresForm(request.GET)
    form.is_valid()
    for name in ("stickout_um", "grip_um", "torque_mnm"):
        setattr(build, name, form.cleaned_data.get(name))
    errors = [
        (form.fields[name].label, " ".join(found))
        for name, found in form.errors.items()
        if name != "submission"
    ]
    context = _answers(build, parts_of(build)) | {"errors": errors}
    return render(request, "assemblies/_bench_findings.html", context)


@needs("assembly.build")
@require_POST
def stud(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    form = StudForm(request.POST, auto_id=STUD_IDS)

    def act(data: dict):
        return building.set_stud(by=request.user, assembly=assembly, **data)

    build = live_build(assembly)
    if build is not None and not build.is_draft:
        return _stud_of_made_build(request, assembly, form, act)
    return _act_on_bench(request, assembly, form, "stud_form", act, "Pull stud recorded.")


def _stud_of_made_build(request, assembly, form, act) -> HttpResponse:
    back_url = reverse("assemblies:release", args=[assembly.number])
    return form_page(
        request,
        form,
        act,
        then=back_url,
        said="Pull stud recorded.",
        template="assemblies/form_page.html",
        heading=f"Pull stud of {assembly.number}",
        back_url=back_url,
    )


@needs("assembly.build")
@require_POST
def purpose(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    chosen = request.POST.get("meant_for", "")
    form = PurposeForm(
        request.POST, chosen=int(chosen) if chosen.isdecimal() else None, auto_id=PURPOSE_IDS
    )

    def act(data: dict):
        return building.set_purpose(by=request.user, assembly=assembly, **data)

    return _act_on_bench(request, assembly, form, "purpose_form", act, "Recorded what it is for.")


@needs("assembly.build")
@require_POST
def make(request: HttpRequest, number: int) -> HttpResponse:
    """Keep the figures that are on the screen, then build with exactly these."""
    assembly = find_assembly(number)
    form = ReasonForm(request.POST, prefix=REASON_PREFIX)
    build = live_build(assembly)
    if build is not None and build.is_draft:
        kept = _figures_form(build, request.POST)
        if not _keep_figures(request, assembly, build, kept):
            return _bench_page(request, assembly, figures_form=kept, build_form=form)

    def act(data: dict):
        return building.make_build(by=request.user, assembly=assembly, **data)

    done = attempt(form, act)
    if done is None:
        return _bench_page(request, find_assembly(number), build_form=form)
    tell(request, done, "Built. Now measure it.")
    return redirect("assemblies:measure", number=number)


def _keep_figures(
    request: HttpRequest, assembly: Assembly, build: Build, form: FiguresForm
) -> bool:
    """Whether the draft now has the figures typed. Writes only where they differ."""
    if not form.is_valid():
        return False
    if not _differ(form, build):
        return True

    def act(data: dict):
        return building.set_figures(by=request.user, assembly=assembly, **data)

    done = attempt(form, act)
    if done is not None and done.repeated:
        # An old page, sent again with other figures: they were not kept, so none may be built.
        form.add_error(None, "This page was used before. Open the bench again.")
        return False
    return done is not None


def _differ(form: FiguresForm, build: Build) -> bool:
    return any(form.cleaned_data[name] != getattr(build, name) for name in _FIGURES)
