"""Reading a program from front to end: which tool, at which speed, turning which way.

The order of execution inside a block, what M6 leaves alone and when a speed is carried over are
those of NIST IR 6556 (2000), table 8 and 3.5 to 3.7. What is not understood is said with its line,
and the figures it may touch are marked as not exact: the reader never guesses.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from itertools import chain

from assemblies.rules.nc import comments as tool_texts
from assemblies.rules.nc.codes import M98, M99
from assemblies.rules.nc.execution import Execution
from assemblies.rules.nc.lexer import Block, take_apart
from assemblies.rules.nc.orders import Orders, orders_of
from assemblies.rules.nc.quick import Patterns, patterns, run_plain
from assemblies.rules.nc.reading import FIGURES, ProgramReading, ReaderSettings
from assemblies.rules.nc.subprograms import (
    PROGRAM_NUMBER,
    WEIGHT_OF_A_GENERAL_BLOCK,
    CallStack,
    NotFollowed,
    Subprogram,
    call_in,
)
from assemblies.rules.nc.text import NotAProgram, ProgramText
from crib.rules.finding import Level

__all__ = ["NotAProgram", "read_program", "walk_text"]

_COMMENT_OR_BLANK = re.compile(r"\([^()\n]*\)|;[^\n]*|[% \t\x0b\x0c\x00\x1a\x7f]")
#: Matched without blanks, so that no two runs of blanks can overlap.
_AFTER_PERCENT = re.compile(r"[O:]?[0-9]{0,9}(?:\([^()]*\))?", re.IGNORECASE)
_NAME_LINE = re.compile(r"\s*<([^<>]*)>\s*")
_FLOW = re.compile(
    r"WHILE|GOTO|^\x00*(?:N[0-9]+)?(?:IF\[|IF\b|(?:DO|END)[0-9])|ENDW|ENDIF|ELSE|REPEAT|CALL|RETURN"
    r"|O<|O[0-9]+(?:SUB|ENDSUB|DO|IF)"
)
_OTHER_DIALECT = re.compile(r"[A-Z][0-9]*=|[\"']|[A-Z]{3}|^LBL|^\x00*L[XYZ]|TOOLCALL|TOOLDEF")
_CALL_OF_A_TOOL = re.compile(r"TOOLCALL|TOOLDEF|CYCL")
#: Ends a file on old systems; read over, as nobody knows whether the control does.
_CTRL_Z = "\x1a"
#: A line of only these cannot touch a tool, a speed, a feed or a turning direction.
_PATH_ONLY_TEXT = re.compile(r"[\x00XYZABCUVWIJKRPQN0-9.+\-,\[\]/*]*")


def read_program(data: bytes, settings: ReaderSettings | None = None) -> ProgramReading:
    """What the program in `data` asks of each tool, and whether all of it was understood.

    Raises NotAProgram for a file that is no program text. Source: NIST IR 6556 (2000).

    >>> reading = read_program(b"G21\\nT5 M6\\nS18000 M3\\nG1 X10 F900\\nM30\\n")
    >>> reading.tool_uses[5].spindle_speed_max, reading.tool_uses[5].rotation, reading.complete
    (18000.0, {'cw'}, True)
    """
    settings = settings or ReaderSettings()
    text = ProgramText.of_file(data, settings.largest_bytes)
    reading = ProgramReading(hashlib.sha256(data).hexdigest(), len(data))
    return _Walk(text, reading, settings).run()


def walk_text(
    text: str, reading: ProgramReading, settings: ReaderSettings, quick: bool = True
) -> ProgramReading:
    """Fill `reading` from `text`; `quick` False sends every block the general way, for tests."""
    return _Walk(ProgramText.of_text(text), reading, settings, quick).run()


class _Walk:
    """One pass over the lines of one program."""

    def __init__(
        self,
        text: ProgramText,
        reading: ProgramReading,
        settings: ReaderSettings,
        quick: bool = True,
    ):
        self.text, self.reading, self.settings, self.quick = text, reading, settings, quick
        self.machine = Execution(reading, settings)
        self.notes = self.machine.notes
        self.comments = tool_texts.CommentList()
        self.calls = CallStack()
        self.line_number_digits = 5
        self.line_number = 0
        self.rest: Iterator[str] = iter(())
        self.opened = False
        self.has_code = False
        self.ended = False
        self.next_program = False

    def run(self) -> ProgramReading:
        pieces = self.text.pieces()
        for piece in pieces:
            place = self.walk(piece)
            if self.ended:
                self.rest = chain((piece[place:],), pieces)
                break
        self.close()
        return self.reading

    @property
    def plain(self) -> Patterns:
        return patterns(self.line_number_digits, self.settings.counts_least_increments)

    def walk(self, text: str) -> int:
        """Read lines up to the end of the program or of this text; the place of the next line."""
        place, size, plain = 0, len(text), self.plain
        while place < size and not (self.ended or self.calls.leaving):
            if self.quick and self.machine.settled:
                place = self.walk_plain(text, place, plain)
                if place == size:
                    break
            self.line_number += 1
            end = text.index("\n", place)
            self.read_line(text[place:end], self.line_number)
            if self.next_program:
                self.line_number -= 1
                break
            place = end + 1
            plain = self.plain
        return place

    def walk_plain(self, text: str, place: int, plain: Patterns) -> int:
        after = run_plain(self.machine, text, place, plain)
        lines = text.count("\n", place, after)
        self.line_number += lines
        self.count_blocks(lines, weight=1)
        return after

    def count_blocks(self, blocks: int, weight: int) -> None:
        """Blocks of the main program are counted; those of repeated calls have an end."""
        if self.calls.depth == 0:
            self.reading.block_count += blocks
        self.calls.spend(blocks * weight)

    def read_line(self, line: str, line_number: int) -> None:
        bare = line.strip(" \t\x0b\x0c\x00\x1a\x7f")
        if _CTRL_Z in line:
            text = "an end mark (Ctrl-Z) inside the text: some controls stop here"
            self.unknown("not-understood", line_number, bare, text)
            self.machine.doubt_everything()
        if not bare:
            return
        if bare[0] == "%":
            self.read_percent(bare, line_number)
        elif self.starts_next_program(bare):
            self.ended = self.next_program = True
        else:
            self.count_blocks(1, WEIGHT_OF_A_GENERAL_BLOCK)
            self.read_block(bare, line_number)

    def read_percent(self, bare: str, line_number: int) -> None:
        """The first `%` opens the program, the next one ends it."""
        if self.opened or self.has_code:
            self.reading.end_of_program = "%"
            self.ended = True
            if not self.opened:
                self.unknown("no-end", line_number, bare, "% ends a file that no % opened")
            if _COMMENT_OR_BLANK.sub("", bare):
                self.unknown("after-end", line_number, bare, "text behind the % that ends the file")
        self.opened = True
        if self.ended or not bare[1:].strip():
            return
        if _AFTER_PERCENT.fullmatch("".join(bare[1:].split())):
            self.reading.program_name = self.reading.program_name or bare[1:].strip()
        else:
            self.unknown("not-understood", line_number, bare, "text on the line of the first %")
            self.machine.doubt_everything(tool_may_change=True)

    def starts_next_program(self, bare: str) -> bool:
        """Whether a second program begins here, before the first one came to its end."""
        if bare[0] not in "Oo:" or not self.has_code:
            return False
        block = take_apart(bare, {})
        return PROGRAM_NUMBER.fullmatch(block.code) is not None

    def read_block(self, bare: str, line_number: int) -> None:
        block = take_apart(bare, self.machine.state.parameters)
        if self.calls.is_first_run:
            self.comments.add(line_number, block)
        if len(block.number) > self.line_number_digits == 5:
            self.line_number_digits = 9
            text = "line numbers of more than five digits; the standard allows five"
            self.notes.add("long-line-number", Level.NOTE, line_number, bare, text)
        self.read_content(bare, block, line_number)
        if block.words_after_semicolon:
            text = "program words behind ; : a comment here, a block on some controls"
            self.unknown("semicolon-words", line_number, bare, text)
            self.doubt_text(block.words_after_semicolon.upper())

    def read_content(self, bare: str, block: Block, line_number: int) -> None:
        if self.read_program_name(bare, block, line_number):
            return
        self.has_code = self.has_code or block.has_content
        if block.problem:
            self.admit(block, bare, line_number)
        elif block.has_content:
            self.execute(block, bare, line_number)

    def read_program_name(self, bare: str, block: Block, line_number: int) -> bool:
        """Take `O1234 (NAME)`, `:1234` and `<NAME>`; True when the line was one of them."""
        reading = self.reading
        if not self.has_code and (name := _NAME_LINE.fullmatch(bare)):
            reading.program_name = reading.program_name or name[1].strip()
            return True
        number = PROGRAM_NUMBER.fullmatch(block.code)
        if number is None or self.has_code:
            return False
        if reading.program_number:
            self.unknown("not-understood", line_number, bare, "a second program number")
        reading.program_number = reading.program_number or number[1]
        if block.comments:
            reading.program_name = reading.program_name or block.comments[0].text
        return True

    def execute(self, block: Block, bare: str, line_number: int) -> None:
        orders = orders_of(block, self.settings)
        ending = self.machine.run(block, orders, bare, line_number)
        if M98 in orders.m:
            self.call(orders, bare, line_number)
        if ending == f"M{M99}":
            self.go_back(orders, bare, line_number)
        elif ending:
            self.end(ending)

    def end(self, ending: str) -> None:
        self.reading.end_of_program = ending
        self.ended = True

    # Subprograms

    def call(self, orders: Orders, bare: str, line_number: int) -> None:
        """Follow M98 into the same file, or say why not."""
        try:
            call = call_in(orders, self.machine.deletable, self.machine.state.motion)
            called = self.calls.find(call, self.text, self.opened, self.reading.program_number)
            for _ in range(call.repeats):
                self.run_subprogram(called)
                if self.ended or self.calls.exhausted:
                    break
        except NotFollowed as reason:
            self.not_followed(str(reason), bare, line_number)

    def run_subprogram(self, called: Subprogram) -> None:
        calls, line_number = self.calls, self.line_number
        self.line_number = called.first_line - 1
        calls.enter(called)
        self.machine.settled = 0
        self.walk(called.text)
        calls.leave(called, self.line_number)
        self.line_number, self.machine.settled = line_number, 0
        if calls.exhausted:
            raise NotFollowed("calls run more blocks than are followed")
        if not calls.returned and not self.ended:
            raise NotFollowed(f"O{called.number} ends without M99")
        calls.returned = False

    def go_back(self, orders: Orders, bare: str, line_number: int) -> None:
        """M99: back to the caller; in the main program it would begin again."""
        if self.calls.depth == 0 or orders.words.keys() & {"P", "L"}:
            self.not_followed("M99 leads where it is not followed", bare, line_number)
        if self.calls.depth == 0:
            self.end(f"M{M99}")
        self.calls.returned = True

    def not_followed(self, text: str, bare: str, line_number: int) -> None:
        self.unknown("subprogram", line_number, bare, text)
        self.machine.doubt_everything()

    def admit(self, block: Block, bare: str, line_number: int) -> None:
        """Say that the line was not read, and doubt what it may touch."""
        code = block.code or bare.upper()
        if _FLOW.search(code) and not _CALL_OF_A_TOOL.search(code):
            self.unknown("subprogram", line_number, bare, "loop, jump or call; not followed")
        elif _OTHER_DIALECT.search(code) and "#" not in code and "[" not in code:
            self.unknown("other-dialect", line_number, bare, "words of another dialect; not read")
        else:
            self.unknown("not-understood", line_number, bare, f"not read: {block.problem}")
        if block.code:
            self.doubt_text(code)
        else:
            self.machine.doubt_everything(tool_may_change="T" in code or "M" in code)

    def doubt_text(self, code: str) -> None:
        """Doubt what unread words in capitals may touch: all, unless they bend the path only."""
        if _PATH_ONLY_TEXT.fullmatch(code):
            self.machine.lose_path()
        else:
            self.machine.doubt_everything(tool_may_change="T" in code or "M" in code)

    def unknown(self, code: str, line: int, block: str, text: str) -> None:
        """Say that the block was not read; the machine stands there, whichever way it came."""
        self.machine.line, self.machine.block = line, block
        self.notes.add(code, Level.UNKNOWN, line, block, text, self.machine.state.tool)

    def close(self) -> None:
        """Everything that can be said only once the last block was read."""
        if self.reading.end_of_program == "end of file":
            self.say_no_end(self.line_number)
        self.say_rest()
        self.machine.finish(self.line_number)
        tool_texts.describe(self.reading, self.comments, self.notes)
        if self.machine.doubts_all:
            for use in self.reading.tool_uses.values():
                use.doubt(FIGURES)
        self.reading.findings = self.notes.listed()
        self.reading.complete = self.notes.complete

    def say_no_end(self, line_number: int) -> None:
        text = "no M2, M30 or closing %: the file may be cut short"
        self.notes.add("no-end", Level.UNKNOWN, line_number, "", text)

    def say_rest(self) -> None:
        """Note what stands after the end; code there may be another program or subprogram."""
        number, is_read = self.line_number, self.calls.lines_read()
        for piece in self.rest:
            for line in piece.split("\n")[:-1]:
                number += 1
                code = _COMMENT_OR_BLANK.sub("", line) if line else ""
                if code and not is_read(number):
                    text = "text after the end of the program is not read"
                    self.notes.add("after-end", Level.UNKNOWN, number, code, text)
                    return
