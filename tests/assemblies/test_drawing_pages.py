"""The drawing in a page and as a file, from the records of a build."""

from __future__ import annotations

from xml.etree import ElementTree

import pytest
from django.template.loader import render_to_string
from django.urls import reverse

from assemblies.actions.drawing_facts import side_facts
from assemblies.actions.setup_sheet_rows import rows_of
from assemblies.models import Measurement
from assemblies.rules.drawing.side import NutForm, TaperForm
from assemblies.views.assembly_page import live_build
from assemblies.views.drawing import drawing_of
from crib.models import HolderFacts, Piece
from tests import assembly_makers
from tests.crib.pages import signed_in


@pytest.fixture(scope="module")
def made(module_rows):
    """A released assembly: ISO 30 router holder, ER32, compression spiral 12 mm."""
    return assembly_makers.released()


def facts_of(assembly):
    build = live_build(assembly)
    return side_facts(build, rows_of([build])[build.pk])


def test_the_facts_come_from_the_records(made, db):
    facts = facts_of(made)
    assert (facts.taper, facts.gauge_diameter_um) == (TaperForm.ROUTER, 31_750)
    assert (facts.clamping, facts.stud, facts.kind) == ("collet", "fitted", "compression")
    assert (facts.nut_um, facts.nut_form) == (50_000, NutForm.SLOTTED)
    assert (facts.collet_gauge_um, facts.collet_length_um) == (32_000, 40_000)
    assert (facts.grip_um, facts.stickout_um, facts.gauge_length_um) == (35_000, 47_000, 97_000)
    assert (facts.diameter_um, facts.nominal_diameter_um) == (12_000, 12_000)
    assert not facts.diameter_is_nominal


@pytest.mark.parametrize(
    ("interface", "form", "stud"),
    [
        ("BT40", TaperForm.STEEP_THICK, "fitted"),
        ("V-flange 40", TaperForm.STEEP, "fitted"),
        ("DIN 2080-40", TaperForm.MANUAL, ""),
        ("HSK-F63", TaperForm.HOLLOW, ""),
        ("HSK-C63", TaperForm.HOLLOW_MANUAL, ""),
        ("PSC 63", TaperForm.POLYGON, ""),
        ("nobody knows", TaperForm.STEEP, ""),
    ],
)
def test_the_spindle_side_follows_from_the_interface(made, db, interface, form, stud):
    HolderFacts.objects.filter(item__built_as__build__assembly=made).update(interface=interface)
    facts = facts_of(made)
    assert (facts.taper, facts.stud) == (form, stud)


def test_a_size_measured_after_sharpening_is_no_nominal_one(made, db):
    cutters = Piece.objects.filter(built_as__build__assembly=made, built_as__role="cutter")
    cutters.update(measured_diameter_um=11_700)
    build = live_build(made)
    rows = rows_of([build])[build.pk]
    rows.readings.pop("diameter")
    facts = side_facts(build, rows)
    assert (facts.diameter_um, facts.nominal_diameter_um) == (11_700, 12_000)
    assert not facts.diameter_is_nominal


def test_a_draft_without_parts_is_drawn_in_dashes(made, db):
    drawn = drawing_of(live_build(assembly_makers.started()))
    assert "side-outline" not in drawn.svg
    assert {"taper", "way of clamping", "cutting diameter"} <= set(drawn.missing)


def test_the_drawing_costs_two_queries(made, db, django_assert_num_queries):
    build = live_build(made)
    with django_assert_num_queries(2):
        drawing_of(build)


def test_the_page_has_the_picture_its_words_and_the_table(made, db):
    page = render_to_string("assemblies/_drawing.html", {"drawing": drawing_of(live_build(made))})
    root = ElementTree.fromstring(f"<div>{page.replace('&nbsp;', ' ')}</div>")
    (picture,) = root.iter("svg")
    assert picture.attrib["role"] == "img"
    assert "Side view to scale" in "".join(picture.itertext())
    rows = {cells[0].text: [c.text for c in cells[1:]] for cells in root.iter("tr")}
    assert rows["Gauge length"] == ["97.0", "97.0"]
    assert "style=" not in page


def test_a_gap_is_named_in_the_page(made, db):
    assembly = assembly_makers.built()
    page = render_to_string(
        "assemblies/_drawing.html", {"drawing": drawing_of(live_build(assembly))}
    )
    assert "Not on record:" in page
    assert "gauge length" in page


def test_hostile_names_stay_text(made, db):
    cutters = Piece.objects.filter(built_as__build__assembly=made, built_as__role="cutter")
    item = cutters.get().item
    type(item).objects.filter(pk=item.pk).update(description="</title><script>alert(1)</script>")
    assert "<script" not in drawing_of(live_build(made)).svg


def test_an_assembly_that_no_scale_holds_says_so(made, db, monkeypatch):
    monkeypatch.setattr("assemblies.views.drawing._FIELD_UM", (40_000, 20_000))
    drawn = drawing_of(live_build(made))
    assert drawn.svg == ""
    assert (
        "too long or wide"
        in render_to_string("assemblies/_drawing.html", {"drawing": drawn}).lower()
    )
    answer = signed_in("operator").get(reverse("assemblies:drawing_svg", args=[made.number]))
    assert answer.status_code == 404


def test_the_file_is_a_picture_of_its_own(made, db):
    answer = signed_in("operator").get(reverse("assemblies:drawing_svg", args=[made.number]))
    assert answer["Content-Type"].startswith("image/svg+xml")
    assert answer["Content-Disposition"] == f'attachment; filename="assembly-{made.number}-r1.svg"'
    assert answer["Cache-Control"] == "no-store"
    root = ElementTree.fromstring(answer.content)
    assert root.attrib["width"].endswith("mm")
    assert "97.0" in "".join(root.itertext())


def test_an_assembly_that_is_not_there_has_no_drawing(made, db):
    client = signed_in("operator")
    assert client.get(reverse("assemblies:drawing_svg", args=[999999])).status_code == 404


def test_looking_at_a_drawing_writes_nothing(made, db):
    before = Measurement.objects.count()
    signed_in("operator").get(reverse("assemblies:drawing_svg", args=[made.number]))
    assert Measurement.objects.count() == before
