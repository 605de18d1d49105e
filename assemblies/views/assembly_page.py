"""What every page about one assembly needs: to find it, and to sort its findings."""

from __future__ import annotations

from django.shortcuts import get_object_or_404

from assemblies.models import Assembly, Build
from crib.rules.finding import Finding, Level, worst_first


def folded(findings: list[Finding]) -> dict[str, list[Finding]]:
    """The points to look at, worst first, and apart from them those that agree."""
    return {
        "findings": worst_first(f for f in findings if f.level != Level.PASS),
        "agreed": [f for f in findings if f.level == Level.PASS],
    }


def find_assembly(number: int) -> Assembly:
    rows = Assembly.objects.select_related("contents__parent")
    return get_object_or_404(rows, number=number)


def live_build(assembly: Assembly) -> Build | None:
    """The draft or made build that stands, with what it is meant for; None when retired.

    Without the text of the program, which may have 60 MB.
    """
    rows = Build.objects.filter(assembly=assembly, live=True).select_related(
        "assembly",
        "built_by",
        "accepted_by",
        "released_by",
        "meant_for__revision__program",
        "wrench",
        "copied_from__assembly",
    )
    return rows.defer("meant_for__revision__content").first()
