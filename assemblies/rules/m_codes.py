"""M codes of a machine's builder that a reading may pass over: they touch no tool or spindle."""

from __future__ import annotations

import re

from assemblies.rules.nc.codes import M_GROUP, M_SUBPROGRAM

#: More of them are a slip: a builder documents a handful. Source: our own limit.
MOST_CODES = 20
_LARGEST = 9999
_CODE = re.compile(r"[Mm]?([0-9]{1,6})")
#: Source: DIN 66025-2, from memory. M13 and M14 start the spindle together with the coolant, M19
#: stops it at an angle; M17 and M29 end a subprogram and begin tapping on many controls.
_TOUCHES_THE_SPINDLE = {13: "starts it right", 14: "starts it left", 19: "stops it at an angle"}
_OTHERS = {17: "ends a subprogram on many controls", 29: "begins tapping on many controls"}
#: Calls and ends of subprograms; a reading may follow some of them. Source: common practice.
_SUBPROGRAM = M_SUBPROGRAM | {98, 99}


class NotMCodes(ValueError):
    """The text is no list of M codes that may be passed over; the message says why."""


def read_m_codes(text: str) -> tuple[int, ...]:
    """Numbers of the M codes a person typed: `M10, M11` or `10 11`; each once, in order.

    Raises NotMCodes for anything else, for codes that the reader follows anyway or that touch
    tool or spindle, and for more than 20.
    Source: M codes of NIST IR 6556 (2000), 3.6; DIN 66025-2, from memory.

    >>> read_m_codes("m11, M10 m010"), read_m_codes("")
    ((10, 11), ())
    """
    codes = sorted({_code(word) for word in re.split(r"[\s,;]+", text) if word})
    for code in codes:
        _refuse_what_matters(code)
    if len(codes) > MOST_CODES:
        raise NotMCodes(f"{len(codes)} M codes; {MOST_CODES} is the most.")
    return tuple(codes)


def show_m_codes(codes: tuple[int, ...]) -> str:
    """The list as it is kept and shown.

    >>> show_m_codes((10, 11))
    'M10 M11'
    """
    return " ".join(f"M{code}" for code in codes)


def _code(word: str) -> int:
    match = _CODE.fullmatch(word)
    if match is None or int(match[1]) > _LARGEST:
        raise NotMCodes(f"“{word[:12]}” is no M code. Type them as M10 M11.")
    return int(match[1])


def _refuse_what_matters(code: int) -> None:
    if code in M_GROUP or code in _SUBPROGRAM:
        raise NotMCodes(f"M{code} is read for what it does and cannot be passed over.")
    if code in _TOUCHES_THE_SPINDLE:
        raise NotMCodes(f"M{code} touches the spindle: it {_TOUCHES_THE_SPINDLE[code]}.")
    if code in _OTHERS:
        raise NotMCodes(f"M{code} {_OTHERS[code]} and cannot be passed over.")
