"""The revisions of one program, and what changed from one to the next."""

from __future__ import annotations

from dataclasses import dataclass

from django.core.paginator import Paginator
from django.db.models import Prefetch
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from assemblies.actions.comparing import compare_readings
from assemblies.models import STANDARD_KEY, ProgramRevision, Reading
from crib.views.access import needs

#: Revisions on one page.
REVISIONS_SHOWN = 20


@dataclass(frozen=True)
class HistoryRow:
    """One revision, and what changed in it for the tools since the one before."""

    revision: ProgramRevision
    before: ProgramRevision | None
    sentence: str
    complete: bool | None


@needs("view")
@require_safe
def program_history(request: HttpRequest, pk: int) -> HttpResponse:
    """All revisions of the program that the revision `pk` belongs to, newest first."""
    revision = get_object_or_404(
        ProgramRevision.objects.select_related("program").defer("content"), pk=pk
    )
    read = Reading.objects.filter(settings_key=STANDARD_KEY).defer("notes")
    read = read.prefetch_related("tool_uses", "tool_calls")
    rows = (
        revision.program.revisions.defer("content")
        .select_related("added_by")
        .prefetch_related(Prefetch("readings", read, to_attr="standard"))
    )
    page = Paginator(rows, REVISIONS_SHOWN).get_page(request.GET.get("page"))
    # The last one of a page is told against the first of the next.
    first, last = page.start_index(), page.end_index()
    window = list(rows[first - 1 : last + 1])
    context = {
        "program": revision.program,
        "page": page,
        "rows": [
            _history_row(row, window[place + 1] if place + 1 < len(window) else None)
            for place, row in enumerate(window[: last - first + 1])
        ],
    }
    return render(request, "assemblies/program_history.html", context)


def _history_row(row: ProgramRevision, before: ProgramRevision | None) -> HistoryRow:
    reading = next(iter(row.standard), None)
    complete = reading.complete if reading else None
    if before is None:
        return HistoryRow(row, None, "the first one", complete)
    earlier = next(iter(before.standard), None)
    if reading is None or earlier is None:
        return HistoryRow(row, before, "not read, so not compared", complete)
    return HistoryRow(row, before, compare_readings(earlier, reading).sentence, complete)
