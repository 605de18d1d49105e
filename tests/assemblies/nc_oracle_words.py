"""The slow reading: letters, numbers and expressions of one block.

Source: NIST IR 6556 (2000), 3.3 and 3.4.
"""

import math

AXES = "XYZ"
CYCLES = (73, 81, 82, 83, 84, 85, 86, 87, 88, 89)
WORK_OFFSETS = (54, 55, 56, 57, 58, 59, 59.1, 59.2, 59.3)
GROUPS = (
    (0, 1, 2, 3, 80, *CYCLES),
    (17, 18, 19),
    (90, 91),
    (93, 94, 95),
    (20, 21),
    (43, 49),
    (98, 99),
    WORK_OFFSETS,
    (4, 10, 28, 53, 92, 92.1, 92.2, 92.3),
    (40,),
    (61, 64),
)
M_GROUPS = ((0, 1, 2, 30, 98, 99), (6,), (3, 4, 5), (7, 8, 9))
NEAR = 0.0001
#: More holes or calls than that are not walked.
MOST_REPEATS = 1000


class CannotRead(Exception):
    """The program leaves what this reading knows."""


class Forbidden(CannotRead):
    """The program breaks a rule of the standard: nobody may claim to have understood it."""


def strip_line(line):
    """The line in capitals without blanks; a comment becomes `|`, which may not stand in a word."""
    kept, inside = [], False
    for letter in line:
        if inside:
            if letter == "(":
                raise Forbidden("bracket in a comment")
            inside = letter != ")"
        elif letter == ";":
            break
        elif letter == "(":
            inside = True
            kept.append("|")
        elif letter not in " \t\r":
            kept.append(letter.upper())
    if inside:
        raise Forbidden("comment left open")
    return "".join(kept)


FUNCTIONS = {
    "ABS": abs,
    "ACOS": lambda a: math.degrees(math.acos(a)),
    "ASIN": lambda a: math.degrees(math.asin(a)),
    "COS": lambda a: math.cos(math.radians(a)),
    "EXP": math.exp,
    "FIX": math.floor,
    "FUP": math.ceil,
    "LN": math.log,
    "ROUND": lambda a: math.floor(a + 0.5),
    "SIN": lambda a: math.sin(math.radians(a)),
    "SQRT": math.sqrt,
    "TAN": lambda a: math.tan(math.radians(a)),
}
#: Operators by rank, the strongest first (3.3.2.3); in one rank from left to right.
RANKS = (
    {"**": lambda a, b: a**b},
    {"*": lambda a, b: a * b, "/": lambda a, b: a / b, "MOD": lambda a, b: a - b * (a // b)},
    {
        "+": lambda a, b: a + b,
        "-": lambda a, b: a - b,
        "AND": lambda a, b: float(bool(a) and bool(b)),
        "XOR": lambda a, b: float(bool(a) != bool(b)),
        "OR": lambda a, b: float(bool(a) or bool(b)),
    },
)
OPERATORS = ("**", "*", "/", "MOD", "+", "-", "AND", "XOR", "OR")


class Cursor:
    """A place in the text of one block, and the parameters known before it."""

    def __init__(self, text, parameters):
        self.text, self.place, self.parameters = text, 0, parameters

    def at(self, *texts):
        """Which of the texts comes next, if one does."""
        return next((text for text in texts if self.text.startswith(text, self.place)), None)

    def take(self, *texts):
        found = self.at(*texts)
        if found:
            self.place += len(found)
        return found

    def need(self, text):
        if not self.take(text):
            raise Forbidden(f"{text} expected in {self.text}")

    def value(self):
        """One real value: number, parameter, bracket or function.

        >>> Cursor("[2.0/3*1.5-5.5/11.0]", {}).value()
        0.5
        >>> Cursor("#[1+2]", {3: 7.0}).value()
        7.0
        """
        if self.take("#"):
            return self.parameter(self.value())
        if self.take("["):
            return self.bracket()
        if self.take("ATAN"):
            return self.arc_tangent()
        name = self.take(*FUNCTIONS)
        if name:
            self.need("[")
            return float(FUNCTIONS[name](self.bracket()))
        return self.number()

    def parameter(self, number):
        if number not in self.parameters:
            raise CannotRead(f"parameter {number} is not set")
        return self.parameters[number]

    def arc_tangent(self):
        self.need("[")
        above = self.bracket()
        self.need("/")
        self.need("[")
        return math.degrees(math.atan2(above, self.bracket()))

    def bracket(self):
        values, signs = [self.value()], []
        while not self.take("]"):
            sign = self.take(*OPERATORS)
            if not sign:
                raise Forbidden(f"operator expected in {self.text}")
            signs.append(sign)
            values.append(self.value())
        for rank in RANKS:
            values, signs = reduce_rank(values, signs, rank)
        return values[0]

    def number(self):
        start = self.place
        self.take("+", "-")
        while self.place < len(self.text) and self.text[self.place] in "0123456789.":
            self.place += 1
        try:
            return float(self.text[start : self.place])
        except ValueError:
            raise Forbidden(f"no number in {self.text}") from None


def reduce_rank(values, signs, rank):
    kept, left = [values[0]], []
    for sign, value in zip(signs, values[1:], strict=True):
        if sign in rank:
            kept[-1] = rank[sign](kept[-1], value)
        else:
            kept.append(value)
            left.append(sign)
    return kept, left


def read_words(text, parameters):
    """The words of a block as `{letter: number}`, with lists under G and M; parameters after all.

    >>> read_words("G0X+0.1234Y7", {})
    {'G': [0], 'M': [], 'X': 0.1234, 'Y': 7.0}
    """
    cursor, words, settings = Cursor(text, parameters), {"G": [], "M": []}, []
    while cursor.place < len(text):
        if cursor.take("|"):
            continue
        if cursor.take("#"):
            number = cursor.value()
            cursor.need("=")
            settings.append((whole(number), cursor.value()))
        else:
            read_word(cursor, words)
    parameters.update(settings)
    return words


def read_word(cursor, words):
    letter = cursor.text[cursor.place]
    if letter not in "ABCDFGHIJKLMNOPQRSTXYZ":
        raise CannotRead(f"{letter} is not a letter of this reading")
    cursor.place += 1
    start = cursor.place
    value = cursor.value()
    if letter == "G":
        words["G"].append(whole(value * 10) / 10 if whole(value * 10) % 10 else whole(value))
    elif letter == "M":
        words["M"].append(whole(value))
    elif letter in words:
        raise Forbidden(f"{letter} twice in {cursor.text}")
    else:
        words[letter] = value
        if letter == "P" and value >= 1000 and "." not in cursor.text[start : cursor.place]:
            words["P without a point"] = True


def whole(value):
    """The whole number that `value` stands for; within 0.0001, the limit not included (3.3)."""
    if abs(value - round(value)) >= NEAR:
        raise Forbidden(f"{value} is not whole")
    return round(value)


def check_groups(words):
    for codes, groups in ((words["G"], GROUPS), (words["M"], M_GROUPS)):
        known = [code for group in groups for code in group]
        if not set(codes) <= set(known):
            raise CannotRead(f"code outside this reading in {codes}")
        if len(set(codes)) < len(codes) or (80 in codes and {0, 1, 2, 3} & set(codes)):
            raise CannotRead(f"a code said twice, or a cycle ended by two, in {codes}")
        if any(sum(code in group for code in codes) > 1 for group in groups):
            raise Forbidden(f"two codes of one group in {codes}")
