"""One page on which a whole assembly is taken apart."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from assemblies.actions import dismantle as dismantling
from assemblies.forms.taking_apart import RETIRE, DismantleForm
from assemblies.models import Assembly, Load, PartRole
from assemblies.views.assembly_page import find_assembly, live_build
from crib.views.access import needs
from crib.views.form_page import form_page, posted


@needs("assembly.build")
@require_http_methods(["GET", "HEAD", "POST"])
def dismantle(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    back_url = reverse("assemblies:assembly_detail", args=[number])
    build = live_build(assembly)
    if build is None and request.method != "POST":
        messages.warning(request, f"Assembly {number} is retired. Nothing can be done.")
        return redirect(back_url)
    form = DismantleForm(posted(request), parts=_parts(build))

    def act(data: dict):
        return dismantling.dismantle(
            by=request.user,
            submission=data["submission"],
            assembly=assembly,
            fates=form.fates(),
            reason=data["reason"],
            retires=data["afterwards"] == RETIRE,
            seen=data["seen"],
        )

    return form_page(
        request,
        form,
        act,
        then=lambda done: _after(number),
        said=f"Assembly {number} is taken apart.",
        template="assemblies/dismantle.html",
        assembly=assembly,
        build=build,
        rows=form.rows(),
        last_load=_last_load(assembly),
        back_url=back_url,
    )


def _parts(build) -> list:
    """The parts from the spindle to the tip."""
    if build is None:
        return []
    order = PartRole.values
    rows = build.parts.select_related("item__home_place", "piece")
    return sorted(rows, key=lambda part: order.index(part.role))


def _last_load(assembly: Assembly) -> Load | None:
    """Where it was last: still said to be in there, or how it was when it came out."""
    return assembly.loads.select_related("machine").order_by("-loaded_at").first()


def _after(number: int) -> str:
    """To the empty draft; to the assembly's page where its number is retired."""
    stays = Assembly.objects.filter(number=number, builds__live=True).exists()
    return reverse(f"assemblies:{'bench' if stays else 'assembly_detail'}", args=[number])
