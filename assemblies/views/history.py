"""What was measured over time, drawn and as figures."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_safe

from assemblies.actions.history import (
    History,
    HistoryPart,
    history_of_assembly,
    history_of_piece,
)
from assemblies.models import Measurement
from assemblies.views.assembly_page import find_assembly
from crib.models import Piece
from crib.rules.calibration import shown_day
from crib.rules.keys import key_of
from crib.rules.plot import plot_of
from crib.rules.plot_svg import mark_svg, plot_svg
from crib.rules.units import show_mm
from crib.views.access import needs


@dataclass(frozen=True)
class ShownPart:
    """One quantity as a page shows it: the plot, its key, and the same figures as rows."""

    part: HistoryPart
    svg: SafeString
    legend: list[tuple[SafeString, str]]
    lines: list[tuple[Measurement, int]]
    summary: str


def shown_history(history: History, about: str) -> list[ShownPart]:
    """The drawings of a history; `about` names whose it is, for their titles."""
    return [_shown(part, about) for part in history.parts]


def _shown(part: HistoryPart, about: str) -> ShownPart:
    summary = _summary(part)
    plot = plot_of(part.series, part.levels, part.scale)
    svg = plot_svg(
        plot, key=f"plot-{part.key}", title=f"{part.title} of {about}", description=summary
    )
    # Every text in it went through the escaping of `plot_svg`.
    return ShownPart(
        part,
        mark_safe(svg),
        [(mark_safe(mark_svg(mark)), name) for name, mark in plot.legend],
        list(zip(part.rows, part.values_um, strict=True))[::-1],
        summary,
    )


def _summary(part: HistoryPart) -> str:
    """The plot in one sentence, for those who do not see it and for those in a hurry."""
    values, count = part.values_um, len(part.values_um)
    least, most, middle = (
        show_mm(um, part.decimals) for um in (min(values), max(values), part.median_um)
    )
    between = f"{least} mm" if least == most else f"{least} to {most} mm, median {middle}"
    limits = "".join(f" {level.name[0].upper()}{level.name[1:]}." for level in part.limits)
    readings = "1 reading" if count == 1 else f"{count} readings"
    return f"{readings}, {_when(part)}: {between}.{limits}"


def _when(part: HistoryPart) -> str:
    days = [shown_day(timezone.localdate(row.at)) for row in (part.rows[0], part.rows[-1])]
    return days[0] if days[0] == days[1] else " to ".join(days)


@needs("view")
@require_safe
def assembly_history(request: HttpRequest, number: int) -> HttpResponse:
    assembly = find_assembly(number)
    history = history_of_assembly(assembly)
    context = {
        "assembly": assembly,
        "history": shown_history(history, f"assembly {number}"),
        "cut_off": history.cut_off,
        "may_build": request.user.may("assembly.build"),
    }
    return render(request, "assemblies/history_assembly.html", context)


@needs("view")
@require_safe
def piece_history(request: HttpRequest, mark: str) -> HttpResponse:
    rows = Piece.objects.select_related(
        "item", "item__holder_facts", "item__cutter_facts", "item__collet_facts"
    )
    piece = get_object_or_404(rows, mark_key=key_of(mark))
    history = history_of_piece(piece)
    context = {
        "piece": piece,
        "history": shown_history(history, piece.mark),
        "cut_off": history.cut_off,
        "left_out": history.left_out,
    }
    return render(request, "assemblies/history_piece.html", context)
