"""Is the cutter on the bench the one that the tool number it is built for asks for?"""

from __future__ import annotations

from dataclasses import dataclass

from assemblies.rules.stack import CutterPart
from assemblies.rules.wording import in_mm
from crib.rules.cutter_kinds import kind_name
from crib.rules.finding import Finding, Level
from crib.rules.units import show_length, show_mm

_STATED = "what the program's tool number must be, as stated"
_REMEDY = "Take the right cutter, or change what it is for."


@dataclass(frozen=True, slots=True)
class Wanted:
    """What one tool number asks of the cutter; None: not stated. `name` is `T6 in HM-0377 B`."""

    name: str
    kind: str | None = None
    diameter_um: int | None = None
    diameter_tolerance_um: int | None = None


def purpose_findings(cutter: CutterPart | None, wanted: Wanted) -> list[Finding]:
    """Kind and nominal diameter of the cutter against what it is built for.

    The diameter is a check only: what counts at the machine is measured later.

    Source: the requirement as stated for the program's tool number.

    >>> wanted = Wanted("T6 in HM-0377 B", kind="v_groove")
    >>> [f.code for f in purpose_findings(CutterPart(kind="surfacing"), wanted)]
    ['purpose.kind_differs']
    """
    if cutter is None:
        return []
    return [*_kind(cutter, wanted), *_diameter(cutter, wanted)]


def _kind(cutter: CutterPart, wanted: Wanted) -> list[Finding]:
    if wanted.kind is None or cutter.kind is None:
        return []
    if cutter.kind == wanted.kind:
        text = f"A {kind_name(wanted.kind)}, as {wanted.name} wants."
        return [Finding("purpose.kind_same", Level.PASS, text, source=_STATED)]
    found = kind_name(cutter.kind)
    text = f"{found[0].upper()}{found[1:]}. {wanted.name} wants a {kind_name(wanted.kind)}."
    return [Finding("purpose.kind_differs", Level.STOP_SOFT, text, remedy=_REMEDY, source=_STATED)]


def _diameter(cutter: CutterPart, wanted: Wanted) -> list[Finding]:
    if wanted.diameter_um is None or cutter.diameter_um is None:
        return []
    off_um = cutter.diameter_um - wanted.diameter_um
    shown = show_length(cutter.diameter_um, cutter.bought_in_inches)
    inside = abs(off_um) <= (wanted.diameter_tolerance_um or 0)
    way = "bigger" if off_um > 0 else "smaller"
    by = "" if inside else f" ({show_mm(abs(off_um))} {way})"
    return [
        Finding(
            "purpose.diameter_same" if inside else "purpose.diameter_differs",
            Level.PASS if inside else Level.CHECK,
            f"Ø {shown}. {wanted.name} wants {show_mm(wanted.diameter_um)}{by}.",
            measured=in_mm(cutter.diameter_um),
            limit=in_mm(wanted.diameter_um),
            unit="mm",
            remedy="" if inside else _REMEDY,
            source=_STATED,
        )
    ]
