"""What a set-up sheet says, in words and plain figures, ready to be put on paper."""

from __future__ import annotations

from dataclasses import dataclass

from assemblies.rules.drawing.side import SideView


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolBand:
    """One tool number.

    figures  pairs of caption and value, in the order of reading
    word     one of the four verdicts, "" where there is nothing to judge; `word_key` its shape
    points   why, worst first
    view     side view of the assembly that stands for it; None where none does
    """

    number: str
    standing: str
    assembly: str = ""
    holder_mark: str = ""
    place: str = ""
    must_be: str = ""
    found: str = ""
    said: str = ""
    figures: tuple[tuple[str, str], ...] = ()
    word: str = ""
    word_key: str = ""
    points: tuple[str, ...] = ()
    view: SideView | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FetchPlace:
    """What to take from one place, a line for each assembly."""

    place: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetPaper:
    """Everything on one sheet.

    stamps   what stands across each page ("NOT APPROVED on Router 1")
    address  of the live page, also in the symbol; `address_note` says when it cannot be reached
    offsets  rows of texts under `OFFSET_COLUMNS`
    """

    program: str
    revision: str
    title: str
    machine: str
    sha: str
    made_at: str
    time: str
    order: str = ""
    approval: str
    address: str
    address_note: str = ""
    stamps: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    fetch: tuple[FetchPlace, ...] = ()
    tools: tuple[ToolBand, ...] = ()
    offsets: tuple[tuple[str, ...], ...] = ()
    cautions: tuple[str, ...] = ()
    foot: str = ""


#: Captions and widths [mm] of the table of offsets; the last column takes what is left.
OFFSET_COLUMNS: tuple[tuple[str, int], ...] = (
    ("T", 12),
    ("assembly", 24),
    ("gauge length", 34),
    ("Ø measured", 34),
    ("measured", 22),
    ("note", 60),
)
