"""When each rule last spoke: read from what was frozen with builds and checks. Reads only."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime

from assemblies.models import Build, SpindleCheck
from assemblies.rules.book.front import rule_of
from crib.rules.finding import Level

#: So many of the newest builds, and as many checks, are looked through.
LOOKED_THROUGH = 300


@dataclass(frozen=True)
class Spoke:
    """What a rule said other than a pass, and of what: a check, or one revision on the bench.

    `check` is the key of the check, None where it was said at the bench.
    """

    at: datetime
    code: str
    text: str
    level: str
    number: int
    revision_text: str
    check: int | None = None


@dataclass(frozen=True)
class Uses:
    """The last time of each rule by its key, and how much was looked through."""

    last: dict[str, Spoke]
    builds: int
    checks: int


def last_uses() -> Uses:
    """The last time each rule spoke among the newest builds and checks; two queries."""
    builds, checks = _builds(), _checks()
    last: dict[str, Spoke] = {}
    for spoke in (*_said_at_the_bench(builds), *_said_at_the_spindle(checks)):
        rule = rule_of(spoke.code)
        if rule is not None and (rule.key not in last or spoke.at > last[rule.key].at):
            last[rule.key] = spoke
    return Uses(last, len(builds), len(checks))


def _builds() -> list[Build]:
    made = Build.objects.filter(built_at__isnull=False).select_related("assembly")
    wanted = ("revision", "built_at", "released_at", "findings", "release_findings")
    newest = made.order_by("-built_at", "-pk").only(*wanted, "assembly__number")
    return list(newest[:LOOKED_THROUGH])


def _checks() -> list[SpindleCheck]:
    rows = SpindleCheck.objects.select_related("assembly", "build")
    wanted = ("at", "findings", "assembly__number", "build__revision")
    return list(rows.order_by("-at", "-pk").only(*wanted)[:LOOKED_THROUGH])


def _said_at_the_bench(builds: list[Build]) -> Iterator[Spoke]:
    for build in builds:
        for at, findings in (
            (build.built_at, build.findings),
            (build.released_at, build.release_findings),
        ):
            for found in _loud(findings if at else []):
                yield Spoke(at, *found, build.assembly.number, build.revision_text)


def _said_at_the_spindle(checks: list[SpindleCheck]) -> Iterator[Spoke]:
    for check in checks:
        revision_text = check.build.revision_text if check.build else ""
        for found in _loud(check.findings):
            yield Spoke(check.at, *found, check.assembly.number, revision_text, check.pk)


def _loud(findings: list[dict]) -> Iterator[tuple[str, str, str]]:
    """Code, text and level of all that was no pass."""
    for found in findings:
        if found["level"] != Level.PASS:
            yield found["code"], found["text"], found["level"]
