"""Offsets of a tool list as lines that a control of the RS-274/NGC kind can read.

A line is given only for what was released and measured. What is missing is said in a comment;
no value is ever written as 0.

Source: words, comments and block length after NIST IR 6556 (RS-274/NGC, 2000). That report has
G10 with L2 only. `G10 L1 P(tool) Z(length) R(radius)` belongs to the later open dialect: from
memory, common practice. A control that does not know L1 refuses the line.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date
from decimal import ROUND_HALF_EVEN, Decimal
from enum import StrEnum
from fractions import Fraction

from crib.rules.units import UM_PER_INCH, UM_PER_MM, show_inch, show_mm

#: Letters of a comment; a block has at most 256 (NIST IR 6556, 3.3.1).
LONGEST_COMMENT = 200
_PLAIN = str.maketrans({"Ø": "O", "ø": "o", "–": "-", "±": "+/-", "×": "x", "ß": "ss"})
_MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()


class OffsetUnit(StrEnum):
    """Unit of the values, as the word that sets it."""

    MM = "mm"
    INCH = "inch"


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolOffset:
    """What is known of the tool that stands for one T number. Lengths in [um].

    length_registers  H numbers that the program uses under this T; None: not certain
    radius_registers  D numbers likewise
    touched_off       its length is taken at the machine, whatever the record says
    refused_because   why it may not be loaded here, "" when nothing stops it
    """

    tool_number: int
    assembly_number: int | None = None
    revision: int | None = None
    released: bool = False
    gauge_length_um: int | None = None
    diameter_um: int | None = None
    measured_on: date | None = None
    runout_um: int | None = None
    holder_mark: str = ""
    pocket_text: str = ""
    bought_in_inches: bool = False
    length_registers: frozenset[int] | None = frozenset()
    radius_registers: frozenset[int] | None = frozenset()
    touched_off: bool = False
    refused_because: str = ""

    @property
    def name(self) -> str:
        """Number and revision: 1041 r2."""
        return f"{self.assembly_number} r{self.revision}"


@dataclass(frozen=True, slots=True, kw_only=True)
class OffsetHead:
    """What stands above the lines. `warnings` are sentences about program and machine."""

    program: str
    machine: str
    made_at: str
    touches_off_every_load: bool = False
    warnings: tuple[str, ...] = ()


def why_no_line(tool: ToolOffset) -> str:
    """Why no offsets are given for a T number; "" when they are.

    >>> why_no_line(ToolOffset(tool_number=4))
    'no assembly stands for it'
    >>> why_no_line(ToolOffset(tool_number=4, assembly_number=1048, revision=1))
    '1048 r1 is not released'
    """
    if tool.assembly_number is None or tool.revision is None:
        return "no assembly stands for it"
    if not tool.released:
        return f"{tool.name} is not released"
    if tool.refused_because:
        return f"{tool.name} may not be loaded: {tool.refused_because}"
    return _not_measured(tool) or _other_register(tool)


def _not_measured(tool: ToolOffset) -> str:
    values = {"gauge length": tool.gauge_length_um, "diameter": tool.diameter_um}
    missing = [name for name, value_um in values.items() if value_um is None]
    if tool.touched_off:
        missing = [name for name in missing if name != "gauge length"]
    return f"{' and '.join(missing)} of {tool.name} not measured" if missing else ""


def _other_register(tool: ToolOffset) -> str:
    """A register that is not the T number is named and not guessed at."""
    for letter, used in (("H", tool.length_registers), ("D", tool.radius_registers)):
        if used is None:
            return f"which {letter} register the program uses is not certain"
        others = sorted(used - {tool.tool_number})
        if others:
            names = " and ".join(f"{letter}{number}" for number in others)
            return f"the program uses {names}, not {letter}{tool.tool_number}: enter it by hand"
    return ""


def offset_block(tool: ToolOffset, unit: OffsetUnit) -> str:
    """The block that sets length and radius of one tool, in `unit`. Raises ValueError without them.

    Source: G10 L1 from memory, common practice; NIST IR 6556 has L2 only.

    >>> known = {"assembly_number": 1041, "revision": 2, "released": True}
    >>> tool = ToolOffset(tool_number=1, gauge_length_um=95_000, diameter_um=12_700, **known)
    >>> offset_block(tool, OffsetUnit.MM), offset_block(tool, OffsetUnit.INCH)
    ('G10 L1 P1 Z95.000 R6.350', 'G10 L1 P1 Z3.74016 R0.25000')
    """
    reason = why_no_line(tool)
    if reason:
        raise ValueError(f"No offsets for T{tool.tool_number}: {reason}.")
    length = "" if tool.touched_off else f" Z{_value(Fraction(tool.gauge_length_um), unit)}"
    return f"G10 L1 P{tool.tool_number}{length} R{_value(Fraction(tool.diameter_um, 2), unit)}"


def _value(value_um: Fraction, unit: OffsetUnit) -> str:
    """Millimetres to the half micrometre, inches to five places."""
    if unit is OffsetUnit.MM:
        exact = Decimal(value_um.numerator) / value_um.denominator / UM_PER_MM
        return f"{exact:.{3 if value_um.denominator == 1 else 4}f}"
    exact = Decimal(value_um.numerator) / value_um.denominator / UM_PER_INCH
    return str(exact.quantize(Decimal("0.00001"), ROUND_HALF_EVEN))


def offset_lines(
    tools: Iterable[ToolOffset], head: OffsetHead, unit: OffsetUnit
) -> tuple[str, ...]:
    """The whole text: head, unit, and for each tool a comment and, where it can be, a block.

    >>> head = OffsetHead(program="HM-0412 C", machine="R2", made_at="25 Nov 2026 14:05")
    >>> for line in offset_lines([ToolOffset(tool_number=4)], head, OffsetUnit.MM)[-3:]:
    ...     print(line)
    G21
    (T4: no line, no assembly stands for it)
    %
    """
    return ("%", *_head_lines(head, unit), *_tool_lines(tools, head, unit), "%")


def _head_lines(head: OffsetHead, unit: OffsetUnit) -> Iterator[str]:
    yield comment(f"Offsets from the record for {head.program} on {head.machine}")
    yield comment(f"Made {head.made_at}. Touch off where your machine does.")
    for warning in head.warnings:
        yield comment(f"Warning: {warning}")
    yield comment("G10 L1 is no part of NIST IR 6556: try one line on your control first.")
    if head.touches_off_every_load:
        yield comment("No lengths: this machine touches off every load.")
    yield "G20" if unit is OffsetUnit.INCH else "G21"


def _tool_lines(tools: Iterable[ToolOffset], head: OffsetHead, unit: OffsetUnit) -> Iterator[str]:
    for given in tools:
        tool = replace(given, touched_off=given.touched_off or head.touches_off_every_load)
        reason = why_no_line(tool)
        if reason:
            yield comment(f"T{tool.tool_number}: no line, {reason}")
            continue
        yield comment(f"T{tool.tool_number}: {tool.name}, {_origin(tool, head)}")
        yield offset_block(tool, unit)


def _origin(tool: ToolOffset, head: OffsetHead) -> str:
    measured = f"measured {_day(tool.measured_on)}" if tool.measured_on else "day not recorded"
    parts = [measured, "offsets from the record, touch off where your machine does"]
    if tool.touched_off and not head.touches_off_every_load:
        parts.append("no length, the program wants it touched off")
    if not tool.length_registers:
        parts.append("the program names no H for it")
    return ", ".join(parts)


def _day(day: date) -> str:
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def comment(text: str) -> str:
    """`text` as a comment that no control can take for anything else.

    Plain letters only, no brackets inside, one line, and never longer than a block may be.

    >>> comment("Ø 12 ±0.05 (left)"), comment("A) G0 Z-100")
    ('(O 12 +/-0.05 left)', '(A G0 Z-100)')
    """
    plain = unicodedata.normalize("NFKD", text.translate(_PLAIN))
    kept = "".join(c if " " <= c <= "~" else " " for c in plain if not unicodedata.combining(c))
    words = kept.translate(str.maketrans("", "", "()%;")).split()
    return f"({' '.join(words)[:LONGEST_COMMENT].rstrip()})"


#: Head of the table for a spreadsheet.
CSV_HEAD = (
    "T",
    "pocket",
    "assembly",
    "revision",
    "holder mark",
    "length mm",
    "length inch",
    "diameter mm",
    "diameter inch",
    "measured on",
    "runout mm",
    "note",
)


def csv_row(tool: ToolOffset) -> tuple[object, ...]:
    """One tool as a row under `CSV_HEAD`; what is not known stays empty.

    A figure stands here also where no line is given; the note then says why.

    >>> csv_row(ToolOffset(tool_number=4))[:3]
    (4, '', '')
    """
    return (
        tool.tool_number,
        tool.pocket_text,
        _or_empty(tool.assembly_number),
        _or_empty(tool.revision),
        tool.holder_mark,
        *_both_units(tool.gauge_length_um),
        *_both_units(tool.diameter_um),
        tool.measured_on.isoformat() if tool.measured_on else "",
        "" if tool.runout_um is None else show_mm(tool.runout_um, 3),
        why_no_line(tool) or ("touched off at the machine" if tool.touched_off else ""),
    )


def _or_empty(value: object) -> object:
    return "" if value is None else value


def _both_units(value_um: int | None) -> tuple[str, str]:
    if value_um is None:
        return "", ""
    return show_mm(value_um, 3), _value(Fraction(value_um), OffsetUnit.INCH)


def shown_offset(value_um: int | None, bought_in_inches: bool) -> str:
    """A length or diameter [um] for the table on the page, in inches too where bought so.

    >>> shown_offset(12_700, True), shown_offset(None, False)
    ('12.700 mm = 1/2 in', 'not known')
    """
    if value_um is None:
        return "not known"
    shown = f"{show_mm(value_um, 3)} mm"
    return f"{shown} = {show_inch(value_um)}" if bought_in_inches else shown
