"""Values in a block: numbers, parameters, bracketed expressions and functions.

Source of the rules: NIST IR 6556 (2000), 3.3.2. The evaluator keeps its own stacks, so that a
thousand nested brackets end in a message and not in a crash.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping

DEEPEST_NESTING = 100
LARGEST_NUMBER = 1e9
#: What is computed and smaller is the rounding of a sine or cosine: zero.
SMALLEST_RESULT = 1e-12
LONGEST_NUMBER = 40
LAST_PARAMETER = 5399

NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)")
_FUNCTION = re.compile(r"(ABS|ACOS|ASIN|ATAN|COS|EXP|FIX|FUP|LN|ROUND|SIN|SQRT|TAN)(?=\[)")
_OPERATOR = re.compile(r"\*\*|\*|/|\+|-|MOD|AND|XOR|OR")
_RANK = {"**": 3, "*": 2, "/": 2, "MOD": 2, "+": 1, "-": 1, "AND": 1, "OR": 1, "XOR": 1}

_SIGNS = frozenset("+-")

#: A value that depends on a parameter the file has not set.
UNKNOWN = None
Value = float | None


class NotUnderstood(ValueError):
    """The text breaks the rules of a block; the message says how."""


def near_integer(value: float) -> int | None:
    """The whole number within 0.0001 of `value` (the limit itself excluded), else None.

    >>> near_integer(1.00005), near_integer(3.0001)
    (1, None)
    """
    nearest = round(value)
    return nearest if round(abs(value - nearest), 9) < 0.0001 else None


def number(text: str) -> float:
    """The number written in `text`; raises NotUnderstood above 1e9 or 40 characters."""
    if len(text) > LONGEST_NUMBER or abs(value := float(text)) > LARGEST_NUMBER:
        raise NotUnderstood("number too large or too long")
    return value


def _round_half_away(value: float) -> float:
    return math.copysign(math.floor(abs(value) + 0.5), value)


def _modulo(left: float, right: float) -> float:
    rest = math.fmod(left, right)
    return rest + abs(right) if rest < 0 else rest


_FUNCTIONS: dict[str, Callable[[float], float]] = {
    "ABS": abs,
    "ACOS": lambda a: math.degrees(math.acos(a)),
    "ASIN": lambda a: math.degrees(math.asin(a)),
    "COS": lambda a: math.cos(math.radians(a)),
    "EXP": math.exp,
    "FIX": lambda a: float(math.floor(a)),
    "FUP": lambda a: float(math.ceil(a)),
    "LN": math.log,
    "ROUND": _round_half_away,
    "SIN": lambda a: math.sin(math.radians(a)),
    "SQRT": math.sqrt,
    "TAN": lambda a: math.tan(math.radians(a)),
    "NEG": lambda a: -a,
}
_OPERATIONS: dict[str, Callable[[float, float], float]] = {
    "**": math.pow,
    "*": lambda a, b: a * b,
    "/": lambda a, b: a / b,
    "MOD": _modulo,
    "+": lambda a, b: a + b,
    "-": lambda a, b: a - b,
    "AND": lambda a, b: float(bool(a) and bool(b)),
    "OR": lambda a, b: float(bool(a) or bool(b)),
    "XOR": lambda a, b: float(bool(a) != bool(b)),
    "ATAN2": lambda a, b: math.degrees(math.atan2(a, b)),
}


def _calculate(operation: Callable[..., float], *operands: Value) -> Value:
    """The result, UNKNOWN when an operand is; raises NotUnderstood where there is none."""
    if UNKNOWN in operands:
        return UNKNOWN
    try:
        result = operation(*operands)
    except (ArithmeticError, ValueError) as error:
        raise NotUnderstood("expression without a value") from error
    if not math.isfinite(result):
        raise NotUnderstood("expression without a value")
    return result


def parameter_index(value: Value) -> int | None:
    """The parameter number `value` stands for; None when not known; raises NotUnderstood."""
    if value is UNKNOWN:
        return None
    index = near_integer(value)
    if index is None or not 1 <= index <= LAST_PARAMETER:
        raise NotUnderstood("parameter number outside 1 to 5399")
    return index


def value_at(
    code: str, start: int, parameters: Mapping[int, float], bare: bool = False
) -> tuple[Value, int]:
    """The value that begins at `code[start]` and the position after it.

    `code` has no blanks and only capitals. `parameters` are those the file has set; another one
    makes the value UNKNOWN. With `bare` an expression may stand without brackets, as after `=`.
    Raises NotUnderstood. Source: NIST IR 6556, 3.3.2.2 and 3.3.2.3.

    >>> value_at("[2.0/3*1.5-5.5/11.0]", 0, {})
    (0.5, 20)
    """
    return _Evaluation(code, start, parameters, bare).run()


class _Evaluation:
    """One value in the making: two stacks and a place in the text."""

    def __init__(self, code, start, parameters, bare):
        self.code, self.place, self.parameters, self.bare = code, start, parameters, bare
        self.values: list[Value] = []
        self.waiting: list[str] = []
        self.depth = 0

    def run(self) -> tuple[Value, int]:
        while True:
            while not self.operand():
                pass
            if self.finished():
                break
        return self.final(), self.place

    def operand(self) -> bool:
        """Take one piece of an operand; True when the operand is whole."""
        code, place = self.code, self.place
        if plain := NUMBER.match(code, place):
            self.values.append(number(plain[0]))
            self.place = plain.end()
            return True
        if function := _FUNCTION.match(code, place):
            self.waiting.append(function[0])
            self.place = function.end()
            return False
        self.place += 1
        if code[place : place + 1] in _SIGNS and code[place + 1 : place + 2] in _SIGNS:
            raise NotUnderstood("two signs before a value")
        match code[place : place + 1]:
            case "#":
                self.waiting.append("#")
            case "[":
                self.open_bracket()
            case "-":
                self.waiting.append("NEG")
            case "+":
                pass
            case _:
                raise NotUnderstood("a number is missing")
        if len(self.waiting) > 4 * DEEPEST_NESTING:
            raise NotUnderstood(f"more than {DEEPEST_NESTING} nested brackets")
        return False

    def open_bracket(self) -> None:
        self.waiting.append("[")
        self.depth += 1
        if self.depth > DEEPEST_NESTING:
            raise NotUnderstood(f"more than {DEEPEST_NESTING} nested brackets")

    def finished(self) -> bool:
        """Work on after an operand; False when another operand must follow."""
        while True:
            if self.apply_prefixes():
                return False
            if self.depth == 0 and not self.bare:
                return True
            if self.depth and self.code[self.place : self.place + 1] == "]":
                self.close_bracket()
            elif operator := _OPERATOR.match(self.code, self.place):
                self.push_operator(operator)
                return False
            elif self.depth:
                raise NotUnderstood("bracket not closed")
            else:
                return True

    def apply_prefixes(self) -> bool:
        """Apply functions, signs and `#` that wait for the last value; True for `ATAN[a]/[`."""
        while self.waiting and (name := self.waiting[-1]) not in _RANK and name != "[":
            self.waiting.pop()
            if name == "ATAN":
                self.open_second_angle()
                return True
            self.apply(name)
        return False

    def open_second_angle(self) -> None:
        if self.code[self.place : self.place + 2] != "/[":
            raise NotUnderstood("ATAN needs two values: ATAN[a]/[b]")
        self.place += 2
        self.waiting.append("ATAN2")
        self.open_bracket()

    def apply(self, name: str) -> None:
        last = self.values.pop()
        if name == "#":
            index = parameter_index(last)
            self.values.append(UNKNOWN if index is None else self.parameters.get(index))
        elif name in _OPERATIONS:
            self.values.append(_calculate(_OPERATIONS[name], self.values.pop(), last))
        else:
            self.values.append(_calculate(_FUNCTIONS[name], last))

    def close_bracket(self) -> None:
        while self.waiting[-1] != "[":
            self.apply(self.waiting.pop())
        self.waiting.pop()
        self.depth -= 1
        self.place += 1

    def push_operator(self, operator: re.Match) -> None:
        name = operator[0]
        while self.waiting and _RANK.get(self.waiting[-1], 0) >= _RANK[name]:
            self.apply(self.waiting.pop())
        self.waiting.append(name)
        self.place = operator.end()

    def final(self) -> Value:
        while self.waiting:
            self.apply(self.waiting.pop())
        value = self.values.pop()
        if value is UNKNOWN:
            return UNKNOWN
        if abs(value) > LARGEST_NUMBER:
            raise NotUnderstood("number too large or too long")
        return value if abs(value) >= SMALLEST_RESULT else 0.0
