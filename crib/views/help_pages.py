"""Pages to read: the trade tables and the help."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from crib.reference import PageTable, all_tables
from crib.views.access import needs


@needs("view")
@require_safe
def reference_list(request: HttpRequest) -> HttpResponse:
    return render(request, "crib/reference_list.html", {"tables": all_tables()})


@needs("view")
@require_safe
def reference_table(request: HttpRequest, name: str) -> HttpResponse:
    table = _table_named(name)
    rows = [list(zip(table.columns, row, strict=True)) for row in table.rows]
    context = {"table": table, "rows": rows, "tables": all_tables()}
    return render(request, "crib/reference_table.html", context)


def _table_named(name: str) -> PageTable:
    for table in all_tables():
        if table.name == name:
            return table
    raise Http404(name)


@require_safe
def help_page(request: HttpRequest) -> HttpResponse:
    return render(request, "crib/help.html")
