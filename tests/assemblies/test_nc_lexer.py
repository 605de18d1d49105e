"""Lexical rules, checked with the worked examples printed in NIST IR 6556 (2000).

Its section stands beside each example. It was read in a transcription, not on printed paper.
"""

from itertools import permutations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assemblies.rules.nc.expressions import NotUnderstood, near_integer, value_at
from assemblies.rules.nc.lexer import take_apart
from assemblies.rules.nc.reader import read_program


def words(line, parameters=None):
    block = take_apart(line, parameters or {})
    assert block.problem == ""
    return [(word.letter, word.value) for word in block.words]


def value(code, parameters=None):
    result, end = value_at(code, 0, parameters or {})
    assert end == len(code)
    return result


def final_parameters(*lines):
    """Parameters after `lines`, seen through the tool number they select."""
    reading = read_program("\n".join([*lines, "T#3 M6", "M30"]).encode())
    return reading.tool_calls[-1].tool_number


def test_example_1_blanks_and_case_mean_nothing():
    assert words("g0x +0. 12 34y 7") == words("g0 x+0.1234 y7")  # 3.3


def test_example_2_the_sign_binds_to_the_nearest_value():
    parameters = {1: 2.0, 2: 30.0, 3: 4.0, 30: 7.0}
    assert value("[#1+2]", parameters) == 4.0  # 3.3.2.2: (#1)+2
    assert value("#[1+2]", parameters) == 4.0  # #3
    assert value("##2", parameters) == 7.0


def test_example_3_ranks_of_the_operators():
    assert value("[2.0/3*1.5-5.5/11.0]") == pytest.approx(0.5)  # 3.3.2.3


@pytest.mark.parametrize(
    ("code", "result"), [("FIX[2.8]", 2), ("FIX[-2.8]", -3), ("FUP[2.8]", 3), ("FUP[-2.8]", -2)]
)
def test_example_4_rounding_down_and_up(code, result):
    assert value(code) == result  # 3.3.2.4


def test_example_5_a_setting_acts_after_the_values_of_its_block():
    reading = read_program(b"#3=15\n#3=6 T#3 M6\nT#3 M6\nM30\n")  # 3.3.3
    assert [call.tool_number for call in reading.tool_calls] == [15, 6]


def test_example_6_the_last_of_two_settings_wins():
    assert final_parameters("#3=15 #3=6") == 6  # 3.3.3
    assert final_parameters("#3=6 #3=15") == 15


def test_example_7_all_orders_of_items_mean_the_same():
    items = ["g40", "g1", "#3=15", "(foo)", "#4=-7.0"]  # 3.3.5: 120 orders
    seen = set()
    for order in permutations(items):
        block = take_apart(" ".join(order), {})
        assert block.problem == ""
        read = sorted((word.letter, word.value) for word in block.words)
        seen.add((tuple(read), tuple(sorted(block.settings)), block.comments[0].text))
    assert len(seen) == 1


def test_example_8_a_comment_behind_words():
    block = take_apart("G80 M5 (stop motion)", {})  # 3.3.4
    assert [(w.letter, w.value) for w in block.words] == [("G", 80.0), ("M", 5.0)]
    assert block.comments[0].text == "stop motion"


def test_example_9_a_long_line_number_is_accepted_with_a_note():
    reading = read_program(b"N000009 T1 M6\nM30\n")  # 3.3.1: not legal there
    assert (reading.tool_calls[0].block_number, reading.complete) == ("000009", True)
    assert {note.code for note in reading.findings} == {"long-line-number"}


def test_example_18_values_in_brackets():
    assert words("G[2*5] L[1+1]") == words("G10 L2")  # 3.5.5


@pytest.mark.parametrize(
    ("number", "whole"),
    [(1.00005, 1), (3.00005, 3), (3.0001, None), (1.0001, None), (0.9999, None), (0.99995, 1)],
)
def test_near_integers_end_just_under_the_limit(number, whole):
    assert near_integer(number) == whole


@pytest.mark.parametrize(
    ("code", "result"),
    [
        ("[2**3**2]", 64),  # equal rank goes left to right
        ("[7MOD4]", 3),
        ("[0-1MOD4]", -1),
        ("[1+2*3]", 7),
        ("[1AND0OR1]", 1),
        ("[1XOR1]", 0),
        ("ATAN[1]/[1]", 45),
        ("SIN[30]", 0.5),
        ("ROUND[-2.5]", -3),
        ("SQRT[ABS[-9]]", 3),
        ("-[2]", -2),
        ("[2--3]", 5),
    ],
)
def test_expressions_have_the_ranks_and_degrees_of_the_report(code, result):
    assert value(code) == pytest.approx(result)


def test_a_value_of_an_unset_parameter_is_not_known():
    assert value("[#7+1]") is None


@pytest.mark.parametrize(
    "code", ["[1/0]", "#5400", "#0", "[1", "ATAN[1]", "SIN30", "", "LN[0]", "--5", "-+5", "[--5]"]
)
def test_values_without_a_meaning_are_refused(code):
    with pytest.raises(NotUnderstood):
        value_at(code, 0, {})


@pytest.mark.parametrize(
    "line", ["X1(c)2", "X(c)1", "X1(a(b)c)", "X1 (open", "1X", "X1.2.3", "X+-"]
)
def test_broken_blocks_name_their_problem(line):
    assert take_apart(line, {}).problem


def test_a_bracket_after_a_semicolon_means_nothing():
    block = take_apart("M5 ; stop (not closed", {})
    assert (block.problem, block.comments[0].text) == ("", "stop (not closed")


def test_a_message_is_told_from_a_comment():
    assert take_apart("( msg , Load tool 5)", {}).comments[0] == ("Load tool 5", True)


@pytest.mark.parametrize("line", ["/G1", "/2 G1", "N5 /G1", "/N5 G1"])
def test_block_delete_is_seen_with_and_without_switch_number(line):
    block = take_apart(line, {})
    assert block.deletable
    assert [word.letter for word in block.words] == ["G"]


PROGRAM = [
    ["G21", "G90"],
    ["#1=12000"],
    ["T4", "M6", "S#1"],
    ["M3", "G43", "H4"],
    ["G1", "X1.5", "Y2", "F900"],
    ["X3", "Z-1.25", "S8000"],
    ["T6", "M6", "S500", "M4", "M8"],
    ["G81", "X1", "Z-2", "R1", "F80"],
    ["M30"],
]


def reading_of(lines):
    reading = read_program("\n".join(lines).encode())
    facts = reading.as_dict()
    for record in (facts, *facts["tool_uses"].values(), *facts["tool_calls"], *facts["findings"]):
        for name in ("sha256", "size_bytes", "text", "block", "description"):
            record.pop(name, None)
    facts.pop("proposed_requirements")
    return facts


PLAIN = reading_of([" ".join(block) for block in PROGRAM])


def test_the_plain_form_is_complete():
    assert PLAIN["complete"]
    assert [use["spindle_speed_max"] for use in PLAIN["tool_uses"].values()] == [12000, 500]


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_order_of_words_changes_nothing(data):
    lines = [" ".join(data.draw(st.permutations(block))) for block in PROGRAM]
    assert reading_of(lines) == PLAIN


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_blanks_and_case_change_nothing(data):
    blanks = st.sampled_from(["", "", " ", "\t", "  "])
    lines = []
    for block in PROGRAM:
        text = "".join(block)
        text = "".join(letter + data.draw(blanks) for letter in text)
        lines.append(text.lower() if data.draw(st.booleans()) else text)
    assert reading_of(lines) == PLAIN


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_comments_between_words_change_nothing(data):
    comment = st.sampled_from(["", "(T9 M6 S99)", "( M4 )", "(MSG, G20)", "()"])
    lines = [
        "".join(data.draw(comment) + word for word in block) + data.draw(comment)
        for block in PROGRAM
    ]
    facts = reading_of(lines)
    facts["tool_list"] = PLAIN["tool_list"]
    assert facts == PLAIN


@settings(max_examples=200, deadline=None)
@given(st.text(alphabet="GMTSFXYZ#[]()/%;=0123456789.-+ \nNO*ß٣ſ", max_size=80))
def test_any_text_is_answered_and_nothing_doubtful_is_called_complete(text):
    reading = read_program(("G21\n" + text).encode())
    unknown = any(str(note.severity) == "unknown" for note in reading.findings)
    assert reading.complete is not unknown
