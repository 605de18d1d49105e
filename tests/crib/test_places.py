"""Places: racks and drawers of the shop, and the accounts of the ledger."""

from uuid import uuid4

import pytest

from crib.actions.places import account, save_place
from crib.models import Act, Place, PlaceKind
from crib.rules.refusal import NotAllowed, Refused
from tests import makers

pytestmark = pytest.mark.django_db

ACCOUNTS = [kind for kind in PlaceKind if kind not in (PlaceKind.STORAGE, PlaceKind.ASSEMBLY)]


def save(place, role="toolroom"):
    return save_place(by=makers.person(role), submission=uuid4(), place=place)


def refusal_of(place):
    """The refusal's code; proves that it wrote nothing."""
    before = state()
    with pytest.raises(Refused) as refused:
        save(place)
    assert state() == before
    return refused.value.code


def state():
    return list(Place.objects.order_by("pk").values()), Act.objects.count()


def test_a_drawer_is_added_and_changed():
    cabinet = makers.place("CABINET 2")
    done = save(Place(code="C2-07", name="ER32 collets", parent=cabinet))

    drawer = Place.objects.get(pk=done.result)
    assert (drawer.code_key, drawer.parent, drawer.shown) == (
        "c2-07",
        cabinet,
        "C2-07 ER32 collets",
    )
    assert Act.objects.get(pk=done.act_id).about == "place C2-07"

    drawer.name = ""
    save(drawer)
    drawer.refresh_from_db()
    assert drawer.shown == "C2-07"


@pytest.mark.parametrize("code", ["", "  ", "x" * 41, "ß" * 40])
def test_a_code_that_does_not_fit_is_refused(code):
    assert refusal_of(Place(code=code)) == "place.not_valid"


@pytest.mark.parametrize("code", ["C2-07", "c2-07", " C2-07 "])
def test_a_code_in_use_is_refused(code):
    makers.place("C2-07")

    assert refusal_of(Place(code=code)) == "place.code_taken"


@pytest.mark.parametrize("role", ["operator", "programmer", "buyer", "lead"])
def test_who_may_not_edit_places_adds_none(role):
    with pytest.raises(NotAllowed):
        save(Place(code="C2-07"), role=role)

    assert not Place.objects.exists()


# ---- places in places
def test_a_place_does_not_stand_in_itself_however_far_round():
    outer = makers.place("OUTER")
    middle = makers.place("MIDDLE", parent=outer)
    inner = makers.place("INNER", parent=middle)

    for above in (outer, middle, inner):
        outer.parent = above
        assert refusal_of(outer) == "place.inside_itself"


def test_a_place_may_move_to_another_branch():
    outer, other = makers.place("OUTER"), makers.place("OTHER")
    inner = makers.place("INNER", parent=outer)

    inner.parent = other
    save(inner)

    inner.refresh_from_db()
    assert inner.parent == other


# ---- the accounts of the ledger
@pytest.mark.parametrize("kind", ACCOUNTS)
def test_an_account_is_made_once(kind):
    first, second = account(kind), account(kind)

    assert first == second
    assert (first.kind, first.is_usable) == (kind, False)
    assert Place.objects.count() == 1


def test_only_racks_are_usable():
    usable = {kind for kind in PlaceKind if Place(code="X", kind=kind).is_usable}

    assert usable == {PlaceKind.STORAGE}


@pytest.mark.parametrize("kind", [kind for kind in PlaceKind if kind != PlaceKind.STORAGE])
def test_an_account_is_not_added_by_hand(kind):
    assert refusal_of(Place(code="MY OWN", kind=kind)) == "place.is_account"


@pytest.mark.parametrize("kind", ACCOUNTS)
def test_an_account_is_neither_renamed_nor_turned_into_a_rack(kind):
    place = account(kind)

    place.name = "mine"
    assert refusal_of(place) == "place.is_account"
    place.kind = PlaceKind.STORAGE
    assert refusal_of(place) == "place.is_account"
    place.code = "RACK 9"
    assert refusal_of(place) == "place.is_account"


@pytest.mark.parametrize("kind", ACCOUNTS)
def test_no_rack_takes_the_code_of_an_account_before_it_is_made(kind):
    code = account(kind).code
    Place.objects.all().delete()

    assert refusal_of(Place(code=f" {code.lower()}")) == "place.is_account"


def test_an_assembly_does_not_become_a_rack():
    place = makers.place("1044", kind=PlaceKind.ASSEMBLY)

    place.kind = PlaceKind.STORAGE

    assert refusal_of(place) == "place.is_account"
