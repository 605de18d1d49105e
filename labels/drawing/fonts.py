"""The label's typefaces: registered once, measured, and asked which letters they have.

A standard PDF font would print a letter it lacks as a black box without a word; so every text
goes through `printable`, and `missing_letters` names the gaps before anything is printed.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import cache
from pathlib import Path

import reportlab
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from labels.rules.layout import UM_PER_POINT

REGULAR = "LabelRegular"
BOLD = "LabelBold"
_FILES = {REGULAR: "Vera.ttf", BOLD: "VeraBd.ttf"}
_STAND_IN = "?"


@cache
def _font(name: str) -> TTFont:
    folder = Path(reportlab.__file__).parent / "fonts"
    font = TTFont(name, str(folder / _FILES[name]))
    pdfmetrics.registerFont(font)
    return font


def font_name(bold: bool) -> str:
    """Name under which the typeface is registered, registering it on first use."""
    return _font(BOLD if bold else REGULAR).fontName


def width_um(text: str, bold: bool, size_pt: float) -> float:
    """Width [um] of `text` set in `size_pt` [pt]."""
    return pdfmetrics.stringWidth(text, font_name(bold), size_pt) * UM_PER_POINT


def composed(text: str) -> str:
    """`text` in composed letters (NFC), with each run of blanks as one space.

    NFKC is not used: it would turn a superscript or a fraction into other figures.

    >>> composed("a\\u0308  b\\n")
    'ä b'
    """
    return " ".join(unicodedata.normalize("NFC", text).split())


def missing_letters(texts: Iterable[str]) -> str:
    """The letters of `texts` that the typeface lacks, each once, in order; "" when none.

    >>> missing_letters(["Tomáš Dvořák"])
    'ř'
    """
    letters = dict.fromkeys("".join(composed(text) for text in texts))
    return "".join(letter for letter in letters if not _has_letter(letter))


def printable(text: str) -> str:
    """`text` composed, with a question mark for each letter that the typeface lacks.

    >>> printable("Dvořák")
    'Dvo?ák'
    """
    return "".join(c if _has_letter(c) else _STAND_IN for c in composed(text))


def _has_letter(letter: str) -> bool:
    # Both weights hold the same letters of text; a letter must be in both to be safe.
    return all(_font(name).face.charToGlyph.get(ord(letter)) for name in _FILES)
