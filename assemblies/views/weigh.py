"""Weighing a built assembly."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from assemblies.actions.weigh import record_weighing
from assemblies.forms.measuring import WeighForm
from assemblies.models import Assembly, Weighing
from assemblies.views.assembly_page import find_assembly, live_build
from crib.models import Instrument, InstrumentKind
from crib.rules.units import show_mm
from crib.views.access import needs
from crib.views.form_page import form_page, posted


@needs("assembly.build")
@require_http_methods(["GET", "HEAD", "POST"])
def weigh(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    build = live_build(assembly)
    back_url = reverse("assemblies:assembly_detail", args=[number])
    if build is None:
        return redirect(back_url)
    form = WeighForm(posted(request), initial={"revision": build.revision})
    _put_last_beside(form, assembly)

    def act(data: dict):
        return record_weighing(
            by=request.user,
            submission=data["submission"],
            assembly=assembly,
            mass_g=data["mass_g"],
            centre_um=data["centre_um"],
            measured_with=data["instrument"],
            revision=data["revision"],
        )

    return form_page(
        request,
        form,
        act,
        then=back_url,
        said="Mass kept.",
        template="assemblies/weigh.html",
        heading=f"Weigh {build}",
        submit="Keep mass",
        back_url=back_url,
        assembly=assembly,
        build=build,
        instruments=Instrument.objects.filter(kind=InstrumentKind.SCALE, is_retired=False),
    )


def _put_last_beside(form: WeighForm, assembly: Assembly) -> None:
    """Print what was weighed last under its field, whatever revision it is of."""
    last = Weighing.objects.filter(build__assembly=assembly).select_related("build").first()
    if last is None:
        return
    said = f"{last.build.revision_text}: {{}}, {last.at:%-d %b %Y}"
    form.fields["mass_g"].help_text = said.format(f"{last.mass_g} g")
    if last.centre_um is not None:
        form.fields["centre_um"].help_text = said.format(f"{show_mm(last.centre_um, 1)} mm")
