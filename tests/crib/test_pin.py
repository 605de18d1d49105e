"""The PIN with which somebody answers for a stop: what it may be, how often it may be tried."""

from uuid import uuid4

import pytest
from django.contrib.auth.hashers import check_password, identify_hasher
from django.core.cache import cache

from crib.actions import tries
from crib.actions.pin import check_pin, people_with_pin, set_pin
from crib.models import Act, Person
from crib.rules.pin import pin_fault
from crib.rules.refusal import NotAllowed, Refused
from tests import makers
from tests.crib.pages import fill_in, signed_in, text_of
from tests.crib.test_two_at_once import at_once

PIN = "4821"

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def no_tries_before():
    """The cache of tests that commit outlives them."""
    cache.clear()


@pytest.fixture
def lead():
    person = makers.person("lead")
    choose(person)
    return again(person)


def choose(person, pin=PIN, password=makers.PASSWORD, submission=None):
    return set_pin(by=person, submission=submission or uuid4(), password=password, pin=pin)


def again(person):
    return Person.objects.get(pk=person.pk)


def refused_by(run, *args, **kwargs) -> Refused:
    with pytest.raises(Refused) as refused:
        run(*args, **kwargs)
    return refused.value


# ---- what it may be
@pytest.mark.parametrize("pin", ["4821", "90417", "482159", "3232", "1235", "0031", "1340"])
def test_four_to_six_figures_will_do(pin):
    assert pin_fault(pin) == ""


@pytest.mark.parametrize(
    "pin",
    [
        *("", "482", "4821599", "48a1", "48 1", "４８２１", "-482", "482\n"),
        *("1111", "00000", "999999"),
        *("1234", "4321", "0123", "6789", "7890", "0987", "98765", "123456", "654321"),
        # Day and month, month and day, 29 February too.
        *("2512", "1225", "0101", "3112", "2902", "0229", "3004"),
        # A year of these two centuries, alone and before a month.
        *("1900", "1987", "2031", "198711", "203101"),
        # Day, month and year in each order.
        *("251287", "122587", "871225"),
    ],
)
def test_a_row_of_keys_a_date_or_no_figures_are_refused(pin):
    assert pin_fault(pin) != ""


@pytest.mark.parametrize("pin", ["3013", "3102", "3104", "0013", "1332", "1899", "2100", "198713"])
def test_figures_that_are_no_day_of_any_year_will_do(pin):
    """31 April and 31 February do not exist; 1332 has neither a month 13 nor a month 32."""
    assert pin_fault(pin) == ""


# ---- setting it
def test_it_is_kept_so_that_nobody_can_read_it(lead):
    act = Act.objects.get(kind="pin.set")

    assert PIN not in lead.pin
    assert identify_hasher(lead.pin)
    assert check_password(PIN, lead.pin)
    assert lead.pin_set_at is not None
    assert (act.about, act.details, act.result) == (f"person {lead.username}", {}, str(lead.pk))


def test_the_own_password_is_needed(lead):
    refused = refused_by(choose, lead, "7350", password="guessed")

    assert (refused.code, refused.field) == ("pin.password", "password")
    assert again(lead).pin == lead.pin


def test_guessing_the_password_leads_to_a_pause_too(lead):
    for _ in range(tries.MOST_TRIES):
        refused_by(choose, lead, "7350", password="guessed")

    assert refused_by(choose, lead, "7350").code == "pin.paused"
    # The PIN itself is another secret with a count of its own.
    check_pin(lead, PIN)


def test_a_weak_one_is_refused_and_the_old_one_stays(lead):
    refused = refused_by(choose, lead, "2512")

    assert (refused.code, refused.field) == ("pin.weak", "pin")
    assert again(lead).pin == lead.pin


def test_a_form_sent_twice_sets_it_once():
    person, once = makers.person("toolroom"), uuid4()

    first, second = (choose(person, submission=once) for _ in range(2))

    assert (first.repeated, second.repeated) == (False, True)
    assert Act.objects.filter(kind="pin.set").count() == 1


def test_nobody_without_a_role_sets_one():
    with pytest.raises(NotAllowed):
        choose(makers.person())


# ---- trying it
def test_the_right_one_is_right_and_a_wrong_one_says_how_many_tries_are_left(lead):
    check_pin(lead, PIN)
    refused = refused_by(check_pin, lead, "4822")

    assert (refused.code, refused.field) == ("pin.wrong", "pin")
    assert "4 tries left" in refused.remedy
    assert "4822" not in refused.sentence


def test_the_answer_is_the_same_whatever_is_wrong(lead):
    said = {refused_by(check_pin, lead, pin).text for pin in ("4822", "9", "482159", "")}

    assert len(said) == 1


@pytest.mark.parametrize("wrong", range(1, 5))
def test_up_to_four_wrong_tries_are_forgotten_after_a_right_one(lead, wrong):
    for _ in range(wrong):
        refused_by(check_pin, lead, "0000")
    check_pin(lead, PIN)

    assert "4 tries left" in refused_by(check_pin, lead, "0000").remedy


def test_after_the_fifth_wrong_try_the_right_one_has_to_wait(lead):
    said = [refused_by(check_pin, lead, "0000").code for _ in range(tries.MOST_TRIES)]

    assert said == ["pin.wrong"] * 5
    assert refused_by(check_pin, lead, PIN).code == "pin.paused"
    assert refused_by(check_pin, lead, PIN).code == "pin.paused"


def test_the_pause_lasts_five_minutes_and_the_tries_begin_anew(lead, monkeypatch):
    asked = []
    real = cache.add

    def add(key, value, timeout):
        asked.append((key.split(":")[0], timeout))
        return real(key, value, timeout)

    monkeypatch.setattr(cache, "add", add)
    for _ in range(tries.MOST_TRIES):
        refused_by(check_pin, lead, "0000")
    assert ("pin-pause", 300) in asked

    cache.delete(f"pin-pause:{lead.pk}")
    assert "4 tries left" in refused_by(check_pin, lead, "0000").remedy


def test_the_pause_of_one_person_is_nobody_elses(lead):
    other = makers.person("lead")
    choose(other, "7350")
    for _ in range(tries.MOST_TRIES):
        refused_by(check_pin, lead, "0000")

    check_pin(again(other), "7350")


def test_who_has_set_none_has_none_to_try():
    person = makers.person("lead")

    assert refused_by(check_pin, person, "").code == "pin.none"
    assert refused_by(check_pin, person, PIN).code == "pin.none"


@pytest.mark.django_db(transaction=True)
def test_many_tries_at_the_same_moment_are_five():
    person = makers.person("lead")
    choose(person)
    person = again(person)

    said = at_once(*[lambda: check_pin(person, "0000")] * 8)

    assert said.count("pin.wrong") == tries.MOST_TRIES
    assert said.count("pin.paused") == 3


# ---- who has one
def test_only_people_of_the_roles_who_may_sign_in_are_named(settings):
    people = {
        role: makers.person(*role.split()) for role in ("toolroom", "lead", "operator", "admin")
    }
    gone = makers.person("lead", is_active=False)
    without = makers.person("lead")
    of_the_example = makers.person("lead", is_demo=True)
    for person in (*people.values(), of_the_example):
        choose(person)
    Person.objects.filter(pk=gone.pk).update(pin="anything")

    named = set(people_with_pin(("toolroom", "lead")))

    assert named == {people["toolroom"], people["lead"]}
    assert without not in named
    settings.DEMO = True
    assert of_the_example in people_with_pin(("toolroom", "lead"))


# ---- the page
@pytest.mark.parametrize(
    ("role", "asked"), [("toolroom", True), ("lead", True), ("operator", False), ("buyer", False)]
)
def test_the_page_says_whether_anybody_asks_for_it(role, asked):
    page = signed_in(role).get("/my-pin/")

    assert page.context["asked"] is asked
    assert ("nothing asks for your PIN" in text_of(page)) is not asked


def test_it_is_set_on_the_page():
    client = signed_in("lead")

    answer = fill_in(client, "/my-pin/", password=makers.PASSWORD, pin=PIN, again=PIN)

    assert answer.url == "/my-pin/"
    assert check_password(PIN, again(client.person).pin)
    assert client.get("/my-pin/").context["pin_set_at"] is not None


@pytest.mark.parametrize(
    "typed",
    [
        {"password": "guessed", "pin": PIN, "again": PIN},
        {"password": makers.PASSWORD, "pin": PIN, "again": "4822"},
        {"password": makers.PASSWORD, "pin": "1234", "again": "1234"},
        {"password": makers.PASSWORD, "pin": "", "again": ""},
    ],
)
def test_what_is_wrong_is_said_and_no_secret_is_shown_again(typed):
    client = signed_in("lead")

    page = fill_in(client, "/my-pin/", **typed)

    assert page.status_code == 200
    assert page.context["form"].errors
    assert again(client.person).pin == ""
    for secret in filter(None, typed.values()):
        assert f'value="{secret}"' not in page.text


def test_it_is_found_where_the_name_stands():
    page = signed_in("lead").get("/help/").text

    assert 'href="/my-pin/"' in page.split('class="who"')[1].split("</div>")[0]
