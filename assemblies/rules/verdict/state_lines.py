"""What state is it in? Worked out at the bench and by the life rules, told here.

Source: each finding brings its own.
"""

from __future__ import annotations

from assemblies.rules.verdict.facts import AssemblyFacts
from assemblies.rules.verdict.wording import unknown
from crib.rules.finding import Finding, Level


def state_findings(assembly: AssemblyFacts) -> list[Finding]:
    """Cautions accepted at the build, then condition; not read is not clean."""
    return [*_cautions(assembly), *_runout(assembly), *_condition(assembly)]


def _cautions(assembly: AssemblyFacts) -> list[Finding]:
    if assembly.cautions is None:
        return [unknown("state.cautions_not_known", "The findings of the build are not known.")]
    return list(assembly.cautions)


def _runout(assembly: AssemblyFacts) -> list[Finding]:
    if assembly.runout_um is not None:
        return []
    remedy = "Measure it at the bench, or look at it turning slowly."
    return [
        Finding("state.runout_not_measured", Level.CHECK, "Runout not measured.", remedy=remedy)
    ]


def _condition(assembly: AssemblyFacts) -> list[Finding]:
    if assembly.condition is None:
        text = "Wear and care of the parts were not looked up."
        return [unknown("state.condition_not_known", text)]
    return list(assembly.condition)
