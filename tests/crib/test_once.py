"""Asked twice, done once: the act, its one-time id and its result."""

from uuid import uuid4

import pytest

from crib.actions import stock
from crib.actions.once import do_once, require
from crib.models import Act, Movement
from crib.models.append_only import CannotBeChanged
from crib.rules.refusal import NotAllowed, Refused
from tests import makers

pytestmark = pytest.mark.django_db


def do(by, submission=None, work=lambda act: 7, kind="test.act", needs="view"):
    return do_once(submission=submission or uuid4(), kind=kind, by=by, needs=needs, work=work)


def test_an_act_is_kept_with_who_what_and_its_result():
    anna = makers.person("toolroom")
    submission = uuid4()

    done = do(anna, submission)

    act = Act.objects.get(pk=submission)
    assert (done.result, done.repeated, done.act_id) == ("7", False, submission)
    assert (act.kind, act.by, act.result) == ("test.act", anna, "7")


def test_work_may_say_what_the_act_was_about():
    def work(act):
        act.about, act.details = "item K-08", {"note": "chipped"}
        return 1

    done = do(makers.person("operator"), work=work)

    act = Act.objects.get(pk=done.act_id)
    assert (act.about, act.details) == ("item K-08", {"note": "chipped"})


def test_a_subject_longer_than_the_column_is_cut():
    def work(act):
        act.about = "x" * 150
        return 1

    done = do(makers.person("operator"), work=work)

    assert Act.objects.get(pk=done.act_id).about == "x" * 120


def test_the_same_submission_again_gives_the_same_answer_and_no_second_row():
    by, drawer = makers.person("toolroom"), makers.place()
    item, submission = makers.item(), uuid4()
    receive = {"by": by, "submission": submission, "item": item, "to_place": drawer}

    first = stock.receive(**receive, quantity=5)
    second = stock.receive(**receive, quantity=5)

    assert (first.repeated, second.repeated) == (False, True)
    assert (second.result, second.act_id) == (first.result, first.act_id)
    assert Movement.objects.count() == 1
    assert Act.objects.count() == 1


def test_the_work_of_a_repeated_submission_is_not_run():
    by, submission, runs = makers.person("operator"), uuid4(), []

    for _ in range(3):
        do(by, submission, work=runs.append)

    assert len(runs) == 1


def test_a_submission_used_for_another_act_is_refused():
    by, submission = makers.person("operator"), uuid4()
    do(by, submission, kind="stock.receive")

    with pytest.raises(Refused) as refused:
        do(by, submission, kind="stock.issue")

    assert refused.value.code == "act.id_used_before"
    assert Act.objects.get().kind == "stock.receive"


def test_a_submission_of_another_person_is_refused():
    submission = uuid4()
    do(makers.person("operator"), submission)

    with pytest.raises(Refused) as refused:
        do(makers.person("operator"), submission)

    assert refused.value.code == "act.id_used_before"


def test_a_refused_act_leaves_no_row_and_its_submission_may_be_sent_again():
    by, submission = makers.person("operator"), uuid4()

    def refuse(act):
        raise Refused("test.no", "No.")

    with pytest.raises(Refused):
        do(by, submission, work=refuse)
    assert not Act.objects.exists()

    assert do(by, submission).repeated is False


def test_an_error_in_the_work_undoes_what_it_wrote():
    by, drawer = makers.person("admin"), makers.place()

    def fail_late(act):
        stock.post(
            act=act,
            item=makers.item(),
            quantity=1,
            from_place=stock.account("supplier"),
            to_place=drawer,
            reason="receive",
        )
        raise RuntimeError

    with pytest.raises(RuntimeError):
        do(by, work=fail_late)
    assert not Movement.objects.exists()
    assert not Act.objects.exists()


def test_without_the_permission_nothing_is_done():
    runs = []

    with pytest.raises(NotAllowed) as refused:
        do(makers.person("operator"), needs="order.mark", work=runs.append)

    assert (refused.value.code, refused.value.permission) == ("person.not_allowed", "order.mark")
    assert not runs
    assert not Act.objects.exists()


@pytest.mark.parametrize("by", [None, "somebody who left"])
def test_nobody_and_inactive_people_may_do_nothing(by):
    person = by and makers.person("admin", is_active=False)

    with pytest.raises(NotAllowed):
        require(person, "view")


def test_a_result_is_filled_once():
    done = do(makers.person("operator"))
    act = Act.objects.get(pk=done.act_id)

    with pytest.raises(CannotBeChanged):
        act.fill_result("8")

    assert act.result == "7"
    assert Act.objects.get().result == "7"


def test_two_copies_of_an_open_act_cannot_both_fill_it():
    act = Act.objects.create(kind="test.act", by=makers.person("operator"))
    copy = Act.objects.get(pk=act.pk)
    act.fill_result("7")

    with pytest.raises(CannotBeChanged):
        copy.fill_result("8")

    assert Act.objects.get().result == "7"
