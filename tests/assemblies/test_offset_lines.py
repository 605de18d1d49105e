"""Offsets as lines for a control: only what was released and measured, and never a guess."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from assemblies.rules.nc.reader import read_program
from assemblies.rules.offset_lines import (
    CSV_HEAD,
    OffsetHead,
    OffsetUnit,
    ToolOffset,
    comment,
    csv_row,
    offset_block,
    offset_lines,
    why_no_line,
)

KNOWN = ToolOffset(
    tool_number=5,
    assembly_number=1041,
    revision=2,
    released=True,
    gauge_length_um=95_000,
    diameter_um=12_000,
    measured_on=date(2026, 5, 12),
    runout_um=12,
    holder_mark="H-04",
    pocket_text="5",
    length_registers=frozenset({5}),
    radius_registers=frozenset(),
)
HEAD = OffsetHead(program="HM-0412 C", machine="R2 Router 2", made_at="2026-05-12 14:05")


def blocks(*tools, head=HEAD, unit=OffsetUnit.MM):
    lines = offset_lines(tools, head, unit)
    return [line for line in lines if line.startswith("G10")]


#: Worked by hand: 95 / 25.4 = 3.740157..., 6 / 25.4 = 0.236220...; 4.93 is half of 9.86.
@pytest.mark.parametrize(
    ("length_um", "diameter_um", "mm", "inch"),
    [
        (95_000, 12_000, "Z95.000 R6.000", "Z3.74016 R0.23622"),
        (97_000, 12_700, "Z97.000 R6.350", "Z3.81890 R0.25000"),
        (132_000, 9_860, "Z132.000 R4.930", "Z5.19685 R0.19409"),
        (76_201, 9_861, "Z76.201 R4.9305", "Z3.00004 R0.19411"),
    ],
)
def test_length_and_radius_are_exact_in_the_unit_of_the_program(length_um, diameter_um, mm, inch):
    tool = replace(KNOWN, gauge_length_um=length_um, diameter_um=diameter_um)
    assert offset_block(tool, OffsetUnit.MM) == f"G10 L1 P5 {mm}"
    assert offset_block(tool, OffsetUnit.INCH) == f"G10 L1 P5 {inch}"


@pytest.mark.parametrize(
    "changed",
    [
        {"assembly_number": None},
        {"revision": None},
        {"released": False},
        {"gauge_length_um": None},
        {"diameter_um": None},
        {"gauge_length_um": None, "diameter_um": None},
        {"refused_because": "Stud A fitted. This machine needs stud B."},
        {"length_registers": frozenset({15})},
        {"length_registers": frozenset({5, 15})},
        {"length_registers": None},
        {"radius_registers": frozenset({15})},
        {"radius_registers": None},
        {"touched_off": True, "diameter_um": None},
    ],
)
def test_what_is_not_sure_is_a_comment_and_never_a_line(changed):
    tool = replace(KNOWN, **changed)
    reason = why_no_line(tool)
    assert reason
    assert blocks(tool) == []
    said = [line for line in offset_lines([tool], HEAD, OffsetUnit.MM) if line.startswith("(T5")]
    assert said == [comment(f"T5: no line, {reason}")]
    with pytest.raises(ValueError, match="No offsets for T5"):
        offset_block(tool, OffsetUnit.MM)


def test_another_register_is_named():
    assert "H15" in why_no_line(replace(KNOWN, length_registers=frozenset({15})))
    assert "D15" in why_no_line(replace(KNOWN, radius_registers=frozenset({15})))


def test_a_length_that_is_touched_off_is_not_written():
    assert blocks(replace(KNOWN, touched_off=True, gauge_length_um=None)) == ["G10 L1 P5 R6.000"]


def test_a_machine_that_touches_off_every_load_gets_no_lengths_and_is_told_why():
    head = replace(HEAD, touches_off_every_load=True)
    assert blocks(KNOWN, head=head) == ["G10 L1 P5 R6.000"]
    assert any("touches off every load" in line for line in offset_lines([], head, OffsetUnit.MM))


def test_no_value_is_ever_zero():
    tools = [replace(KNOWN, **{name: None}) for name in ("gauge_length_um", "diameter_um")]
    lines = offset_lines(tools, HEAD, OffsetUnit.MM)
    assert not any(" Z0" in line or " R0.0" in line for line in lines)


@pytest.mark.parametrize(("unit", "word"), [(OffsetUnit.MM, "G21"), (OffsetUnit.INCH, "G20")])
def test_the_unit_stands_before_the_first_value(unit, word):
    lines = offset_lines([KNOWN], HEAD, unit)
    assert lines.index(word) < lines.index(offset_block(KNOWN, unit))


def test_the_comment_names_assembly_revision_and_day():
    (said,) = [line for line in offset_lines([KNOWN], HEAD, OffsetUnit.MM) if "(T5" in line]
    assert "1041 r2, measured 12 May 2026, offsets from the record" in said
    assert "touch off where your machine does" in said


def test_warnings_stand_at_the_head():
    head = replace(HEAD, warnings=("NOT APPROVED on Router 2",))
    lines = offset_lines([KNOWN], head, OffsetUnit.MM)
    warned = lines.index("(Warning: NOT APPROVED on Router 2)")
    assert warned < lines.index("G21")


@pytest.mark.parametrize(
    "text",
    [
        ") G0 Z-100 (",
        "name\nG0 Z-100",
        "name\r\nM3 S24000",
        "; M6",
        "%",
        "\0\x1b[2J",
        "é ü Ø ± – 刀",
        "x" * 500,
        "(((",
    ],
)
def test_nothing_in_a_name_becomes_a_block(text):
    line = comment(text)
    assert line.count("(") == line.count(")") == 1
    assert (line[0], line[-1]) == ("(", ")")
    assert line.isascii()
    assert line.isprintable()
    assert len(line) <= 256


def test_a_hostile_name_leaves_the_file_as_it_is():
    head = replace(HEAD, program="A)\nG0 Z-100", machine="R)(2", warnings=("B\rM3",))
    tool = replace(KNOWN, refused_because="C)\nM6 T1")
    for line in offset_lines([tool, KNOWN], head, OffsetUnit.MM):
        assert line in ("%", "G21", "G10 L1 P5 Z95.000 R6.000") or comment(line[1:-1]) == line


#: Our own reader of NIST IR 6556: the lines are sound blocks that move and turn nothing.
@pytest.mark.parametrize("unit", OffsetUnit)
def test_the_file_reads_as_a_program_that_changes_no_tool(unit):
    other = replace(KNOWN, tool_number=7, released=False)
    reading = read_program("\n".join(offset_lines([KNOWN, other], HEAD, unit)).encode())
    assert reading.tool_calls == []
    assert reading.end_of_program == "%"
    assert reading.length_units <= {str(unit)}
    assert {note.code for note in reading.findings} <= {"not-understood"}


def test_the_table_has_a_cell_for_each_column_and_leaves_the_unknown_empty():
    row = dict(zip(CSV_HEAD, csv_row(KNOWN), strict=True))
    assert (row["length mm"], row["length inch"], row["runout mm"]) == (
        "95.000",
        "3.74016",
        "0.012",
    )
    assert (row["T"], row["pocket"], row["holder mark"], row["note"]) == (5, "5", "H-04", "")
    bare = dict(zip(CSV_HEAD, csv_row(ToolOffset(tool_number=9)), strict=True))
    assert {bare[name] for name in CSV_HEAD[1:-1]} == {""}
    assert bare["note"] == "no assembly stands for it"
