"""Which rules speak up, and which are waved through."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from assemblies.actions.check_log import MOST_FOR_RATES, RATE_DAYS, overrides_since, rates
from assemblies.actions.corrections import open_corrections
from assemblies.actions.spindle import frozen_findings
from assemblies.models import SpindleCheck
from assemblies.rules.override_rate import ACCEPTED_OFTEN, AIM_PERCENT
from assemblies.views.checks import REASONS
from crib.rules.finding import stops
from crib.views.access import needs

#: Days of overrides that are shown to the lead in the morning.
OVERRIDE_DAYS = 7


@dataclass(frozen=True)
class Overridden:
    """One stop that somebody answered for, as a line of the morning's list."""

    check: SpindleCheck
    own_pin: bool
    stops: list[str]
    reason: str


def _line(row: SpindleCheck) -> Overridden:
    return Overridden(
        check=row,
        own_pin=row.by_id == row.overridden_by_id,
        stops=[f.text for f in stops(frozen_findings(row))],
        reason=REASONS.get(row.reason, row.reason),
    )


@needs("rules.watch")
@require_safe
def override_rates(request: HttpRequest) -> HttpResponse:
    """Every rule with how often it spoke, and how often it was loaded all the same."""
    now = timezone.now()
    # From the start of a day, so that the log behind a link counts the same checks.
    first_day = timezone.localdate() - timedelta(days=RATE_DAYS)
    told = rates(first_day)
    context = {
        "rates": told,
        "cut": told.decisions == MOST_FOR_RATES,
        "days": RATE_DAYS,
        "since": first_day,
        "aim": AIM_PERCENT,
        "often": ACCEPTED_OFTEN,
        "overrides": [_line(row) for row in overrides_since(now - timedelta(days=OVERRIDE_DAYS))],
        "override_days": OVERRIDE_DAYS,
        "override_since": timezone.localdate() - timedelta(days=OVERRIDE_DAYS),
        "day_ago": now - timedelta(days=1),
        "may_see_names": request.user.may("check.names"),
        "corrections": open_corrections().count(),
    }
    return render(request, "assemblies/override_rates.html", context)
