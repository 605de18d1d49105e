"""Hands and eyes after a load: asked for once, kept as said, holding nothing up."""

from __future__ import annotations

from copy import deepcopy
from html import unescape
from uuid import uuid4

import pytest
from django.db import DatabaseError, transaction

from assemblies.actions.after_checks import HIGHEST_FIRST_RUN_UM, record_hands_on, values_of
from assemblies.models import HandsOnCheck
from assemblies.rules.cautions import FIRST_RUN_UM, HANDS_ON, steps_done
from crib.models import Act
from crib.rules.refusal import NotAllowed
from tests import assembly_makers as made
from tests import makers
from tests.assemblies.log_rows import Log

pytestmark = pytest.mark.django_db
KEYS = [step.key for step in HANDS_ON]


@pytest.fixture(scope="module")
def standing_shop(module_rows):
    return Log.open()


@pytest.fixture
def shop(standing_shop):
    return deepcopy(standing_shop)


@pytest.fixture
def load(shop):
    return shop.add()


def say(check, by=None, submission=None, **said):
    return record_hands_on(
        by=by or made.operator(), submission=submission or uuid4(), spindle_check=check, **said
    )


def address(check) -> str:
    return f"/checks/{check.pk}/hands-on/"


def form(page, **said) -> dict:
    strip = page.context["form"]
    return {"submission": str(strip["submission"].value()), "first_run_height_um": "25", **said}


# ---- the action
def test_what_was_said_is_kept_in_the_order_of_doing_it(load):
    operator = made.operator()

    say(load, operator, done=reversed(KEYS), offset_entered=True, first_run_height_um=25_000)

    kept = HandsOnCheck.objects.get()
    assert (kept.spindle_check, kept.by) == (load, operator)
    assert kept.done == KEYS
    assert (kept.offset_entered, kept.first_run_height_um) == (True, 25_000)
    assert Act.objects.get(kind="check.hands_on").about == f"assembly {load.assembly}"


def test_no_tick_is_required(load):
    say(load)

    kept = HandsOnCheck.objects.get()
    assert (kept.done, kept.offset_entered, kept.first_run_height_um) == ([], False, None)


def test_a_key_that_is_no_step_is_not_kept(load):
    say(load, done=["tug", "blessed", "tug"])

    assert HandsOnCheck.objects.get().done == ["tug"]


def test_the_same_form_twice_is_one_record(load):
    operator, submission = made.operator(), uuid4()

    first = say(load, operator, submission, done=["tug"])
    second = say(load, operator, submission, done=["tug"])

    assert (first.repeated, second.repeated) == (False, True)
    assert first.result == second.result == str(load.pk)
    assert HandsOnCheck.objects.count() == 1


def test_a_second_answer_is_told_that_there_is_one(load):
    say(load, done=["tug"])

    assert made.code_of(say, load, done=KEYS) == "hands_on.answered"
    assert HandsOnCheck.objects.get().done == ["tug"]


def test_another_load_of_the_same_assembly_is_answered_for_anew(shop, load):
    say(load)
    say(shop.add())

    assert HandsOnCheck.objects.count() == 2


def test_what_was_refused_is_not_answered_for(shop):
    assert made.code_of(say, shop.refused()) == "hands_on.not_loaded"


@pytest.mark.parametrize(
    ("height_um", "refused"),
    [(0, False), (HIGHEST_FIRST_RUN_UM, False), (HIGHEST_FIRST_RUN_UM + 1, True)],
)
def test_a_first_run_has_a_highest_height(load, height_um, refused):
    if not refused:
        say(load, first_run_height_um=height_um)
        assert HandsOnCheck.objects.get().first_run_height_um == height_um
        return
    told = made.refusal(say, load, first_run_height_um=height_um)
    assert (told.code, told.field) == ("hands_on.height", "first_run_height_um")


@pytest.mark.parametrize("role", ["programmer", "buyer", "admin"])
def test_who_may_not_decide_answers_for_nothing(load, role):
    with pytest.raises(NotAllowed):
        say(load, makers.person(role))

    assert not HandsOnCheck.objects.exists()


@pytest.mark.parametrize("way", ["change", "delete"])
def test_what_was_said_is_never_changed(load, append_only_guard, way):
    say(load, done=["tug"])
    rows = HandsOnCheck.objects.filter(done=["tug"])
    works = {
        "change": lambda: super(type(rows), rows).update(offset_entered=True),
        "delete": lambda: rows._raw_delete("default"),
    }

    with pytest.raises(DatabaseError), transaction.atomic():
        works[way]()

    kept = HandsOnCheck.objects.get()
    assert (kept.done, kept.offset_entered) == (["tug"], False)


# ---- steps and values
def test_the_steps_are_those_before_and_after_fitting():
    before = [step.key for step in HANDS_ON if step.before]
    after = [step.key for step in HANDS_ON if not step.before]

    assert (before, after) == (["stopped", "clean"], ["tug", "turn", "number", "closed"])
    assert steps_done(KEYS) == tuple(step.text for step in HANDS_ON)
    assert steps_done([]) == steps_done(["blessed"]) == ()


def test_the_values_are_those_measured_on_the_build_not_those_the_control_held(shop):
    check = shop.add(gauge_length_um=91_000, diameter_um=11_000)

    told = values_of(check.build)

    assert (told.gauge_length_um, told.diameter_um) == (made.GAUGE_LENGTH_UM, made.DIAMETER_UM)


def test_the_last_reading_counts():
    assembly = made.released()
    made.record(assembly, gauge_length=made.GAUGE_LENGTH_UM + 10)

    assert values_of(assembly.current_build).gauge_length_um == made.GAUGE_LENGTH_UM + 10


def test_what_was_not_measured_is_not_guessed():
    nothing = values_of(None)
    unmeasured = values_of(made.built().current_build)

    for told in (nothing, unmeasured):
        assert (told.gauge_length_um, told.diameter_um) == (None, None)


@pytest.mark.parametrize(("measured_um", "expected_um"), [(None, 2_000), (1_950, 1_950)])
def test_the_radius_is_the_measured_one_else_that_of_the_item(measured_um, expected_um):
    some = made.some_parts(cutter={"kind": "bull_nose", "corner_radius_um": 2_000})
    assembly = made.measured(some, corner_radius=measured_um)

    assert values_of(assembly.current_build).corner_radius_um == expected_um


# ---- the page
def test_the_strip_shows_values_steps_and_the_proposed_height(client, shop):
    client.force_login(shop.operator)

    page = client.get(address(shop.add(gauge_length_um=91_000)))

    assert "97.00 mm" in page.text
    assert "91.00" not in page.text
    assert "12.00 mm" in page.text
    assert "25 mm is usual" in page.text
    assert 'value="25"' not in page.text
    assert page.text.count('name="done"') == len(HANDS_ON)
    assert " checked" not in page.text
    assert "no interlock and no safeguard" in page.text
    assert FIRST_RUN_UM == 25_000


def test_inches_stand_beside_where_the_cutter_was_bought_in_inches(client, shop):
    some = made.some_parts(cutter={"diameter_um": 12_700, "shank_um": 12_000})
    some.cutter.item.bought_in_inches = True
    some.cutter.item.save()
    check = shop.add()
    check.build.parts.filter(role="cutter").update(item=some.cutter.item)
    client.force_login(shop.operator)

    assert " in</b>" in client.get(address(check)).text


def test_the_page_after_a_load_has_the_strip_and_the_one_after_a_refusal_has_not(
    client, shop, load
):
    client.force_login(shop.operator)

    loaded = client.get(f"/spindle/recorded/{load.pk}/").text
    refused = client.get(f"/spindle/recorded/{shop.refused().pk}/").text

    assert f'action="{address(load)}"' in loaded
    assert "97.00 mm" in loaded
    assert "hands-on" not in refused


def test_done_stores_what_was_ticked_and_goes_on_to_the_next_scan(client, shop, load):
    client.force_login(shop.operator)
    sent = form(client.get(address(load)), done=["tug", "clean"], offset_entered="on")

    answer = client.post(address(load), {**sent, "first_run_height_um": "1 in"})

    assert (answer.status_code, answer.url) == (302, "/spindle/")
    kept = HandsOnCheck.objects.get()
    assert (kept.done, kept.offset_entered) == (["clean", "tug"], True)
    assert kept.first_run_height_um == 25_400


def test_the_tap_that_came_twice_is_one_record(client, shop, load):
    client.force_login(shop.operator)
    sent = form(client.get(address(load)))

    urls = {client.post(address(load), sent).url for _ in range(2)}

    assert urls == {"/spindle/"}
    assert HandsOnCheck.objects.count() == 1


def test_of_two_screens_the_second_hears_that_it_was_answered(client, shop, load):
    client.force_login(shop.operator)
    one, two = (form(client.get(address(load))) for _ in range(2))
    client.post(address(load), {**one, "done": ["tug"]})

    answer = client.post(address(load), {**two, "done": KEYS})

    assert answer.status_code == 422
    assert "answered for already" in answer.text
    assert "Tugged down" in answer.text
    assert HandsOnCheck.objects.get().done == ["tug"]


@pytest.mark.parametrize(
    ("sent", "said"),
    [
        ({"first_run_height_um": "high"}, "first_run_height_um"),
        ({"first_run_height_um": "600"}, "first_run_height_um"),
        ({"done": ["blessed"]}, "done"),
        ({"submission": "none"}, "submission"),
    ],
)
def test_what_cannot_be_kept_is_said_and_the_ticks_stay(client, shop, load, sent, said):
    client.force_login(shop.operator)
    good = form(client.get(address(load)), done=["tug"])

    answer = client.post(address(load), good | sent)

    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [said]
    assert answer.context["form"].errors[said][0] in unescape(answer.text)
    assert answer.text.count(" checked") == ("done" not in sent)
    assert not HandsOnCheck.objects.exists()


def test_a_page_that_was_answered_for_asks_no_more(client, shop, load):
    say(load, done=["turn"])
    client.force_login(shop.operator)

    page = client.get(address(load))

    assert "Turned once by hand" in page.text
    assert "Height of the first run not said." in page.text
    assert 'name="done"' not in page.text


def test_what_was_refused_has_no_strip(client, shop):
    client.force_login(shop.operator)

    page = client.get(address(shop.refused()))

    assert "nothing to fit" in page.text
    assert 'name="done"' not in page.text


@pytest.mark.parametrize("role", ["programmer", "buyer", "admin"])
def test_who_may_not_decide_has_no_strip(client, load, role):
    client.force_login(makers.person(role))

    assert client.get(address(load)).status_code == 403
    assert client.post(address(load), {"submission": str(uuid4())}).status_code == 403
    assert not HandsOnCheck.objects.exists()


def test_the_next_scan_waits_for_nobody():
    scene = made.Scene.ready()
    scene.load()

    assert scene.refuse("dull").decision == "refused"
    assert not HandsOnCheck.objects.exists()
