"""The plain steps of an assembly: a number given out, out of use, rebuilt, retired, put down."""

from __future__ import annotations

from uuid import uuid4

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from assemblies.actions import build as building
from assemblies.actions import parts as benching
from assemblies.forms.bench import NoteForm, PutDownForm, StartForm, purpose_text, purposes
from assemblies.models import Assembly, AssemblyState, ToolRequirement
from assemblies.views.assembly_page import find_assembly
from crib.views.access import needs
from crib.views.form_page import form_page, posted


@needs("assembly.build")
@require_http_methods(["GET", "HEAD", "POST"])
def assembly_new(request: HttpRequest) -> HttpResponse:
    wanted = _wanted(request)
    form = StartForm(posted(request), initial={"name": _name_for(wanted)})

    def act(data: dict):
        done = building.start_assembly(
            by=request.user, submission=data["submission"], name=data["name"]
        )
        if wanted is not None and not done.repeated:
            assembly = Assembly.objects.get(number=done.result)
            building.set_purpose(
                by=request.user, submission=uuid4(), assembly=assembly, meant_for=wanted
            )
        return done

    return form_page(
        request,
        form,
        act,
        then=lambda done: reverse("assemblies:bench", args=[done.result]),
        said="A new number was given out. Put the parts in.",
        template="assemblies/form_page.html",
        heading="New assembly",
        about=_about_new(wanted),
        submit="Give it a number",
        back_url=reverse("assemblies:assembly_list"),
    )


def _wanted(request: HttpRequest) -> ToolRequirement | None:
    """The tool number of a program that the address says to build for."""
    text = request.GET.get("for", "")
    if not text.isdecimal() or len(text) > 12:
        return None
    return purposes().filter(pk=int(text)).first()


def _about_new(wanted: ToolRequirement | None) -> str:
    about = "It gets the next free number, which carries no meaning and is never used again."
    return f"For {purpose_text(wanted)}. {about}" if wanted is not None else about


def _name_for(wanted: ToolRequirement | None) -> str:
    return f"for {purpose_text(wanted)}"[:80] if wanted is not None else ""


@needs("assembly.quarantine")
@require_http_methods(["GET", "HEAD", "POST"])
def quarantine(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)

    def act(data: dict):
        return building.quarantine(
            by=request.user,
            submission=data["submission"],
            assembly=assembly,
            note=data["reason"],
        )

    return _step(
        request,
        assembly,
        NoteForm(posted(request)),
        act,
        heading=f"Take {number} out of use",
        about="Its label is void at once. Only a rebuild brings it back.",
        submit="Quarantine",
        danger=True,
        said=f"Assembly {number} is quarantined; its label is void.",
    )


@needs("assembly.build")
@require_http_methods(["GET", "HEAD", "POST"])
def rebuild(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)

    def act(data: dict):
        return building.start_rebuild(by=request.user, assembly=assembly, **data)

    return _step(
        request,
        assembly,
        NoteForm(posted(request)),
        act,
        heading=f"Rebuild {number}",
        about="The revision ends and its label is void. The parts stay with it on the bench.",
        submit="Start the rebuild",
        said=f"Assembly {number} is on the bench; its old label is void.",
        then=reverse("assemblies:bench", args=[number]),
    )


@needs("assembly.build")
@require_http_methods(["GET", "HEAD", "POST"])
def retire(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)

    def act(data: dict):
        return benching.retire(by=request.user, assembly=assembly, **data)

    return _step(
        request,
        assembly,
        NoteForm(posted(request)),
        act,
        heading=f"Retire {number}",
        about="Its parts go back to their drawers. The number is never used again. Worn or dull"
        " parts are named where it is taken apart.",
        submit="Take it apart for good",
        danger=True,
        said=f"Assembly {number} is retired; its parts are back.",
    )


@needs("stock.issue")
@require_http_methods(["GET", "HEAD", "POST"])
def put_down(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)

    def act(data: dict):
        return benching.put_down(by=request.user, assembly=assembly, **data)

    return _step(
        request,
        assembly,
        PutDownForm(posted(request), initial={"place": assembly.contents.parent_id}),
        act,
        heading=f"Where {number} stands",
        about="So that the check at the spindle can say where to fetch it.",
        submit="Record",
        said="Recorded.",
    )


def _step(request, assembly, form, act, *, said, then="", **context) -> HttpResponse:
    """One form page of an assembly that leads back to it. A retired one has no steps left."""
    back_url = reverse("assemblies:assembly_detail", args=[assembly.number])
    if request.method != "POST" and assembly.state == AssemblyState.RETIRED:
        messages.warning(request, f"Assembly {assembly.number} is retired. Nothing can be done.")
        return redirect(back_url)
    return form_page(
        request,
        form,
        act,
        then=then or back_url,
        said=said,
        template="assemblies/form_page.html",
        back_url=back_url,
        **context,
    )
