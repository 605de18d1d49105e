"""The one table of roles and permissions."""

import pytest

from crib import roles
from crib.models import Person

#: Who may do what, written down a second time on purpose: a slip in one of the two shows.
WHO_MAY = {
    "view": "operator toolroom programmer buyer lead admin",
    "items.edit": "toolroom buyer admin",
    "instruments.edit": "toolroom admin",
    "limits.edit": "lead admin",
    "places.edit": "toolroom admin",
    "stock.receive": "toolroom buyer admin",
    "stock.issue": "operator toolroom lead admin",
    "order.mark": "buyer admin",
    "assembly.build": "toolroom admin",
    "assembly.release": "toolroom admin",
    "assembly.quarantine": "operator toolroom lead admin",
    "label.print": "toolroom lead admin",
    "program.add": "programmer lead admin",
    "program.confirm": "programmer lead admin",
    "program.approve": "programmer lead admin",
    "machine.edit": "lead admin",
    "check.decide": "operator toolroom lead",
    "check.names": "lead admin",
    "rules.watch": "toolroom lead admin",
    "people.manage": "admin",
}


def somebody(*held, **fields):
    return Person(username="anna", **{f"is_{role}": True for role in held}, **fields)


def test_the_table_here_names_every_permission_and_no_other():
    assert set(WHO_MAY) == set(roles.PERMISSIONS)


@pytest.mark.parametrize("role", roles.ROLES)
@pytest.mark.parametrize("permission", WHO_MAY)
def test_each_role_may_what_the_table_says_and_nothing_more(permission, role):
    expected = role in WHO_MAY[permission].split()

    assert roles.may({role}, permission) is expected
    assert somebody(role).may(permission) is expected


@pytest.mark.parametrize("role", roles.ROLES)
def test_every_role_is_a_column_of_the_person(role):
    assert somebody(role).roles == {role}
    assert somebody(role).role_names == [roles.ROLES[role]]


def test_the_person_has_no_role_that_the_table_does_not_know():
    columns = {f.name for f in Person._meta.get_fields() if f.name.startswith("is_")}

    assert columns - {"is_staff", "is_superuser", "is_active", "is_demo"} == {
        f"is_{role}" for role in roles.ROLES
    }


@pytest.mark.parametrize("permission", roles.PERMISSIONS)
def test_every_permission_is_held_by_a_known_role_and_said_in_words(permission):
    words, holders = roles.PERMISSIONS[permission]

    assert words
    assert words[0].islower()
    assert holders
    assert holders <= set(roles.ROLES)


def test_holders_are_named_in_the_order_of_the_roles():
    assert roles.holders_of("stock.issue") == ["Operator", "Toolroom", "Lead", "Admin"]


def test_one_of_two_roles_is_enough():
    assert somebody("operator", "buyer").may("order.mark")


@pytest.mark.parametrize("permission", roles.PERMISSIONS)
def test_without_a_role_nothing_is_allowed(permission):
    assert not somebody().may(permission)


@pytest.mark.parametrize("permission", roles.PERMISSIONS)
def test_who_left_may_nothing(permission):
    assert not somebody(*roles.ROLES, is_active=False).may(permission)


def test_a_superuser_of_the_framework_is_nobody_here():
    assert not somebody(is_superuser=True, is_staff=True).may("view")


def test_a_permission_that_is_none_is_an_error_and_not_a_no():
    with pytest.raises(KeyError):
        roles.may({"admin"}, "stock.steal")


def test_a_role_given_now_counts_now():
    anna = somebody("operator")
    assert not anna.may("order.mark")

    anna.is_buyer = True

    assert anna.may("order.mark")
