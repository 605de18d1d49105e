"""The printed label: read back from the PDF, measured, and looked at dot by dot."""

import os
from dataclasses import replace
from datetime import date
from io import BytesIO
from itertools import combinations

import pypdfium2
import pytest
import zxingcpp
from PIL import Image, ImageChops
from reportlab.pdfgen.canvas import Canvas

from labels.drawing.assembly_label import (
    AssemblyLabel,
    assembly_label_pdf,
    assembly_labels_pdf,
    label_layout,
    missing_on_label,
    symbol_corner_um,
)
from labels.drawing.fonts import font_name, missing_letters, printable, width_um
from labels.drawing.qr import black_runs, make_symbol
from labels.rules.address import label_url
from labels.rules.code import code_from_bits
from labels.rules.layout import CAPITAL, UM_PER_POINT, LabelTooSmall, ink_span
from labels.rules.stock import FEWEST_DOTS, PRINT_HEADS, SINGLE_57X32, SMALLEST_MODULE_UM

SHORT = AssemblyLabel(
    assembly_number="1044",
    revision=3,
    holder_mark="H-07",
    diameter_um=12_000,
    bought_in_inches=False,
    cutter_text="compression spiral 12",
    collet_text="ER32 13–12",
    stickout_um=38_000,
    gauge_length_um=98_400,
    limit_rpm=24_000,
    limiting_part="nut",
    built_on=date(2026, 11, 25),
    built_by="MK",
    code="7K2M9QXR4",
    url_text="http://CRIB.LOCAL:8000/S/7K2M9QXR4",
)
LONG = replace(
    SHORT,
    assembly_number="10447",
    revision=12,
    holder_mark="H-107",
    diameter_um=12_713,
    bought_in_inches=True,
    cutter_text="Ärger-Kompressionsfräser, gerade Schneide 12.7 mm, lang",
    collet_text="ER32 sealed collet 13–12, Größe Ä",
    stickout_um=138_437,
    gauge_length_um=198_412,
    limiting_part="ÄÖÜ mini nut, with a bearing ring",
    built_by="ÄQM",
    code="ZZZZZZZZ3",
    url_text="http://A-VERY-LONG-HOST-NAME-FOR-A-CRIB.LOCAL:8000/S/ZZZZZZZZ3",
)
INCH = replace(SHORT, diameter_um=12_700, bought_in_inches=True)
UNKNOWN = replace(
    SHORT,
    diameter_um=80_000,
    gauge_length_um=None,
    limit_rpm=None,
    limiting_part="cutter, nut",
    large_cutter=True,
)
EMPTY = replace(
    SHORT,
    diameter_um=None,
    stickout_um=None,
    gauge_length_um=None,
    limit_rpm=None,
    limiting_part="",
    cutter_text="",
    collet_text="",
)
LABELS = {"short": SHORT, "long": LONG, "inch": INCH, "unknown": UNKNOWN, "empty": EMPTY}
each_label = pytest.mark.parametrize("label", LABELS.values(), ids=LABELS)
each_head = pytest.mark.parametrize("head", PRINT_HEADS.values(), ids=PRINT_HEADS)


#: White modules that ISO/IEC 18004 asks for on every side of the symbol.
QUIET_MODULES = 4


def dots(pdf, head):
    """The page as the print head would see it, in grey, one pixel a dot."""
    scale = UM_PER_POINT / float(head.pitch_um)
    return pypdfium2.PdfDocument(pdf)[0].render(scale=scale).to_pil().convert("L")


def one_bit(image):
    return image.point(lambda grey: 255 if grey >= 128 else 0)


def texts(label):
    return [words.text for words in label_layout(label).placed]


def rows(label):
    return {words.row for words in label_layout(label).placed}


@each_label
@each_head
def test_the_symbol_reads_back_exactly_at_one_bit_per_dot(label, head):
    image = one_bit(dots(assembly_label_pdf(label, head=head), head))
    (found,) = zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode)
    assert found.text == label.url_text


def second_decoder():
    """A decoder with no line in common with the first; its C library comes with the system."""
    try:
        from pyzbar import pyzbar
    except ImportError:
        if os.environ.get("REQUIRE_BROWSER") == "1":  # the pipeline leaves nothing out
            raise
        pytest.skip("the zbar library is not installed")
    return pyzbar


@each_label
@each_head
def test_a_second_decoder_reads_the_same(label, head):
    image = one_bit(dots(assembly_label_pdf(label, head=head), head))
    pyzbar = second_decoder()
    (found,) = pyzbar.decode(image, symbols=[pyzbar.ZBarSymbol.QRCODE])
    assert found.data.decode() == label.url_text


@pytest.mark.parametrize("bits", [0, (1 << 40) - 1, 0xDEADBEEF01, 0x5A5A5A5A5A])
@pytest.mark.parametrize("host", ["h", "crib.local:8000", "c" * 24, "c" * 44, "tool_crib"])
def test_codes_and_hosts_of_all_lengths_read_back(bits, host):
    code = code_from_bits(bits)
    label = replace(SHORT, code=code, url_text=label_url(f"http://{host}", code))
    head = PRINT_HEADS["203"]
    image = one_bit(dots(assembly_label_pdf(label), head))
    (found,) = zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode)
    assert found.text == label.url_text


@each_label
@each_head
def test_the_quiet_zone_is_white_on_all_four_sides(label, head):
    symbol = make_symbol(label.url_text)
    image = dots(assembly_label_pdf(label, head=head), head)
    layout = label_layout(label, head=head)
    left_um, bottom_um = symbol_corner_um(layout, symbol, SINGLE_57X32, head)
    module = float(head.module_um() / head.pitch_um)
    left = float(left_um / head.pitch_um)
    top = float((SINGLE_57X32.height_um - bottom_um) / head.pitch_um) - symbol.modules * module
    # One dot is left out at every edge: a page that is no whole number of dots wide is
    # stretched to one by the rasteriser.
    quiet, side = QUIET_MODULES * module, symbol.modules * module
    outer = (left - quiet + 1, top - quiet + 1, left + side + quiet - 1, top + side + quiet - 1)
    zone = image.copy()
    zone.paste(255, tuple(map(round, (left - 1, top - 1, left + side + 1, top + side + 1))))
    assert zone.crop(tuple(map(round, outer))).getextrema() == (255, 255)
    assert outer[2] < image.width


@each_label
def test_each_module_is_whole_dots_at_203_dpi(label):
    head = PRINT_HEADS["203"]
    symbol = make_symbol(label.url_text)
    layout = label_layout(label, head=head)
    left_um, bottom_um = symbol_corner_um(layout, symbol, SINGLE_57X32, head)
    image = dots(assembly_label_pdf(label, head=head), head)
    assert image.size == (456, 256)
    size = head.module_dots()
    left = int(left_um / head.pitch_um)
    top = 256 - int(bottom_um / head.pitch_um) - symbol.modules * size
    for down, row in enumerate(symbol.rows):
        for across, black in enumerate(row):
            x, y = left + across * size, top + down * size
            grey = 0 if black else 255
            dark, light = image.crop((x, y, x + size, y + size)).getextrema()
            # One part in a hundred of a dot is lost to the PDF's decimals.
            assert abs(dark - grey) <= 2
            assert abs(light - grey) <= 2


@each_head
def test_modules_and_corners_are_whole_dots_and_large_enough(head):
    assert head.module_um() / head.pitch_um == head.module_dots() >= FEWEST_DOTS
    assert head.module_um() >= SMALLEST_MODULE_UM
    layout = label_layout(SHORT, head=head)
    symbol = make_symbol(SHORT.url_text)
    left_um, bottom_um = symbol_corner_um(layout, symbol, SINGLE_57X32, head)
    assert (left_um / head.pitch_um).denominator == 1
    assert ((SINGLE_57X32.height_um - bottom_um) / head.pitch_um).denominator == 1


def test_the_runs_cover_exactly_the_black_modules():
    symbol = make_symbol(SHORT.url_text)
    covered = {(x + n, y) for x, y, length in black_runs(symbol) for n in range(length)}
    last = symbol.modules - 1
    black = {(x, last - y) for y, row in enumerate(symbol.rows) for x, on in enumerate(row) if on}
    assert covered == black


@each_label
@each_head
def test_no_text_crosses_another_or_the_symbol_or_leaves_the_label(label, head):
    layout = label_layout(label, head=head)
    inset = SINGLE_57X32.inset_um
    for words in layout.placed:
        assert words.x_um >= inset
        assert words.bottom_um >= inset
        assert words.right_um <= SINGLE_57X32.width_um - inset
        assert words.top_um <= SINGLE_57X32.height_um - inset
        beside = words.right_um <= layout.symbol_left_um
        side = SINGLE_57X32.width_um - SINGLE_57X32.symbol_edge_um - layout.symbol_left_um
        above = words.bottom_um >= layout.symbol_bottom_um + side
        assert beside or above or words.top_um <= layout.symbol_bottom_um
    for one, other in combinations(layout.placed, 2):
        apart_across = one.right_um <= other.x_um or other.right_um <= one.x_um
        apart_up = one.top_um <= other.bottom_um or other.top_um <= one.bottom_um
        assert apart_across or apart_up, (one, other)


@each_label
def test_a_ring_of_half_a_millimetre_round_the_page_stays_white(label):
    image = dots(assembly_label_pdf(label), PRINT_HEADS["600"])
    ring = round(0.5 * 600 / 25.4)
    image.paste(255, (ring, ring, image.width - ring, image.height - ring))
    assert image.getextrema() == (255, 255)


def ink_box_of(text, bold=False, size_pt=96):
    """The ink of `text` as parts of the size below and above the baseline, from the raster."""
    target = BytesIO()
    canvas = Canvas(target, pagesize=(4 * size_pt, 3 * size_pt))
    canvas.setFont(font_name(bold), size_pt)
    canvas.drawString(size_pt, size_pt, text)
    canvas.save()
    image = pypdfium2.PdfDocument(target.getvalue())[0].render(scale=1).to_pil().convert("L")
    box = ImageChops.invert(image).getbbox()
    return (0, 0) if box is None else ((box[3] - 2 * size_pt) / size_pt, 2 - box[1] / size_pt)


PRINTED_RANGE = [chr(n) for n in (*range(0x21, 0x7F), *range(0xA1, 0x180)) if n != 0xAD]


@pytest.mark.parametrize("bold", [False, True])
def test_the_ink_of_every_letter_stays_in_its_box(bold):
    one_dot = 1 / 96
    for letter in PRINTED_RANGE:
        if missing_letters([letter]):
            continue
        below, above = ink_box_of(letter, bold)
        assert below <= ink_span(letter)[0] + one_dot, letter
        assert above <= ink_span(letter)[1] + one_dot, letter


def test_capitals_are_as_high_as_the_sizes_assume():
    for bold in (False, True):
        assert ink_box_of("H", bold)[1] == pytest.approx(CAPITAL, abs=1.5 / 96)


LEAST_CAPITALS_UM = {"assembly": 4000, "code": 2000, "parts": 2000, "limiting part": 2000}
LEAST_FIGURES_UM = {"diameter": 3000, "gauge length": 2200, "stick-out": 2200, "speed limit": 2200}


@each_label
def test_capitals_and_figures_are_high_enough_to_read(label):
    for words in label_layout(label).placed:
        height = words.size_pt * UM_PER_POINT * CAPITAL
        assert height >= LEAST_CAPITALS_UM.get(words.row, 1600)
        if words.bold:
            assert height >= LEAST_FIGURES_UM.get(words.row, 2000)


@each_label
def test_the_holder_mark_is_as_tall_as_the_number(label):
    heads = [words for words in label_layout(label).placed if words.row == "assembly"]
    assert [words.text for words in heads[:2]] == [label.assembly_number, f"r{label.revision}"]
    assert len({words.size_pt for words in heads}) == 1
    assert heads[2].text == label.holder_mark
    assert heads[0].size_pt > max(
        w.size_pt for w in label_layout(label).placed if w.row != "assembly"
    )


def test_known_figures_are_printed_with_their_units():
    shown = texts(SHORT)
    for text in ("Ø12.00", "98.4", "38.0", "24000", "1/min", "7K2M-9QXR-4", "2026-11-25 MK"):
        assert text in shown
    assert "1/2 in" in texts(INCH)
    assert "0.5005 in" in texts(LONG)


def test_unknown_figures_are_said_to_be_unknown():
    assert {"TOUCH OFF", "NOT KNOWN", "CHECK", "n max"} <= set(texts(UNKNOWN))
    assert texts(EMPTY).count("NOT KNOWN") == 2
    assert "Ø NOT KNOWN" in texts(EMPTY)
    small = replace(UNKNOWN, diameter_um=6_000, large_cutter=False)
    assert "CHECK" not in texts(small)
    assert "NOT KNOWN" in texts(small)


def test_the_longest_texts_lose_only_what_may_go():
    kept = {"assembly", "diameter", "gauge length", "stick-out", "speed limit", "code"}
    assert kept <= rows(LONG)
    assert {"Ø12.713", "198.412", "138.437", "24000", "ZZZZ-ZZZZ-3"} <= set(texts(LONG))
    assert all(name.startswith("parts") for name in label_layout(LONG).dropped)


def test_the_widest_code_is_whole():
    code = code_from_bits(int("11100" * 8, 2))
    label = replace(SHORT, code=code, url_text=label_url("http://crib.local", code))
    assert code.startswith("WWWWWWWW")
    assert f"WWWW-WWWW-{code[8]}" in texts(label)


def test_a_number_that_does_not_fit_refuses_the_label():
    with pytest.raises(LabelTooSmall, match="104410441"):
        assembly_label_pdf(replace(SHORT, assembly_number="104410441", holder_mark="HOLDER-07"))


def test_a_symbol_that_does_not_belong_to_the_code_is_refused():
    with pytest.raises(ValueError, match="must end in"):
        replace(SHORT, url_text="http://CRIB.LOCAL/S/ZZZZZZZZ3")
    with pytest.raises(ValueError, match="check letter"):
        replace(SHORT, code="7K2M9QXR5", url_text="http://CRIB.LOCAL/S/7K2M9QXR5")


def test_missing_letters_are_named_before_printing_and_print_as_question_marks():
    label = replace(SHORT, cutter_text="Dvořák fréza", built_by="ЖK")
    assert missing_on_label(label) == "řЖ"
    assert "Dvo?ák fréza" in texts(label)
    assert missing_on_label(SHORT) == ""


def test_letters_are_composed_but_figures_stay_what_they_are():
    assert printable("a\u0308") == "ä"
    assert printable("5² ½\n x") == "5² ½ x"
    assert missing_letters(["🔧", "a\u0301"]) == "🔧"


def test_the_same_input_gives_the_same_bytes():
    assert assembly_label_pdf(LONG, invariant=True) == assembly_label_pdf(LONG, invariant=True)


def test_the_page_is_the_label_and_each_label_has_its_own():
    document = pypdfium2.PdfDocument(assembly_labels_pdf((SHORT, LONG, UNKNOWN)))
    assert len(document) == 3
    for page in document:
        width, height = page.get_size()
        assert width * UM_PER_POINT == pytest.approx(57_000, abs=5)
        assert height * UM_PER_POINT == pytest.approx(32_000, abs=5)


def test_a_further_label_costs_little_room():
    one = len(assembly_labels_pdf([SHORT], invariant=True))
    many = len(assembly_labels_pdf([SHORT] * 21, invariant=True))
    assert (many - one) / 20 < 2_000


def test_bold_is_wider_than_regular():
    assert width_um("1044", True, 10) > width_um("1044", False, 10)


def test_the_symbol_still_reads_with_a_scratch_across_it():
    image = one_bit(dots(assembly_label_pdf(SHORT), PRINT_HEADS["203"]))
    damaged = image.copy()
    layout = label_layout(SHORT)
    x = layout.symbol_left_um // 125 + 80
    damaged.paste(255, (x, 0, x + 4, image.height))
    (found,) = zxingcpp.read_barcodes(
        damaged.resize((image.width * 2, image.height * 2), Image.Resampling.NEAREST)
    )
    assert found.text == SHORT.url_text
