"""One line of a program taken apart: line number, words, parameter settings, comments.

Source of the rules: NIST IR 6556 (2000), 3.3. Wider than the report, because shops write so: a
comment after `;`, line numbers of more than five digits, `/1` to `/9`, a value after `=` without
brackets. `,C2` and `,R1` are kept as corner words.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from assemblies.rules.nc.expressions import (
    NotUnderstood,
    Value,
    number,
    parameter_index,
    value_at,
)

MOST_ITEMS = 200
#: Stands where a comment stood: a comment may divide words, not the inside of one.
_GAP = "\x00"
_COMMENT_START = re.compile(r"[(;]")
_ONLY_A_COMMENT = re.compile(r"\(([^();]*)\)")
_WORD = re.compile(r"([A-Z])([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))")
#: Nothing but plain words; possessive, so that no text makes it try again.
_PLAIN_WORDS = re.compile(r"(?:[A-Z][+-]?+(?:[0-9]++(?:\.[0-9]*+)?+|\.[0-9]++)\x00*+)++")
_HEAD = re.compile(r"\x00*(/?)([1-9]?)\x00*(?:N([0-9]+)(/?))?")
_BRACKETED = re.compile(r"\([^()]*\)")
#: Words and parameter settings, with the block ends and block deletes that may stand between.
_ALL_WORDS = re.compile(r"(?:[;/]*(?:[A-Z]|#[0-9]+=)[+-]?#?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+))+[;/]*")
_MESSAGE = re.compile(r"\s*MSG\s*,", re.IGNORECASE)


class Word(NamedTuple):
    """A letter with its value; `digits` is what was written when it was a plain number."""

    letter: str
    value: Value
    digits: str


class Comment(NamedTuple):
    """A comment's text; `is_message` when it asks the control to show it."""

    text: str
    is_message: bool


@dataclass(slots=True)
class Block:
    """One line of the program, taken apart."""

    deletable: bool = False
    number: str = ""
    words: list[Word] = field(default_factory=list)
    corners: list[Word] = field(default_factory=list)
    settings: list[tuple[int | None, Value]] = field(default_factory=list)
    comments: list[Comment] = field(default_factory=list)
    #: The line without comments and blanks, in capitals.
    code: str = ""
    #: Nothing but program words behind `;`: the next block, on a control that ends blocks so.
    words_after_semicolon: str = ""
    #: Why the line cannot be read; empty when it can.
    problem: str = ""

    @property
    def has_content(self) -> bool:
        """Whether the line orders anything at all."""
        return bool(self.words or self.corners or self.settings or self.problem)


def take_apart(line: str, parameters: Mapping[int, float]) -> Block:
    """The block written in `line`; what breaks a rule is named in its `problem`.

    `parameters` are the values the file has set so far. Source: NIST IR 6556, 3.3.

    >>> [(w.letter, w.value) for w in take_apart("g0x +0. 12 34y 7", {}).words]
    [('G', 0.0), ('X', 0.1234), ('Y', 7.0)]
    """
    block = Block()
    if only := _ONLY_A_COMMENT.fullmatch(line):
        block.comments.append(_comment(only[1]))
        block.code = _GAP
        return block
    try:
        code = _without_comments(line, block)
        block.code = code = _squeezed(code, block)
        _read_items(code, _read_head(code, block), block, parameters)
    except NotUnderstood as error:
        block.problem = str(error)
    return block


def _without_comments(line: str, block: Block) -> str:
    """`line` with a gap for each comment; the comments' texts go to `block`."""
    comments = block.comments
    kept, place = [], 0
    while start := _COMMENT_START.search(line, place):
        kept.append(line[place : start.start()])
        kept.append(_GAP)
        if start[0] == ";":
            comments.append(_comment(line[start.end() :]))
            if line[: start.start()].strip() and _is_all_words(comments[-1].text):
                block.words_after_semicolon = comments[-1].text
            return "".join(kept)
        end = line.find(")", start.end())
        if end < 0:
            raise NotUnderstood("comment not closed")
        if line.find("(", start.end(), end) >= 0:
            raise NotUnderstood("comment inside a comment")
        comments.append(_comment(line[start.end() : end]))
        if len(comments) > MOST_ITEMS:
            raise NotUnderstood(f"more than {MOST_ITEMS} comments in a block")
        place = end + 1
    return "".join(kept) + line[place:]


def _is_all_words(text: str) -> bool:
    """Whether `text` holds program words and no other text, comments in brackets apart.

    >>> _is_all_words("S24000 M3; G1 X10 (START)"), _is_all_words("S24000 MAX")
    (True, False)
    """
    bare = "".join(_BRACKETED.sub("", text).split())
    return _ALL_WORDS.fullmatch(bare.upper()) is not None


def _comment(text: str) -> Comment:
    message = _MESSAGE.match(text)
    return Comment(text[message.end() :].strip() if message else text.strip(), bool(message))


def _squeezed(code: str, block: Block) -> str:
    squeezed = code.replace(" ", "").replace("\t", "")
    # Capitals of other scripts' letters can turn into A to Z, so this comes first.
    if not squeezed.isascii():
        block.code = squeezed
        raise NotUnderstood("character outside a comment that no control knows")
    return squeezed.upper()


def _read_head(code: str, block: Block) -> int:
    """Read block delete and line number; the position after them."""
    head = _HEAD.match(code)
    if not head[1] and head[2]:
        return 0
    block.deletable = bool(head[1] or head[4])
    block.number = head[3] or ""
    return head.end()


def _read_items(code: str, place: int, block: Block, parameters: Mapping[int, float]) -> None:
    words = block.words
    if len(code) <= MOST_ITEMS and _PLAIN_WORDS.fullmatch(code, place):
        found = _WORD.findall(code, place)
        words += [Word(letter, number(digits), digits) for letter, digits in found]
        return
    while place < len(code):
        if word := _WORD.match(code, place):
            words.append(Word(word[1], number(word[2]), word[2]))
            place = word.end()
        elif code[place] == _GAP:
            place += 1
        else:
            place = _read_rare_item(code, place, block, parameters)
        if len(words) + len(block.corners) + len(block.settings) > MOST_ITEMS:
            raise NotUnderstood(f"more than {MOST_ITEMS} words in a block")


def _read_rare_item(code: str, place: int, block: Block, parameters: Mapping[int, float]) -> int:
    """Read a setting, a corner word or a word with a computed value; the position after it."""
    if code[place] == "#":
        return _read_setting(code, place, block, parameters)
    corner = code[place] == ","
    place += corner
    letter = code[place : place + 1]
    if not letter.isalpha():
        raise NotUnderstood("no letter where a word must begin")
    value, after = value_at(code, place + 1, parameters)
    word = Word(letter, value, "")
    (block.corners if corner else block.words).append(word)
    return after


def _read_setting(code: str, place: int, block: Block, parameters: Mapping[int, float]) -> int:
    index, place = value_at(code, place + 1, parameters)
    if code[place : place + 1] != "=":
        raise NotUnderstood("parameter without = at the start of a setting")
    value, place = value_at(code, place + 1, parameters, bare=True)
    block.settings.append((parameter_index(index), value))
    return place
