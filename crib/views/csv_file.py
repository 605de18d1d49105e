"""A list as a file for a spreadsheet."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence

from django.http import HttpResponse

#: A cell that begins with one of these is run as a formula by spreadsheets.
_FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def csv_answer(name: str, head: Sequence[str], rows: Iterable[Sequence]) -> HttpResponse:
    """`rows` under `head` as the file `name`; no text in it is taken for a formula."""
    answer = HttpResponse(content_type="text/csv; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    answer.write("\ufeff")  # without it, spreadsheets misread Ø and ·
    writer = csv.writer(answer)
    writer.writerow(head)
    writer.writerows([harmless(cell) for cell in row] for row in rows)
    return answer


def harmless(cell: object) -> object:
    """A cell that a spreadsheet shows and does not run.

    >>> harmless("=1+1"), harmless("-5"), harmless(-5)
    ("'=1+1", "'-5", -5)
    """
    if isinstance(cell, str) and cell.lstrip(" ").startswith(_FORMULA_SIGNS):
        return f"'{cell}"
    return cell
