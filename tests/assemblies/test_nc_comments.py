"""Tool descriptions in comments: shown always, read only where they leave no choice."""

import pytest

from assemblies.rules.nc.reader import read_program


def read(*lines):
    return read_program("\n".join(["G21", *lines, "M30"]).encode())


def proposal(text, number=5, unit="G21"):
    reading = read_program(f"{unit}\nT{number} M6 ({text})\nM30\n".encode())
    return reading.proposed_requirements[0]


@pytest.mark.parametrize(
    ("text", "diameter_um", "corner_um", "kind"),
    [
        ("10MM END MILL", 10000, None, "end_mill"),
        ("8.5 mm drill", 8500, None, "drill"),
        ("1/4 END MILL", 6350, None, "end_mill"),
        ('1/2" DRILL', 12700, None, "drill"),
        ("1-1/4 IN FACE MILL", 31750, None, "face_mill"),
        ("TOOL 5 - DRILL D8.5", 8500, None, "drill"),
        ("T5 UPCUT DIA 6", 6000, None, "spiral_up"),
        ("T5 COMPRESSION END MILL D=12", 12000, None, "compression"),
        ("T5 DOWN-CUT Ø8,5", 8500, None, "spiral_down"),
        ("BULL NOSE DIA 10 CR=0.5", 10000, 500, "bull_nose"),
        ("BALL NOSE D6.0 R3.0", 6000, 3000, "ball_nose"),
        ("10MM CARBIDE END MILL", 10000, None, "end_mill"),
    ],
)
def test_unmistakable_values_are_proposed(text, diameter_um, corner_um, kind):
    proposed = proposal(text)
    assert (proposed.diameter_um, proposed.corner_radius_um, proposed.kind) == (
        diameter_um,
        corner_um,
        kind,
    )


@pytest.mark.parametrize(
    "text",
    [
        "10MM DEEP POCKET",
        "DRILL 8.5",  # a number alone may be a depth
        "DRILL 45MM LONG",
        "10MM OR 12MM END MILL",
        "D10 WAS D12 END MILL",
        "T5 | DRILL | H5 | D5",  # D5 is the offset number
        "D5 END MILL",  # so it may be here
        "D10 D12 END MILL",
        "3X10MM DRILL",
        "REV R3",
        "FRAESER 10",
        "END MILL D10 R6",  # corner larger than half the diameter
    ],
)
def test_texts_that_leave_a_choice_propose_no_size_and_are_shown(text):
    proposed = proposal(text)
    assert (proposed.diameter_um, proposed.corner_radius_um) == (None, None)
    assert text in proposed.text


@pytest.mark.parametrize(
    "text", ["SPOT DRILL", "CENTRE DRILL", "6.8MM TAP DRILL", "DRILL AND TAP", "DRILLING", "BOHRER"]
)
def test_kinds_that_may_be_another_are_not_proposed(text):
    assert proposal(text).kind is None


def test_a_number_without_a_unit_takes_the_programs_only_unit():
    assert proposal("DRILL D0.5", unit="G20").diameter_um == 12700
    assert proposal("DRILL D0.5", unit="G20\nG21").diameter_um is None
    assert proposal("DRILL D0.5", unit="G90").diameter_um is None


@pytest.mark.parametrize(
    "line",
    [
        "(T5 | DRILL 8.5 | H5 | D5)",
        "(TOOL 5 - DRILL D8.5)",
        "; T5 = 8.5 mm drill",
        "(T05 DRILL)",
        "(  5   8.5 MM DRILL   STICKOUT 45 )",
    ],
)
def test_a_list_at_the_head_is_kept_by_tool_number(line):
    reading = read(line, "T5 M6")
    assert list(reading.tool_list) == [5]
    assert reading.tool_uses[5].description == reading.tool_list[5]
    assert reading.proposed_requirements[0].line == 2


@pytest.mark.parametrize("line", ["(5 MM DEEP)", "(T9 M6)", "(TAKE CARE)", "(5MM DRILL)", "(T5.5)"])
def test_other_comments_at_the_head_are_no_list(line):
    assert read(line, "T5 M6").tool_list == {}


def test_list_and_calls_that_differ_are_noted():
    reading = read("(T1 DRILL)", "(T2 END MILL)", "T1 M6", "T3 M6")
    found = {(n.code, n.tool_number) for n in reading.findings if n.code.count("list")}
    assert found == {("listed-not-called", 2), ("called-not-listed", 3)}


def test_a_line_beside_the_call_counts_only_when_it_names_the_tool():
    reading = read("T1 M6", "T2 M6", "(TOOL 2 - 6MM DRILL)", "T3 M6", "(10MM END MILL)", "T4 M6")
    assert [p.tool_number for p in reading.proposed_requirements] == [2]


def test_a_message_that_names_the_tool_is_shown():
    reading = read("T1 M6", "T5 M6", "(MSG, LOAD TOOL 5 6MM DRILL)")
    assert reading.tool_uses[5].description == "LOAD TOOL 5 6MM DRILL"
    assert reading.proposed_requirements[0].diameter_um == 6000


def test_texts_that_contradict_each_other_propose_nothing_and_say_so():
    reading = read("(T5 8MM DRILL)", "T5 M6 (10MM DRILL)")
    assert reading.proposed_requirements[0].diameter_um is None
    assert reading.proposed_requirements[0].kind == "drill"
    assert "description-differs" in {note.code for note in reading.findings}


def test_a_comment_about_another_tool_is_not_this_ones():
    assert read("T5 M6 (T6 NEXT 8MM DRILL)").proposed_requirements == []
