"""The label code: eight letters from 40 random bits and one check letter.

The alphabet has no I, L, O and U, so a code reads the same on paper and aloud. The check letter
is a weighted sum over the field GF(32); it catches every single wrong letter and every swap of
two letters, which are the usual slips of copying.
"""

from __future__ import annotations

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
CODE_BITS = 40
CODE_LENGTH = 9
_LETTER_BITS = 5
#: x^5 + x^2 + 1, the polynomial that closes the field.
_POLYNOMIAL = 0b100101
_VALUES = {letter: value for value, letter in enumerate(ALPHABET)}


def gf32_times(a: int, b: int) -> int:
    """Product of two elements of GF(32), polynomials over GF(2) modulo x^5 + x^2 + 1.

    Source: arithmetic of finite fields, any textbook on coding theory.

    >>> gf32_times(16, 2)
    5
    """
    product = 0
    while b:
        if b & 1:
            product ^= a
        a <<= 1
        if a & 0b100000:
            a ^= _POLYNOMIAL
        b >>= 1
    return product


def _weights() -> tuple[int, ...]:
    powers = [1]
    for _ in range(CODE_LENGTH - 1):
        powers.append(gf32_times(powers[-1], 2))
    return tuple(powers[1:])


#: Weight of the first to the eighth letter: the powers 1 to 8 of 2. The check letter weighs 1.
_WEIGHTS = _weights()


def check_letter(letters: str) -> str:
    """The check letter of the eight `letters`; raises KeyError for a letter outside `ALPHABET`.

    >>> check_letter("7K2M9QXR")
    '4'
    """
    total = 0
    for letter, weight in zip(letters, _WEIGHTS, strict=True):
        total ^= gf32_times(_VALUES[letter], weight)
    return ALPHABET[total]


def code_from_bits(bits: int) -> str:
    """The nine-letter code of `bits` [0 .. 2^40 - 1]; the caller draws them at random.

    Raises ValueError outside that range.

    >>> code_from_bits(0x123456789A)
    '28T5CY4TQ'
    """
    if not 0 <= bits < 1 << CODE_BITS:
        raise ValueError(f"A label code is made of {CODE_BITS} bits.")
    shifts = range(CODE_BITS - _LETTER_BITS, -1, -_LETTER_BITS)
    letters = "".join(ALPHABET[(bits >> shift) & 0b11111] for shift in shifts)
    return letters + check_letter(letters)


def is_spelt_as_code(text: str) -> bool:
    """Whether `text` has nine letters, all of the alphabet; the check letter is not looked at.

    >>> is_spelt_as_code("7K2M9QXR5"), is_spelt_as_code("7K2M9QXRU")
    (True, False)
    """
    return len(text) == CODE_LENGTH and all(letter in _VALUES for letter in text)


def passes_check(code: str) -> bool:
    """Whether `code` is nine letters of the alphabet whose last is the check letter of the rest.

    >>> passes_check("7K2M9QXR4"), passes_check("7K2M9QRX4")
    (True, False)
    """
    return is_spelt_as_code(code) and check_letter(code[:-1]) == code[-1]


def printed_code(code: str) -> str:
    """The code as printed for people, in groups; raises ValueError when it fails the check.

    >>> printed_code("7K2M9QXR4")
    '7K2M-9QXR-4'
    """
    if not passes_check(code):
        raise ValueError("Not a label code: the check letter does not agree.")
    return f"{code[:4]}-{code[4:8]}-{code[8]}"
