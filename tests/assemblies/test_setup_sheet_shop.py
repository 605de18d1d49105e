"""The example shop on its sheets: every fact as a check has it, every planted case as planted."""

from __future__ import annotations

import pytest
from django.utils import timezone

from assemblies.actions.setup_sheet import Standing, setup_sheet
from assemblies.actions.setup_sheet_checks import BY_NUMBER, Fetched, checks_of
from assemblies.actions.setup_sheet_places import open_loads
from assemblies.actions.setup_sheet_rows import rows_of
from assemblies.actions.spindle import check
from assemblies.models import Assembly, Build, Machine
from labels.actions.setup_sheet import setup_paper
from tests.example import example_shop, revision  # noqa: F401

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("example_shop")]

#: Program, machine, T number: approved there, approved elsewhere, an older revision.
ASKED = (
    ("HM-0412 C", "R2", 1),
    ("HM-0377 A", "R1", 5),
    ("HM-0377 B", "M1", 6),
    ("HM-0520 B", "M1", 2),
    ("STICK-15 1", "R2", 2),
)


@pytest.mark.parametrize(("name", "mark", "number"), ASKED)
def test_every_assembly_of_the_shop_gets_the_facts_of_a_check(monkeypatch, name, mark, number):
    now = timezone.now()
    monkeypatch.setattr(timezone, "now", lambda: now)
    machine, program = Machine.objects.get(mark=mark), revision(name)
    builds = list(Build.objects.filter(live=True).select_related("assembly"))
    loads = open_loads(machine, [build.assembly for build in builds])
    asked = [(build, number) for build in builds]
    found = checks_of(asked, program, Fetched(machine, rows_of(builds), loads), {})
    for build in builds:
        expected = check(
            assembly=Assembly.objects.get(pk=build.assembly_id),
            label=BY_NUMBER,
            machine=machine,
            revision=program,
            tool_number=number,
        )
        assert found[build.pk, number].facts == expected.facts
        assert found[build.pk, number].verdict == expected.verdict


def sheet_of(name: str, mark: str):
    return setup_sheet(revision(name), Machine.objects.get(mark=mark))


@pytest.mark.parametrize(
    ("name", "mark", "number", "assembly", "stands_as"),
    [
        ("HM-0412 C", "R2", 1, 1041, Standing.IN_CRIB),
        ("HM-0412 C", "R2", 3, 1043, Standing.IN_CRIB),
        ("HM-0412 C", "R2", 4, 1048, Standing.NEEDS_WORK),
        ("HM-0377 B", "R1", 4, 1046, Standing.IN_CRIB),
        ("HM-0377 B", "R1", 5, 1044, Standing.IN_CRIB),
        ("HM-0377 B", "R1", 6, 1047, Standing.NEEDS_WORK),
        ("HM-0377 A", "R1", 4, 1046, Standing.NEEDS_WORK),
        ("HM-0520 B", "M1", 2, 1051, Standing.IN_CRIB),
        ("STICK-15 1", "R2", 2, None, Standing.NOT_STATED),
    ],
)
def test_what_stands_for_each_number(name, mark, number, assembly, stands_as):
    tool = next(t for t in sheet_of(name, mark).tools if t.tool_number == number)
    assert (tool.chosen and tool.chosen.assembly.number) == assembly
    assert tool.standing == stands_as


@pytest.mark.parametrize(
    ("name", "mark", "words"),
    [
        ("HM-0412 C", "R2", ["CHECK", "CHECK", "STOP"]),
        ("HM-0377 B", "R1", ["CHECK", "CHECK", "STOP"]),
        ("HM-0377 A", "R1", ["STOP", "STOP", "STOP"]),
        ("HM-0520 B", "M1", ["CHECK", "CHECK", "CHECK", "CHECK"]),
        ("STICK-15 1", "R2", [""]),
    ],
)
def test_no_assembly_on_paper_is_a_match(name, mark, words):
    paper = setup_paper(revision(name), Machine.objects.get(mark=mark), address="http://crib/")
    assert [band.word for band in paper.tools] == words


@pytest.mark.parametrize(("name", "mark", "number"), ASKED)
def test_no_assembly_on_the_page_is_a_match(name, mark, number):
    for tool in sheet_of(name, mark).tools:
        assert all(one.word != "MATCH" for one in tool.candidates)


def test_an_older_revision_is_stamped_and_the_approved_one_is_not():
    assert sheet_of("HM-0377 A", "R1").stamps == ("NOT APPROVED on Router 1",)
    assert sheet_of("HM-0377 B", "R1").stamps == ()
    assert sheet_of("HM-0377 B", "R2").stamps == ("NOT APPROVED on Router 2",)


def test_what_to_fetch_is_grouped_by_place():
    (group,) = sheet_of("HM-0520 B", "M1").fetch
    assert group.place == "Rack B3 Mill 1"
    assert [numbers for numbers, _, _ in group.lines] == ["T1", "T2", "T4", "T5"]
