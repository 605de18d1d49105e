"""What stood under this T before, and the question left with the programmer."""

from copy import deepcopy
from uuid import uuid4

import pytest

from assemblies.actions.asked_tools import ask_programmer, asked_tools
from crib.models import Act
from crib.rules.refusal import NotAllowed
from tests import makers
from tests.assemblies.spindle_shop import approve, open_shop, program_revision

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def standing_shop(module_rows):
    return open_shop()


@pytest.fixture
def shop(standing_shop):
    return deepcopy(standing_shop)


@pytest.fixture
def bare(client, shop):
    """A program known by its numbers only; the operator stands at the machine with it."""
    revision = program_revision(shop.programmer, name="HM-0500", label="A", speed=15_000)
    approve(shop.lead, revision, shop.machine, reason="from outside")
    shop.stand_at(client, shop.operator, revision=revision)
    return revision


def load(client, address, reason):
    page = client.get(address)
    form = page.context["load"]
    names = ("submission", "decision", "seen", "seen_word", "mark_agrees")
    said = {name: form[name].value() for name in names}
    return client.post(address, {**said, "shown_number": "5", "reason": reason})


def offered(client, address):
    return "same_as_last" in client.get(address).context["accept_reasons"]


# ---- same as last time
def test_it_is_offered_for_what_was_here_last_and_for_nothing_else(client, shop, bare):
    first, second = (f"/S/{shop.label(shop.built(mark))}?t=5" for mark in ("H-07", "H-08"))
    assert not offered(client, first)

    load(client, first, "agreed")
    assert (offered(client, first), offered(client, second)) == (True, False)

    load(client, second, "agreed")
    assert (offered(client, first), offered(client, second)) == (False, True)


def test_it_stands_first_and_is_kept_as_not_fully_known(client, shop, bare):
    assembly = shop.built("H-07")
    address = f"/S/{shop.label(assembly)}?t=5"
    load(client, address, "agreed")

    assert next(iter(client.get(address).context["accept_reasons"])) == "same_as_last"
    load(client, address, "same_as_last")

    row = assembly.checks.first()
    assert (row.reason, row.verdict, row.fully_known) == ("same_as_last", "cant_tell", False)


def test_after_a_rebuild_it_is_not_the_same(client, shop, bare):
    assembly = shop.built("H-07")
    load(client, f"/S/{shop.label(assembly)}?t=5", "agreed")
    shop.rebuilt(assembly)

    assert not offered(client, f"/S/{shop.label(assembly)}?t=5")


def test_a_form_made_by_hand_cannot_say_it(client, shop, bare):
    assembly = shop.built("H-07")

    page = load(client, f"/S/{shop.label(assembly)}?t=5", "same_as_last")

    assert page.context["refused"].code == "check.not_the_last"
    assert not assembly.checks.exists()


def test_where_the_figures_are_known_it_is_no_reason(client, shop):
    assembly = shop.built("H-07")
    shop.stand_at(client, shop.operator)
    load(client, f"/S/{shop.label(assembly)}", "")

    assert not offered(client, f"/spindle/{assembly.number}/?t=5")


# ---- asked for
def test_one_tap_leaves_the_question_with_the_program(client, shop, bare):
    page = client.get(f"/S/{shop.label(shop.built('H-07'))}?t=5")
    form = page.context["ask"]
    data = {"submission": form["submission"].value(), "tool_number": 5, "next": "/spindle/"}

    answers = [client.post("/spindle/ask/", data) for _ in range(2)]

    assert [answer.url for answer in answers] == ["/spindle/", "/spindle/"]
    act = Act.objects.get(kind="program.ask")
    assert (act.about, act.by) == ("program HM-0500", shop.operator)
    assert act.details == {"tool_number": 5, "revision": "A", "revision_pk": bare.pk}
    assert list(asked_tools(bare)) == [5]
    assert asked_tools(shop.revision) == {}


@pytest.mark.parametrize("program", [True, False])
def test_where_nothing_is_missing_or_no_program_is_chosen_nobody_is_asked(client, shop, program):
    shop.stand_at(client, shop.operator, revision=shop.revision if program else None)

    assert client.get(f"/S/{shop.label(shop.built())}").context["ask"] is None


def test_who_only_looks_asks_nobody(client, shop, bare):
    code = shop.label(shop.built())
    shop.stand_at(client, makers.person("buyer"), revision=bare)

    assert client.get(f"/S/{code}?t=5").context["ask"] is None
    assert client.post("/spindle/ask/", {"tool_number": 5}).status_code == 403


@pytest.mark.parametrize("data", [{}, {"tool_number": "five"}, {"tool_number": 5}])
def test_a_form_that_is_not_whole_asks_nothing(client, shop, bare, data):
    assert client.post("/spindle/ask/", data).url == "/spindle/"
    assert not Act.objects.filter(kind="program.ask").exists()


def test_asked_tools_says_when_each_was_asked_for_last(shop):
    for tool_number in (5, 3, 5):
        ask_programmer(
            by=shop.operator, submission=uuid4(), revision=shop.revision, tool_number=tool_number
        )

    asked = asked_tools(shop.revision)
    assert asked[5] == max(Act.objects.filter(kind="program.ask").values_list("at", flat=True))
    assert sorted(asked) == [3, 5]


def test_an_admin_asks_nothing_from_a_spindle(shop):
    with pytest.raises(NotAllowed):
        ask_programmer(
            by=makers.person("admin"), submission=uuid4(), revision=shop.revision, tool_number=5
        )
