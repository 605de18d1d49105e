"""What cameras, scanners and people enter, and the code it is read as."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from labels.rules.code import code_from_bits, passes_check, printed_code
from labels.rules.entry import (
    EntryProblem,
    read_entry,
    read_with_other_layouts,
)

CODE = "7K2M9QXR4"


@pytest.mark.parametrize(
    "text",
    [
        "7K2M9QXR4",
        "7k2m-9qxr-4",
        " 7K2M 9QXR 4 \r\n",
        "7K2M.9QXR.4",
        "7K2M–9QXR—4",
        "http://CRIB.LOCAL:8000/S/7K2M9QXR4",
        "HTTPS://ELSEWHERE.EXAMPLE/S/7K2M9QXR4",
        "http://crib.local/s/7k2m-9qxr-4",
        "/s/7K2M9QXR4",
    ],
)
def test_addresses_and_typed_codes_are_read(text):
    assert read_entry(text).code == CODE
    assert read_entry(text, scanned=True).code == CODE


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("OOOOOOOOO", "000000000"),
        ("oooo-ooo1-d", "00000001D"),
        ("0000-000I-D", "00000001D"),
        ("0000-000l-D", "00000001D"),
    ],
)
def test_letters_that_look_like_figures_count_as_figures(text, code):
    assert read_entry(text).code == code


@pytest.mark.parametrize("mangled", ["httpÖ--CRIB.LOCALÖ8000-S-7K2M9QXR4", "xxxxxxxx7K2M9QXR4"])
def test_from_a_scanner_only_the_last_nine_letters_count(mangled):
    assert read_entry(mangled, scanned=True).code == CODE
    assert read_entry(mangled).problem is EntryProblem.NOT_A_CODE


@pytest.mark.parametrize(
    "text",
    [
        "",
        "  ",
        "7K2M9QXR",
        "7K2M9QXR44",
        "7K2M9QXRU",
        "1044",
        "7K2M9QXR?",
        "http://crib.local/",
        "http://crib.local",
        "http://7K2M9QXR4",
        "/s/7K2M9QXR4/",
        "http://crib.local/s/7K2M9QXR",
        "7K2M9QXR٤",
        "7K2M9QXR4?x=1",
        "ſK2M9QXR4",
        "\x007K2M9QXR4",
    ],
)
def test_a_foreign_letter_or_a_wrong_length_is_not_a_code(text):
    entry = read_entry(text)
    assert entry.problem is EntryProblem.NOT_A_CODE
    assert entry.problem == "not_a_code"
    assert entry.code is None
    assert entry.sentence


@pytest.mark.parametrize("text", ["7K2M9QXR5", "K72M9QXR4", "http://crib.local/S/7K2M9QRX4"])
def test_a_slip_of_copying_fails_the_check(text):
    entry = read_entry(text)
    assert entry.problem == "check_failed"
    assert entry.code is None
    assert entry.sentence


@given(st.integers(0, (1 << 40) - 1))
def test_every_printed_code_is_read_back(bits):
    code = code_from_bits(bits)
    assert read_entry(printed_code(code).lower()).code == code


@given(st.text(max_size=40), st.booleans())
def test_whatever_is_entered_gives_a_code_that_passes_or_a_problem(text, scanned):
    entry = read_entry(text, scanned=scanned)
    assert (entry.code is None) != (entry.problem is None)
    assert entry.code is None or passes_check(entry.code)


def test_a_scanner_on_a_german_layout_is_guessed():
    (guess,) = read_with_other_layouts("httpÖ--CRIB.LOCAL-S-0000000YF")
    assert (guess.layout, guess.code) == ("QWERTZ", "0000000ZF")


def test_a_scanner_on_a_french_layout_is_guessed():
    # 7K2M9QXR4 as capitals with Shift, figures without.
    guesses = read_with_other_layouts("èKé?çAXR'")
    assert [(g.layout, g.code) for g in guesses] == [("AZERTY", CODE)]


def test_a_code_that_reads_well_as_it_is_gives_no_guess():
    assert read_with_other_layouts(CODE) == ()
