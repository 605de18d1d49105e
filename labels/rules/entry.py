"""Reading what a camera, a scanner or a person entered into a label code.

Only the form is judged here. Whether the code belongs to a label, and whether that label still
counts, is a question for the records.
"""

from __future__ import annotations

import string
from dataclasses import dataclass
from enum import StrEnum

from labels.rules.code import CODE_LENGTH, is_spelt_as_code, passes_check


class EntryProblem(StrEnum):
    """Why an entry is not a code; the values are stable names for programs and tests."""

    NOT_A_CODE = "not_a_code"
    CHECK_FAILED = "check_failed"


ENTRY_SENTENCES = {
    EntryProblem.NOT_A_CODE: "Not a label code. A code has 9 letters or digits: 7K2M-9QXR-4.",
    EntryProblem.CHECK_FAILED: "Mistyped or damaged code. Look at the letter groups again.",
}


@dataclass(frozen=True, slots=True)
class Entry:
    """An entry as read: either `code` (nine letters, check passed) or `problem`."""

    code: str | None = None
    problem: EntryProblem | None = None

    @property
    def sentence(self) -> str:
        """What people read about the problem; empty when there is none."""
        return ENTRY_SENTENCES[self.problem] if self.problem else ""


@dataclass(frozen=True, slots=True)
class LayoutGuess:
    """A code that an entry gives if the scanner types on a keyboard of another layout."""

    layout: str
    code: str


# ASCII only: str.upper() would turn letters of other scripts into letters of the alphabet.
_LOOKALIKES = str.maketrans("OIL", "011")
_TO_ALPHABET = _LOOKALIKES | str.maketrans(
    string.ascii_lowercase, string.ascii_uppercase.translate(_LOOKALIKES)
)
#: Hyphen, dot, and the dashes and blanks that phones and word processors put in their place.
_DROPPED = set("-.\u00ad\u2010\u2011\u2012\u2013\u2014\u2015\u2212\u200b\ufeff")


def read_entry(text: str, *, scanned: bool = False) -> Entry:
    """The code in `text`, or the problem with it.

    A whole address counts by its last part, whatever its host and case. With `scanned` only the
    last nine letters count: a wrong keyboard layout may have spoilt all that stands before.
    A typed entry must have exactly nine.

    >>> read_entry("http://crib.local:8000/s/7k2m9qxr4").code
    '7K2M9QXR4'
    >>> read_entry("7k2m 9qxr 5").problem
    <EntryProblem.CHECK_FAILED: 'check_failed'>
    """
    letters = _letters(text)
    if scanned:
        letters = letters[-CODE_LENGTH:]
    if not is_spelt_as_code(letters):
        return Entry(problem=EntryProblem.NOT_A_CODE)
    if not passes_check(letters):
        return Entry(problem=EntryProblem.CHECK_FAILED)
    return Entry(code=letters)


def _letters(text: str) -> str:
    # A bare host is no code, even where it happens to have nine letters.
    path = text.partition("://")[2].partition("/")[1:] if "://" in text else ("", text)
    last_part = "".join(path).strip().rpartition("/")[2]
    kept = "".join(c for c in last_part if c not in _DROPPED and not c.isspace())
    return kept.translate(_TO_ALPHABET)


_QWERTZ = str.maketrans("YZyz", "ZYzy")
#: What a French keyboard makes of the keys that a scanner means as on an English one.
_AZERTY = str.maketrans("AQZWaqzw" + "?,mM:;" + "&é\"'(-è_çà", "QAWZqawz" + "MmMM.." + "1234567890")
_LAYOUTS = {"QWERTZ": _QWERTZ, "AZERTY": _AZERTY}


def read_with_other_layouts(text: str) -> tuple[LayoutGuess, ...]:
    """The codes that a scanned `text` gives if the keyboard layout is wrong; often none.

    A guess passes the check letter by chance once in 32, so it needs a live label and a
    person's yes before it counts.

    >>> read_with_other_layouts("0000000YF")
    (LayoutGuess(layout='QWERTZ', code='0000000ZF'),)
    """
    guesses = []
    for layout, keys in _LAYOUTS.items():
        code = read_entry(text.translate(keys), scanned=True).code
        if code and code != read_entry(text, scanned=True).code:
            guesses.append(LayoutGuess(layout, code))
    return tuple(guesses)
