"""The build card on paper: whole, readable, and never with a code that is not valid."""

from __future__ import annotations

import ctypes
from dataclasses import replace
from uuid import uuid4

import pypdfium2
import pypdfium2.raw as pdfium
import pytest
import zxingcpp
from django.urls import reverse

from assemblies.actions import build as building
from assemblies.models import AssemblyState
from assemblies.rules.drawing.side import SideFacts, side_view
from labels.actions.build_card import DRAFT_STAMP, build_card
from labels.drawing.build_card import build_card_pdf
from labels.drawing.build_card_paper import CardPaper, PartLine
from labels.drawing.build_card_pen import (
    CARD_HEIGHT_MM,
    CARD_MARGIN_MM,
    CARD_ROOM_MM,
    whole_lines,
)
from labels.drawing.setup_sheet_pen import POINTS, text_width_mm
from labels.models import Label
from labels.rules.code import printed_code
from tests import assembly_makers
from tests.assemblies.drawing_stacks import STACKS
from tests.crib.pages import signed_in

ADDRESS = "http://CRIB.LOCAL:8000/S/7K2M9QXR4"
CARD = CardPaper(
    number="1044",
    revision="r3",
    name="shelf pins",
    holder_mark="H-07",
    about=("Released.", "Built 2026-05-12 by Wyn.", "Stands at Rack B2."),
    code="7K2M-9QXR-4",
    address=ADDRESS,
    view=side_view(STACKS["er_router"]),
    parts=(PartLine(role="Holder", mark="H-07", text="ISO 30 router holder, ER32"),),
    figures=(
        ("Torque, aim", "Tighten to 100 N·m."),
        ("Speed limit", "24000 1/min, set by the nut"),
    ),
    steps=("Clean everything.", "Snap the collet into the nut."),
    accepted=("Torque 40 N·m below what is recommended.", "Reason: small shank (Wyn)"),
    cautions=("Never in the spindle.",),
    made_at="2026-05-12 14:05",
    foot="Follow the makers' instructions.",
)
LONG = replace(
    CARD,
    number="10441044104",
    name="a name that goes on and on " * 8,
    holder_mark="HOLDER-MARK-OF-20-XY",
    about=("A state note with far more words than anybody reads at a bench. " * 4,) * 4,
    stamps=(DRAFT_STAMP,),
    code="",
    address="",
    label_note="no label yet",
    view=side_view(SideFacts()),
    parts=(
        PartLine(role="Reduction sleeve", mark="MARK" * 9, text="an item with a long text " * 12),
    )
    * 7,
    figures=(("Torque, recorded", "a figure that needs more than one line " * 5),) * 9,
    steps=("A step that is longer than a line of the card by a good deal. " * 4,) * 9,
    accepted=("X" * 200, "A finding that somebody took, in a very long sentence. " * 5),
    cautions=("A caution that fills several lines of the paper. " * 6,) * 8,
    foot="a foot " * 60,
)
BARE = replace(
    CARD, holder_mark="", about=(), parts=(), figures=(), steps=(), accepted=(), cautions=(),
    view=side_view(SideFacts()), foot="",
)  # fmt: skip
CARDS = {"usual": CARD, "long": LONG, "bare": BARE}
each_card = pytest.mark.parametrize("paper", CARDS.values(), ids=CARDS)


def opened(paper):
    return pypdfium2.PdfDocument(build_card_pdf(paper))


def text_of(document) -> str:
    return "\n".join(page.get_textpage().get_text_bounded() for page in document)


def squeezed(text: str) -> str:
    return "".join(text.split())


def codes_in(page) -> list[str]:
    image = page.render(scale=203 / 72).to_pil().convert("L")
    one_bit = image.point(lambda grey: 255 if grey >= 128 else 0)
    return [found.text for found in zxingcpp.read_barcodes(one_bit)]


def level_glyphs(page) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Each letter that reads level with its box (left, bottom, right, top) [pt]."""
    text, boxes = page.get_textpage(), []
    for place in range(text.count_chars()):
        sides = [ctypes.c_double() for _ in range(4)]
        pdfium.FPDFText_GetCharBox(text.raw, place, *map(ctypes.byref, sides))
        left, right, bottom, top = (side.value for side in sides)
        letter = chr(pdfium.FPDFText_GetUnicode(text.raw, place))
        if not letter.isspace() and pdfium.FPDFText_GetCharAngle(text.raw, place) == 0:
            boxes.append((letter, (left, bottom, right, top)))
    return boxes


# ---------------------------------------------------------------- paper
@each_card
def test_pages_are_a5_upright_counted_and_not_blank(paper):
    document = opened(paper)
    for number, page in enumerate(document, start=1):
        assert page.get_size() == pytest.approx((148 * POINTS, 210 * POINTS), abs=0.1)
        assert f"{number}/{len(document)}" in page.get_textpage().get_text_bounded()
        greys = page.render(scale=1).to_pil().convert("L").histogram()
        assert sum(greys[:128]) > 300


@each_card
def test_the_card_holds_vectors_only(paper):
    for page in opened(paper):
        assert pdfium.FPDF_PAGEOBJ_IMAGE not in {thing.type for thing in page.get_objects()}


def test_the_symbol_reads_back_as_the_text_of_the_label():
    assert codes_in(opened(CARD)[0]) == [ADDRESS]


def test_without_a_valid_label_nothing_on_the_card_can_be_scanned():
    document = opened(LONG)
    assert all(codes_in(page) == [] for page in document)
    assert "no label yet" in text_of(document)


def test_nothing_is_cut_however_long_it_is():
    said = squeezed(text_of(opened(LONG)))
    parts = [text for part in LONG.parts for text in (part.mark, part.text)]
    texts = [LONG.name, LONG.holder_mark, *LONG.about, *LONG.steps, *LONG.accepted]
    for text in (*texts, *LONG.cautions, *parts, *(value for _, value in LONG.figures)):
        lines = whole_lines(text, 60, 8.5)
        # Lines may be parted by the next column; each of their words must be there.
        assert all(squeezed(word) in said for line in lines for word in line.split() if word)
    assert said.count(squeezed("A step that is longer")) == 9 * 4
    assert "…" not in said


@each_card
def test_no_letter_leaves_the_margins(paper):
    for page in opened(paper):
        for letter, (left, bottom, right, top) in level_glyphs(page):
            assert left >= (CARD_MARGIN_MM - 0.5) * POINTS, letter
            assert right <= (CARD_MARGIN_MM + CARD_ROOM_MM + 0.5) * POINTS, letter
            assert 0 < bottom < top < CARD_HEIGHT_MM * POINTS, letter


@each_card
def test_no_letter_lies_on_another(paper):
    for page in opened(paper):
        boxes = sorted(box for _, box in level_glyphs(page))
        for place, one in enumerate(boxes):
            for other in boxes[place + 1 :]:
                if other[0] >= one[2]:
                    break
                across = min(one[2], other[2]) - max(one[0], other[0])
                up = min(one[3], other[3]) - max(one[1], other[1])
                assert min(across, up) < 0.9, (one, other)


def test_a_draft_says_so_across_and_at_the_head_of_each_page():
    document = opened(LONG)
    assert len(document) > 2
    for page in document:
        text = page.get_textpage()
        assert text.get_text_bounded().count(DRAFT_STAMP) >= 1
        angles = {
            round(pdfium.FPDFText_GetCharAngle(text.raw, n), 1) for n in range(text.count_chars())
        }
        assert angles - {0.0, 1.6, 4.7}


def test_a_released_card_has_no_stamp():
    assert "DRAFT" not in text_of(opened(CARD))
    assert "NOT" not in text_of(opened(CARD))


@pytest.mark.parametrize("name", STACKS)
def test_every_way_of_clamping_is_drawn_on_the_first_page_with_its_dimensions(name):
    view = side_view(STACKS[name])
    said = squeezed(opened(replace(CARD, view=view))[0].get_textpage().get_text_bounded())
    assert squeezed(view.diameter.text) in said
    for callout in view.callouts:
        assert squeezed(callout.text) in said


def test_a_view_that_no_scale_holds_says_so():
    endless = side_view(SideFacts(gauge_length_um=9_000_000))
    assert "too long or wide to draw" in text_of(opened(replace(CARD, view=endless)))


def test_what_is_not_on_record_is_said_under_the_drawing():
    said = text_of(opened(replace(CARD, view=side_view(SideFacts()))))
    assert squeezed("Not on record, dashed: taper") in squeezed(said)


def test_the_same_input_gives_the_same_bytes():
    assert build_card_pdf(LONG, invariant=True) == build_card_pdf(LONG, invariant=True)


@pytest.mark.parametrize("text", ["one two three", "W" * 90, "", "1044 " * 30])
@pytest.mark.parametrize("room_mm", [4, 30, 90])
def test_whole_lines_keep_every_letter_and_stay_in_their_room(text, room_mm):
    lines = whole_lines(text, room_mm, 8)
    assert squeezed("".join(lines)) == squeezed(text)
    assert all(text_width_mm(line, 8) <= room_mm for line in lines)


# ---------------------------------------------------------------- from the records
@pytest.fixture(scope="module")
def released(module_rows):
    """A released assembly with its printed label."""
    assembly = assembly_makers.released(reason="looked at")
    return assembly, assembly_makers.label_of(assembly)


def card_of(assembly) -> CardPaper:
    assembly.refresh_from_db()
    build = assembly.builds.filter(live=True).first()
    build.assembly = assembly
    return build_card(build)


def test_a_valid_label_is_on_the_card_as_it_is_on_the_tool(released, settings, db):
    settings.BASE_URL = "http://crib.local:8000"
    assembly, label = released
    paper = card_of(assembly)
    assert paper.address == f"http://CRIB.LOCAL:8000/S/{label.code}"
    assert paper.code == printed_code(label.code)
    assert paper.stamps == ()
    assert codes_in(opened(paper)[0]) == [paper.address]


def test_a_label_made_void_is_said_and_not_drawn(released, db):
    assembly, label = released
    Label.objects.filter(pk=label.pk).update(cancelled_at=label.made_at, cancel_reason="lost")
    paper = card_of(assembly)
    assert (paper.code, paper.address, paper.label_note) == ("", "", "label void")


@pytest.mark.parametrize("state", [AssemblyState.QUARANTINED, AssemblyState.BUILT])
def test_an_assembly_out_of_use_has_no_code_and_a_stamp(released, db, state):
    assembly, _ = released
    type(assembly).objects.filter(pk=assembly.pk).update(state=state)
    paper = card_of(assembly)
    assert (paper.code, paper.address) == ("", "")
    assert paper.stamps


def test_an_address_that_no_label_can_carry_leaves_the_code_in_letters(released, settings, db):
    settings.BASE_URL = "not an address"
    assembly, label = released
    paper = card_of(assembly)
    assert paper.address == ""
    assert printed_code(label.code) in paper.label_note


def test_the_card_says_who_built_what_was_read_and_what_sets_the_speed(released, db):
    paper = card_of(released[0])
    figures = dict(paper.figures)
    assert figures["Gauge length"].startswith("97.0 mm")
    assert figures["Cutting diameter"].startswith("12.00 mm")
    assert figures["Torque, recorded"] == "100 N·m"
    assert "24000 1/min" in figures["Speed limit"]
    assert [part.role for part in paper.parts][:2] == ["Holder", "Pull stud"]
    assert any("Built" in text for text in paper.about)
    assert paper.steps
    assert any("Scan the label" in text for text in paper.cautions)


def test_findings_are_listed_with_the_reason_they_were_accepted_for(released, db):
    """A torque below the mark is a check: it is built with a reason, and the card says both."""
    assembly = assembly_makers.drafted(torque_mnm=60_000)
    building.make_build(
        by=assembly_makers.toolroom(), submission=uuid4(), assembly=assembly, reason="small shank"
    )
    accepted = card_of(assembly_makers.again(assembly)).accepted
    assert any("60" in text and "N·m" in text for text in accepted)
    assert any("small shank" in text for text in accepted)


def test_a_draft_without_parts_is_a_card_that_says_what_is_missing(released, db):
    paper = card_of(assembly_makers.started("new one"))
    assert paper.stamps == (DRAFT_STAMP,)
    assert paper.label_note == "no label yet"
    assert dict(paper.figures)["Gauge length"] == "not measured"
    assert paper.view.missing
    assert DRAFT_STAMP in text_of(opened(paper))


def test_a_limit_that_nobody_recorded_is_said_before_the_lowest_known(released, db):
    assembly = assembly_makers.drafted(assembly_makers.some_parts(nut={"n_max_rpm": None}))
    assert dict(card_of(assembly).figures)["Speed limit"].startswith("NOT KNOWN for: nut")


def test_the_demo_says_that_it_is_invented(released, settings, db):
    settings.DEMO = True
    assert card_of(released[0]).foot.startswith("DEMO")


def test_the_file_is_sent_and_never_kept(released, db, django_assert_max_num_queries):
    client = signed_in("operator")
    with django_assert_max_num_queries(24):
        answer = client.get(reverse("labels:build_card", args=[released[0].number]))
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Cache-Control"] == "no-store"
    assert answer["Content-Disposition"].startswith(f'inline; filename="card-{released[0].number}-')
    assert str(released[0].number) in text_of(pypdfium2.PdfDocument(answer.content))


def test_an_assembly_that_is_not_there_has_no_card(released, db):
    assert signed_in("operator").get(reverse("labels:build_card", args=[999999])).status_code == 404
