"""The trial: the answer of a scan, said to be a trial, with nothing written."""

from __future__ import annotations

from copy import deepcopy
from uuid import uuid4

import pytest
from django.apps import apps

from assemblies.actions.build import quarantine
from crib.roles import ROLES
from labels.actions.print_label import cancel_label
from labels.rules.code import printed_code
from tests import assembly_makers as made
from tests import makers

pytestmark = pytest.mark.django_db
TRY = "/try/"


@pytest.fixture(scope="module")
def standing_scene(module_rows):
    return made.Scene.ready()


@pytest.fixture
def scene(standing_scene):
    return deepcopy(standing_scene)


def asked(scene, **changed) -> dict:
    usual = {
        "assembly": scene.assembly.number,
        "machine": scene.machine.mark_key,
        "revision": scene.revision.pk,
        "t": "",
    }
    return usual | changed


@pytest.fixture
def tried(client, scene):
    """The page of a trial as an operator sees it."""
    client.force_login(made.operator())

    def ask(**changed):
        return client.get(TRY, asked(scene, **changed))

    return ask


def word(page) -> str:
    return str(page.context["verdict"].word)


def codes(page) -> set[str]:
    return {finding.code for finding in page.context["verdict"].findings}


def rows_of_every_table() -> dict[str, int]:
    return {model._meta.label: model._base_manager.count() for model in apps.get_models()}


# ---- nothing is written
@pytest.mark.parametrize("role", ROLES)
def test_a_trial_writes_nothing_in_any_table(client, scene, role):
    client.force_login(makers.person(role))
    before, content = rows_of_every_table(), made.written()

    pages = [
        client.get(TRY),
        client.get(TRY, asked(scene)),
        client.get(TRY, asked(scene, t=9)),
        client.get(TRY, asked(scene, assembly=9999)),
    ]

    assert [page.status_code for page in pages] == [200, 200, 200, 422]
    assert rows_of_every_table() == before
    assert made.written() == content


def test_a_trial_takes_no_post(client, scene):
    client.force_login(made.operator())

    assert client.post(TRY, asked(scene)).status_code == 405


def test_a_trial_is_not_for_a_stranger_to_the_crib(client):
    client.force_login(makers.person())

    assert client.get(TRY).status_code == 403


# ---- it says that it is one
def test_the_word_says_trial_and_nothing_can_be_loaded_from_it(tried):
    page = tried()

    assert "Trial: MATCH" in page.text
    assert "TRIAL · nothing was recorded" in page.text
    assert 'class="verdict' not in page.text
    assert 'name="decision"' not in page.text
    assert page["Cache-Control"] == "no-store"


def test_an_empty_form_tries_nothing(client):
    client.force_login(made.operator())

    page = client.get(TRY)

    assert "verdict" not in page.context
    assert "nothing was recorded" not in page.text


# ---- it answers as a scan does
def test_the_trial_says_what_a_scan_of_the_label_says(tried, scene):
    page, scanned = tried(), scene.checked().verdict

    assert word(page) == "MATCH"
    assert page.context["verdict"] == scanned
    assert f"Tried with its label {printed_code(scene.label.code)}." in page.text


def test_a_chosen_t_is_the_one_that_is_tried(tried):
    page = tried(t=7)

    assert page.context["verdict"].tool_number == 7
    assert word(page) != "MATCH"


def test_without_a_program_it_cannot_tell(tried):
    page = tried(revision="")

    assert word(page) == "CAN'T TELL"
    assert "without a program" in page.text


def test_a_void_label_stops(tried, scene):
    cancel_label(by=made.toolroom(), submission=uuid4(), assembly=scene.assembly, reason="lost")

    page = tried()

    assert word(page) == "STOP"
    assert page.context["verdict"].hard_stop


def test_a_quarantined_assembly_stops(tried, scene):
    quarantine(by=made.toolroom(), submission=uuid4(), assembly=scene.assembly, note="dropped")

    page = tried()

    assert word(page) == "STOP"
    assert "assembly.quarantined" in codes(page)


def test_without_a_printed_label_it_is_looked_up_by_number_and_never_a_match(tried, scene):
    other = made.released()

    page = tried(assembly=other.number)

    assert word(page) == "CHECK"
    assert "label.found_by_number" in codes(page)
    assert "No label was printed" in page.text


@pytest.mark.parametrize("state", ["draft", "built"])
def test_what_is_not_released_is_no_match(tried, state):
    assembly = made.started() if state == "draft" else made.measured()

    page = tried(assembly=assembly.number)

    assert word(page) == "STOP"
    assert page.context["code"] == ""


# ---- what is refused
@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"assembly": "9999"}, "assembly"),
        ({"assembly": ""}, "assembly"),
        ({"assembly": "ten"}, "assembly"),
        ({"assembly": "99999999999999999999"}, "assembly"),
        ({"machine": ""}, "machine"),
        ({"machine": "nowhere"}, "machine"),
        ({"revision": "9999"}, "revision"),
        ({"revision": "x"}, "revision"),
        ({"t": "-1"}, "t"),
        ({"t": "five"}, "t"),
    ],
)
def test_a_value_that_makes_no_sense_is_refused_with_its_field(tried, changed, field):
    page = tried(**changed)

    assert page.status_code == 422
    assert list(page.context["form"].errors) == [field]
    assert "verdict" not in page.context


def test_a_trial_takes_as_many_queries_as_a_scan_and_the_lists_of_its_form(
    client, scene, django_assert_max_num_queries
):
    client.force_login(made.operator())

    with django_assert_max_num_queries(24):
        client.get(TRY, asked(scene))
