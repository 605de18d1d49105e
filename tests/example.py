"""The example shop for tests: loaded once a module, and each test leaves it as it was."""

from io import StringIO

import pytest
from django.core.management import call_command

from assemblies.actions.spindle import Checked, check
from assemblies.models import Assembly, Machine, ProgramRevision
from assemblies.rules.verdict.facts import FoundBy, LabelFacts
from crib.rules.finding import Finding
from labels.actions.resolve_code import label_facts
from labels.models import Label


@pytest.fixture(scope="module")
def example_shop(module_rows):
    """The shop as it is loaded; what the command said."""
    said = StringIO()
    call_command("load_example_shop", stdout=said)
    return said.getvalue()


def assembly(number: int) -> Assembly:
    return Assembly.objects.select_related("contents").get(number=number)


def revision(name: str) -> ProgramRevision:
    """`HM-0412 C` as its row."""
    program, label = name.split()
    return ProgramRevision.objects.select_related("program").get(program__name=program, label=label)


def label_of(number: int, of_revision: int) -> LabelFacts:
    """What is printed on the tag of one revision, dead or live."""
    return label_facts(
        Label.objects.get(build__assembly__number=number, build__revision=of_revision)
    )


def check_with(number: int, label: LabelFacts, at: str, program: str, tool: int | None) -> Checked:
    return check(
        assembly=assembly(number),
        label=label,
        machine=Machine.objects.get(mark=at),
        revision=revision(program) if program else None,
        tool_number=tool,
    )


def scan(
    number: int, of_revision: int, at: str, program: str = "", tool: int | None = None
) -> Checked:
    """The verdict on the tag of one revision, scanned at a machine for a tool of a program."""
    return check_with(number, label_of(number, of_revision), at, program, tool)


def typed(number: int, at: str, program: str, tool: int | None) -> Checked:
    """The verdict on an assembly looked up by its number, without its tag."""
    return check_with(number, LabelFacts(found_by=FoundBy.NUMBER), at, program, tool)


def codes(checked: Checked) -> list[str]:
    """What keeps it from being a MATCH, worst first; the rest behind the tap included."""
    verdict = checked.verdict
    return [f.code for f in verdict.findings[: len(verdict.reasons) + verdict.more_count]]


def found(checked: Checked, code: str) -> Finding:
    return next(f for f in checked.verdict.findings if f.code == code)


def numbers(checked: Checked, code: str) -> tuple:
    """Measured value, limit and unit of one finding."""
    finding = found(checked, code)
    return finding.measured, finding.limit, finding.unit
