"""The bench: a draft with its parts and figures, every rule answered while typing."""

from __future__ import annotations

from collections.abc import Callable

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from assemblies.actions import build as building
from assemblies.actions import parts as benching
from assemblies.actions.part_choices import entry_item
from assemblies.actions.stack_facts import parts_of
from assemblies.actions.torque_facts import wrench_marked
from assemblies.forms.bench import (
    FiguresForm,
    PurposeForm,
    PutForm,
    ReasonForm,
    StudForm,
    TakeOutForm,
)
from assemblies.models import Assembly
from assemblies.views.assembly_page import find_assembly, live_build
from assemblies.views.bench_figures import (
    differ,
    figures_sent_along,
    form_of_draft,
    keep_figures,
    sent_figures,
)
from assemblies.views.bench_page import (
    PURPOSE_IDS,
    PUT_IDS,
    REASON_PREFIX,
    STUD_IDS,
    Draft,
    answers,
    bench_page,
)
from crib.models import Item, ItemKind
from crib.rules.refusal import Refused
from crib.views.access import attempt, needs, tell
from crib.views.form_page import form_page, posted


@needs("assembly.build")
@require_safe
def bench(request: HttpRequest, number: int) -> HttpResponse:
    return bench_page(request, find_assembly(number))


def _act_on_bench(
    request: HttpRequest,
    assembly: Assembly,
    form,
    name: str,
    act: Callable[[dict], object],
    said: Callable[[], str],
) -> HttpResponse:
    """Do one thing at the bench and come back to it, or show it again with the reasons.

    The figures sent along are kept first; those that cannot be read do not hold the step up.
    """
    unkept = figures_sent_along(request, assembly)
    done = attempt(form, act)
    if done is not None:
        tell(request, done, said())
    refused = {} if done is not None else {name: form}
    refused |= {"figures_form": unkept} if unkept is not None else {}
    if refused:
        return bench_page(request, assembly, **refused)
    return redirect("assemblies:bench", number=assembly.number)


@needs("assembly.build")
@require_POST
def put(request: HttpRequest, number: int) -> HttpResponse:
    """One part, or the wrench, by what was scanned, typed or tapped."""
    assembly = find_assembly(number)
    entry = _entry(request)
    form = PutForm({**request.POST.dict(), "entry": entry}, auto_id=PUT_IDS)
    if not entry and _new_figures(request, assembly):
        # Enter in a figure sends the page as its first button does.
        messages.success(request, "Figures kept.")
        return redirect("assemblies:bench", number=number)
    taken: dict[str, str] = {}

    def act(data: dict):
        item, piece = entry_item(data["entry"])
        known = {"by": request.user, "assembly": assembly, "submission": data["submission"]}
        if _is_wrench(data["entry"], item):
            taken["said"] = f"Wrench {entry} noted."
            return building.set_wrench(**known, mark=data["entry"])
        taken["said"] = f"{entry} is in."
        return benching.put_part(**known, item=item, piece=piece)

    return _act_on_bench(request, assembly, form, "put_form", act, lambda: taken["said"])


def _entry(request: HttpRequest) -> str:
    """The part named: picked from the list of one slot, tapped, else scanned or typed."""
    sent = request.POST
    if "from_list" in sent:
        return sent.get(f"listed-{sent['from_list']}", "")
    return sent.get("pick") or sent.get("entry", "").strip()


def _new_figures(request: HttpRequest, assembly: Assembly) -> bool:
    """Whether figures were sent that the draft does not have yet, and are kept now."""
    form, build = sent_figures(request, assembly), live_build(assembly)
    if form is None or not form.is_valid() or not differ(form, build):
        return False
    return keep_figures(request, assembly, build, form)


def _is_wrench(entry: str, item: Item | None) -> bool:
    """Whether what is no part of an assembly is a wrench. Raises Refused when nothing has it."""
    if item is not None and item.kind != ItemKind.SPARE:
        return False
    found = wrench_marked(entry) is not None
    if item is None and not found:
        raise Refused(
            "part.unknown",
            f"“{entry}” is neither a mark nor an item code.",
            "Scan it again, or pick it from the tray.",
            field="entry",
        )
    return found


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
        form.offer(parts_of(build))

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
    build, data = live_build(assembly), request.POST.copy()
    if "with_wrench" in data:
        data["wrench_mark"] = data["with_wrench"]
    form = form_of_draft(build, data) if build else FiguresForm(data)

    def act(data: dict):
        return building.set_figures(by=request.user, assembly=assembly, **data)

    done = attempt(form, act)
    if done is None:
        return bench_page(request, assembly, figures_form=form)
    tell(request, done, "Figures kept.")
    return redirect("assemblies:bench", number=number)


def _on_to_take_out(request: HttpRequest, assembly: Assembly, role: str) -> HttpResponse:
    """The page that takes a part out, with the figures typed here kept first."""
    unkept = figures_sent_along(request, assembly)
    if unkept is not None:
        return bench_page(request, assembly, figures_form=unkept)
    return redirect(
        reverse("assemblies:bench_take_out", args=[assembly.number], query={"role": role})
    )


#: What the live answers take over from the fields as they are being typed.
_TYPED = ("stickout_um", "grip_um", "torque_mnm", "adapter_um")


@needs("assembly.build")
@require_safe
def findings(request: HttpRequest, number: int) -> HttpResponse:
    """What the rules would say of the figures being typed. Writes nothing."""
    build = live_build(find_assembly(number))
    if build is None or not build.is_draft:
        return render(request, "assemblies/_bench_findings.html", {"findings": []})
    form = FiguresForm(request.GET)
    form.is_valid()
    for name in _TYPED:
        setattr(build, name, form.cleaned_data.get(name))
    errors = [
        (form.fields[name].label, " ".join(found))
        for name, found in form.errors.items()
        if name != "submission"
    ] + _take_typed_wrench(build, form.cleaned_data.get("wrench_mark") or "")
    context = answers(Draft.of(build)) | {"errors": errors}
    return render(request, "assemblies/_bench_findings.html", context)


def _take_typed_wrench(build, mark: str) -> list[tuple[str, str]]:
    """Put the wrench being typed on the draft in hand; the reason where it cannot be."""
    build.wrench, build.wrench_mark = None, mark
    try:
        build.wrench = wrench_marked(mark)
    except Refused as refused:
        return [("Wrench", refused.sentence)]
    return []


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
    return _act_on_bench(request, assembly, form, "stud_form", act, lambda: "Pull stud recorded.")


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
    # Longer than any key: Python itself refuses to read thousands of figures.
    known = int(chosen) if chosen.isdecimal() and len(chosen) < 19 else None
    form = PurposeForm(request.POST, chosen=known, auto_id=PURPOSE_IDS)

    def act(data: dict):
        return building.set_purpose(by=request.user, assembly=assembly, **data)

    return _act_on_bench(
        request, assembly, form, "purpose_form", act, lambda: "Recorded what it is for."
    )


@needs("assembly.build")
@require_POST
def make(request: HttpRequest, number: int) -> HttpResponse:
    """Keep the figures that are on the screen, then build with exactly these."""
    assembly = find_assembly(number)
    form = ReasonForm(request.POST, prefix=REASON_PREFIX)
    build = live_build(assembly)
    if build is not None and build.is_draft:
        kept = form_of_draft(build, request.POST)
        if not keep_figures(request, assembly, build, kept):
            return bench_page(request, assembly, figures_form=kept, build_form=form)

    def act(data: dict):
        return building.make_build(by=request.user, assembly=assembly, **data)

    done = attempt(form, act)
    if done is None:
        return bench_page(request, find_assembly(number), build_form=form)
    tell(request, done, "Built. Now measure it.")
    return redirect("assemblies:measure", number=number)
