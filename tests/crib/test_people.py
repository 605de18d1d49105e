"""People: who is added, what changes, and that one admin is always left."""

from uuid import uuid4

import pytest
from django.contrib.auth.hashers import check_password

from crib.actions.people import save_person
from crib.models import Act, Person
from crib.rules.refusal import NotAllowed, Refused
from tests import makers

pytestmark = pytest.mark.django_db


@pytest.fixture
def admin():
    return makers.person("admin")


def save(by, person, password=""):
    return save_person(by=by, submission=uuid4(), person=person, password=password)


def refusal_of(by, person, password=""):
    """The refusal's code; proves that it wrote nothing."""
    before = state()
    with pytest.raises(Refused) as refused:
        save(by, person, password)
    assert state() == before
    return refused.value.code


def state():
    return list(Person.objects.order_by("pk").values()), Act.objects.count()


def test_a_person_is_added_with_roles_and_password(admin):
    done = save(admin, Person(username="mika", is_buyer=True, initials="MK"), makers.PASSWORD)

    mika = Person.objects.get(username="mika")
    act = Act.objects.get(pk=done.act_id)
    assert done.result == str(mika.pk)
    assert (mika.roles, mika.shown_initials) == ({"buyer"}, "MK")
    assert check_password(makers.PASSWORD, mika.password)
    assert act.about == "person mika"
    assert act.details == {"roles": ["buyer"], "active": True}


def test_no_password_is_written_into_the_log(admin):
    done = save(admin, Person(username="mika"), makers.PASSWORD)

    act = Act.objects.get(pk=done.act_id)
    assert makers.PASSWORD not in f"{act.about}{act.details}{act.result}"


def test_the_longest_name_there_is_fits_the_log(admin):
    save(admin, Person(username="m" * 150), makers.PASSWORD)

    assert Person.objects.filter(username="m" * 150).exists()


def test_roles_given_and_taken_are_in_the_log(admin):
    mika = makers.person("operator")
    assert mika.may("stock.issue")
    mika.is_operator, mika.is_lead = False, True

    done = save(admin, mika)

    assert Person.objects.get(pk=mika.pk).roles == {"lead"}
    assert Act.objects.get(pk=done.act_id).details["roles"] == ["lead"]


def test_an_admin_who_changes_their_own_roles_is_logged_with_the_new_ones(admin):
    admin.is_toolroom = True

    done = save(admin, admin)

    assert Act.objects.get(pk=done.act_id).details["roles"] == ["admin", "toolroom"]


def test_a_password_stays_when_none_is_entered_and_changes_when_one_is(admin):
    mika = makers.person("operator")
    before = mika.password
    save(admin, mika)
    assert Person.objects.get(pk=mika.pk).password == before

    save(admin, mika, "quite-another-passphrase")

    mika.refresh_from_db()
    assert mika.check_password("quite-another-passphrase")
    assert not mika.check_password(makers.PASSWORD)


@pytest.mark.parametrize("password", ["", "short", "password123"])
def test_a_new_person_needs_a_password_worth_the_name(admin, password):
    assert refusal_of(admin, Person(username="mika"), password) == "person.password"


def test_a_password_like_the_name_is_refused(admin):
    assert refusal_of(admin, Person(username="mikaela"), "mikaela1") == "person.password"


@pytest.mark.parametrize(
    "fields", [{"username": ""}, {"username": "a b"}, {"initials": "MIKAE"}, {"email": "no"}]
)
def test_what_the_columns_do_not_take_is_refused(admin, fields):
    person = Person(**{"username": "mika"} | fields)

    assert refusal_of(admin, person, makers.PASSWORD) == "person.not_valid"


def test_a_name_in_use_is_refused(admin):
    makers.person("operator", username="mika")

    assert refusal_of(admin, Person(username="mika"), makers.PASSWORD) == "person.not_valid"


@pytest.mark.parametrize("role", ["operator", "toolroom", "programmer", "buyer", "lead"])
def test_only_an_admin_adds_people(role):
    by = makers.person(role)

    with pytest.raises(NotAllowed):
        save(by, Person(username="mika"), makers.PASSWORD)

    assert not Person.objects.filter(username="mika").exists()


# ---- the last admin
@pytest.mark.parametrize("field", ["is_admin", "is_active"])
def test_the_last_admin_cannot_be_taken_away(admin, field):
    makers.person("admin", is_active=False)
    makers.person("lead")
    last = Person.objects.get(pk=admin.pk)
    setattr(last, field, False)

    assert refusal_of(admin, last) == "person.last_admin"


@pytest.mark.parametrize("field", ["is_admin", "is_active"])
def test_one_of_two_admins_can(admin, field):
    makers.person("admin")
    last = Person.objects.get(pk=admin.pk)
    setattr(last, field, False)

    save(admin, last)

    assert Person.objects.filter(is_admin=True, is_active=True).count() == 1


def test_an_admin_of_the_example_shop_does_not_count_as_one_left(admin):
    makers.person("admin", is_demo=True)
    last = Person.objects.get(pk=admin.pk)
    last.is_admin = False

    assert refusal_of(admin, last) == "person.last_admin"


def test_the_example_shop_adds_people_with_its_own_admin_only():
    demo = makers.person("admin", is_demo=True)

    save(demo, Person(username="mika", is_operator=True), makers.PASSWORD)

    assert Person.objects.get(username="mika").roles == {"operator"}


def test_the_example_shop_keeps_its_own_last_admin():
    demo = makers.person("admin", is_demo=True)
    last = Person.objects.get(pk=demo.pk)
    last.is_admin = False

    assert refusal_of(demo, last) == "person.last_admin"


# ---- how people are shown
@pytest.mark.parametrize(
    ("fields", "name", "initials"),
    [
        ({"username": "mika"}, "mika", "MI"),
        ({"username": "mika", "first_name": "Mika", "last_name": "Aro"}, "Mika Aro", "MI"),
        ({"username": "mika", "initials": "MA"}, "mika", "MA"),
    ],
)
def test_people_are_shown_by_name_and_initials(fields, name, initials):
    person = Person(**fields)

    assert (str(person), person.shown_initials) == (name, initials)
