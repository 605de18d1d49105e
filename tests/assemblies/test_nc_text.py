"""Program text out of bytes, in pieces: every cut keeps lines, letters and their numbers."""

import pytest

from assemblies.rules.nc import text as module
from assemblies.rules.nc.reader import read_program
from assemblies.rules.nc.text import ProgramText, decode

LIMIT = 1_000_000
SAMPLES = [
    b"T1 M6\nX1\nX2\nM30\n",
    b"T1 M6\r\nX1\r\nX2\r\nM30\r\n",
    b"T1 M6\rX1\rX2\rM30",
    b"T1 M6\r\nX1\rX2\nM30\r\r\n\n",
    "T1 M6 (FR\u00c4SER \u2205 \u0411\u041e\u0420)\nX1\nM30".encode(),
    "T1 M6 (FR\u00c4SER)\nX1\u00a0Y2\nM30".encode("latin-1"),
    "T1 M6\r\nX1\r\nM30".encode("utf-16"),
    b"\xef\xbb\xbfT1 M6\nM30\n\x1a\x00",
    b"\x00\x00T1 M6\nM30",
]


def whole(data):
    """The same by hand, in one go."""
    for encoding in ("utf-16", "utf-8-sig", "latin-1"):
        if encoding == "utf-16" and data[:2] not in (b"\xff\xfe", b"\xfe\xff"):
            continue
        try:
            text = data.decode(encoding)
            break
        except UnicodeDecodeError:
            continue
    text = text.strip("\x00").rstrip("\x00\x1a")
    text = text.replace("\r\n", "\n").replace("\r", "\n").replace("\xa0", " ")
    return text if text.endswith("\n") else text + "\n"


@pytest.mark.parametrize("size", [1, 2, 3, 5, 8, 1000])
@pytest.mark.parametrize("data", SAMPLES)
def test_pieces_of_any_size_make_the_same_text(data, size, monkeypatch):
    monkeypatch.setattr(module, "PIECE_BYTES", size)
    pieces = list(ProgramText.of_file(data, LIMIT).pieces())
    assert "".join(pieces) == whole(data) == decode(data, LIMIT)
    assert all(piece.endswith("\n") for piece in pieces)


def test_a_program_cut_into_pieces_is_read_as_in_one(monkeypatch):
    lines = ["%", "O1", "G21 T1 M6", "S9 M3 F9", "G1 X1 Y1 Z1", "M98 P2"]
    lines += [f"X{n} Y2" for n in range(40)] + ["M30", "(A)", "O2", "X9", "M99", "%"]
    data = "\n".join(lines).encode()
    in_one = read_program(data).as_dict()
    monkeypatch.setattr(module, "PIECE_BYTES", 30)
    assert read_program(data).as_dict() == in_one
    assert in_one["complete"]


def test_one_line_longer_than_a_piece_stays_one_line(monkeypatch):
    monkeypatch.setattr(module, "PIECE_BYTES", 16)
    pieces = list(ProgramText.of_text("X1\n(" + "A" * 100 + ")\nX2\n").pieces())
    assert [piece.count("\n") for piece in pieces] == [1, 1, 1]
