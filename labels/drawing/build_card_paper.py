"""What a build card says, in words and plain figures, ready to be put on paper."""

from __future__ import annotations

from dataclasses import dataclass

from assemblies.rules.drawing.side import SideView


@dataclass(frozen=True, slots=True, kw_only=True)
class PartLine:
    """One part: what it is in the assembly, the mark on it, and what it is as an item."""

    role: str
    mark: str
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CardPaper:
    """Everything on one card. Texts of any length; none of them is ever cut.

    revision   "r3", or "draft"
    stamps     what stands across each page ("DRAFT – not built")
    code       of the valid label, as printed; "" without one. `address` is the text of its symbol
    label_note why there is no symbol ("no label yet")
    figures    pairs of caption and value: torque, readings, speed
    steps      order of assembly
    accepted   findings that somebody took with a reason, with that reason and name
    """

    number: str
    revision: str
    name: str = ""
    holder_mark: str = ""
    about: tuple[str, ...] = ()
    stamps: tuple[str, ...] = ()
    code: str = ""
    address: str = ""
    label_note: str = ""
    view: SideView
    parts: tuple[PartLine, ...] = ()
    figures: tuple[tuple[str, str], ...] = ()
    steps: tuple[str, ...] = ()
    accepted: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    made_at: str = ""
    foot: str = ""
