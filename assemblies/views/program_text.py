"""The text of a program revision: numbered lines, what the reader noted at its line, search."""

from __future__ import annotations

from io import StringIO
from itertools import islice
from typing import NamedTuple

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from assemblies.actions.readings import reading_of
from assemblies.forms.programs import LARGEST_FILE
from assemblies.models import ProgramRevision
from assemblies.rules.nc.text import decode
from crib.views.access import needs

#: Lines of program text on one page.
LINES_SHOWN = 2000
#: Letters of one line; a block of a program is far shorter.
LETTERS_SHOWN = 500
#: Lines shown above the one that was found.
LINES_ABOVE = 5


class TextLine(NamedTuple):
    """One line as it is shown."""

    number: int
    text: str
    notes: list[dict]
    is_found: bool


@needs("view")
@require_safe
def program_text(request: HttpRequest, pk: int) -> HttpResponse:
    revision = get_object_or_404(ProgramRevision.objects.select_related("program"), pk=pk)
    # Lines end as the reader counts them: a form feed ends none.
    text = decode(bytes(revision.content), LARGEST_FILE)
    line_count = text.count("\n")
    asked = request.GET.get("from", "")
    wanted = request.GET.get("find", "").strip()[:60]
    first = _line_number(asked, line_count)
    found = _found(text, wanted, first) if wanted else None
    if found is not None:
        first = max(1, found - LINES_ABOVE)
    context = {
        "revision": revision,
        "wanted": wanted,
        "found": found,
        "lines": _lines(text, first, found or (first if asked else None), _notes(revision)),
        "before": max(1, first - LINES_SHOWN) if first > 1 else None,
        "after": first + LINES_SHOWN if first + LINES_SHOWN <= line_count else None,
        "line_count": line_count,
    }
    return render(request, "assemblies/program_text.html", context)


def _line_number(text: str, line_count: int) -> int:
    wanted = int(text) if text.isdecimal() and len(text) < 10 else 1
    return max(1, min(wanted, line_count or 1))


def _found(text: str, wanted: str, first: int) -> int | None:
    """The first line from `first` on that holds `wanted`, in letters of either case."""
    lines = islice(StringIO(text, newline="\n"), first - 1, None)
    wanted = wanted.lower()
    return next((n for n, line in enumerate(lines, start=first) if wanted in line.lower()), None)


def _lines(
    text: str, first: int, marked: int | None, notes: dict[int, list[dict]]
) -> list[TextLine]:
    shown = islice(StringIO(text, newline="\n"), first - 1, first - 1 + LINES_SHOWN)
    return [
        TextLine(
            number, line.removesuffix("\n")[:LETTERS_SHOWN], notes.get(number, []), number == marked
        )
        for number, line in enumerate(shown, start=first)
    ]


def _notes(revision: ProgramRevision) -> dict[int, list[dict]]:
    """What the reader noted, by line."""
    reading = reading_of(revision)
    by_line: dict[int, list[dict]] = {}
    for note in reading.notes if reading else []:
        by_line.setdefault(note["line"], []).append(note)
    return by_line
