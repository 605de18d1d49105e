"""The log as a file for a spreadsheet, sent while it is read."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponseBase, StreamingHttpResponse
from django.utils import timezone
from django.views.decorators.http import require_safe

from assemblies.actions.check_log import log
from assemblies.actions.spindle import frozen_findings
from assemblies.forms.checks import LogForm
from assemblies.models import SpindleCheck
from assemblies.rules.override_rate import CAUTIONS
from assemblies.views.checks import MOST_EXPORTED, REASONS, check_list, override_words
from crib.rules.units import show_mm
from crib.views.access import needs
from crib.views.csv_file import harmless

_HEAD = (
    "When",
    "Machine",
    "Program",
    "Revision",
    "T",
    "Assembly",
    "Assembly revision",
    "Found by",
    "Verdict",
    "Fully known",
    "Decision",
    "Reason",
    "In own words",
    "Stop overridden",
    "Length at the control mm",
    "Diameter at the control mm",
    "What was said against it",
)
_NAMES = ("Who", "Override by")
#: Rows fetched at a time.
_CHUNK = 500


@needs("view")
@require_safe
def check_export(request: HttpRequest) -> HttpResponseBase:
    """The log as asked for, as a CSV file; names are for leads. Says when lines are left out."""
    names = request.user.may("check.names")
    form = LogForm(request.GET, names=names)
    if not form.is_valid():
        return check_list(request)
    found = log(form.wishes())
    left_out = found.count() - MOST_EXPORTED
    answer = StreamingHttpResponse(
        _lines(_table(found[:MOST_EXPORTED], names, left_out)),
        content_type="text/csv; charset=utf-8",
    )
    name = f"checks-{timezone.localdate():%Y-%m-%d}.csv"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


class _Echo:
    """A file that hands back what is written to it."""

    def write(self, text: str) -> str:
        return text


def _lines(table: Iterable[Iterable]) -> Iterator[str]:
    yield "\ufeff"  # without it, spreadsheets misread Ø and ·
    writer = csv.writer(_Echo())
    for row in table:
        yield writer.writerow([harmless(cell) for cell in row])


def _table(rows: QuerySet[SpindleCheck], names: bool, left_out: int) -> Iterator[Iterable]:
    yield (*_HEAD, *_NAMES) if names else _HEAD
    needed = rows.select_related(
        "machine", "assembly", "build", "revision__program", "by", "overridden_by"
    ).defer("revision__content")
    for row in needed.iterator(chunk_size=_CHUNK):
        yield (*_cells(row), *_name_cells(row)) if names else _cells(row)
    if left_out > 0:
        yield [f"{left_out} older checks are left out. Cut the days down to get them."]


def _cells(row: SpindleCheck) -> list:
    against = [f.text for f in frozen_findings(row) if f.level in CAUTIONS]
    return [
        timezone.localtime(row.at).strftime("%Y-%m-%d %H:%M:%S"),
        row.machine.name if row.machine else "",
        row.revision.program.name if row.revision else "",
        row.revision.label if row.revision else "",
        row.tool_number,
        row.assembly.number,
        row.build.revision_text if row.build else "",
        row.get_found_by_display(),
        row.get_verdict_display(),
        "yes" if row.fully_known else "no",
        row.get_decision_display(),
        REASONS.get(row.reason, row.reason),
        row.reason_text,
        override_words(row),
        "" if row.gauge_length_um is None else show_mm(row.gauge_length_um, 3),
        "" if row.diameter_um is None else show_mm(row.diameter_um, 3),
        " ".join(against),
    ]


def _name_cells(row: SpindleCheck) -> list[str]:
    return [row.by.shown_name, row.overridden_by.shown_name if row.overridden_by else ""]
