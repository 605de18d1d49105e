"""The label code: its vectors, its field and the slips it must catch."""

from itertools import combinations, product

import pytest

from labels.rules.code import (
    ALPHABET,
    check_letter,
    code_from_bits,
    gf32_times,
    is_spelt_as_code,
    passes_check,
    printed_code,
)

# Worked by hand from the definition of the check letter, not by this code.
VECTORS = {
    0x0000000000: "0000-0000-0",
    0x0000000001: "0000-0001-D",
    0x000000001F: "0000-000Z-F",
    0x0000000020: "0000-0010-M",
    0x123456789A: "28T5-CY4T-Q",
    0xFFFFFFFFFF: "ZZZZ-ZZZZ-3",
    0xDEADBEEF01: "VTPV-XVR1-H",
}

# Powers of the primitive element of GF(2^5) with p(X) = 1 + X^2 + X^5, as tables in textbooks
# on error control coding list them (Lin and Costello, appendix on Galois fields; from memory).
POWERS = (
    *(1, 2, 4, 8, 16, 5, 10, 20, 13, 26, 17, 7, 14, 28, 29, 31),
    *(27, 19, 3, 6, 12, 24, 21, 15, 30, 25, 23, 11, 22, 9, 18),
)
FIELD = range(32)


def times_by_table(a, b):
    if 0 in (a, b):
        return 0
    return POWERS[(POWERS.index(a) + POWERS.index(b)) % 31]


@pytest.mark.parametrize(("bits", "printed"), VECTORS.items())
def test_the_vectors_worked_by_hand_come_out(bits, printed):
    assert printed_code(code_from_bits(bits)) == printed


def test_the_example_code_passes():
    assert passes_check("7K2M9QXR4")


@pytest.mark.parametrize("bits", [-1, 1 << 40])
def test_bits_outside_forty_are_refused(bits):
    with pytest.raises(ValueError, match="40 bits"):
        code_from_bits(bits)


def test_every_product_agrees_with_the_table_of_powers():
    assert sorted(POWERS) == list(range(1, 32))
    for a, b in product(FIELD, FIELD):
        assert gf32_times(a, b) == times_by_table(a, b)


def test_the_field_axioms_hold():
    for a, b, c in product(FIELD, FIELD, FIELD):
        assert gf32_times(a, b ^ c) == gf32_times(a, b) ^ gf32_times(a, c)
        assert gf32_times(gf32_times(a, b), c) == gf32_times(a, gf32_times(b, c))
    for a in range(1, 32):
        assert gf32_times(a, 1) == a
        assert sorted(gf32_times(a, b) for b in FIELD) == list(FIELD)


@pytest.mark.parametrize("printed", VECTORS.values())
def test_every_single_wrong_letter_is_caught(printed):
    code = printed.replace("-", "")
    for place, letter in product(range(9), ALPHABET):
        wrong = code[:place] + letter + code[place + 1 :]
        assert passes_check(wrong) == (wrong == code)


def swapped(code, i, j):
    letters = list(code)
    letters[i], letters[j] = letters[j], letters[i]
    return "".join(letters)


@pytest.mark.parametrize(("i", "j"), tuple(combinations(range(8), 2)))
def test_every_swap_of_two_of_the_eight_letters_is_caught(i, j):
    for a, b in product(ALPHABET, ALPHABET):
        letters = list("7K2M9QXR")
        letters[i], letters[j] = a, b
        code = "".join(letters) + check_letter("".join(letters))
        assert passes_check(swapped(code, i, j)) == (a == b)


@pytest.mark.parametrize("i", range(8))
def test_every_swap_with_the_check_letter_is_caught(i):
    pairs = set()
    for a, filler in product(ALPHABET, ALPHABET):
        letters = list("7K2M9QXR")
        letters[i], letters[(i + 1) % 8] = a, filler
        code = "".join(letters) + check_letter("".join(letters))
        pairs.add((a, code[8]))
        assert passes_check(swapped(code, i, 8)) == (a == code[8])
    assert len(pairs) == 32 * 32


@pytest.mark.parametrize("text", ["", "7K2M9QXR", "7K2M9QXR44", "7K2M9QXRU", "7k2m9qxr4"])
def test_what_is_not_nine_letters_of_the_alphabet_is_no_code(text):
    assert not is_spelt_as_code(text)
    assert not passes_check(text)


def test_a_wrong_code_is_never_printed():
    with pytest.raises(ValueError, match="check letter"):
        printed_code("7K2M9QXR5")
