"""Records called wrong at a spindle: listed until the toolroom says what was found."""

from __future__ import annotations

from copy import deepcopy
from uuid import uuid4

import pytest

from assemblies.actions.corrections import answer_correction, open_corrections
from assemblies.models import CorrectionAnswer
from crib.models import Act
from crib.rules.refusal import NotAllowed
from tests import assembly_makers as made
from tests import makers
from tests.assemblies.log_rows import HOURS, Log

pytestmark = pytest.mark.django_db
LIST = "/checks/corrections/"


@pytest.fixture(scope="module")
def standing_shop(module_rows):
    return Log.open()


@pytest.fixture
def shop(standing_shop):
    return deepcopy(standing_shop)


@pytest.fixture
def wrong(shop):
    return shop.check("record_wrong", reason_text="label says 2 flutes, it has 3")


def answer(check, by=None, submission=None, note="Flutes counted, item put right."):
    return answer_correction(
        by=by or made.toolroom(), submission=submission or uuid4(), spindle_check=check, note=note
    )


def address(check) -> str:
    return f"/checks/{check.pk}/correction/"


# ---- which
def test_only_loads_whose_record_was_called_wrong_wait_the_oldest_first(shop):
    newer = shop.check("record_wrong", ago=1)
    older = shop.check("record_wrong", ago=2)
    shop.check("trial")
    shop.refused("label_wrong")
    shop.add()

    assert list(open_corrections()) == [older, newer]


def test_an_answered_one_waits_no_more(wrong):
    toolroom = made.toolroom()

    answer(wrong, toolroom)

    kept = CorrectionAnswer.objects.get()
    assert (kept.spindle_check, kept.by) == (wrong, toolroom)
    assert kept.note == "Flutes counted, item put right."
    assert not open_corrections().exists()
    assert Act.objects.get(kind="check.correct").about == f"assembly {wrong.assembly}"


# ---- refused
@pytest.mark.parametrize("note", ["", "   ", "\n"])
def test_an_answer_says_what_was_found(wrong, note):
    told = made.refusal(answer, wrong, note=note)

    assert (told.code, told.field) == ("correction.note", "note")


@pytest.mark.parametrize("kind", ["trial", "refused", "match"])
def test_what_nobody_called_wrong_has_no_answer(shop, kind):
    rows = {"trial": shop.check, "refused": shop.refused, "match": shop.add}

    assert made.code_of(answer, rows[kind]()) == "correction.not_asked"


def test_a_second_answer_is_refused_and_the_same_form_twice_is_one(wrong):
    toolroom, submission = made.toolroom(), uuid4()

    first, again = (answer(wrong, toolroom, submission) for _ in range(2))

    assert (first.repeated, again.repeated) == (False, True)
    assert made.code_of(answer, wrong, note="otherwise") == "correction.answered"
    assert CorrectionAnswer.objects.count() == 1


@pytest.mark.parametrize("role", ["operator", "programmer", "buyer", "lead"])
def test_only_who_builds_answers(client, wrong, role):
    person = makers.person(role)
    client.force_login(person)

    with pytest.raises(NotAllowed):
        answer(wrong, person)

    assert client.post(address(wrong), {"note": "x"}).status_code == 403
    page = client.get(LIST)
    assert page.status_code == 200
    assert address(wrong) not in page.text
    assert not CorrectionAnswer.objects.exists()


# ---- the pages
def test_the_list_says_what_was_said_and_by_whom_only_to_the_lead(client, shop, wrong):
    for person, sees in ((shop.toolroom, False), (shop.lead, True)):
        client.force_login(person)
        page = client.get(LIST)

        (question,) = page.context["questions"]
        assert question.check == wrong
        assert question.said == [HOURS]
        assert "it has 3" in page.text
        assert HOURS.text in page.text
        assert ("Tolly" in page.text) is sees


def test_without_a_question_the_list_says_so(client, shop):
    client.force_login(shop.toolroom)

    assert "No record waits for an answer." in client.get(LIST).text


@pytest.mark.parametrize("rows", [1, 8])
def test_the_list_takes_three_queries(client, shop, django_assert_num_queries, rows):
    for _ in range(rows):
        shop.check("record_wrong")
    client.force_login(shop.toolroom)

    with django_assert_num_queries(3):
        client.get(LIST)


def test_an_answer_is_kept_and_shown_with_the_check(client, shop, wrong):
    client.force_login(shop.toolroom)
    page = client.get(address(wrong))
    sent = {"submission": str(page.context["form"]["submission"].value()), "note": "Measured anew."}

    urls = {client.post(address(wrong), sent).url for _ in range(2)}

    assert urls == {LIST}
    assert CorrectionAnswer.objects.get().note == "Measured anew."
    assert "Measured anew." in client.get(f"/checks/{wrong.pk}/").text


def test_an_empty_answer_is_shown_again_with_the_field(client, shop, wrong):
    client.force_login(shop.toolroom)

    page = client.post(address(wrong), {"submission": str(uuid4()), "note": " "})

    assert list(page.context["form"].errors) == ["note"]
    assert not CorrectionAnswer.objects.exists()


def test_of_two_screens_the_second_hears_that_it_was_answered(client, shop, wrong):
    client.force_login(shop.toolroom)
    client.post(address(wrong), {"submission": str(uuid4()), "note": "Measured anew."})

    page = client.post(address(wrong), {"submission": str(uuid4()), "note": "Left as it is."})

    assert "answered already" in page.text
    assert CorrectionAnswer.objects.get().note == "Measured anew."


@pytest.mark.parametrize("kind", ["answered", "never_asked"])
def test_where_nothing_is_asked_the_check_is_shown(client, shop, wrong, kind):
    check = wrong if kind == "answered" else shop.check("trial")
    if kind == "answered":
        answer(wrong)
    client.force_login(shop.toolroom)

    assert client.get(address(check)).url == f"/checks/{check.pk}/"
