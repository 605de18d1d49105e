"""Items of every way of clamping: reduction sleeves, and the facts that only some parts have."""

from __future__ import annotations

import pytest
from django.urls import reverse

from crib.forms.where_asked import CLAMPINGS_OF, KINDS_OF
from crib.models import Clamping, CutterFacts, HolderFacts, Item, ItemKind, NutFacts, SleeveFacts
from crib.rules.cutter_kinds import CUTTER_KINDS
from crib.tables import key_size
from tests import makers
from tests.crib.pages import fill_in, send_twice, signed_in, text_of

pytestmark = pytest.mark.django_db

SLEEVE = {
    "code": "RS-20-12",
    "description": "sleeve 20 to 12",
    "pack_size": "1",
    "outer_um": "20",
    "bore_um": "12",
    "length_um": "52,5",
    "suits": "hydraulic",
    "sealed": "True",
}
HOLDER = {
    "code": "HC-1",
    "description": "a holder",
    "pack_size": "1",
    "interface": "ISO 30 router",
    "clamping": "collet",
    "collet_series": "ER32",
}
CUTTER = {
    "code": "K-1",
    "description": "a drill",
    "pack_size": "1",
    "kind": "drill",
    "diameter_um": "8",
    "shank_form": "plain",
    "shank_um": "8",
    "seats": "0",
}


def new(kind, typed):
    return fill_in(signed_in("toolroom"), f"/items/new/{kind}/", **typed)


def lines_of(item):
    page = signed_in("operator").get(reverse("crib:item_detail", kwargs={"code": item.code}))
    return {line.label: line.text for line in page.context["facts"]}


def sleeve_item(**facts) -> Item:
    made = makers.item(ItemKind.SLEEVE)
    given = {"outer_um": 20_000, "bore_um": 12_000, "suits": "hydraulic"} | facts
    SleeveFacts.objects.create(item=made, **given)
    return made


def test_a_sleeve_is_among_the_kinds_of_item():
    page = signed_in("toolroom").get("/items/new/")
    assert 'href="/items/new/sleeve/"' in page.content.decode()
    assert "Reduction sleeve" in text_of(page)


def test_a_sleeve_is_added_once_in_whole_micrometres():
    first, second, acts = send_twice(signed_in("toolroom"), "/items/new/sleeve/", **SLEEVE)
    assert first["Location"] == second["Location"] == "/items/RS-20-12/"
    facts = Item.objects.get().facts
    assert (facts.outer_um, facts.bore_um, facts.length_um) == (20_000, 12_000, 52_500)
    assert (facts.suits, facts.sealed, facts.n_max_rpm, acts) == ("hydraulic", True, None, 1)


@pytest.mark.parametrize(
    ("typed", "kept"), [("", None), ("True", True), ("False", False), ("missing", None)]
)
def test_yes_no_and_not_recorded_are_three_answers(typed, kept):
    sent = SLEEVE | {"sealed": typed}
    if typed == "missing":
        del sent["sealed"]
    new("sleeve", sent)
    assert SleeveFacts.objects.get().sealed is kept


@pytest.mark.parametrize(
    ("field", "changed"),
    [
        ("bore_um", {"bore_um": "20"}),
        ("bore_um", {"bore_um": "20.001"}),
        ("bore_um", {"bore_um": ""}),
        ("outer_um", {"outer_um": "0"}),
        ("suits", {"suits": ""}),
        ("suits", {"suits": "shrink"}),
        ("sealed", {"sealed": "perhaps"}),
        ("n_max_rpm", {"n_max_rpm": "fast"}),
    ],
)
def test_a_sleeve_that_cannot_be_names_the_field(field, changed):
    answer = new("sleeve", SLEEVE | changed)
    assert answer.status_code == 200
    bad = {**answer.context["form"].errors, **answer.context["facts_form"].errors}
    assert list(bad) == [field]
    assert not Item.objects.exists()


def test_a_sleeve_with_a_thin_wall_is_still_a_sleeve():
    new("sleeve", SLEEVE | {"bore_um": "19.999"})
    assert SleeveFacts.objects.get().bore_um == 19_999


def test_the_page_of_a_sleeve_says_what_it_is_and_what_is_missing():
    lines = lines_of(sleeve_item(length_um=52_500))
    assert lines["Outside diameter"] == "20.00 mm"
    assert lines["Bore"] == "12.00 mm"
    assert lines["Made for"] == "Hydraulic chuck"
    assert lines["Length"] == "52.5 mm"
    assert lines["Sealed for coolant"] == "not recorded"


def test_the_list_shows_and_filters_sleeves_by_size(django_assert_max_num_queries):
    item = sleeve_item()
    makers.nut_item()
    client = signed_in("operator")
    with django_assert_max_num_queries(12):
        page = client.get("/items/", {"kind": "sleeve"})
    (row,) = page.context["table"].rows
    assert (row.record, row.get_cell("key_size")) == (item, "Ø 20 to 12")


def test_a_sleeve_without_facts_is_listed_as_not_recorded():
    makers.item(ItemKind.SLEEVE)
    (row,) = signed_in("operator").get("/items/").context["table"].rows
    assert row.get_cell("key_size") == "not recorded"


@pytest.mark.parametrize("kind", [kind for kind in ItemKind.values if kind != ItemKind.SPARE])
def test_every_kind_with_facts_has_a_size_in_the_list(kind):
    makers_of = {
        "holder": makers.holder_item,
        "collet": makers.collet_item,
        "nut": makers.nut_item,
        "cutter": makers.cutter_item,
        "sleeve": sleeve_item,
    }
    if kind in makers_of:
        assert key_size(makers_of[kind]())


# ---- facts that only some parts have
@pytest.mark.parametrize("clamping", Clamping.values)
def test_a_holder_page_calls_missing_only_what_its_clamping_has(clamping):
    series = "ER32" if clamping == "collet" else ""
    item = makers.holder_item(clamping=clamping, collet_series=series, nose_thread="")
    asked = {name for name, ways in CLAMPINGS_OF.items() if clamping in ways}
    found = signed_in("operator").get(reverse("crib:item_detail", kwargs={"code": item.code}))
    shown = {line.label for line in found.context["facts"]}
    form = signed_in("toolroom").get(reverse("crib:item_edit", kwargs={"code": item.code}))
    labels = {f.name: f.label for f in form.context["facts_form"]}
    assert {labels[name] for name in CLAMPINGS_OF} & shown == {labels[name] for name in asked}


def test_a_recorded_fact_is_shown_even_where_it_is_not_asked():
    item = makers.holder_item(clamping="shrink", collet_series="", nose_thread="", key_um=8_000)
    assert lines_of(item)["Width of the driving keys"] == "8.00 mm"


def test_the_form_says_for_which_clamping_a_fact_is():
    page = signed_in("toolroom").get("/items/new/holder/")
    helps = {f.name: f.help_text for f in page.context["facts_form"]}
    for name, ways in CLAMPINGS_OF.items():
        assert all(Clamping(way).label.lower() in helps[name] for way in ways), name
    assert "Only for" not in helps["gauge_length_um"]
    page = signed_in("toolroom").get("/items/new/cutter/")
    helps = {f.name: f.help_text for f in page.context["facts_form"]}
    for name, kinds in KINDS_OF.items():
        assert all(CUTTER_KINDS[kind] in helps[name] for kind in kinds), name


def test_the_hints_name_facts_ways_and_kinds_that_there_are():
    assert {f.name for f in HolderFacts._meta.fields} >= CLAMPINGS_OF.keys()
    assert {f.name for f in CutterFacts._meta.fields} >= KINDS_OF.keys()
    assert {kind for kinds in KINDS_OF.values() for kind in kinds} <= CUTTER_KINDS.keys()


@pytest.mark.parametrize(
    ("clamping", "typed", "kept"),
    [
        ("side_lock", {"bore_um": "20", "screw_torque_mnm": "25"}, (20_000, 25_000)),
        ("hydraulic", {"bore_um": "3/4 in", "bore_depth_um": "51"}, (19_050, 51_000)),
        ("shrink", {"bore_um": "12", "grip_min_um": "37"}, (12_000, 37_000)),
        ("drill_chuck", {"bore_um": "13", "bore_min_um": "1"}, (13_000, 1_000)),
        ("arbor", {"bore_um": "22", "spigot_um": "19", "key_um": "10"}, (22_000, 19_000, 10_000)),
        ("tap", {"bore_um": "8", "square_um": "6.2"}, (8_000, 6_200)),
    ],
)
def test_each_way_of_clamping_keeps_its_own_facts(clamping, typed, kept):
    bare = HOLDER | {"clamping": clamping, "collet_series": ""}
    assert new("holder", bare | typed).status_code == 302
    facts = HolderFacts.objects.get()
    assert tuple(getattr(facts, name) for name in typed) == kept


def test_a_drill_chuck_that_closes_wider_than_it_opens_is_refused():
    typed = {"clamping": "drill_chuck", "collet_series": "", "bore_um": "13", "bore_min_um": "14"}
    answer = new("holder", HOLDER | typed)
    assert list(answer.context["facts_form"].errors) == ["bore_min_um"]
    assert not HolderFacts.objects.exists()


def test_a_seal_that_is_smaller_than_its_smallest_shank_is_refused():
    typed = {"code": "N-1", "description": "nut", "pack_size": 1, "series": "ER32"}
    typed |= {"style": "standard", "sealed": "True", "seal_max_um": "6", "seal_min_um": "7"}
    answer = new("nut", typed)
    assert list(answer.context["facts_form"].errors) == ["seal_min_um"]
    assert not NutFacts.objects.exists()


@pytest.mark.parametrize(
    ("typed", "kept", "shown"),
    [
        ("118", 1180, "118°"),
        ("82,5", 825, "82.5°"),
        ("82.5 °", 825, "82.5°"),
        ("", None, "not recorded"),
    ],
)
def test_a_point_angle_is_an_angle_and_no_balance_grade(typed, kept, shown):
    new("cutter", CUTTER | {"point_angle_tenths": typed})
    assert CutterFacts.objects.get().point_angle_tenths == kept
    assert lines_of(Item.objects.get())["Point angle"] == shown


@pytest.mark.parametrize("typed", ["181", "-5", "0", "118.55", "wide"])
def test_what_is_no_point_angle_is_refused(typed):
    answer = new("cutter", CUTTER | {"point_angle_tenths": typed})
    assert list(answer.context["facts_form"].errors) == ["point_angle_tenths"]


def test_a_balance_grade_is_still_one():
    item = makers.holder_item(balance_grade_tenths=25, balance_speed_rpm=25_000)
    assert lines_of(item)["Balance grade G"] == "G 2.5"


@pytest.mark.parametrize(
    ("kind", "asked"),
    [
        ("tap", {"Square, across flats", "Pitch of the thread"}),
        ("thread_mill", {"Pitch of the thread"}),
        ("drill", {"Point angle"}),
        ("compression", set()),
    ],
)
def test_a_cutter_page_calls_missing_only_what_its_kind_has(kind, asked):
    some = {"Square, across flats", "Pitch of the thread", "Point angle"}
    assert lines_of(makers.cutter_item(kind=kind)).keys() & some == asked


def test_a_shell_cutter_has_a_driving_slot_and_no_plain_shank():
    lines = lines_of(makers.cutter_item(shank_form="bore", plain_shank_um=None))
    assert "Width of the driving slot" in lines
    assert "Plain shank length" not in lines
    assert "Width of the driving slot" not in lines_of(makers.cutter_item())


def test_a_nut_known_to_be_unsealed_is_asked_for_no_seal():
    assert "Largest shank it seals" not in lines_of(makers.nut_item(sealed=False))
    assert "Largest shank it seals" in lines_of(makers.nut_item(sealed=None))
    assert "Largest shank it seals" in lines_of(makers.nut_item(sealed=True))


@pytest.mark.parametrize("make", [makers.holder_item, makers.nut_item, sleeve_item])
def test_saving_an_unchanged_form_changes_no_fact(make):
    item = make()
    client = signed_in("toolroom")
    url = reverse("crib:item_edit", kwargs={"code": item.code})
    page = client.get(url)
    shown = {}
    for form in (page.context["form"], page.context["facts_form"]):
        shown |= {f.html_name: "" if f.value() is None else f.value() for f in form}
    shown = {name: value for name, value in shown.items() if value is not False}
    model = type(item.facts)
    before = model.objects.filter(item=item).values().get()
    assert client.post(url, shown).status_code == 302
    assert model.objects.filter(item=item).values().get() == before


@pytest.mark.parametrize("kind", [kind for kind in ItemKind.values if kind != ItemKind.SPARE])
def test_every_field_of_a_form_stands_on_its_page_once(kind):
    page = signed_in("toolroom").get(f"/items/new/{kind}/")
    form = page.context["facts_form"]
    text = page.content.decode()
    assert all(text.count(f'name="{name}"') == 1 for name in form.fields)
    assert bool(form.special_fields()) is bool(form.special_heading)


# ---- the form of a shank
def test_the_form_of_a_shank_is_never_taken_for_granted():
    page = signed_in("toolroom").get("/items/new/cutter/")
    assert page.context["facts_form"]["shank_form"].value() == ""

    answer = new("cutter", CUTTER | {"shank_form": ""})

    assert "shank_form" in answer.context["facts_form"].errors
    assert not Item.objects.exists()
