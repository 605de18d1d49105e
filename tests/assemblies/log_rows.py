"""Rows of the log to test with: decisions as they are kept, without the walk to a spindle."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from django.utils import timezone

from assemblies.models import Assembly, Machine, ProgramRevision, SpindleCheck
from crib.models import Person
from crib.rules.finding import Finding, Level
from tests import assembly_makers as made
from tests import makers
from tests.assemblies.load_makers import decided

HOURS = Finding("collet.hours_over", Level.CHECK, "Collet C-06 has run 520 of 500 h.")
LENGTH = Finding("program.length_differs", Level.STOP_SOFT, "Length is 2.0 shorter.")
AGREES = Finding("assembly.released", Level.PASS, "Released.")


@dataclass
class Log:
    """One assembly at one machine, and who decides about it. `ago` is in hours."""

    assembly: Assembly
    machine: Machine
    revision: ProgramRevision
    operator: Person
    lead: Person
    toolroom: Person

    @classmethod
    def open(cls) -> Log:
        return cls(
            made.released(),
            made.machine(),
            made.revision("HM-0377", "B"),
            makers.person("operator", first_name="Tolly"),
            makers.person("lead", first_name="Oswin"),
            makers.person("toolroom", first_name="Ines"),
        )

    def add(self, ago: float = 0, findings=(AGREES,), **fields) -> SpindleCheck:
        given = {
            "by": self.operator,
            "machine": self.machine,
            "at": timezone.now() - timedelta(hours=ago),
            "findings": [finding.as_dict() for finding in findings],
            "revision": self.revision,
        }
        return decided(self.assembly, **given | fields)

    def check(self, reason: str = "trial", findings=(HOURS, AGREES), **fields) -> SpindleCheck:
        return self.add(findings=findings, verdict="check", reason=reason, **fields)

    def refused(self, reason: str = "dull", **fields) -> SpindleCheck:
        return self.add(decision="refused", reason=reason, **fields)

    def overridden(self, overrider: Person, **fields) -> SpindleCheck:
        given = {"reason": "trial", "verdict": "stop", "findings": (LENGTH,)}
        return self.add(overridden_by=overrider, **given | fields)
