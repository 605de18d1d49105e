"""A stack written as JSON, read strictly: every slip is named by its place, several at once."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from difflib import get_close_matches

from assemblies.rules.stack import CutterPart, ShopLimits, Stack, Stage
from assemblies.rules.stack_json_names import ENTRIES, LIMIT_ENTRIES, PARTS, Entry
from assemblies.rules.stack_json_values import NoFiniteNumber, Unfit, read_truth, read_word

#: A stack is a few thousand bytes; more is another file.
MOST_BYTES = 200_000
#: Names that nobody knows, told one by one; what more there are is the same slip.
MOST_STRANGE_NAMES = 20
_LONGEST_NUMBER = 30
_LONGEST_NAME = 40
_TOP = ("stage", "coolant_wanted", *PARTS, "limits")


@dataclass(frozen=True, slots=True)
class Slip:
    """One thing wrong with the input: where, and what was expected there."""

    path: str
    expected: str

    def __str__(self) -> str:
        return f"{self.path}: {self.expected}"


class NotAStack(ValueError):
    """The input is no stack; `slips` says where and why."""

    def __init__(self, slips: list[Slip]):
        super().__init__("; ".join(str(slip) for slip in slips))
        self.slips = slips


@dataclass(frozen=True, slots=True)
class AskedStack:
    """What a file asks: the stack, how far it has come, the limits it is held against."""

    stack: Stack
    stage: Stage
    limits: ShopLimits


class _Object(dict):
    """An object of the JSON that remembers which of its names stood there twice."""

    repeated: tuple[str, ...] = ()


def read_stack(data: bytes, usual: ShopLimits) -> AskedStack:
    """The stack, stage and limits that a JSON text asks for. Raises NotAStack.

    `usual` are the limits where the text names none.

    >>> asked = read_stack(b'{"cutter": {"shank_mm": "1/2 in"}}', ShopLimits())
    >>> asked.stack.cutter.shank_um, str(asked.stage)
    (12700, 'release')
    >>> read_stack(b'{"cutter": {"shank_mm": true}}', ShopLimits())
    Traceback (most recent call last):
    ...
    assemblies.rules.stack_json.NotAStack: cutter.shank_mm: a length in mm, as 12.7, "12.7" \
or "1/2 in", up to 10000
    """
    document = _document(data)
    slips = _names_not_known(document, _TOP, "")
    parts = {name: _part(document, name, slips) for name in PARTS}
    given = {name: part for name, part in parts.items() if part is not None}
    limits = _values(document.get("limits"), LIMIT_ENTRIES, "limits", slips)
    stage = _one(document, "stage", lambda value: Stage(read_word(value, tuple(Stage))), slips)
    coolant_wanted = _one(document, "coolant_wanted", read_truth, slips)
    slips += _contradictions(given.get("cutter"))
    if slips:
        raise NotAStack(slips)
    stack = Stack(coolant_wanted=coolant_wanted, **given)
    return AskedStack(stack, stage or Stage.RELEASE, replace(usual, **limits))


# ---- text
def _document(data: bytes) -> _Object:
    if len(data) > MOST_BYTES:
        raise _not_a_stack("the file", f"at most {MOST_BYTES} bytes; a stack is far smaller")
    if data.startswith(b"\xef\xbb\xbf"):
        raise _not_a_stack("byte 1", "UTF-8 without a byte order mark")
    try:
        document = _parsed(data.decode("utf-8"))
    except UnicodeDecodeError as error:
        raise _not_a_stack(f"byte {error.start + 1}", "text in UTF-8") from error
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        raise _not_a_stack(place, f"JSON. {_shown(error.msg)}") from error
    except RecursionError as error:
        raise _not_a_stack("the file", "parts one level deep; this is nested too deeply") from error
    if not isinstance(document, _Object):
        raise _not_a_stack("the file", 'one object, as {"holder": {…}, "cutter": {…}}')
    return document


def _parsed(text: str) -> object:
    if not text.strip():
        raise _not_a_stack("the file", "a stack; the file is empty")
    return json.loads(
        text,
        object_pairs_hook=_object,
        parse_int=_number,
        parse_float=_number,
        parse_constant=lambda _word: NoFiniteNumber(),
    )


def _object(pairs: list[tuple[str, object]]) -> _Object:
    made = _Object(pairs)
    counts = Counter(name for name, _value in pairs)
    made.repeated = tuple(name for name, count in counts.items() if count > 1)
    return made


def _number(text: str) -> Decimal | NoFiniteNumber:
    if len(text) > _LONGEST_NUMBER:
        return NoFiniteNumber()
    try:
        number = Decimal(text)
    except InvalidOperation:  # an exponent beyond every number
        return NoFiniteNumber()
    if number.is_zero():
        return Decimal(0)
    return number if abs(number.adjusted()) < _LONGEST_NUMBER else NoFiniteNumber()


def _not_a_stack(path: str, expected: str) -> NotAStack:
    return NotAStack([Slip(path, expected)])


def _shown(text: str) -> str:
    """Text from outside, short and printable, so that no terminal chokes on it."""
    short = text if len(text) <= _LONGEST_NAME else text[:_LONGEST_NAME] + "…"
    return "".join(letter if letter.isprintable() else "?" for letter in short)


# ---- names and values
def _names_not_known(found: _Object, names: tuple[str, ...], path: str) -> list[Slip]:
    slips = [Slip(path + _shown(name), "this name once") for name in found.repeated]
    strange = [name for name in found if name not in names]
    for name in strange[:MOST_STRANGE_NAMES]:
        near = get_close_matches(name[:_LONGEST_NAME], names, n=1)
        hint = f"Did you mean {near[0]}?" if near else f"Known: {', '.join(names)}."
        slips.append(Slip(path + _shown(name), f"no such name. {hint}"))
    return slips


def _part(document: _Object, name: str, slips: list[Slip]) -> object | None:
    """The facts of one part; None where it is not there, or null."""
    if document.get(name) is None:
        return None
    return PARTS[name](**_values(document[name], ENTRIES[name], name, slips))


def _values(
    found: object, entries: Mapping[str, Entry], path: str, slips: list[Slip]
) -> dict[str, object]:
    if found is None:
        return {}
    if not isinstance(found, _Object):
        slips.append(Slip(path, "an object in braces, or null"))
        return {}
    slips += _names_not_known(found, tuple(entries), f"{path}.")
    values = {}
    for entry in entries.values():
        if entry.name in found and (found[entry.name] is not None or entry.may_be_null):
            values[entry.field] = _value(found[entry.name], entry, path, slips)
    return values


def _value(value: object, entry: Entry, path: str, slips: list[Slip]) -> object:
    if value is None:
        return None
    return _tried(value, entry.read, f"{path}.{entry.name}", slips)


def _one(document: _Object, name: str, read, slips: list[Slip]) -> object:
    value = document.get(name)
    return None if value is None else _tried(value, read, name, slips)


def _tried(value: object, read, path: str, slips: list[Slip]) -> object:
    try:
        return read(value)
    except Unfit as unfit:
        slips.append(Slip(path, "".join(c if c.isprintable() else "?" for c in str(unfit))))
        return None


def _contradictions(cutter: CutterPart | None) -> list[Slip]:
    """A cutter stands on an arbor or in a chuck; a record of both would pass in either."""
    if cutter is None or cutter.bore_um is None:
        return []
    if cutter.shank_um is None and cutter.shank_measured_um is None:
        return []
    return [Slip("cutter", "a shank or a bore; here it has both")]
