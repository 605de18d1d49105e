"""Reading the log of decisions: filtered, counted, and by rule. Reads only."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

from django.db.models import Count, F, Q, QuerySet
from django.utils import timezone

from assemblies.actions.said_against import SaidAgainst
from assemblies.models import Decision, SpindleCheck
from assemblies.rules.override_rate import Decided, Rates, Said, override_rate
from crib.rules.finding import Level
from crib.rules.keys import key_of

#: Days whose decisions count for the rates, and the most decisions of them that are read.
RATE_DAYS = 90
MOST_FOR_RATES = 5_000


@dataclass(frozen=True, kw_only=True)
class LogWishes:
    """What a reader of the log asks for; an empty wish leaves all."""

    machine: int | None = None
    program: str = ""
    tool_number: int | None = None
    assembly: int | None = None
    verdict: str = ""
    decision: str = ""
    reason: str = ""
    #: `yes`: a stop that somebody answered for; `own`: with their own PIN.
    overridden: str = ""
    not_fully_known: bool = False
    code: str = ""
    since: date | None = None
    until: date | None = None
    person: int | None = None

    @property
    def any(self) -> bool:
        return self != LogWishes()


def log(wishes: LogWishes) -> QuerySet[SpindleCheck]:
    """Decisions that meet every wish, newest first."""
    plain = {
        "machine": wishes.machine,
        "tool_number": wishes.tool_number,
        "assembly__number": wishes.assembly,
        "verdict": wishes.verdict,
        "decision": wishes.decision,
        "reason": wishes.reason,
        "by": wishes.person,
    }
    named = {name: value for name, value in plain.items() if value not in ("", None)}
    rows = SpindleCheck.objects.filter(**named)
    if wishes.program:
        rows = rows.filter(revision__program__name_key__contains=key_of(wishes.program))
    if wishes.not_fully_known:
        rows = rows.filter(fully_known=False)
    if wishes.code:
        rows = rows.filter(SaidAgainst("findings", wishes.code))
    return _between(_overridden(rows, wishes.overridden), wishes)


def _overridden(rows: QuerySet[SpindleCheck], wish: str) -> QuerySet[SpindleCheck]:
    if wish == "own":
        return rows.filter(overridden_by=F("by"))
    if wish == "yes":
        return rows.filter(overridden_by__isnull=False)
    return rows


def _between(rows: QuerySet[SpindleCheck], wishes: LogWishes) -> QuerySet[SpindleCheck]:
    if wishes.since:
        rows = rows.filter(at__gte=_start_of(wishes.since))
    if wishes.until:
        rows = rows.filter(at__lt=_start_of(wishes.until + timedelta(days=1)))
    return rows


def _start_of(day: date) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))


def counts(rows: QuerySet[SpindleCheck]) -> dict[str, int]:
    """How many decisions there are, by verdict, and how many were loaded."""
    return rows.order_by().aggregate(
        all=Count("pk"),
        match=Count("pk", filter=Q(verdict="match")),
        check=Count("pk", filter=Q(verdict="check")),
        stop=Count("pk", filter=Q(verdict="stop")),
        cant_tell=Count("pk", filter=Q(verdict="cant_tell")),
        loaded=Count("pk", filter=Q(decision=Decision.LOADED)),
    )


def rates(since: date) -> Rates:
    """The rates of every rule since that day, over no more than `MOST_FOR_RATES` decisions."""
    rows = log(LogWishes(since=since)).order_by("-at", "-id")
    read = rows.values_list("findings", "verdict", "decision")[:MOST_FOR_RATES]
    return override_rate([_decided(*row) for row in read])


def _decided(findings: list[dict], verdict: str, decision: str) -> Decided:
    said = tuple(Said(row["code"], Level(row["level"]), row["text"]) for row in findings)
    return Decided(decision == Decision.LOADED, verdict == "match", said)


def overrides_since(since: datetime) -> list[SpindleCheck]:
    """Stops that were loaded because somebody answered for them; alone with the own PIN first."""
    rows = SpindleCheck.objects.filter(overridden_by__isnull=False, at__gte=since)
    rows = rows.select_related(
        "machine", "assembly", "build", "revision__program", "by", "overridden_by"
    ).defer("revision__content")
    return sorted(rows, key=lambda row: (row.by_id != row.overridden_by_id, -row.at.timestamp()))
