"""From the bytes of an uploaded file to program text, or a refusal that says what to do next."""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass

#: More than this share of control characters means the file is not text.
LARGEST_CONTROL_SHARE = 0.01
SAMPLE_BYTES = 65_536
PIECE_BYTES = 1 << 20

_TEXT_CONTROLS = b"\t\n\r\x0b\x0c"
_CONTROLS = bytes(code for code in range(32) if code not in _TEXT_CONTROLS) + b"\x7f"
#: Tape leader (NUL, rubout), the end mark of old file systems (Ctrl-Z) and white space.
_HAS_TEXT = re.compile(rb"[^\x00\x7f\x1a \t\r\n\x0b\x0c]")
_OTHER_FILES = (
    (b"PK\x03\x04", "a zip archive. Unpack it and give the program inside"),
    (b"%PDF-", "a PDF. Give the program the machine reads, not its print"),
    (b"\x1f\x8b", "a gzip archive. Unpack it and give the program inside"),
    (b"7z\xbc\xaf\x27\x1c", "a packed archive. Unpack it and give the program inside"),
    (b"Rar!", "a packed archive. Unpack it and give the program inside"),
    (b"\x89PNG", "a picture. Give the program the machine reads"),
    (b"\xff\xd8\xff", "a picture. Give the program the machine reads"),
    (b"GIF8", "a picture. Give the program the machine reads"),
    (b"\xd0\xcf\x11\xe0", "an office document. Save the program as plain text"),
    (b"{\\rtf", "an office document. Save the program as plain text"),
    (b"\x7fELF", "a computer program. Give the program the machine reads"),
)


class NotAProgram(ValueError):
    """The file cannot be read as an NC program; the message says what to do next."""


def decode(data: bytes, largest_bytes: int) -> str:
    """The program text of `data`, every line ended by one line feed.

    UTF-8 where it is valid, else Latin-1; a byte-order mark, tape leader and Ctrl-Z are dropped,
    a no-break space counts as a blank. Raises NotAProgram for other files, empty ones, and files
    above `largest_bytes` [bytes].

    >>> decode(b"\\xef\\xbb\\xbfT1 M6\\r\\nM30\\r\\n\\x1a", 1000)
    'T1 M6\\nM30\\n'
    """
    return "".join(ProgramText.of_file(data, largest_bytes).pieces())


@dataclass(frozen=True, slots=True)
class ProgramText:
    """The text of a program, given out in pieces so that a large file is never held twice."""

    body: bytes
    encoding: str

    @classmethod
    def of_file(cls, data: bytes, largest_bytes: int) -> ProgramText:
        """The text in the bytes of a file; raises NotAProgram as `decode` does."""
        _refuse_by_size(data, largest_bytes)
        _refuse_other_files(data)
        if data[:2] in (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE):
            return cls.of_text(data.decode("utf-16", errors="replace"))
        # Only the padding may go: a dropped line feed at the top would shift every line number.
        body = data.removeprefix(codecs.BOM_UTF8).lstrip(b"\x00\x7f").rstrip(b"\x00\x7f\x1a")
        _refuse_empty_or_binary(body)
        return cls(body, "utf-8" if _is_utf8(body) else "latin-1")

    @classmethod
    def of_text(cls, text: str) -> ProgramText:
        """The same of a text already decoded."""
        return cls(text.encode(), "utf-8")

    def pieces(self) -> Iterator[str]:
        """The text in pieces of whole lines, each line ended by one line feed."""
        start, size = 0, len(self.body)
        while start < size:
            end = self._end_of_piece(start)
            text = self.body[start:end].decode(self.encoding)
            text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\xa0", " ")
            yield text if text.endswith("\n") else text + "\n"
            start = end

    def _end_of_piece(self, start: int) -> int:
        """The place behind the last line end of a piece, or behind the first one after it."""
        end = start + PIECE_BYTES
        if end >= len(self.body):
            return len(self.body)
        for mark in (b"\n", b"\r"):
            place = self.body.rfind(mark, start, end)
            if place >= 0 and (mark == b"\n" or place + 1 < end):
                return place + 1
        places = [self.body.find(mark, end) for mark in (b"\n", b"\r\n", b"\r")]
        place = min((p for p in places if p >= 0), default=len(self.body))
        return place + (2 if self.body[place : place + 2] == b"\r\n" else 1)


def _refuse_by_size(data: bytes, largest_bytes: int) -> None:
    if len(data) > largest_bytes:
        raise NotAProgram(
            f"The file has {len(data) / 1e6:.1f} MB; the largest read is "
            f"{largest_bytes / 1e6:.1f} MB. Split the program, or raise the limit in the settings."
        )


def _refuse_other_files(data: bytes) -> None:
    for start, name in _OTHER_FILES:
        if data.startswith(start):
            raise NotAProgram(f"This is {name}.")


def _refuse_empty_or_binary(body: bytes) -> None:
    if not _HAS_TEXT.search(body):
        raise NotAProgram("The file is empty. Export the program again and give that file.")
    sample = body[:SAMPLE_BYTES]
    controls = len(sample) - len(sample.translate(None, _CONTROLS))
    if controls > LARGEST_CONTROL_SHARE * len(sample):
        raise NotAProgram("This is not text. Export the program as plain text and give that file.")


def _is_utf8(body: bytes) -> bool:
    """Whether the whole body is valid UTF-8, tried piece by piece."""
    decoder = codecs.getincrementaldecoder("utf-8")()
    try:
        for start in range(0, len(body), PIECE_BYTES):
            decoder.decode(body[start : start + PIECE_BYTES])
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True
