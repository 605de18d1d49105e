"""Adding and changing items: what is refused, and what is written."""

from __future__ import annotations

from uuid import uuid4

import pytest

from crib.actions.items import findings_of, save_item
from crib.models import (
    Act,
    ColletFacts,
    CutterFacts,
    HolderFacts,
    InsertFacts,
    Item,
    ItemKind,
    NutFacts,
)
from crib.rules.refusal import NotAllowed, Refused
from tests import makers

pytestmark = pytest.mark.django_db


def save(item, facts=None, by=None, submission=None):
    return save_item(
        by=by or makers.person("toolroom"),
        submission=submission or uuid4(),
        item=item,
        facts=facts,
    )


def collet(**changed):
    values = {"series": "ER32", "clamp_max_um": 12_700, "clamp_min_um": 11_700}
    return ColletFacts(**values | changed)


def new(kind=ItemKind.COLLET, code="K-08", **fields):
    return Item(kind=kind, code=code, description="for tests", **fields)


def refusal(item, facts=None):
    with pytest.raises(Refused) as caught:
        save(item, facts)
    assert not Act.objects.exists()
    return caught.value


def test_an_item_is_saved_with_its_facts_and_the_act_names_it():
    done = save(new(), collet())
    item = Item.objects.get(pk=int(done.result))
    assert item.facts.clamp_max_um == 12_700
    assert Act.objects.get(pk=done.act_id).about == "item K-08"


def test_the_same_submission_writes_one_item():
    by, submission = makers.person("toolroom"), uuid4()
    first = save(new(), collet(), by, submission)
    second = save(new(), collet(), by, submission)
    assert (second.repeated, second.result) == (True, first.result)
    assert Item.objects.count() == 1


def test_a_change_keeps_what_was_there_before():
    save(new(), collet())
    item = Item.objects.get()
    item.facts.clamp_min_um = 12_000
    done = save(item, item.facts)
    assert Act.objects.get(pk=done.act_id).details == {"clamp_min_um": ["11700", "12000"]}


# 1 1/2 in = 38.1 mm, 1/2 in = 12.7 mm (1 in = 25.4 mm exactly); ER32 takes up to 20 mm
# (ISO 15488:2003).
def test_a_collet_outside_its_series_is_refused_with_the_one_that_was_meant():
    refused = refusal(new(bought_in_inches=True), collet(clamp_max_um=38_100, clamp_min_um=37_100))
    assert (refused.code, refused.field) == ("collet.outside_series", "clamp_max_um")
    assert "1/2 in" in refused.remedy
    assert not Item.objects.exists()


@pytest.mark.parametrize(
    ("item", "facts", "code", "field"),
    [
        (new(code=" "), collet(), "item.code_letters", "code"),
        (new(code="new"), collet(), "item.code_letters", "code"),
        (new(code="1/2"), collet(), "item.code_letters", "code"),
        (new(code=".."), collet(), "item.code_letters", "code"),
        (new(), None, "item.other_facts", ""),
        (new(), NutFacts(series="ER32"), "item.other_facts", ""),
        (new(ItemKind.SPARE), collet(), "item.other_facts", ""),
        (new(), collet(clamp_min_um=13_000), "collet.range_reversed", "clamp_min_um"),
        (new(), collet(clamp_min_um=11_000), "collet.range_too_wide", "clamp_min_um"),
        (new(), collet(runout_class=-1), "item.not_valid", "runout_class"),
        (
            new(ItemKind.HOLDER),
            HolderFacts(interface="BT30"),
            "item.collet_holder_has_series",
            "collet_series",
        ),
        (
            new(ItemKind.HOLDER),
            HolderFacts(interface="BT30", collet_series="ER32", balance_grade_tenths=25),
            "item.holder_balance_grade_has_speed",
            "balance_speed_rpm",
        ),
        (
            new(ItemKind.NUT),
            NutFacts(
                series="ER32",
                thread="M40x1.5",
                torque_recommended_mnm=136_001,
                torque_max_mnm=136_000,
            ),
            "nut.torques_reversed",
            "torque_recommended_mnm",
        ),
        (
            new(ItemKind.CUTTER),
            CutterFacts(
                kind="drill", diameter_um=6_000, shank_um=6_000, overall_um=50_000, flute_um=50_001
            ),
            "cutter.flutes_too_long",
            "flute_um",
        ),
        (new(ItemKind.INSERT), InsertFacts(edges=0), "item.not_valid", ""),
    ],
)
def test_what_cannot_be_is_refused_by_name_and_writes_nothing(item, facts, code, field):
    refused = refusal(item, facts)
    assert (refused.code, refused.field) == (code, field)
    assert not Item.objects.exists()


def test_a_code_in_use_is_refused_whatever_its_capitals():
    save(new(), collet())
    with pytest.raises(Refused) as caught:
        save(new(code=" k-08 "), collet())
    assert (caught.value.code, caught.value.field) == ("item.code_taken", "code")


def test_the_kind_of_an_item_never_changes():
    save(new(), collet())
    item = Item.objects.get()
    item.kind = ItemKind.SPARE
    with pytest.raises(Refused) as caught:
        save(item)
    assert caught.value.code == "item.kind_changed"


@pytest.mark.parametrize("role", ["operator", "programmer", "lead"])
def test_only_those_who_keep_items_may_save_one(role):
    with pytest.raises(NotAllowed):
        save(new(), collet(), by=makers.person(role))


def test_what_is_missing_is_said_and_not_refused():
    save(new(ItemKind.NUT), NutFacts(series="ER32"))
    item = Item.objects.get()
    assert "nut.thread_not_known" in [found.code for found in findings_of(item, item.facts)]
