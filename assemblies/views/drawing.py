"""The drawing of one assembly: in a page, and as a file."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_safe

from assemblies.actions.drawing_facts import view_of
from assemblies.models import Build
from assemblies.rules.drawing.paper import placed_in_full
from assemblies.rules.drawing.sheet import Drawing, NoRoom
from assemblies.rules.drawing.side import Figure, SideView
from assemblies.rules.drawing.svg import svg_file, svg_of
from assemblies.views.assembly_page import find_assembly, live_build
from crib.views.access import needs

#: Field of a drawing [um] and height of its letters; a page scales it as a whole.
_FIELD_UM = (120_000, 110_000)
_LETTER_UM = 2_500
#: A drawing from this width on [um] would have letters too small on a phone: there it scrolls.
_WIDE_FROM_UM = 80_000


@dataclass(frozen=True)
class Drawn:
    """One drawing as a page shows it; `svg` is empty where no scale holds the assembly."""

    svg: SafeString
    scale: str
    is_wide: bool
    figures: tuple[Figure, ...]
    missing: tuple[str, ...]
    file_url: str


def drawing_of(build: Build) -> Drawn:
    """The drawing of a build with its dimensions as a table. Two queries."""
    view, number = view_of(build), build.assembly.number
    drawing = _laid_out(view)
    svg = ""
    if drawing is not None:
        title = f"Assembly {build}"
        svg = svg_of(drawing, key=f"d{build.pk}", title=title, description=view.description)
    return Drawn(
        # Every text in it was escaped by the writer.
        svg=mark_safe(svg),
        scale=drawing.scale_text if drawing else "",
        is_wide=drawing is not None and drawing.width_um > _WIDE_FROM_UM,
        figures=view.figures,
        missing=view.missing,
        file_url=reverse("assemblies:drawing_svg", args=[number]),
    )


def _laid_out(view: SideView) -> Drawing | None:
    try:
        return placed_in_full(view, *_FIELD_UM, _LETTER_UM)
    except NoRoom:
        return None


@needs("view")
@require_safe
def drawing_svg(request: HttpRequest, number: int) -> HttpResponse:
    """The drawing of what stands now, as a file for other papers."""
    build = live_build(find_assembly(number))
    if build is None:
        raise Http404(f"Assembly {number} was taken apart.")
    view = view_of(build)
    drawing = _laid_out(view)
    if drawing is None:
        raise Http404(f"Assembly {build} is too long or wide to draw.")
    text = svg_file(drawing, title=f"Assembly {build}", description=view.description)
    answer = HttpResponse(text, content_type="image/svg+xml; charset=utf-8")
    name = f"assembly-{number}-{build.revision_text}.svg"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    answer["Cache-Control"] = "no-store"
    return answer
