"""What was decided at the spindles: the log, and one decision with its findings."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_safe

from assemblies.actions.check_log import LogWishes, counts, log
from assemblies.actions.spindle import ACCEPT_REASONS, REFUSE_REASONS, frozen_findings
from assemblies.forms.checks import LogForm
from assemblies.models import SpindleCheck
from assemblies.rules.cautions import steps_done
from assemblies.tables.checks import CheckTable
from assemblies.views.spindle import with_subjects
from crib.tables import laid_out
from crib.views.access import needs

#: Lines of one export; a spreadsheet opens that many without trouble.
MOST_EXPORTED = 50_000
REASONS = ACCEPT_REASONS | REFUSE_REASONS


@needs("view")
@require_safe
def check_list(request: HttpRequest) -> HttpResponse:
    form = LogForm(request.GET, names=request.user.may("check.names"))
    sound = form.is_valid()
    wishes = form.wishes() if sound else LogWishes()
    found = log(wishes) if sound else SpindleCheck.objects.none()
    table = CheckTable(
        with_subjects(found),
        reasons=REASONS,
        exclude=hidden_columns(request),
        empty_text=_nothing_found(wishes, sound),
    )
    context = {
        "form": form,
        "table": laid_out(request, table),
        "counts": counts(found) if sound else None,
        "filtered": wishes.any,
        "asked": form.asked(),
        "most_exported": MOST_EXPORTED,
        "may_watch": request.user.may("rules.watch"),
    }
    return render(request, "assemblies/check_list.html", context, status=200 if sound else 422)


def hidden_columns(request: HttpRequest) -> list[str]:
    """The log is for finding which rule or part failed; who it was is for leads."""
    return [] if request.user.may("check.names") else ["by"]


def _nothing_found(wishes: LogWishes, sound: bool) -> str:
    if not sound:
        return "Nothing is shown: look at the marked fields."
    if wishes.any:
        return "No check matches."
    return "Nothing was decided at a spindle yet."


@needs("view")
@require_safe
def check_detail(request: HttpRequest, pk: int) -> HttpResponse:
    """One decision: what was compared then, who answered for it, what became of it."""
    rows = SpindleCheck.objects.select_related(
        "machine",
        "assembly",
        "build",
        "revision__program",
        "by",
        "overridden_by",
        "act",
        "hands_on",
        "correction__by",
        "load",
    ).defer("revision__content")
    row = get_object_or_404(rows, pk=pk)
    hands_on = getattr(row, "hands_on", None)
    context = {
        "check": row,
        "reason": REASONS.get(row.reason, ""),
        "findings": frozen_findings(row),
        "told": row.act.details,
        "steps": steps_done(hands_on.done) if hands_on else (),
        "may_see_name": request.user.may("check.names"),
        "may_answer": request.user.may("assembly.build"),
    }
    return render(request, "assemblies/check_detail.html", context)


def override_words(row: SpindleCheck) -> str:
    """Whether a stop was overridden, and whether by the person who loaded."""
    if row.overridden_by_id is None:
        return ""
    return "own PIN" if row.overridden_by_id == row.by_id else "yes"
