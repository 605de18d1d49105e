"""What stands beside a verdict: its forms, the other T numbers, what is in the way."""

from __future__ import annotations

from django.db.models import Q

from assemblies.actions.spindle import Checked
from assemblies.actions.spindle_history import loads_of
from assemblies.forms.spindle import LARGEST_TOOL_NUMBER, AskForm
from assemblies.models import Load, SpindleCheck, Station
from assemblies.rules.verdict.judge import Verdict
from assemblies.views.verdict_forms import Looker, decisions, places

#: The program names no figures: what was loaded under this T before is worth a look.
_NO_FIGURES = frozenset({"program.number_only", "program.text_only"})
_LAST_LOADS = 3
#: Another tool stands where this one is to go.
_IN_THE_WAY = frozenset({"machine.pocket_taken", "machine.number_taken"})
#: The programmer has not said what the tool must be.
_NOT_STATED = _NO_FIGURES | {
    "program.requirement_not_confirmed",
    "program.kind_not_stated",
    "program.diameter_not_stated",
    "program.diameter_tolerance_not_stated",
    "program.length_not_stated",
    "program.length_tolerance_not_stated",
}


def beside(checked: Checked, station: Station, looker: Looker) -> dict:
    """Everything of the page that is not the verdict itself."""
    verdict = checked.verdict
    last = last_loads(checked, station)
    return {
        "facts": checked.facts.assembly,
        "tools": _tools(checked),
        "most_digits": _most_digits(verdict.tool_number),
        "choice_needed": verdict.tool_choice_needed,
        "last_loads": last,
        "places": places(checked, station.machine, looker.promised),
        "in_the_way": in_the_way(checked, station, looker),
        "stops": [finding for finding in verdict.findings if finding.level.is_stop],
        "ask": _ask_form(verdict, looker),
        "override_open": looker.sent_override,
        "differs_open": looker.kept_mark != "",
        **decisions(looker, checked, _is_the_last(checked, last)),
    }


def _most_digits(tool_number: int | None) -> int:
    """Room in the field for what the control shows; four digits hint at nothing (shop setting)."""
    return 4 if (tool_number or 0) < 10_000 else len(str(LARGEST_TOOL_NUMBER))


def _tools(checked: Checked) -> list[int]:
    """T numbers to choose from: those that are met, else all of the program."""
    program, verdict = checked.facts.program, checked.verdict
    if verdict.tool_choice_needed and verdict.meets:
        return list(verdict.meets)
    return sorted(program.tool_numbers or ()) if program else []


def _codes(verdict: Verdict) -> set[str]:
    return {finding.code for finding in verdict.findings}


def last_loads(checked: Checked, station: Station) -> list[SpindleCheck]:
    """What was loaded last under this T of this program here, where nothing else is known."""
    verdict = checked.verdict
    if not _NO_FIGURES & _codes(verdict):
        return []
    loads = loads_of(station.machine, station.revision, verdict.tool_number)
    return list(loads[:_LAST_LOADS])


def _is_the_last(checked: Checked, last: list[SpindleCheck]) -> bool:
    """The scanned one is what stood here last: the same number at the same revision."""
    if not last or last[0].build is None:
        return False
    facts = checked.facts.assembly
    return (last[0].assembly.number, last[0].build.revision) == (facts.number, facts.revision)


def in_the_way(checked: Checked, station: Station, looker: Looker) -> list[Load]:
    """The tools that have to come out first, so that they can be taken out from here."""
    verdict = checked.verdict
    said = looker.said_pocket
    if said is None and not _IN_THE_WAY & _codes(verdict):
        return []
    there = Q(pocket=said if said is not None else places(checked, station.machine).pocket)
    loads = Load.objects.filter(
        there & Q(pocket__isnull=False) | Q(tool_number=verdict.tool_number),
        machine=station.machine,
        out_at=None,
    )
    return list(
        loads.exclude(assembly__number=checked.facts.assembly.number).select_related("assembly")
    )


def _ask_form(verdict: Verdict, looker: Looker) -> AskForm | None:
    """One tap to the programmer, where a figure is missing that only the programmer can state."""
    if verdict.tool_number is None or not _NOT_STATED & _codes(verdict):
        return None
    if not looker.person.may("check.decide"):
        return None
    return AskForm(initial={"tool_number": verdict.tool_number}, auto_id="ask_%s")
