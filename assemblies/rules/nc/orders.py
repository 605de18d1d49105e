"""What a block orders, sorted by kind, and what in it is doubtful.

A word is either understood in one way only, or it is a doubt. A doubt carries how far it reaches:
`path` touches lengths, depths and times of this block, `bent` those of every block from here on;
`speed`, `spindle` and `feed` touch those figures from here on, `units` touches feed and path,
`offsets` and `coolant` touch what they say, `none` no figure at all, and `all` may touch anything.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import NamedTuple

from assemblies.rules.nc.codes import (
    AXES,
    BEND_ENDS,
    G4,
    G10,
    G64,
    G80,
    G92,
    G_GROUP,
    G_PATH_ONLY,
    G_SUBPROGRAM,
    M98,
    M_CALLS,
    M_GROUP,
    M_SUBPROGRAM,
    PLAIN_MOTIONS,
    g_name,
)
from assemblies.rules.nc.expressions import near_integer
from assemblies.rules.nc.lexer import Block, Word
from assemblies.rules.nc.reading import ReaderSettings

#: Station and offset of a turning machine, two or three digits each: never silently 101 or 1.
_STATION_AND_OFFSET = re.compile(r"\+?0(?:[0-9]{3}|[0-9]{5})(?:\.0*)?")
_NUMBERS = frozenset("LPQ")
_TOOL_AND_SPINDLE = frozenset((3, 4, 5, 6))
_LETTERS = frozenset("ABCDFGHIJKLMPQRSTUVWXYZ")
#: A word of another letter loses its value, and what needs the value says what that touches.
_REACH = {"S": "speed", "F": "feed", "T": "all", "D": "offsets", "H": "offsets"}
#: What two codes of one group leave open; the other groups bend the path.
_G_REACH = {
    "units": "units",
    "feed mode": "feed",
    "speed mode": "speed",
    "motion": "all",
    "path": "none",
    "return": "path",
    "length offset": "offsets",
}
_ENDS_WITH_AXES = frozenset(("scale", "mirror"))
_M_REACH = {"coolant": "coolant", "override": "none"}


class Doubt(NamedTuple):
    """Something in a block that cannot be read in one way only."""

    code: str
    reach: str
    text: str


@dataclass(slots=True)
class Orders:
    """A block's words by kind; G numbers times ten, by group."""

    g: dict[str, int] = field(default_factory=dict)
    m: set[int] = field(default_factory=set)
    words: dict[str, Word] = field(default_factory=dict)
    doubts: list[Doubt] = field(default_factory=list)
    remarks: list[tuple[str, str]] = field(default_factory=list)
    #: Codes that lead the tool another way than the words say, until their cancel.
    bends: set[int] = field(default_factory=set)
    subprogram: bool = False
    unknown_g: bool = False
    has_axis: bool = False

    def value(self, letter: str) -> float | None:
        """The value of the word `letter`; None when it is missing or not known."""
        word = self.words.get(letter)
        return None if word is None else word.value

    def doubt(self, code: str, reach: str, text: str) -> None:
        """Note that part of the block is not understood."""
        self.doubts.append(Doubt(code, reach, text))


def orders_of(block: Block, settings: ReaderSettings) -> Orders:
    """The orders of `block`, with a doubt for each word that is not understood."""
    orders = Orders()
    m_words = 0
    for word in block.words:
        if word.letter == "G":
            _add_g(orders, word, settings)
        elif word.letter == "M":
            m_words += 1
            _add_m(orders, word, settings)
        else:
            _add_word(orders, word)
    if m_words > 4:
        orders.remarks.append(("many-m", f"{m_words} M words in a block; the standard allows 4"))
    for corner in block.corners:
        orders.doubt("not-understood", "path", f"corner word ,{corner.letter} not followed")
    _doubt_borrowed_letters(orders)
    _doubt_numbers_beside(orders)
    _doubt_settings_in_use(orders, block)
    return orders


def _add_g(orders: Orders, word: Word, settings: ReaderSettings) -> None:
    code = _g_tenfold(word, settings)
    if code is None:
        orders.doubt("not-understood", "all", "G number not known")
    elif code in G_GROUP:
        _add_to_group(orders, G_GROUP[code], code)
    elif code in G_SUBPROGRAM:
        orders.subprogram = True
        orders.doubt("subprogram", "all", f"{g_name(code)} calls a macro; it is not followed")
    else:
        orders.unknown_g = True
        if code in G_PATH_ONLY:
            orders.bends.add(code)
        reach = "path" if code in G_PATH_ONLY else "all"
        orders.doubt("not-understood", reach, f"{g_name(code)} not understood")


def _g_tenfold(word: Word, settings: ReaderSettings) -> int | None:
    if word.value is None or word.value < 0:
        return None
    code = round(word.value * 10)
    if round(abs(word.value - code / 10), 9) >= 0.0001:
        return None
    return {700: 200, 710: 210}.get(code, code) if settings.g70_g71_are_units else code


def _add_to_group(orders: Orders, group: str, code: int) -> None:
    held = orders.g.get(group, code)
    if held == code:
        orders.g[group] = code
    elif group == "motion" and max(held, code) == G80 and min(held, code) in PLAIN_MOTIONS:
        # The cancel and a plain motion on one safety line: an error by the standard, harmless.
        motion = orders.g[group] = min(held, code)
        text = f"{g_name(G80)} and {g_name(motion)} in a block"
        orders.remarks.append(("two-codes", text))
    else:
        text = f"{g_name(held)} and {g_name(code)} in one block"
        orders.doubt("not-understood", _G_REACH.get(group, "bent"), text)


def _add_m(orders: Orders, word: Word, settings: ReaderSettings) -> None:
    code = None if word.value is None or word.value < 0 else near_integer(word.value)
    if code is None:
        orders.doubt("not-understood", "all", "M number not known")
    elif code in M_CALLS:
        orders.m.add(code)
    elif code in M_SUBPROGRAM:
        orders.subprogram = True
        orders.m.add(code)
        orders.doubt("subprogram", "all", f"M{code} leaves this program; it is not followed")
    elif code in M_GROUP:
        _add_to_m_group(orders, code)
    elif code not in settings.harmless_m_codes:
        orders.doubt("not-understood", "all", f"M{code} not understood")


def _add_to_m_group(orders: Orders, code: int) -> None:
    group = M_GROUP[code]
    others = {held for held in orders.m if M_GROUP.get(held) == group and held != code}
    orders.m.add(code)
    if others and others | {code} != {7, 8}:
        text = f"M{min(others)} and M{code} in one block"
        orders.doubt("not-understood", _M_REACH.get(group, "all"), text)


def _add_word(orders: Orders, word: Word) -> None:
    letter = word.letter
    orders.has_axis = orders.has_axis or letter in AXES
    if letter not in _LETTERS:
        orders.doubt("not-understood", "all", f"{letter} word not understood")
    elif letter in orders.words:
        reach = _REACH.get(letter, "none")
        orders.doubt("not-understood", reach, f"two {letter} words in one block")
        orders.words[letter] = Word(letter, None, "")
    else:
        orders.words[letter] = _checked(orders, word)


def _checked(orders: Orders, word: Word) -> Word:
    """The word, without its value when that cannot be taken at its word."""
    letter, value = word.letter, word.value
    if value is None:
        text = f"{letter} depends on a parameter not known here"
    elif letter == "T" and _STATION_AND_OFFSET.fullmatch(word.digits):
        text = f"T{word.digits} may be station and offset"
    elif letter in "THD" and (value < 0 or near_integer(value) is None):
        text = f"{letter} is not a whole number"
    elif letter in "SF" and value < 0:
        text = f"{letter} below zero"
    else:
        return word
    orders.doubt("not-understood", _REACH.get(letter, "none"), text)
    return Word(letter, None, "")


def _doubt_borrowed_letters(orders: Orders) -> None:
    """Doubt S and F where a code of the block may use them for something else.

    G92 S and G50 S limit the speed on turning controls; G4 S and G4 F are dwells on some; a code
    that is not understood may use any letter.
    """
    once, letters = orders.g.get("once"), orders.words.keys()
    _doubt_bend_ends(orders)
    borrowed = orders.unknown_g or once == G92
    borrowed = borrowed or (once == G4 and not {"P", "X", "U"} & letters)
    for letter in "SF" if borrowed else "":
        if orders.value(letter) is not None:
            text = f"{letter} may mean something else in this block"
            orders.doubt("not-understood", _REACH[letter], text)
            orders.words[letter] = Word(letter, None, "")


def _doubt_bend_ends(orders: Orders) -> None:
    """G50 with S limits a speed on turning controls, G15 with H is an offset on others.

    Axis words of G50.1 name the mirrors that end; those of G50 may set the zero.
    """
    for group in BEND_ENDS & orders.g.keys():
        names_axes = orders.has_axis and group in _ENDS_WITH_AXES
        if names_axes or orders.words.keys() & set("SHPQIJKR"):
            orders.unknown_g = True
            text = f"{g_name(orders.g[group])} with further words not understood"
            orders.doubt("not-understood", "bent", text)


def _doubt_numbers_beside(orders: Orders) -> None:
    """P, L and Q that no code asks for: another spindle beside M3, another offset beside G54."""
    if _NUMBERS.isdisjoint(orders.words) or orders.has_axis:
        return
    if orders.unknown_g or orders.subprogram:
        return
    groups = orders.g.keys() - {"motion"}
    if orders.g.get("once") in (G4, G10) or orders.g.get("path") == G64 or M98 in orders.m:
        return
    if orders.m & _TOOL_AND_SPINDLE or orders.words.keys() & {"S", "T"}:
        reach = "all"
    elif groups:
        reach = "bent" if "work offset" in groups else "path"
    else:
        return
    letters = ", ".join(sorted(orders.words.keys() & _NUMBERS))
    orders.doubt("not-understood", reach, f"{letters} without a code that uses it")


def _doubt_settings_in_use(orders: Orders, block: Block) -> None:
    """A setting acts after its block by NIST IR 6556, 3.3.3; many controls go left to right."""
    if not block.settings:
        return
    reads = any(not word.digits for word in block.words)
    if reads or block.code.count("#") > len(block.settings) > 1:
        orders.doubt("parameter-order", "all", "a parameter is set and used in one block")
