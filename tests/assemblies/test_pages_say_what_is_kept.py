"""Pages say what is kept and what is not: a refused build, a weighing, a single direction."""

from __future__ import annotations

from uuid import uuid4

import pytest
from django.urls import reverse
from django.utils import timezone

from assemblies.actions.weigh import record_weighing
from assemblies.models import Build, Measurement, ReadOn
from crib.models import Act
from tests import assembly_makers as asm
from tests import makers
from tests.crib.pages import signed_in, text_of

pytestmark = pytest.mark.django_db


def url(name: str, number: int) -> str:
    return reverse(f"assemblies:{name}", args=[number])


def build_without_reason(assembly, **figures):
    ids = {"submission": uuid4(), "build-submission": uuid4()}
    return signed_in("toolroom").post(url("bench_make", assembly.number), ids | figures)


def test_a_refused_build_says_that_its_figures_are_kept_and_leads_to_the_reason():
    assembly = asm.drafted()
    answer = build_without_reason(assembly, stickout_um="44", grip_um="36")
    assert list(answer.context["build_form"].errors) == ["reason"]
    assert Build.objects.get(assembly=assembly).stickout_um == 44_000
    page = answer.content.decode()
    assert "Nothing was stored." not in page
    assert 'href="#build"' in page
    assert 'id="build"' in page


def test_a_bench_without_a_refusal_leads_to_no_reason():
    page = signed_in("toolroom").get(url("bench", asm.drafted().number)).content.decode()
    assert 'href="#build"' not in page


def weigh(assembly, **values) -> None:
    record_weighing(by=asm.toolroom(), submission=uuid4(), assembly=assembly, **values)


@pytest.mark.parametrize(
    ("centre_um", "words"),
    [(None, "1450 g"), (35_000, "1450 g, balances 35.0 mm from the gauge line")],
)
def test_what_was_weighed_stands_among_the_figures(centre_um, words):
    assembly = asm.measured()
    page = signed_in("operator").get(url("assembly_detail", assembly.number))
    assert "Mass, weighed" not in text_of(page)
    weigh(assembly, mass_g=1_450, centre_um=centre_um)
    page = signed_in("operator").get(url("assembly_detail", assembly.number))
    assert f"Mass, weighed {words}" in text_of(page)


def test_what_was_done_last_is_read_without_opening_the_rest():
    assembly = asm.released()
    page = signed_in("operator").get(url("assembly_detail", assembly.number)).content.decode()
    before, after = page.split("<h2>What was done</h2>")[1].split("<details>", 1)
    assert "Last: released" in before
    assert "number given out" in after


def read_direction(assembly) -> None:
    act = Act.objects.create(id=uuid4(), kind="build.measure", by=makers.person("admin"))
    Measurement.objects.create(
        build=assembly.builds.get(live=True),
        quantity="runout",
        value_um=8,
        read_on=ReadOn.SHANK,
        distance_um=10_000,
        clock_deg=90,
        at=timezone.now(),
        act=act,
        by=act.by,
    )


def test_the_high_spot_of_one_build_is_not_called_alike():
    read_direction(asm.measured())
    answer = signed_in("operator").get("/runout/")
    assert [line.together for line in answer.context["directions"]] == ["1.00"]
    assert 'data-label="Alike, 0 to 1" class="number"><span class="not-known">' in (
        answer.content.decode()
    )


@pytest.mark.parametrize(
    ("role", "links"), [("toolroom", 1), ("programmer", 1), ("admin", 1), ("operator", 0)]
)
def test_who_builds_finds_parts_for_a_tool_number_without_an_assembly(role, links):
    row = asm.confirm(asm.revision())
    page = signed_in(role).get(reverse("assemblies:program_revision", args=[row.revision_id]))
    assert page.content.decode().count(f"/find/?meant_for={row.pk}") == links


@pytest.mark.parametrize(
    ("wanted", "found"),
    [
        ("Ø 12", True),
        ("Ø12.00", True),
        ("ø 11,97", True),
        ("Ø", True),
        ("Ø 1.2", False),
        ("Ø 2", False),
        ("Ø 120", False),
    ],
)
def test_an_assembly_is_found_by_the_sign_before_its_diameter(wanted, found):
    assembly = asm.measured(diameter=11_970)
    page = signed_in("operator").get(reverse("assemblies:assembly_list"), {"q": wanted})
    numbers = [row.record.number for row in page.context["table"].rows]
    assert (assembly.number in numbers) == found
