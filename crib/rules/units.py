"""Lengths, torques and their printed forms.

Lengths are stored as whole micrometres so that equality means equality on every
database. Millimetres and inches live at the edge only.
"""

from __future__ import annotations

import re
from decimal import ROUND_HALF_EVEN, Decimal, InvalidOperation
from fractions import Fraction

UM_PER_MM = 1000
UM_PER_INCH = 25400
#: No length in a tool crib is longer than this; larger input is a slip of the keyboard.
LONGEST_UM = 10_000_000
#: Characters of the longest text that is read as a length.
_LONGEST_TEXT = 40


class NotALength(ValueError):
    """The text does not name one length; the message says why, for people."""


def um_from_mm(value_mm: Decimal | str | int) -> int:
    """Whole micrometres [um] of `value_mm` [mm], half to even.

    >>> um_from_mm("12.7")
    12700
    """
    return int((Decimal(value_mm) * UM_PER_MM).to_integral_value(ROUND_HALF_EVEN))


def um_from_inch(value_inch: Fraction | Decimal | str | int) -> int:
    """Whole micrometres [um] of `value_inch` [in], half to even (1 in = 25.4 mm exactly).

    >>> um_from_inch(Fraction(1, 64))
    397
    """
    return round(Fraction(value_inch) * UM_PER_INCH)


def mm_from_um(value_um: int) -> Decimal:
    """Millimetres [mm] of whole micrometres [um], exact.

    >>> mm_from_um(396875)
    Decimal('396.875')
    """
    return Decimal(value_um) / UM_PER_MM


_NUMBER = r"[0-9]*[.,]?[0-9]+|[0-9]+[.,]"
_LENGTH = re.compile(
    rf"^(?P<sign>[-+]?)(?:(?P<whole>[0-9]+)[ -])?(?P<num>[0-9]+)/(?P<den>[0-9]+)(?P<fu>[a-z\"”″]*)$"
    rf"|^(?P<dsign>[-+]?)(?P<value>{_NUMBER})(?P<du>[a-z\"”″µμ]*)$"
)
_INCH_WORDS = {"in", "inch", "inches", '"', "”", "″"}
_MM_WORDS = {"mm", ""}
_UM_WORDS = {"um", "µm", "μm"}


def read_length_um(text: str, default_unit: str = "mm") -> int:
    """Whole micrometres [um] of what a person typed: `12,7`, `12.7 mm`, `1/2 in`, `1 1/4"`, `5 µm`.

    A fraction without a unit is taken as inches: nobody writes 1/2 for half a millimetre.
    `default_unit` (`mm` or `in`) is the unit of a decimal number without one.
    Raises NotALength for anything else, for negative values and above 10 m.

    >>> read_length_um("1/2 in"), read_length_um("12,7"), read_length_um('1 1/4"')
    (12700, 12700, 31750)
    """
    if len(text.strip()) > _LONGEST_TEXT:
        raise NotALength(f"“{text.strip()[:40]}” is too long for a length.")
    squeezed = re.sub(r"\s+", " ", text.strip().lower())
    squeezed = re.sub(r" (?=[a-z\"”″µμ])", "", squeezed)
    match = _LENGTH.match(squeezed)
    if match is None:
        raise NotALength(f"“{text.strip()[:40]}” is not a length. Type 12.7, 12.7 mm or 1/2 in.")
    if match["num"] is not None:
        um = _fraction_um(match, text)
        sign = match["sign"]
    else:
        um = _decimal_um(match, default_unit, text)
        sign = match["dsign"]
    if sign == "-":
        raise NotALength("A length cannot be negative.")
    if um > LONGEST_UM:
        raise NotALength(f"{text.strip()[:40]} is longer than 10 m. Look at the decimal point.")
    return um


def _fraction_um(match: re.Match, text: str) -> int:
    if match["fu"] not in _INCH_WORDS | {""}:
        raise NotALength(f"“{text.strip()[:40]}”: a fraction must be in inches, as 1/2 in.")
    if int(match["den"]) == 0:
        raise NotALength(f"“{text.strip()[:40]}” divides by zero.")
    whole = Fraction(int(match["whole"] or 0))
    return um_from_inch(whole + Fraction(int(match["num"]), int(match["den"])))


def _decimal_um(match: re.Match, default_unit: str, text: str) -> int:
    unit = match["du"] or default_unit
    try:
        value = Decimal(match["value"].replace(",", "."))
    except InvalidOperation as error:  # pragma: no cover - the pattern admits digits only
        raise NotALength(f"“{text.strip()[:40]}” is not a number.") from error
    if len(match["value"]) > 20:
        raise NotALength("That number is too long for a length.")
    if unit in _INCH_WORDS:
        return um_from_inch(value)
    if unit in _UM_WORDS:
        return int(value.to_integral_value(ROUND_HALF_EVEN))
    if unit in _MM_WORDS:
        return um_from_mm(value)
    raise NotALength(f"“{unit}” is not a unit of length here. Use mm or in.")


def show_mm(value_um: int | None, decimals: int = 2) -> str:
    """`value_um` [um] as millimetres with fixed decimals, without the unit; "not known" for None.

    More decimals are shown when rounding would hide part of the value, so that two different
    stored values never print the same next to each other.

    >>> show_mm(12700), show_mm(12713), show_mm(None)
    ('12.70', '12.713', 'not known')
    """
    if value_um is None:
        return "not known"
    step = 10 ** (3 - decimals)
    shown = decimals if value_um % step == 0 else 3
    return f"{mm_from_um(value_um):.{shown}f}"


def show_inch(value_um: int | None) -> str:
    """The inch fraction of a length bought in inches: nearest 1/64 in within 1 um, else decimals.

    >>> show_inch(6350), show_inch(12700), show_inch(397), show_inch(10000)
    ('1/4 in', '1/2 in', '1/64 in', '0.3937 in')
    """
    if value_um is None:
        return "not known"
    if value_um < 0:
        return f"-{show_inch(-value_um)}"
    sixty_fourths = round(Fraction(value_um, UM_PER_INCH) * 64)
    if sixty_fourths and abs(um_from_inch(Fraction(sixty_fourths, 64)) - value_um) <= 1:
        whole, rest = divmod(Fraction(sixty_fourths, 64), 1)
        parts = ([str(whole)] if whole else []) + ([str(rest)] if rest else [])
        return " ".join(parts) + " in"
    return f"{Decimal(value_um) / UM_PER_INCH:.4f} in"


def show_length(value_um: int | None, bought_in_inches: bool = False, decimals: int = 2) -> str:
    """Length [um] as people read it: `6.35 mm = 1/4 in` when bought in inches, else `6.00 mm`.

    >>> show_length(6350, bought_in_inches=True), show_length(6000)
    ('6.35 mm = 1/4 in', '6.00 mm')
    """
    if value_um is None:
        return "not known"
    shown = f"{show_mm(value_um, decimals)} mm"
    return f"{shown} = {show_inch(value_um)}" if bought_in_inches else shown


def nm_from_mnm(value_mnm: int) -> Decimal:
    """Newton metres [N·m] of whole millinewton metres [mN·m], exact.

    >>> nm_from_mnm(136000)
    Decimal('136')
    """
    return Decimal(value_mnm) / 1000


def mnm_from_nm(value_nm: Decimal | str | int) -> int:
    """Whole millinewton metres [mN·m] of `value_nm` [N·m], half to even.

    >>> mnm_from_nm("56.5")
    56500
    """
    return int((Decimal(value_nm) * 1000).to_integral_value(ROUND_HALF_EVEN))


def show_nm(value_mnm: int | None) -> str:
    """Torque [mN·m] as newton metres without superfluous zeros; "not known" for None.

    >>> show_nm(136000), show_nm(7500), show_nm(None)
    ('136', '7.5', 'not known')
    """
    if value_mnm is None:
        return "not known"
    text = f"{nm_from_mnm(value_mnm):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
