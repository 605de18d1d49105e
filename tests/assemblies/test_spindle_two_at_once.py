"""Two at the same moment at one spindle: threads with their own connections."""

from uuid import uuid4

import pytest

from assemblies.actions.spindle import Answer, record_decision
from assemblies.models import Assembly, Decision, SpindleCheck
from crib.models import Act
from labels.actions.resolve_code import label_facts
from labels.models import Label
from tests.assemblies.spindle_shop import open_shop
from tests.crib.test_two_at_once import at_once

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def scene():
    """A shop, and a way to load its labelled assembly as T5."""
    shop = open_shop()
    shop.label(shop.built())
    label = Label.objects.select_related("build__assembly").get()

    def load(by, submission):
        return lambda: record_decision(
            by=by,
            submission=submission,
            assembly=label.build.assembly,
            label=label_facts(label),
            machine=shop.machine,
            revision=shop.revision,
            tool_number=None,
            answer=Answer(decision=Decision.LOADED, shown_number=5, seen_word="match"),
        )

    return shop, load


def test_the_same_form_from_two_threads_is_one_row(scene):
    shop, load = scene
    submission = uuid4()

    first, second = at_once(load(shop.operator, submission), load(shop.operator, submission))

    assert first.result == second.result
    assert sorted((first.repeated, second.repeated)) == [False, True]
    assert SpindleCheck.objects.count() == 1


def test_two_people_each_have_their_own_row(scene):
    shop, load = scene

    answers = at_once(load(shop.operator, uuid4()), load(shop.lead, uuid4()))

    assert [answer.repeated for answer in answers] == [False, False]
    assert set(SpindleCheck.objects.values_list("by", flat=True)) == {
        shop.operator.pk,
        shop.lead.pk,
    }
    assert Act.objects.filter(kind="check.decide").count() == 2


def test_the_two_halves_of_a_swap_are_reported_at_once():
    """Each report locks both assemblies; in one order, so that neither waits for the other."""
    shop = open_shop()
    marks = {shop.built(mark).number: mark for mark in ("H-07", "H-03")}
    for assembly in Assembly.objects.order_by("number"):
        shop.label(assembly)
    labels = Label.objects.select_related("build__assembly").order_by("pk")

    def report(by, label, mark_there):
        return lambda: record_decision(
            by=by,
            submission=uuid4(),
            assembly=label.build.assembly,
            label=label_facts(label),
            machine=shop.machine,
            revision=shop.revision,
            tool_number=None,
            answer=Answer(decision=Decision.REFUSED, reason="mark_differs", mark_there=mark_there),
        )

    people, there = (shop.operator, shop.lead), reversed(marks.values())
    works = [report(*said) for said in zip(people, labels, there, strict=True)]

    answers = at_once(*works)

    assert [answer.repeated for answer in answers] == [False, False]
    assert set(Assembly.objects.values_list("state", flat=True)) == {"quarantined"}
    assert SpindleCheck.objects.count() == 2
