"""Lengths of paths against those of an outside library, kept as numbers.

pygcode 0.2.1 is a general library for G-code. Its figures were taken once and stand in
`library_lengths.json`, because its parts come as source only and cannot be locked with the others.
It is used where it is right: straight moves, and open arcs and helices in the X-Y plane, by centre
and by radius. Its faults, found when the figures were taken, and so left out: a full circle has no
length or ends in an error, a quarter circle in G18 or G19 comes out three times too long, G82
and G89 end in an error, a drilled hole now and then gets a peck of 0.1 mm by rounding, and G20
and G21 do not convert.
"""

import json
from pathlib import Path

import pytest

from assemblies.rules.nc.reader import read_program
from tests.assemblies.nc_oracle import read_slowly

KEPT = Path(__file__).parent.parent / "data" / "nc_oracle" / "library_lengths.json"
ROWS = json.loads(KEPT.read_text(encoding="utf-8"))["programs"]
#: Ends are written with three decimals and so lie a little off their circle: the library moves the
#: centre, others the radius [mm].
CLOSE = 0.02
FIGURES = ("feed_path_length", "rapid_path_length", "deepest_z")


def text_of(row):
    return "\n".join(["G21 G90 G17 G94", "T1 M6", "S1000 M3", *row["program"], "M30", ""])


@pytest.mark.parametrize("row", ROWS, ids=range(len(ROWS)))
def test_lengths_are_those_of_the_library(row):
    reading = read_program(text_of(row).encode())
    use = reading.tool_uses[1]
    assert reading.complete
    for figure in FIGURES:
        assert use.exact[figure]
        assert getattr(use, figure) == pytest.approx(row[figure], abs=CLOSE)


@pytest.mark.parametrize("row", ROWS[:10], ids=range(10))
def test_the_slow_reading_finds_the_same(row):
    use = read_slowly(text_of(row), steps=3000)[1]
    assert [use[figure] for figure in FIGURES] == pytest.approx(
        [row[figure] for figure in FIGURES], abs=CLOSE
    )
