"""The set-up sheet of one program revision on one machine, and its offsets as files."""

from __future__ import annotations

import re
from dataclasses import dataclass

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_safe

from assemblies.actions import setup_sheet as sheets
from assemblies.actions.setup_sheet import Sheet, SheetTool
from assemblies.actions.setup_sheet_candidates import Candidate
from assemblies.models import ProgramRevision
from assemblies.rules.drawing.sheet import NoRoom, placed
from assemblies.rules.drawing.svg import svg_of
from assemblies.rules.offset_lines import (
    CSV_HEAD,
    OffsetUnit,
    ToolOffset,
    csv_row,
    offset_lines,
    shown_offset,
    why_no_line,
)
from assemblies.views.machines import find_machine
from crib.views.access import needs
from crib.views.csv_file import csv_answer

#: Field of a side view on the page [um] and height of its letters; the page scales it as a whole.
_VIEW_UM = (64_000, 96_000)
_LETTER_UM = 3_400


@dataclass(frozen=True)
class ToolCard:
    """One tool number as the page shows it."""

    tool: SheetTool
    drawing: SafeString
    rebuild: Candidate | None


@dataclass(frozen=True)
class OffsetRow:
    """One line of the table of offsets."""

    offset: ToolOffset
    length: str
    diameter: str
    note: str


def find_revision(pk: int) -> ProgramRevision:
    """Without the text of the program, which may have 60 MB."""
    rows = ProgramRevision.objects.select_related("program").defer("content")
    return get_object_or_404(rows, pk=pk)


@needs("view")
@require_safe
def setup_sheet(request: HttpRequest, pk: int, mark: str) -> HttpResponse:
    sheet = sheets.setup_sheet(find_revision(pk), find_machine(mark))
    context = {
        "sheet": sheet,
        "cards": [_card(tool) for tool in sheet.tools],
        "offset_rows": [_offset_row(offset) for offset in sheet.offsets],
        "offset_text": "\n".join(_lines(sheet)),
        "unit_name": "inches" if sheet.unit is OffsetUnit.INCH else "millimetres",
        "may_build": request.user.may("assembly.build"),
        "may_confirm": request.user.may("program.confirm"),
    }
    answer = render(request, "assemblies/setup_sheet.html", context)
    answer["Cache-Control"] = "no-store"
    return answer


def _card(tool: SheetTool) -> ToolCard:
    rebuild = tool.chosen if tool.to_build else None
    return ToolCard(tool, _drawing(tool) if tool.chosen else mark_safe(""), rebuild)


def _drawing(tool: SheetTool) -> SafeString:
    view = tool.chosen.view
    try:
        drawing = placed(view, *_VIEW_UM, _LETTER_UM)
    except NoRoom:
        return mark_safe("")
    title = f"Assembly {tool.chosen.name} for T{tool.tool_number}"
    svg = svg_of(drawing, key=f"t{tool.tool_number}", title=title, description=view.description)
    # Every text in it was escaped by the writer.
    return mark_safe(svg)


def _offset_row(offset: ToolOffset) -> OffsetRow:
    inches = offset.bought_in_inches
    touched = "touched off at the machine" if offset.touched_off else ""
    return OffsetRow(
        offset,
        shown_offset(offset.gauge_length_um, inches),
        shown_offset(offset.diameter_um, inches),
        why_no_line(offset) or touched,
    )


def _lines(sheet: Sheet) -> tuple[str, ...]:
    return offset_lines(sheet.offsets, sheet.offset_head, sheet.unit)


@needs("view")
@require_safe
def setup_sheet_offsets(request: HttpRequest, pk: int, mark: str, form: str) -> HttpResponse:
    """The offsets as a file: `ngc` and `txt` for a control, `csv` for a spreadsheet."""
    if form not in ("ngc", "txt", "csv"):
        raise Http404(f"No offsets as {form}.")
    sheet = sheets.setup_sheet(find_revision(pk), find_machine(mark))
    name = f"{_file_name(sheet)}.{form}"
    if form == "csv":
        return csv_answer(name, CSV_HEAD, map(csv_row, sheet.offsets))
    answer = HttpResponse("\r\n".join((*_lines(sheet), "")), content_type="text/plain")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    answer["Cache-Control"] = "no-store"
    return answer


def _file_name(sheet: Sheet) -> str:
    """A name that every control and every header can carry."""
    return re.sub(r"[^A-Za-z0-9]+", "-", f"offsets {sheet.revision} {sheet.machine.mark}").strip(
        "-"
    )
