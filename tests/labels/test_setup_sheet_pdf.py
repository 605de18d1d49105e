"""The set-up sheet on paper: read back, measured, and looked at dot by dot."""

from __future__ import annotations

import ctypes
from dataclasses import replace

import pypdfium2
import pypdfium2.raw as pdfium
import pytest
import zxingcpp
from django.urls import reverse

from assemblies.rules.drawing.side import SideFacts, side_view
from labels.actions.setup_sheet import setup_paper
from labels.drawing.setup_sheet import MOST_TOOLS, setup_sheet_pdf
from labels.drawing.setup_sheet_paper import OFFSET_COLUMNS, FetchPlace, SheetPaper, ToolBand
from labels.drawing.setup_sheet_pen import (
    MARGIN_MM,
    PAGE_HEIGHT_MM,
    PAGE_WIDTH_MM,
    POINTS,
    ROOM_MM,
    fitted,
    shrunk,
    text_width_mm,
    wrapped,
)
from labels.models import Label
from tests import assembly_makers
from tests.crib.pages import signed_in

VIEW = side_view(
    SideFacts(
        gauge_diameter_um=31_750,
        flange_diameter_um=50_000,
        holder_um=50_000,
        nose_diameter_um=50_000,
        grip_um=38_000,
        stickout_um=45_000,
        gauge_length_um=95_000,
        shank_um=12_000,
        diameter_um=12_000,
        flute_um=42_000,
    )
)
BAND = ToolBand(
    number="T1",
    standing="To fetch",
    assembly="1041 r2",
    holder_mark="H-04",
    place="Rack B2",
    must_be="compression spiral, Ø 12.00 ±0.05",
    found="compression spiral, Ø 12.00 mm, length 95.0, limit 24000 1/min",
    said="T1 = compression spiral D12",
    figures=(("S", "18000 1/min"), ("turns", "right (M3)"), ("F", "3000–9000 mm/min")),
    word="MATCH",
    word_key="match",
    points=("Label 7K2M-9QXR-4: scan it at the spindle.",),
    view=VIEW,
)
LONG_BAND = ToolBand(
    number="T4294967295",
    standing="Needs work",
    assembly="1044104410 r99",
    holder_mark="HOLDER-MARK-OF-20-XY",
    place="a rack with a name that is longer than any rack's name should be, and then some",
    must_be="corner-radius end mill, Ø 12.700 ±0.025, R 3.000, right-hand, " * 4,
    found="corner-radius end mill, Ø 12.70 mm = 1/2 in, length 138.437, limit not known " * 3,
    said="A VERY LONG DESCRIPTION THAT A PROGRAM BRINGS ALONG WITHOUT AN END IN SIGHT " * 3,
    figures=tuple(
        (f"figure {n}", "at least 24000 1/min, carried on and on " * 3) for n in range(9)
    ),
    word="CAN'T TELL",
    word_key="cant_tell",
    points=("A reason with far more words than anybody reads at a machine. " * 4,) * 3,
    view=side_view(SideFacts()),
)
EMPTY_BAND = ToolBand(number="T9", standing="No assembly: to be built", must_be="drill, Ø 3.00")
PAPER = SheetPaper(
    program="HM-0412",
    revision="C",
    title="cabinet side",
    machine="R2 · Router 2",
    sha="18853c0225e8",
    made_at="2026-05-12 14:05",
    time="1.0 min",
    order="T1 T3 T1",
    approval="approved on Router 2",
    address="http://crib.local:8000/programs/7/sheet/R2/",
    fetch=(FetchPlace(place="Rack B2", lines=("T1: 1041 r2, mark H-04", "T3: 1043 r3")),),
    tools=(BAND,),
    offsets=(("T1", "1041 r2", "95.000 mm", "12.000 mm", "2026-05-12", "–"),),
    cautions=("Guards closed.",),
    foot="Follow the makers' instructions.",
)
LONG = replace(
    PAPER,
    program="A-PROGRAM-NAME-OF-SIXTY-LETTERS-THAT-NO-SHOP-SHOULD-EVER-USE",
    revision="REVISION-012",
    title="a part with a title that goes on and on " * 4,
    machine="R2 · A machine whose name has sixty letters and is not short at all",
    order=" ".join(f"T{n}" for n in range(60)),
    stamps=("NOT APPROVED on A machine whose name has sixty letters", "NOT FULLY READ"),
    warnings=("There may be more tools than what is printed. " * 6,),
    fetch=(FetchPlace(place="A place " * 40, lines=("T1 " * 90, "T2")),),
    tools=(BAND, LONG_BAND, EMPTY_BAND, LONG_BAND),
    offsets=(("T1",) * 5 + ("a note that is much longer than its column, " * 6,),) * 30,
    cautions=("A caution that fills more than one line of the paper. " * 4,) * 9,
    foot="a foot " * 60,
)
PAPERS = {"usual": PAPER, "long": LONG, "empty": replace(PAPER, fetch=(), tools=(), offsets=())}
each_paper = pytest.mark.parametrize("paper", PAPERS.values(), ids=PAPERS)


def opened(paper):
    return pypdfium2.PdfDocument(setup_sheet_pdf(paper))


def text_of(document) -> str:
    return "\n".join(page.get_textpage().get_text_bounded() for page in document)


def glyph_boxes(page) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Each printed letter with its box (left, bottom, right, top) [pt]."""
    text = page.get_textpage()
    boxes = []
    for place in range(text.count_chars()):
        sides = [ctypes.c_double() for _ in range(4)]
        pdfium.FPDFText_GetCharBox(text.raw, place, *map(ctypes.byref, sides))
        left, right, bottom, top = (side.value for side in sides)
        letter = chr(pdfium.FPDFText_GetUnicode(text.raw, place))
        angle = pdfium.FPDFText_GetCharAngle(text.raw, place)
        if not letter.isspace() and angle == 0:
            boxes.append((letter, (left, bottom, right, top)))
    return boxes


@each_paper
def test_the_symbol_reads_back_as_the_address(paper):
    image = opened(paper)[0].render(scale=200 / 72).to_pil().convert("L")
    (found,) = zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode)
    assert found.text == paper.address


def test_the_symbol_reads_back_across_the_stamp_and_at_one_bit_per_dot():
    image = opened(LONG)[0].render(scale=203 / 72).to_pil().convert("L")
    one_bit = image.point(lambda grey: 255 if grey >= 128 else 0)
    (found,) = zxingcpp.read_barcodes(one_bit, formats=zxingcpp.BarcodeFormat.QRCode)
    assert found.text == LONG.address


@each_paper
def test_pages_are_a4_and_counted(paper):
    document = opened(paper)
    for number, page in enumerate(document, start=1):
        width, height = page.get_size()
        assert (width, height) == pytest.approx((210 * POINTS, 297 * POINTS), abs=0.1)
        assert f"{number}/{len(document)}" in page.get_textpage().get_text_bounded()


@each_paper
def test_the_sheet_holds_vectors_only(paper):
    for page in opened(paper):
        kinds = {thing.type for thing in page.get_objects()}
        assert pdfium.FPDF_PAGEOBJ_IMAGE not in kinds


@each_paper
def test_no_letter_leaves_the_paper_or_its_margins(paper):
    for page in opened(paper):
        for letter, (left, bottom, right, top) in glyph_boxes(page):
            assert left >= (MARGIN_MM - 0.5) * POINTS, letter
            assert right <= (MARGIN_MM + ROOM_MM + 0.5) * POINTS, letter
            assert 0 < bottom < top < PAGE_HEIGHT_MM * POINTS, letter


@each_paper
def test_no_letter_lies_on_another(paper):
    for page in opened(paper):
        boxes = [box for _, box in glyph_boxes(page)]
        boxes.sort()
        for place, one in enumerate(boxes):
            for other in boxes[place + 1 :]:
                if other[0] >= one[2]:
                    break
                across = min(one[2], other[2]) - max(one[0], other[0])
                up = min(one[3], other[3]) - max(one[1], other[1])
                # Boxes of neighbours touch; a text on a text overlaps by a good part of a letter.
                assert min(across, up) < 0.9, (one, other)


def test_what_must_be_read_is_whole_however_long_the_rest_is():
    said = text_of(opened(LONG))
    for text in ("T4294967295", "1044104410 r99", LONG_BAND.holder_mark, "CAN'T TELL"):
        assert text in said
    assert "revision REVISION-012" in said


def test_a_stamp_stands_on_each_page_and_across_it():
    document = opened(LONG)
    assert len(document) > 2
    for page in document:
        text = page.get_textpage()
        assert "NOT APPROVED" in text.get_text_bounded()
        angles = {
            round(pdfium.FPDFText_GetCharAngle(text.raw, n), 1) for n in range(text.count_chars())
        }
        assert len(angles - {0.0, 1.6, 4.7}) == 1


def test_an_approved_sheet_has_no_stamp():
    assert "NOT" not in text_of(opened(PAPER))


def test_a_number_without_an_assembly_says_so_in_place_of_a_drawing():
    said = text_of(opened(replace(PAPER, tools=(EMPTY_BAND,))))
    assert "no assembly" in said
    assert "No assembly: to be built" in said
    assert "MATCH" not in said


def test_a_band_is_never_cut_by_the_end_of_a_page():
    document = opened(replace(PAPER, tools=tuple(replace(BAND, number=f"T{n}") for n in range(20))))
    pages = [page.get_textpage().get_text_bounded() for page in document]
    for number in range(20):
        on = [text for text in pages if f"T{number}\r\n" in text and "1041 r2" in text]
        assert len(on) >= 1
    assert sum(text.count("fetched") for text in pages) == 20


def test_more_tools_than_fit_are_counted():
    many = replace(PAPER, tools=(EMPTY_BAND,) * (MOST_TOOLS + 7))
    assert "7 further tools" in text_of(opened(many))


def test_a_view_too_long_for_any_scale_says_so():
    endless = replace(BAND, view=side_view(SideFacts(gauge_length_um=9_000_000)))
    assert "too long or wide to draw" in text_of(opened(replace(PAPER, tools=(endless,))))


def test_letters_that_the_typeface_lacks_print_as_question_marks():
    assert "Dvo?ák" in text_of(opened(replace(PAPER, title="Dvořák")))


def test_the_same_input_gives_the_same_bytes():
    assert setup_sheet_pdf(LONG, invariant=True) == setup_sheet_pdf(LONG, invariant=True)


@pytest.mark.parametrize("word_key", ["match", "check", "stop", "cant_tell"])
def test_each_verdict_has_a_shape_of_its_own(word_key):
    def drawn(key):
        return setup_sheet_pdf(replace(PAPER, tools=(replace(BAND, word_key=key),)), invariant=True)

    others = {"match", "check", "stop", "cant_tell"} - {word_key}
    assert all(drawn(word_key) != drawn(other) for other in others)


def test_the_columns_of_the_offsets_fit_the_paper():
    assert sum(wide for _, wide in OFFSET_COLUMNS) == ROOM_MM
    assert PAGE_WIDTH_MM == ROOM_MM + 2 * MARGIN_MM


# ---------------------------------------------------------------- texts in their room
@pytest.mark.parametrize(
    "text", ["compression spiral 12.7 mm", "W" * 200, "a b c " * 80, "", "1044"]
)
@pytest.mark.parametrize("room_mm", [5, 17, 60])
def test_a_text_never_leaves_its_room(text, room_mm):
    assert text_width_mm(fitted(text, room_mm, 8), 8) <= room_mm
    cut, size = shrunk(text, room_mm, 12, 6)
    assert text_width_mm(cut, size) <= room_mm
    lines = wrapped(text, room_mm, 8, most=3)
    assert len(lines) <= 3
    assert all(text_width_mm(line, 8) <= room_mm for line in lines)


def test_a_text_that_fits_is_not_touched():
    assert fitted("1041 r2", 60, 8) == "1041 r2"
    assert shrunk("1041 r2", 60, 12, 6) == ("1041 r2", 12)
    assert wrapped("1041 r2", 60, 8) == ["1041 r2"]


@pytest.mark.parametrize("room_mm", range(10, 40, 3))
def test_a_cut_never_leaves_part_of_a_number(room_mm):
    whole = [f"T{number}" for number in range(10, 40)]
    *kept, end = fitted(" ".join(whole), room_mm, 8).split(" ")
    assert end == "…"
    assert kept == whole[: len(kept)]


def test_a_figure_is_set_smaller_before_any_of_it_is_cut():
    text, size = shrunk("at least 12000 1/min", 25, 8, 5)
    assert text == "at least 12000 1/min"
    assert 5 <= size < 8


# ---------------------------------------------------------------- from the records
@pytest.fixture
def scene(db) -> assembly_makers.Scene:
    return assembly_makers.Scene.ready()


def paper_of(scene) -> SheetPaper:
    return setup_paper(scene.revision, scene.machine, address="http://crib.local/")


def test_a_live_label_leaves_nothing_but_its_scan(scene):
    (band,) = paper_of(scene).tools
    assert (band.word, band.word_key) == ("CHECK", "check")
    assert band.points[0] == "Only its label is left to scan; nothing else is open."
    assert scene.label.code[:4] in band.points[-1]


def test_without_a_printed_label_it_is_no_match(scene):
    Label.objects.filter(pk=scene.label.pk).delete()
    (band,) = paper_of(scene).tools
    assert band.word == "CHECK"
    assert band.points[-1] == "No label was printed for this revision."


def test_a_label_made_void_stops(scene):
    Label.objects.filter(pk=scene.label.pk).update(
        cancelled_at=scene.label.made_at, cancel_reason="lost"
    )
    (band,) = paper_of(scene).tools
    assert band.word == "STOP"
    assert "lost" in band.points[0]


def test_a_figure_that_nobody_measured_is_said_to_be_missing(db):
    machine = assembly_makers.machine()
    assembly_makers.measured(gauge_length=None)
    made = assembly_makers.approved(machine)
    (band,) = setup_paper(made, machine, address="http://crib.local/").tools
    assert dict(band.figures)["L gauge"] == "not known"
    assert not band.view.length.known


def test_the_file_is_sent_with_the_address_of_its_page(scene, settings):
    settings.BASE_URL = "http://crib.local:8000"
    keys = [scene.revision.pk, scene.machine.mark]
    answer = signed_in("operator").get(reverse("labels:setup_sheet_pdf", args=keys))
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Cache-Control"] == "no-store"
    image = pypdfium2.PdfDocument(answer.content)[0].render(scale=200 / 72).to_pil().convert("L")
    (found,) = zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode)
    page = reverse("assemblies:setup_sheet", args=keys)
    assert found.text == f"http://crib.local:8000{page}"


def test_an_address_that_no_phone_reaches_is_said_to_be_so(scene, settings):
    settings.BASE_URL = "http://127.0.0.1:8000"
    keys = [scene.revision.pk, scene.machine.mark]
    answer = signed_in("operator").get(reverse("labels:setup_sheet_pdf", args=keys))
    assert "opens on this computer" in text_of(pypdfium2.PdfDocument(answer.content))


def test_the_demo_says_that_it_is_invented(scene):
    paper = setup_paper(scene.revision, scene.machine, address="http://crib.local/", demo=True)
    assert paper.foot.startswith("DEMO")


def test_the_paper_costs_one_query_more_than_the_sheet(scene, django_assert_max_num_queries):
    with django_assert_max_num_queries(40):
        paper_of(scene)
