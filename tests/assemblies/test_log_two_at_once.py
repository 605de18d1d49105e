"""Two screens answer for one load, or for one record, at the same moment."""

from __future__ import annotations

from uuid import uuid4

import pytest

from assemblies.actions.after_checks import record_hands_on
from assemblies.actions.corrections import answer_correction
from assemblies.models import CorrectionAnswer, HandsOnCheck
from crib.models import Act
from tests.assemblies.log_rows import Log
from tests.crib.test_two_at_once import at_once, refusals

pytestmark = pytest.mark.django_db(transaction=True)


def test_two_screens_that_answer_for_one_load_are_one_record_and_one_refusal():
    shop = Log.open()
    load = shop.add()

    def say(by, key):
        return lambda: record_hands_on(by=by, submission=uuid4(), spindle_check=load, done=[key])

    answers = at_once(say(shop.operator, "tug"), say(shop.lead, "turn"))

    assert refusals(answers) == ["hands_on.answered"]
    assert HandsOnCheck.objects.count() == 1
    assert Act.objects.filter(kind="check.hands_on").count() == 1


def test_the_same_strip_sent_twice_at_once_is_one_record():
    shop = Log.open()
    load, submission = shop.add(), uuid4()

    def say():
        return record_hands_on(by=shop.operator, submission=submission, spindle_check=load)

    first, second = at_once(say, say)

    assert sorted((first.repeated, second.repeated)) == [False, True]
    assert HandsOnCheck.objects.count() == 1


def test_two_answers_about_one_record_are_one_answer_and_one_refusal():
    shop = Log.open()
    wrong = shop.check("record_wrong")

    def answer(note):
        return lambda: answer_correction(
            by=shop.toolroom, submission=uuid4(), spindle_check=wrong, note=note
        )

    answers = at_once(answer("Measured anew."), answer("Left as it is."))

    assert refusals(answers) == ["correction.answered"]
    assert CorrectionAnswer.objects.count() == 1
