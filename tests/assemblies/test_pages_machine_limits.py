"""A machine's limits for its changer and its coolant: typed, kept, shown, and what is missing."""

from __future__ import annotations

import pytest
from django.urls import reverse

from assemblies.models import Machine
from tests.crib.pages import fill_in, signed_in, text_of

pytestmark = pytest.mark.django_db

NEW = {
    "mark": "R2",
    "name": "Router 2",
    "interface": "ISO 30 router",
    "uses_stud": "on",
    "stud_pattern": "B",
    "tool_change": "carousel",
    "pockets": "12",
    "override_ceiling_percent": "100",
    "turns_cw": "on",
    "diameter_max_um": "100",
}
LIMITS = {
    "diameter_beside_max_um": "80",
    "moment_max_mnm": "9.5",
    "moment_plane_um": "-15",
    "coolant_through": "False",
}


@pytest.fixture(scope="module")
def lead(module_rows):
    return signed_in("lead")


def add(client, **typed):
    return fill_in(client, "/machines/new/", **NEW | typed)


def facts_of(client, mark="R2"):
    page = text_of(client.get(reverse("assemblies:machine_detail", args=[mark])))
    return page[page.index("What it takes") :]


def test_the_limits_of_a_changer_are_kept_in_whole_units(lead):
    add(lead, **LIMITS)
    row = Machine.objects.get()
    assert (row.diameter_beside_max_um, row.moment_max_mnm) == (80_000, 9_500)
    assert (row.moment_plane_um, row.coolant_through) == (-15_000, False)
    shown = facts_of(lead)
    assert "Ø 80.00 mm" in shown
    assert "9.5 N·m about a plane at -15.0 mm from the gauge line" in shown


def test_what_was_not_typed_is_not_recorded(lead):
    add(lead)
    row = Machine.objects.get()
    assert row.diameter_beside_max_um is row.moment_max_mnm is row.coolant_through is None
    shown = facts_of(lead)
    for label in ("Widest beside full pockets", "Largest tilting moment", "Coolant through"):
        assert "not recorded" in shown[shown.index(label) :][:60], label


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("0", 0), ("15", 15_000), ("-1/2 in", -12_700), ("−15,5 mm", -15_500), ("-0", 0)],
)
def test_the_plane_of_a_moment_lies_on_either_side_of_the_gauge_line(lead, typed, kept):
    add(lead, **LIMITS | {"moment_plane_um": typed})
    row = Machine.objects.get()
    assert row.moment_plane_um == kept
    edit = lead.get(reverse("assemblies:machine_edit", args=["R2"]))
    field = edit.context["form"].fields["moment_plane_um"]
    assert field.clean(edit.context["form"]["moment_plane_um"].value()) == kept
    assert ("about the gauge line" in facts_of(lead)) is (kept == 0)


@pytest.mark.parametrize(
    ("field", "typed"),
    [
        ("moment_plane_um", {"moment_max_mnm": "9.5", "moment_plane_um": ""}),
        ("moment_plane_um", {"moment_max_mnm": "9.5", "moment_plane_um": "behind"}),
        ("moment_plane_um", {"moment_max_mnm": "9.5", "moment_plane_um": "--5"}),
        ("moment_max_mnm", {"moment_max_mnm": "0", "moment_plane_um": "0"}),
        ("moment_max_mnm", {"moment_max_mnm": "-1", "moment_plane_um": "0"}),
        ("diameter_beside_max_um", {"diameter_beside_max_um": "100.001"}),
        ("coolant_through", {"coolant_through": "perhaps"}),
    ],
)
def test_a_limit_that_cannot_be_names_its_field(lead, field, typed):
    answer = add(lead, **typed)
    assert list(answer.context["form"].errors) == [field]
    assert not Machine.objects.exists()


def test_as_wide_beside_full_pockets_as_alone_is_possible(lead):
    assert add(lead, diameter_beside_max_um="100").status_code == 302
