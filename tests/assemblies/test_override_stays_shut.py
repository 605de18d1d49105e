"""Ways round the PIN, the role and the hard stop: each is tried, and each stays shut."""

import threading
from uuid import uuid4

import pytest
from django.core.cache import cache
from django.db import IntegrityError, connection, transaction

from assemblies.actions.loads import open_load_of
from assemblies.models import Decision, Load, SpindleCheck
from crib.actions import tries
from crib.models import Act, Person
from crib.rules.refusal import NotAllowed, Refused
from tests import assembly_makers as made
from tests import makers
from tests.assemblies.load_makers import FillingShop, changer
from tests.assemblies.test_loads_fill import Screen
from tests.assemblies.test_spindle_override import PIN, code, hard_stop, soft_stop, with_pin

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def no_tries_before():
    cache.clear()


@pytest.fixture
def scene():
    scene = made.Scene.ready()
    soft_stop(scene)
    return scene


# ---- the PIN
def test_a_form_carried_out_before_lends_its_id_to_no_override(scene):
    """Such a form is not asked for its PIN again; so it must lead to nothing new."""
    by, lead, once = made.operator(), with_pin("lead"), uuid4()
    scene.decide(Decision.REFUSED, by=by, submission=once, reason="dull")
    ask = {"submission": once, "overrider": lead, "pin": "0000"}

    assert code(scene, by=by, **ask) == "check.answered"
    assert code(scene, by=made.operator(), **ask) == "act.id_used_before"
    assert not Load.objects.exists()


def test_an_id_used_for_anything_else_lends_itself_to_no_override(scene):
    by, lead = made.operator(), with_pin("lead")
    act = Act.objects.create(kind="assembly.borrow", by=by)

    said = {"by": by, "submission": act.pk, "overrider": lead, "pin": "0000"}
    assert code(scene, **said) == "act.id_used_before"


def test_sent_again_in_the_name_of_somebody_else_it_is_refused(scene):
    by, once, first, second = made.operator(), uuid4(), with_pin("lead"), with_pin("toolroom")
    ask = {"by": by, "submission": once, "reason": "trial"}
    scene.decide(**ask, overrider=first, pin=PIN)

    assert scene.decide(**ask, overrider=first, pin="").repeated
    assert code(scene, **ask, overrider=second, pin="") == "check.answered"
    assert SpindleCheck.objects.get().overridden_by == first


def test_the_pin_of_one_is_not_the_pin_of_another(scene):
    lead = with_pin("lead")
    other = with_pin("toolroom", chosen="7350")

    assert code(scene, overrider=lead, pin="7350") == "pin.wrong"
    assert code(scene, overrider=other, pin=PIN) == "pin.wrong"


def test_a_pin_changed_while_it_was_asked_for_is_no_longer_one(scene, monkeypatch):
    from assemblies.actions import override

    lead, check_pin = with_pin("lead"), override.check_pin

    def and_then_it_changes(person, pin):
        check_pin(person, pin)
        Person.objects.filter(pk=person.pk).update(pin="md5$another")

    monkeypatch.setattr(override, "check_pin", and_then_it_changes)

    with pytest.raises(Refused) as refused:
        scene.decide(reason="trial", overrider=lead, pin=PIN)
    assert refused.value.code == "override.person"
    assert not SpindleCheck.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_many_stations_at_once_have_no_more_than_five_tries():
    scene = made.Scene.ready()
    soft_stop(scene)
    lead, said, people = with_pin("lead"), [], [made.operator() for _ in range(12)]
    start = threading.Barrier(len(people))

    def guess(by):
        start.wait()
        try:
            scene.decide(by=by, reason="trial", overrider=lead, pin="0000")
        except Refused as refused:
            said.append(refused.code)
        finally:
            connection.close()

    guesses = [threading.Thread(target=guess, args=(by,)) for by in people]
    for one in guesses:
        one.start()
    for one in guesses:
        one.join()

    assert len(said) == len(people)
    assert said.count("pin.wrong") <= tries.MOST_TRIES
    assert code(scene, overrider=lead, pin=PIN) == "pin.paused"


# ---- who
@pytest.mark.parametrize("role", ["programmer", "buyer", "admin"])
@pytest.mark.parametrize("word", ["match", "check", "stop"])
def test_who_may_not_decide_loads_nothing_whoever_answers_for_it(scene, role, word):
    if word != "stop":
        scene = made.Scene.ready()
    if word == "check":
        scene.machine.override_ceiling_percent = 150
        scene.machine.save()
    assert scene.word() == word
    with pytest.raises(NotAllowed):
        scene.decide(by=makers.person(role), reason="trial", overrider=with_pin("lead"), pin=PIN)
    assert not Act.objects.filter(kind="check.decide").exists()


def test_a_stop_that_turned_hard_behind_the_screen_is_not_overridden(scene):
    lead, seen = with_pin("lead"), scene.checked()
    hard_stop(scene)

    answer = {"overrider": lead, "pin": PIN}
    assert code(scene, **answer) == "check.not_acceptable"
    on_screen = {"seen": seen.fingerprint, "seen_word": seen.word_key}
    assert code(scene, **answer, **on_screen) == "check.changed"


def test_where_the_t_is_still_to_be_chosen_nobody_overrides():
    scene = made.Scene.ready()
    text = made.PROGRAM.replace("M30", "T6 M6\nS18000 M3\nG43 H6 Z5\nG1 Z-3 F900\nX1\nM5\nM30")
    scene.revision = made.revision(text=text)
    for tool_number in (5, 6):
        made.confirm(scene.revision, tool_number)
    lead, verdict = with_pin("lead"), scene.checked().verdict
    assert (verdict.word, verdict.tool_choice_needed) == ("STOP", True)

    assert code(scene, overrider=lead, pin=PIN) == "check.not_acceptable"
    scene.load(tool_number=5, reason="trial", overrider=lead, pin=PIN)


def test_the_list_of_a_changer_overrides_nothing():
    screen = Screen(FillingShop.open(changer(4)))
    lead = with_pin("lead")
    screen.scan_tool(1)
    assembly = screen.shop.assemblies[1]
    made.confirm(screen.shop.revision, 1, diameter_um=9_000)
    made.approve(screen.shop.revision, screen.shop.machine)

    said = {f"shown_{assembly.number}": 1, "overrider": lead.pk, "pin": PIN, "reason": "trial"}
    screen.client.post(screen.at("labels:fill_record"), said)

    assert not SpindleCheck.objects.exists()
    assert open_load_of(assembly) is None


# ---- the tables, asked by another program
def refused_by_the_table(statement, *given):
    with (
        pytest.raises(IntegrityError),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement, given)


@pytest.fixture
def overridden(scene):
    return scene.load(reason="trial", overrider=with_pin("lead"), pin=PIN)


@pytest.mark.parametrize(
    "change",
    ["overridden_by_id = NULL", "reason = ''", "hard_stop = NOT hard_stop", "verdict = 'match'"],
)
def test_an_override_on_record_is_changed_by_nobody(overridden, change):
    table = SpindleCheck._meta.db_table
    refused_by_the_table(f"UPDATE {table} SET {change} WHERE id = %s", overridden.pk)


@pytest.mark.parametrize(
    "change",
    [
        {"hard_stop": True},
        {"overridden_by_id": None},
        {"reason": ""},
        {"verdict": "match"},
        {"decision": "refused"},
        {"shown_number": 6},
    ],
)
def test_no_row_says_that_something_else_was_overridden(overridden, change):
    values = {
        field.attname: getattr(overridden, field.attname)
        for field in SpindleCheck._meta.concrete_fields
        if field.name not in ("id", "act")
    }
    act = Act.objects.create(kind="test", by=overridden.by)
    with pytest.raises(IntegrityError), transaction.atomic():
        SpindleCheck.objects.create(**values | {"act": act} | change)


@pytest.mark.parametrize("what", ["pocket = 7", "out_as = 'good'", "tool_number = 9", "id = id"])
def test_a_load_that_ended_is_changed_by_nobody(overridden, what):
    from tests.assemblies.load_makers import out

    out(Load.objects.get(), "worn")
    refused_by_the_table(
        f"UPDATE {Load._meta.db_table} SET {what} WHERE spindle_check_id = %s", overridden.pk
    )
