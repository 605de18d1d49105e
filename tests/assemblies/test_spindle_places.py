"""Where the tool goes: the spindle, the pocket that T names, or the pocket that was said."""

from copy import deepcopy

import pytest

from assemblies.models import Load, Machine, SpindleCheck
from tests import assembly_makers as made
from tests.assemblies.load_makers import held, out
from tests.assemblies.spindle_shop import open_shop

pytestmark = pytest.mark.django_db

TOOL_CHANGER = {"tool_change": "carousel", "pockets": 12, "number_names": "tool"}
SLOT_CHANGER = TOOL_CHANGER | {"number_names": "slot"}


@pytest.fixture(scope="module")
def standing_shop(module_rows):
    """The shop, and the code on the label of its released assembly."""
    shop = open_shop()
    return shop, shop.label(shop.built("H-07"))


@pytest.fixture
def shop(standing_shop):
    return deepcopy(standing_shop[0])


@pytest.fixture
def scan(client, shop, standing_shop):
    _, code = standing_shop
    shop.stand_at(client, shop.operator)
    return f"/S/{code}"


def changer(**facts):
    Machine.objects.update(**facts)


def sent(page, **changes):
    form = page.context["load"]
    names = ("submission", "decision", "seen", "seen_word", "mark_agrees")
    said = {name: form[name].value() for name in names}
    return {**said, "shown_number": "5", **changes}


def load(client, scan, **changes):
    return client.post(scan, sent(client.get(scan), **changes))


# ---- on the page
def test_by_hand_it_goes_into_the_spindle_and_nothing_is_asked(client, shop, scan):
    page = client.get(scan)
    assert 'name="place"' not in page.text

    client.post(scan, sent(page))

    assert held(shop.machine) == [(None, 1001)]


def test_where_t_names_the_pocket_it_is_shown_and_not_asked(client, shop, scan):
    changer(**SLOT_CHANGER)
    page = client.get(scan)
    assert 'name="place"' not in page.text
    assert "pocket 5" in page.text

    answer = client.post(scan, sent(page))

    assert held(shop.machine) == [(5, 1001)]
    assert "pocket 5" in client.get(answer.url).text


def test_a_number_beyond_the_pockets_goes_into_the_spindle_with_a_reason(client, shop, scan):
    changer(**SLOT_CHANGER | {"pockets": 4})
    page = client.get(scan)
    assert page.context["places"].beside is True
    assert page.context["verdict"].word == "CHECK"

    client.post(scan, sent(page, reason="agreed"))

    assert held(shop.machine) == [(None, 1001)]


@pytest.mark.parametrize(
    ("said", "place"),
    [
        ({"place": "1"}, 1),
        ({"place": "spindle"}, None),
        ({"place": "other", "pocket": "7"}, 7),
        ({"pocket": "7"}, 7),
        # A tile says more than what was left in the field.
        ({"place": "spindle", "pocket": "7"}, None),
        ({"place": "1", "pocket": "7"}, 1),
    ],
)
def test_where_t_names_the_tool_the_place_is_said(client, shop, scan, said, place):
    changer(**TOOL_CHANGER)
    page = client.get(scan)
    assert (page.context["places"].asked, page.context["places"].next_free) == (True, 1)

    client.post(scan, sent(page, **said))

    assert held(shop.machine) == [(place, 1001)]


@pytest.mark.parametrize(
    ("said", "refused"),
    [
        ({}, "check.place"),
        ({"place": "other"}, "check.place"),
        ({"place": "here"}, "check.form"),
        ({"place": "other", "pocket": "seven"}, "check.form"),
        ({"place": "0"}, "load.pocket_unknown"),
        ({"place": "other", "pocket": "13"}, "load.pocket_unknown"),
    ],
)
def test_a_place_that_is_not_said_or_not_there_is_no_load(client, shop, scan, said, refused):
    changer(**TOOL_CHANGER)

    page = load(client, scan, **said)

    assert page.context["refused"].code == refused
    assert not SpindleCheck.objects.exists()
    assert held(shop.machine) == []


def test_a_refusal_asks_for_no_place(client, shop, scan):
    changer(**TOOL_CHANGER)
    form = client.get(scan).context["refuse"]
    names = ("submission", "decision", "seen", "seen_word")

    client.post(scan, {name: form[name].value() for name in names} | {"reason": "dull"})

    assert SpindleCheck.objects.get().decision == "refused"
    assert held(shop.machine) == []


def test_the_next_free_pocket_is_offered_and_not_filled_in(client, shop, scan):
    changer(**TOOL_CHANGER)
    load(client, scan, place="1")
    other = f"/S/{shop.label(shop.built('H-08'))}"

    page = client.get(other)

    assert page.context["places"].next_free == 2
    assert "checked" not in page.text.split('name="place"')[1].split(">")[0]


def test_in_a_full_changer_no_pocket_is_offered(client, shop, scan):
    changer(**TOOL_CHANGER | {"pockets": 1})
    load(client, scan, place="1")
    other = f"/S/{shop.label(shop.built('H-08'))}"

    page = client.get(other)

    assert page.context["places"].next_free is None
    assert "the next free one" not in page.text


def test_what_is_in_the_way_can_be_taken_out_from_here(client, shop, scan):
    changer(**SLOT_CHANGER)
    load(client, scan)
    there = Load.objects.get()
    other = f"/S/{shop.label(shop.built('H-08'))}"

    page = client.get(other)
    assert page.context["verdict"].word == "CHECK"
    assert page.context["in_the_way"] == [there]
    assert f'href="/takeout/{there.pk}/"' in page.text

    refused = client.post(other, sent(page, reason="trial"))
    assert refused.context["refused"].code == "load.pocket_taken"
    assert SpindleCheck.objects.count() == 1

    out(there)
    page = client.get(other)
    assert (page.context["verdict"].word, page.context["in_the_way"]) == ("MATCH", [])
    client.post(other, sent(page))
    assert held(shop.machine) == [(5, 1002)]


def test_a_pocket_said_that_is_taken_names_who_is_there_and_keeps_the_form(client, shop, scan):
    changer(**TOOL_CHANGER)
    load(client, scan, place="4")
    there = Load.objects.get()
    other = shop.built("H-08", kind="spiral_down")
    shop.stand_at(client, shop.operator, revision=None)
    address = f"/S/{shop.label(other)}"
    said = {"place": "other", "pocket": "4", "reason": "trial"}

    page = load(client, address, **said)

    assert page.context["refused"].code == "load.pocket_taken"
    assert page.context["in_the_way"] == [there]
    kept = {name: page.context["load"][name].value() for name in said}
    assert kept == said


# ---- in the action
def test_loaded_again_it_moves_and_stands_in_one_place(client, shop, scan):
    changer(**TOOL_CHANGER)
    load(client, scan, place="1")
    load(client, scan, place="2")

    assert held(shop.machine) == [(2, 1001)]
    assert Load.objects.filter(out_at=None).count() == 1


def test_a_place_that_is_refused_writes_neither_load_nor_decision():
    scene = made.Scene.ready()

    assert made.code_of(scene.decide, pocket=3) == "load.no_pockets"


def test_an_old_form_that_says_no_place_is_the_spindle():
    scene = made.Scene.ready()
    Machine.objects.filter(pk=scene.machine.pk).update(**TOOL_CHANGER)

    scene.load()

    assert held(scene.machine) == [(None, scene.assembly.number)]
