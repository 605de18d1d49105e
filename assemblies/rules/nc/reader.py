"""Reading a program from front to end: which tool, at which speed, turning which way.

The order of execution inside a block, what M6 leaves alone and when a speed is carried over are
those of NIST IR 6556 (2000), table 8 and 3.5 to 3.7. What is not understood is said with its line,
and the figures it may touch are marked as not exact: the reader never guesses.
"""

from __future__ import annotations

import hashlib
import re

from assemblies.rules.nc import comments as tool_texts
from assemblies.rules.nc.execution import Execution
from assemblies.rules.nc.lexer import Block, take_apart
from assemblies.rules.nc.orders import orders_of
from assemblies.rules.nc.reading import FIGURES, ProgramReading, ReaderSettings
from assemblies.rules.nc.text import NotAProgram, decode
from crib.rules.finding import Level

__all__ = ["NotAProgram", "read_program", "walk_text"]

_NUM = r"[-+]?(?:[0-9]{1,7}(?:\.[0-9]{0,9})?|\.[0-9]{1,9}) ?"
_QUICK = (
    r"(?:N[0-9]{1,%d} ?)?(?:G0?([0-3]) ?)?(?=[XYZ])"
    rf"(?:X{_NUM})?(?:Y{_NUM})?(?:Z{_NUM})?(?:I{_NUM})?(?:J{_NUM})?(?:F([0-9]{{1,7}}\.?[0-9]{{0,6}}))?\n"
)
#: A plain motion block in the usual order, as a post-processor writes nearly all of them.
_PLAIN_BLOCK = re.compile(_QUICK % 5)
_PLAIN_BLOCK_LONG_NUMBER = re.compile(_QUICK % 9)

_COMMENT_OR_BLANK = re.compile(r"\([^()\n]*\)|;[^\n]*|[% \t\x0b\x0c\x00\x1a\x7f]")
_PROGRAM_NUMBER = re.compile(r"\x00*[O:]([0-9]{1,9})\x00*")
#: Matched without blanks, so that no two runs of blanks can overlap.
_AFTER_PERCENT = re.compile(r"[O:]?[0-9]{0,9}(?:\([^()]*\))?", re.IGNORECASE)
_NAME_LINE = re.compile(r"\s*<([^<>]*)>\s*")
_FLOW = re.compile(
    r"WHILE|GOTO|^\x00*(?:N[0-9]+)?(?:IF\[|IF\b|(?:DO|END)[0-9])|ENDW|ENDIF|ELSE|REPEAT|CALL|RETURN"
    r"|O<|O[0-9]+(?:SUB|ENDSUB|DO|IF)"
)
_OTHER_DIALECT = re.compile(r"[A-Z][0-9]*=|[\"']|[A-Z]{3}|^LBL|^\x00*L[XYZ]|TOOLCALL|TOOLDEF")
_CALL_OF_A_TOOL = re.compile(r"TOOLCALL|TOOLDEF|CYCL")
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
    text = decode(data, settings.largest_bytes)
    reading = ProgramReading(hashlib.sha256(data).hexdigest(), len(data))
    return walk_text(text, reading, settings)


def walk_text(
    text: str, reading: ProgramReading, settings: ReaderSettings, quick: bool = True
) -> ProgramReading:
    """Fill `reading` from `text`; `quick` False sends every block the general way, for tests."""
    return _Walk(text, reading, settings, quick).run()


class _Walk:
    """One pass over the lines of one program."""

    def __init__(self, text, reading, settings, quick):
        self.text, self.reading, self.settings, self.quick = text, reading, settings, quick
        self.machine = Execution(reading, settings)
        self.notes = self.machine.notes
        self.comments = tool_texts.CommentList()
        self.plain_block = _PLAIN_BLOCK
        self.opened = False
        self.has_code = False
        self.ended = False
        self.next_program = False

    def run(self) -> ProgramReading:
        place, line_number = self.walk_lines()
        self.close(place, line_number)
        return self.reading

    def walk_lines(self) -> tuple[int, int]:
        """Read lines up to the end of the program; place and number of the next line."""
        text, machine, quick = self.text, self.machine, self.quick
        place = line_number = 0
        size = len(text)
        match = self.plain_block.match
        while place < size and not self.ended:
            line_number += 1
            plain = match(text, place) if quick and machine.settled else None
            if plain and machine.takes_plain(plain[1], plain[2]):
                place = plain.end()
                machine.plain_blocks += 1
                continue
            end = text.index("\n", place)
            self.read_line(text[place:end], line_number)
            match = self.plain_block.match
            if self.next_program:
                return place, line_number - 1
            place = end + 1
        return place, line_number

    def read_line(self, line: str, line_number: int) -> None:
        bare = line.strip(" \t\x0b\x0c\x00\x1a\x7f")
        if not bare:
            return
        if bare[0] == "%":
            self.read_percent(bare, line_number)
        elif self.starts_next_program(bare):
            self.ended = self.next_program = True
        else:
            self.reading.block_count += 1
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
        return _PROGRAM_NUMBER.fullmatch(block.code) is not None

    def read_block(self, bare: str, line_number: int) -> None:
        block = take_apart(bare, self.machine.state.parameters)
        self.comments.add(line_number, block)
        if len(block.number) > 5 and self.plain_block is _PLAIN_BLOCK:
            self.plain_block = _PLAIN_BLOCK_LONG_NUMBER
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
        number = _PROGRAM_NUMBER.fullmatch(block.code)
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
        if ending:
            self.reading.end_of_program = ending
            self.ended = True

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
        if _PATH_ONLY_TEXT.fullmatch(code) is None:
            self.machine.doubt_everything(tool_may_change="T" in code or "M" in code)

    def unknown(self, code: str, line: int, block: str, text: str) -> None:
        """Say that the block was not read; the machine stands there, whichever way it came."""
        self.machine.line, self.machine.block = line, block
        self.notes.add(code, Level.UNKNOWN, line, block, text, self.machine.state.tool)

    def close(self, place: int, line_number: int) -> None:
        """Everything that can be said only once the last block was read."""
        self.reading.block_count += self.machine.plain_blocks
        if self.reading.end_of_program == "end of file" and not self.next_program:
            self.say_no_end(line_number)
        self.say_rest(place, line_number)
        self.machine.finish(line_number)
        tool_texts.describe(self.reading, self.comments, self.notes)
        if self.machine.doubts_all:
            for use in self.reading.tool_uses.values():
                use.doubt(FIGURES)
        self.reading.findings = self.notes.listed()
        self.reading.complete = self.notes.complete

    def say_no_end(self, line_number: int) -> None:
        text = "no M2, M30 or closing %: the file may be cut short"
        self.notes.add("no-end", Level.UNKNOWN, line_number, "", text)

    def say_rest(self, place: int, line_number: int) -> None:
        """Note what stands after the end; code there may be another program or subprogram."""
        rest = _COMMENT_OR_BLANK.sub("", self.text[place:])
        for offset, line in enumerate(rest.split("\n"), start=1):
            if line:
                text = "text after the end of the program is not read"
                number = line_number + offset
                self.notes.add("after-end", Level.UNKNOWN, number, line, text)
                return
