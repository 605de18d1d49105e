"""Tool descriptions in comments: shown as they are, and read only where they leave no choice.

The forms are common practice in shops: a list at the head of the file, a comment behind the tool
call, a line beside the call that names the tool. Words of other languages are shown, not read.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from assemblies.rules.nc.lexer import Block
from assemblies.rules.nc.notes import NoteList, shown
from assemblies.rules.nc.reading import ProgramReading, ProposedRequirement
from crib.rules.finding import Level
from crib.rules.units import NotALength, read_length_um

MOST_COMMENTS = 20_000
LONGEST_TEXT = 200
MOST_TEXTS_OF_A_TOOL = 20

_NAMED = re.compile(
    r"[\s|*#-]*(?:USE |LOAD |INSERT |CHANGE TO )?\s*T(?:OOL)?\s*(?:NO\.?|NUMBER)?[\s.:#=]*"
    r"0*([0-9]{1,8})(?![0-9.,/]|\s*MM\b)[\s:|=,.-]*(.*)",
    re.IGNORECASE | re.DOTALL,
)
_NUMBERED_ROW = re.compile(r"\s*0*([0-9]{1,4})(?:\s{2,}|\s*\|\s*)(.*[A-Za-z]{3}.*)", re.DOTALL)
#: Program words in a comment, as left by somebody who put a call in brackets: never a call.
_PROGRAM_WORDS = re.compile(r"(?:[GMSFHDT]\s*[0-9.]+\s*)*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class _Text:
    line: int
    text: str
    #: Nothing else stands on its line.
    alone: bool
    #: The tool number the text names, and what it says of the tool.
    number: int | None
    rest: str


@dataclass(slots=True)
class CommentList:
    """The comments of a program, up to a limit that no tool list reaches."""

    texts: list[_Text] = field(default_factory=list)

    def add(self, line: int, block: Block) -> None:
        """Keep the comments of one block."""
        for comment in block.comments:
            if comment.text and len(self.texts) < MOST_COMMENTS:
                text = comment.text[:LONGEST_TEXT]
                number, rest = _named(text)
                self.texts.append(_Text(line, text, not block.has_content, number, rest))


def _named(text: str) -> tuple[int | None, str]:
    """The tool number `text` begins with, and the rest; (None, text) when it names none.

    >>> _named("TOOL 5 - DRILL D8.5"), _named("T9 M6")
    ((5, 'DRILL D8.5'), (None, 'T9 M6'))
    """
    named = _NAMED.match(text)
    if named is None or _PROGRAM_WORDS.fullmatch(named[2]):
        return None, text
    return int(named[1]), named[2].strip()


def describe(reading: ProgramReading, comments: CommentList, notes: NoteList) -> None:
    """Fill the tool list, the descriptions and the proposed requirements of `reading`."""
    _read_head_list(reading, comments)
    texts = _texts_by_number(reading, comments)
    for number in _numbers(reading):
        found = texts.get(number)
        if not found:
            continue
        joined = " | ".join(dict.fromkeys(text.text for text in found))
        if number in reading.tool_uses:
            reading.tool_uses[number].description = joined
        reading.proposed_requirements.append(_proposal(number, joined, found, reading, notes))
    _compare_list_and_calls(reading, notes)


def _numbers(reading: ProgramReading) -> list[int]:
    called = [call.tool_number for call in reading.tool_calls if call.tool_number is not None]
    return list(dict.fromkeys([*called, *reading.selected_only, *reading.tool_list]))


def _read_head_list(reading: ProgramReading, comments: CommentList) -> None:
    """Comments before the first call that name a tool, one for each line."""
    first = min((call.line for call in reading.tool_calls), default=None)
    called = {call.tool_number for call in reading.tool_calls}
    for place, text in enumerate(comments.texts):
        if first is not None and text.line >= first:
            return
        if not text.alone:
            continue
        row = _NUMBERED_ROW.fullmatch(text.text) if text.number is None else None
        if row and int(row[1]) in called:
            text = _Text(text.line, text.text, True, int(row[1]), row[2].strip())
            comments.texts[place] = text
        if text.number is not None:
            reading.tool_list.setdefault(text.number, text.text)


def _texts_by_number(reading: ProgramReading, comments: CommentList) -> dict[int, list[_Text]]:
    """The texts that belong to each tool number: those naming it, and those behind its call."""
    on, beside = _lines_of_calls(reading)
    first = min((call.line for call in reading.tool_calls), default=None)
    texts: dict[int, list[_Text]] = {}
    for text in comments.texts:
        in_list = text.alone and (first is None or text.line < first)
        named, behind = text.number, on.get(text.line)
        near = named == behind or (text.alone and (text.line, named) in beside)
        if named is None and behind is not None and not text.alone:
            named, near = behind, True
        if named is not None and (in_list or near):
            held = texts.setdefault(named, [])
            if len(held) < MOST_TEXTS_OF_A_TOOL:
                held.append(text)
    return texts


def _lines_of_calls(reading: ProgramReading) -> tuple[dict[int, int], set[tuple[int, int]]]:
    """Tool number by the lines of its calls and selections; (line, number) of those beside."""
    on: dict[int, int] = {}
    beside: set[tuple[int, int]] = set()
    for call in reading.tool_calls:
        if call.tool_number is not None:
            on.setdefault(call.line, call.tool_number)
            on.setdefault(call.selected_on_line or call.line, call.tool_number)
            beside |= {(call.line - 1, call.tool_number), (call.line + 1, call.tool_number)}
    return on, beside


def _compare_list_and_calls(reading: ProgramReading, notes: NoteList) -> None:
    called = {call.tool_number for call in reading.tool_calls} - {None, 0}
    listed = reading.tool_list.keys()
    if not listed or not called:
        return
    for number in sorted(listed - called):
        text = f"T{number} is in the tool list and never called"
        notes.add("listed-not-called", Level.NOTE, 0, reading.tool_list[number], text, number)
    for number in sorted(called - listed):
        text = f"T{number} is called and not in the tool list"
        notes.add("called-not-listed", Level.NOTE, 0, "", text, number)


# What a text says of the cutter

_ADJECTIVE = (
    r"(?:HSS|HM|VHM|CARBIDE|SOLID|[0-9]\s?-?\s?(?:FL|FLUTE|FLUTES)|DIA\.?|DIAM\.?|LONG|STUB)"
)
_KINDS: tuple[tuple[str, str], ...] = (
    ("", r"(?:SPOT|CENT(?:ER|RE)|STEP|GUN|PILOT|CORE)[ -]?(?:DRILL|MILL)\w*|TAP(?:PING)?[ -]DRILL"),
    ("thread_mill", r"THREAD[ -]?MILL"),
    ("ball_nose", r"BALL[ -]?(?:NOSE|END)?(?:[ -]?(?:END[ -]?)?MILL)?"),
    ("bull_nose", r"BULL[ -]?NOSE(?:[ -]?(?:END[ -]?)?MILL)?|CORNER[ -]RADIUS (?:END[ -]?)?MILL"),
    ("face_mill", r"FACE[ -]?MILL"),
    ("chamfer", r"CHAMFER[ -](?:MILL|TOOL|CUTTER)"),
    ("t_slot", r"T-?[ -]?SLOT(?:[ -](?:MILL|CUTTER))?"),
    ("compression", r"COMPRESSION"),
    ("spiral_up", r"UP[ -]?CUT"),
    ("spiral_down", r"DOWN[ -]?CUT"),
    ("v_groove", r"V[ -]?(?:BIT|GROOVE)(?:[ -](?:MILL|CUTTER))?"),
    ("round_over", r"ROUND[ -]?OVER"),
    ("surfacing", r"SURFACING (?:CUTTER|TOOL|BIT)"),
    ("boring_bit", r"BORING BIT"),
    ("countersink", r"COUNTER[ -]?SINK|CSK"),
    ("reamer", r"REAMER"),
    ("engraver", r"ENGRAVER|ENGRAVING (?:CUTTER|TOOL|BIT)"),
    ("probe", r"(?:TOUCH )?PROBE"),
    ("end_mill", r"END[ -]?MILL"),
    ("drill", r"DRILL"),
    ("tap", r"TAP"),
)
_KIND = re.compile("|".join(rf"(?P<k{i}>\b(?:{p})\b)" for i, (_, p) in enumerate(_KINDS)))
_SPIRALS = {"compression", "spiral_up", "spiral_down"}
_UNCLEAR = re.compile(r"\b(?:NOT?|OR|INSTEAD|THEN|AND|WAS|OLD)\b|\?")

_DIGITS = r"[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+"
_FRACTION = r"(?:[0-9]+[ -])?[0-9]+/[0-9]+"
_UNIT = r"MM|INCHES|INCH|IN\b|\"|”|″"
_SIGNED_DIAMETER = re.compile(
    rf"(?:\bDIAM?\b\.?|\bDIAMETER\b|[ØΦ⌀ø]|\bD\s*=)\s*[=:]?\s*(?P<v>{_FRACTION}|{_DIGITS})\s*(?P<u>{_UNIT})?"
)
_BARE_DIAMETER = re.compile(rf"\bD(?P<v>[0-9]+[.,][0-9]+|[0-9]+)(?![0-9.,/])\s*(?P<u>{_UNIT})?")
_SIZED_KIND = re.compile(
    rf"(?<![0-9.,/xX-])(?<![0-9] )(?P<v>{_FRACTION}|{_DIGITS})\s*(?P<u>{_UNIT})?\s*"
    rf"(?:{_ADJECTIVE}\s+)*(?P<kind>{'|'.join(p for k, p in _KINDS if k)})\b"
)
_CORNER = re.compile(rf"\bCR\s*=?\s*(?P<v>{_DIGITS})\s*(?P<u>{_UNIT})?")
_BARE_CORNER = re.compile(rf"\bR\s*=?\s*(?P<v>{_DIGITS})(?![0-9/])\s*(?P<u>{_UNIT})?")


def _proposal(number, joined, found, reading, notes) -> ProposedRequirement:
    """What the texts say together; where two of them differ, that value is left out."""
    said = [_said(text.rest, number, _unit_of(reading)) for text in found]
    merged = {}
    for key in ("diameter_um", "corner_radius_um", "kind"):
        values = {values[key] for values in said} - {None}
        merged[key] = values.pop() if len(values) == 1 else None
        if values and merged[key] is None:
            text = f"the texts of T{number} name different values ({key.split('_um')[0]})"
            notes.add("description-differs", Level.CHECK, found[0].line, joined, text, number)
    return ProposedRequirement(number, shown(joined), found[0].line, **merged)


def _unit_of(reading: ProgramReading) -> str | None:
    """The unit of a number without one: the program's own, when it uses only one."""
    units = reading.length_units
    return {"mm": "mm", "inch": "in"}[next(iter(units))] if len(units) == 1 else None


def _said(text: str, number: int, unit: str | None) -> dict:
    text = text.upper()
    nothing = {"diameter_um": None, "corner_radius_um": None, "kind": None}
    if _UNCLEAR.search(text):
        return nothing
    kind = _kind(text)
    diameter = _only(_diameters(text, number, unit))
    corner = _only(_corners(text, kind, unit))
    if diameter and corner and 2 * corner > diameter:
        diameter = corner = None
    return {"diameter_um": diameter, "corner_radius_um": corner, "kind": kind}


def _kind(text: str) -> str | None:
    """The one kind of cutter `text` names, else None.

    >>> _kind("10MM UPCUT END MILL"), _kind("6.8 TAP DRILL"), _kind("DRILL AND TAP")
    ('spiral_up', None, None)
    """
    kinds = {_KINDS[int(found.lastgroup[1:])][0] for found in _KIND.finditer(text)}
    if kinds & _SPIRALS:
        kinds.discard("end_mill")
    return (kinds.pop() or None) if len(kinds) == 1 else None


def _diameters(text: str, number: int, unit: str | None) -> set[int | None]:
    found = {_length(match, unit) for match in _SIGNED_DIAMETER.finditer(text)}
    found |= {
        _length(match, None if "/" not in match["v"] else "in")
        for match in _SIZED_KIND.finditer(text)
        if match["u"] or "/" in match["v"]
    }
    offset_words = re.search(r"\bH\s*=?\s*[0-9]", text)
    for match in _BARE_DIAMETER.finditer(text):
        is_offset = match["v"].isdigit() and (offset_words or int(match["v"]) == number)
        if not is_offset or match["u"]:
            found.add(_length(match, unit))
    return found


def _corners(text: str, kind: str | None, unit: str | None) -> set[int | None]:
    found = {_length(match, unit) for match in _CORNER.finditer(text)}
    if kind in ("bull_nose", "ball_nose", "end_mill"):
        found |= {_length(match, unit) for match in _BARE_CORNER.finditer(text)}
    return found


def _length(match: re.Match, unit: str | None) -> int | None:
    """Whole micrometres [um] of a matched number; None when its unit is not known."""
    unit = (match["u"] or unit or "").lower()
    if not unit and "/" not in match["v"]:
        return None
    try:
        return read_length_um(match["v"] + unit) or None
    except NotALength:
        return None


def _only(values: set[int | None]) -> int | None:
    return next(iter(values)) if len(values) == 1 else None
