"""What another limit would say of the assemblies that are released now. Reads only."""

from __future__ import annotations

from dataclasses import dataclass, replace

from django.db.models import Max
from django.utils import timezone

from assemblies.actions.stack_facts import stack_of
from assemblies.models import AssemblyState, Build, Measurement
from assemblies.rules.fit import stack_findings
from assemblies.rules.shop_setting_rows import Asked
from assemblies.rules.shop_settings import (
    InForce,
    setting_named,
)
from assemblies.rules.stack import ShopLimits, Stack, Stage
from crib.reference import tables
from crib.rules.finding import Level

#: Assemblies looked at; each takes some queries.
MOST_LOOKED_AT = 200


@dataclass(frozen=True)
class Effect:
    """Released assemblies whose answer would change. `asks_program`: it cannot be told here."""

    looked_at: int = 0
    all_released: int = 0
    stricter: tuple[int, ...] = ()
    milder: tuple[int, ...] = ()
    asks_program: bool = False

    @property
    def is_cut(self) -> bool:
        return self.looked_at < self.all_released

    @property
    def changed(self) -> int:
        return len(self.stricter) + len(self.milder)


def effect_of(name: str, before: InForce, after: InForce) -> Effect:
    """Which released assemblies another limit would answer otherwise, newest releases first.

    Asked without a machine and a program, as at the bench. What was frozen stays as it is.
    """
    asked = setting_named(name).asked
    if asked is Asked.PROGRAM:
        return Effect(asks_program=True)
    released = Build.objects.filter(
        live=True, released_at__isnull=False, assembly__state=AssemblyState.RELEASED
    ).order_by("-released_at", "-pk")
    builds = list(released.select_related("assembly")[:MOST_LOOKED_AT])
    weigh = _weights_by_age if asked is Asked.AGE else _weights_by_fit
    weights = weigh(builds, before, after)
    return Effect(
        looked_at=len(builds),
        all_released=released.count() if len(builds) == MOST_LOOKED_AT else len(builds),
        stricter=tuple(sorted(b.assembly.number for b, was, now in weights if now > was)),
        milder=tuple(sorted(b.assembly.number for b, was, now in weights if now < was)),
    )


def _weights_by_fit(
    builds: list[Build], before: InForce, after: InForce
) -> list[tuple[Build, int, int]]:
    found = []
    for build in builds:
        stack = replace(stack_of(build), machine=None)
        found.append((build, _weight(stack, before.bench), _weight(stack, after.bench)))
    return found


def _weight(stack: Stack, limits: ShopLimits) -> int:
    """How much all that is doubtful weighs together: another limit moves it one way only."""
    findings = stack_findings(stack, limits, Stage.RELEASE, tables())
    return sum(f.level.weight for f in findings if f.level.weight >= Level.CHECK.weight)


def _weights_by_age(
    builds: list[Build], before: InForce, after: InForce
) -> list[tuple[Build, int, int]]:
    """A build counts from the older of its length and its diameter."""
    today = timezone.localdate()
    readings = Measurement.objects.filter(build__in=builds)
    days: dict[int, int] = {}
    last = readings.filter(quantity__in=("gauge_length", "diameter")).order_by()
    for row in last.values("build", "quantity").annotate(at=Max("at")):
        age = (today - timezone.localtime(row["at"]).date()).days
        days[row["build"]] = max(age, days.get(row["build"], 0))

    def old(build: Build, limits: InForce) -> int:
        return int(days.get(build.pk, 0) > limits.spindle.remeasure_after_days)

    return [(build, old(build, before), old(build, after)) for build in builds]
