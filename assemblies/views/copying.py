"""Another assembly like this one, for another machine or for the rack."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from assemblies.actions.copying import copy_assembly, copy_plan
from assemblies.forms.taking_apart import CopyForm
from assemblies.views.assembly_page import find_assembly, live_build
from crib.views.access import needs
from crib.views.form_page import form_page, posted


@needs("assembly.build")
@require_http_methods(["GET", "HEAD", "POST"])
def copy(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    back_url = reverse("assemblies:assembly_detail", args=[number])
    build = live_build(assembly)
    if build is None and request.method != "POST":
        messages.warning(request, f"Assembly {number} is retired. Nothing can be done.")
        return redirect(back_url)
    planned = copy_plan(build) if build else []

    def act(data: dict):
        return copy_assembly(by=request.user, assembly=assembly, **data)

    return form_page(
        request,
        CopyForm(posted(request), initial={"name": assembly.name}),
        act,
        then=lambda done: reverse("assemblies:bench", args=[done.result]),
        said=f"A new number was given out, like {number}. Figures start empty.",
        template="assemblies/copy.html",
        assembly=assembly,
        build=build,
        planned=planned,
        missing=[part for part in planned if not part.in_stock],
        back_url=back_url,
    )
