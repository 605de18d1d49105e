"""Items with the facts of every way of clamping: what is said of them, and at which field."""

from uuid import uuid4

import pytest

from crib.actions.items import findings_of, save_item
from crib.models import (
    Act,
    ColletFacts,
    CutterFacts,
    HolderFacts,
    Item,
    ItemKind,
    NutFacts,
    SleeveFacts,
)
from crib.rules.refusal import Refused
from tests import makers

SLEEVE = {"suits": "hydraulic", "outer_um": 20_000, "bore_um": 12_000, "length_um": 50_000}
TAP_HOLDER = {"interface": "HSK-A63", "clamping": "tap", "bore_um": 8_000, "square_um": 6_200}
TAP = {
    "kind": "tap",
    "diameter_um": 8_000,
    "shank_form": "square",
    "shank_um": 8_000,
    "overall_um": 90_000,
    "square_um": 6_200,
    "pitch_um": 1_250,
}
SHELL = {
    "kind": "face_mill",
    "diameter_um": 50_000,
    "shank_form": "bore",
    "shank_um": 22_000,
    "overall_um": 40_000,
    "keyway_um": 10_400,
}
ARBOR = {"interface": "HSK-A63", "clamping": "arbor", "bore_um": 22_000, "key_um": 10_000}
CHUCK = {
    "interface": "HSK-A63",
    "clamping": "drill_chuck",
    "bore_um": 13_000,
    "bore_min_um": 1_000,
}
SEALING = {"series": "ER32", "thread": "M40x1.5", "sealed": True}
SEALING |= {"seal_max_um": 10_000, "seal_min_um": 9_500}
COLLET = {"series": "ER32", "clamp_max_um": 10_000, "clamp_min_um": 9_000, "square_um": 8_000}

KINDS = {
    SleeveFacts: ItemKind.SLEEVE,
    HolderFacts: ItemKind.HOLDER,
    CutterFacts: ItemKind.CUTTER,
    NutFacts: ItemKind.NUT,
    ColletFacts: ItemKind.COLLET,
}


def item_of(facts):
    return Item(kind=KINDS[type(facts)], code="X-1", description="for tests")


def codes(facts):
    return [finding.code for finding in findings_of(item_of(facts), facts)]


@pytest.mark.parametrize(
    ("model", "values"),
    [
        (SleeveFacts, SLEEVE),
        (HolderFacts, TAP_HOLDER),
        (HolderFacts, ARBOR),
        (HolderFacts, CHUCK),
        (CutterFacts, TAP),
        (CutterFacts, SHELL),
        (NutFacts, SEALING),
        (ColletFacts, COLLET),
    ],
)
def test_nothing_is_said_of_an_item_that_can_exist(model, values):
    assert codes(model(**values)) == []


#: Every column must reach the rule behind it, and its refusal the right field of the form.
REFUSED = [
    (SleeveFacts, SLEEVE, {"bore_um": 20_000}, "sleeve.no_wall", "bore_um"),
    (SleeveFacts, SLEEVE, {"suits": "shrink"}, "sleeve.suits_none", "suits"),
    (HolderFacts, TAP_HOLDER, {"square_um": 8_000}, "holder.square_too_large", "square_um"),
    (HolderFacts, CHUCK, {"bore_min_um": 13_001}, "holder.range_reversed", "bore_min_um"),
    (HolderFacts, ARBOR, {"key_um": 22_000}, "holder.keys_too_wide", "key_um"),
    (
        HolderFacts,
        TAP_HOLDER,
        {"grip_min_um": 31_000, "bore_depth_um": 30_000},
        "holder.grip_beyond_bore",
        "grip_min_um",
    ),
    (CutterFacts, TAP, {"square_um": 8_000}, "cutter.square_too_large", "square_um"),
    (CutterFacts, TAP, {"pitch_um": 8_000}, "cutter.pitch_too_coarse", "pitch_um"),
    (CutterFacts, SHELL, {"keyway_um": 22_000}, "cutter.keyway_too_wide", "keyway_um"),
    (
        CutterFacts,
        TAP,
        {"point_angle_tenths": 1_801},
        "cutter.point_too_wide",
        "point_angle_tenths",
    ),
    (NutFacts, SEALING, {"seal_min_um": 10_001}, "nut.seal_reversed", "seal_min_um"),
    (ColletFacts, COLLET, {"square_um": 10_000}, "collet.square_impossible", "square_um"),
]


@pytest.mark.django_db
@pytest.mark.parametrize(("model", "values", "change", "code", "field"), REFUSED)
def test_the_impossible_is_refused_at_its_field(model, values, change, code, field):
    facts = model(**values | change)
    assert code in codes(facts)
    with pytest.raises(Refused) as caught:
        save_item(
            by=makers.person("toolroom"),
            submission=uuid4(),
            item=item_of(facts),
            facts=facts,
        )
    assert (caught.value.code, caught.value.field) == (code, field)
    assert not Act.objects.exists()


@pytest.mark.parametrize(
    ("model", "values", "missing", "code"),
    [
        (SleeveFacts, SLEEVE, "length_um", "sleeve.size_not_known"),
        (HolderFacts, TAP_HOLDER, "square_um", "holder.bore_not_known"),
        (HolderFacts, ARBOR, "key_um", "holder.bore_not_known"),
        (HolderFacts, CHUCK, "bore_min_um", "holder.bore_not_known"),
        (CutterFacts, TAP, "square_um", "cutter.drive_not_known"),
        (CutterFacts, TAP, "pitch_um", "cutter.drive_not_known"),
        (CutterFacts, SHELL, "keyway_um", "cutter.drive_not_known"),
        (NutFacts, SEALING, "seal_max_um", "nut.seal_not_known"),
    ],
)
def test_what_the_fit_asks_for_and_nobody_entered_is_said(model, values, missing, code):
    assert codes(model(**values | {missing: None})) == [code]


@pytest.mark.parametrize("column", ["spigot_um", "screw_torque_mnm", "key_um", "square_um"])
def test_a_fact_of_another_way_of_clamping_is_questioned(column):
    assert codes(HolderFacts(**CHUCK | {column: 5_000})) == ["holder.fact_out_of_place"]
