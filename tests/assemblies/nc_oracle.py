"""A slow and very plain reading of NC programs, to hold the real reader against.

It shares no line and no method with `assemblies.rules.nc`: one dictionary of state, one block after
the other in the order of table 8, arcs walked in small steps instead of computed. What it does not
know it refuses (`CannotRead`), so it never guesses.

Source: NIST IR 6556 (2000), sections 3.2 to 3.8. Where shops differ from it: G95 (feed per
revolution), M98 and M99, `;` and O numbers are common practice; G85 and G89 feed out to R only.

>>> uses = read_slowly("T1 M6\\nG1 X3 Y4 F100\\nM2")
>>> uses[1]["feed_path_length"], uses[1]["cutting_time"]
(5.0, 0.05)
"""

import math
from itertools import accumulate, pairwise

AXES = "XYZ"
#: first and second axis of the plane, the axis across it; G18 is Z-X in this order (3.5.3).
PLANES = {17: ("X", "Y", "Z"), 18: ("Z", "X", "Y"), 19: ("Y", "Z", "X")}
CENTRES = {"X": "I", "Y": "J", "Z": "K"}
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
#: Radii at both ends of an arc may differ by so much [mm], or by this share of the radius.
RADIUS_SLACK, RADIUS_SHARE = 0.01, 0.001
FEED = ("feed_path_length", "cutting_time")
FEED_RATES = ("feed_rate_max", "feed_rate_min")
DEPTH = ("deepest_z", "deepest_z_by_work_offset")
RAPID = ("rapid_path_length",)
RAPID_DEPTH = ("deepest_z_rapid",)
SPEEDS = ("spindle_speed_max", "spindle_speed_min", "spindle_speed_carried")
MOST_BLOCKS, MOST_REPEATS, DEEPEST_CALL = 20_000, 1000, 8


class CannotRead(Exception):
    """The program leaves what this reading knows."""


class Forbidden(CannotRead):
    """The program breaks a rule of the standard: nobody may claim to have understood it."""


# ---------------------------------------------------------------- letters and numbers


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


# ---------------------------------------------------------------- state


def new_state(steps, back_off):
    return {
        "at": dict.fromkeys(AXES, 0.0),  # program coordinates [mm]; None is not known
        "soft": set(),  # axes whose place is a convention more than knowledge
        "worded": set(),
        "factor": 1.0,
        "absolute": True,
        "plane": 17,
        "motion": None,
        "feed mode": 94,
        "feed": None,
        "feed is open": False,
        "speed": None,
        "speed is own": False,
        "turning": None,
        "selected": None,
        "tool": None,
        "work": 54,
        "zero": {},  # (work offset, axis) -> place of its zero, where the program said it
        "shift": dict.fromkeys(AXES, 0.0),  # of G92
        "kept shift": dict.fromkeys(AXES, 0.0),
        "return": 98,
        "cycle": {},
        "parameters": {},
        "uses": {},
        "blocks": 0,
        "steps": steps,
        "back off": back_off,
    }


def use_of(state):
    return state["uses"].setdefault(state["tool"], new_use())


def new_use():
    return {
        "calls": 0,
        "spindle_speed_max": None,
        "spindle_speed_min": None,
        "spindle_speed_carried": None,
        "rotation": set(),
        "feed_rate_max": None,
        "feed_rate_min": None,
        "feed_per_revolution_max": None,
        "deepest_z": None,
        "deepest_z_rapid": None,
        "deepest_z_by_work_offset": {},
        "feed_path_length": 0.0,
        "rapid_path_length": 0.0,
        "cutting_time": 0.0,
        "dwell_time": 0.0,
        "cycles": set(),
        "unknown": set(),  # figures nobody can know: the real reader has to admit them
        "open": set(),  # figures that hang on a convention: not compared
    }


def larger(known, value):
    return value if known is None else max(known, value)


def smaller(known, value):
    return value if known is None else min(known, value)


# ---------------------------------------------------------------- blocks


def run_block(words, state):
    """One block in the order of table 8; True when the program ends with it."""
    check_groups(words)
    g, m = words["G"], words["M"]
    take_feed_mode(g, state)
    take_feed(words, state)
    take_speed(words, m, state)
    change_tool(words, m, state)
    turn_spindle(m, state)
    dwell(words, g, state)
    take_plane(g, state)
    take_unit(words, g, state)
    take_offsets(g, state)
    take_distance_and_return(g, state)
    act(words, g, state)
    return bool({2, 30} & set(m))


def take_feed_mode(g, state):
    for code in g:
        if code in (93, 94, 95) and code != state["feed mode"]:
            state["feed mode"], state["feed"] = code, None


def take_plane(g, state):
    for code in g:
        if code in PLANES:
            change_when_no_cycle(state, "plane", code)


def take_unit(words, g, state):
    for code in g:
        if code in (20, 21):
            change_unit(words, state, 25.4 if code == 20 else 1.0)


def take_offsets(g, state):
    """After a change of the length offset Z is no more where it read before."""
    for code in g:
        if code in (43, 49):
            state["soft"].add("Z")
        if code in WORK_OFFSETS:
            change_work_offset(state, code)


def take_distance_and_return(g, state):
    for code in g:
        if code in (90, 91):
            change_when_no_cycle(state, "absolute", code == 90)
        if code in (98, 99):
            change_when_no_cycle(state, "return", code)


def change_when_no_cycle(state, name, value):
    """A change in the middle of a row of holes is read in several ways, so it is refused."""
    if state["cycle"] and state[name] != value:
        raise CannotRead(f"{name} changes within a row of holes")
    state[name] = value


def take_feed(words, state):
    if "F" not in words:
        return
    if words["F"] < 0:
        raise Forbidden("negative F")
    scale = 1.0 if state["feed mode"] == 93 else state["factor"]
    state["feed"], state["feed is open"] = words["F"] * scale, False


def take_speed(words, m, state):
    if "S" not in words:
        return
    if words["S"] <= 0:
        raise CannotRead("S0 or below")
    state["speed"], state["speed is own"] = words["S"], True
    if state["turning"] and 6 not in m:
        note_speed(state)


def change_tool(words, m, state):
    if "T" in words:
        if words["T"] < 0:
            raise Forbidden("negative T")
        state["selected"] = whole(words["T"])
    if 6 not in m:
        return
    if state["selected"] is None:
        raise CannotRead("change before any T")
    state["tool"], state["turning"] = state["selected"], None
    state["speed is own"] = "S" in words
    use_of(state)["calls"] += 1


def turn_spindle(m, state):
    for code in m:
        if code in (3, 4):
            state["turning"] = "cw" if code == 3 else "ccw"
            note_speed(state)
        elif code == 5:
            state["turning"] = None


def note_speed(state):
    use, speed = use_of(state), state["speed"]
    use["rotation"].add(state["turning"])
    if speed is None:
        use["unknown"].update(SPEEDS[:2])
        return
    use["spindle_speed_max"] = larger(use["spindle_speed_max"], speed)
    use["spindle_speed_min"] = smaller(use["spindle_speed_min"], speed)
    if not state["speed is own"]:
        use["spindle_speed_carried"] = larger(use["spindle_speed_carried"], speed)


def dwell(words, g, state):
    if 4 not in g:
        return
    if "P" not in words or any(axis in words for axis in AXES):
        raise CannotRead("dwell without P, or with a move")
    wait(words, state, words["P"])


def wait(words, state, seconds):
    if "P without a point" in words:
        use_of(state)["open"].add("dwell_time")
    use_of(state)["dwell_time"] += seconds / 60


def change_unit(words, state, factor):
    if factor == state["factor"]:
        return
    if state["cycle"]:
        raise CannotRead("unit changes within a row of holes")
    state["factor"] = factor
    if "F" in words and state["feed mode"] != 93:
        state["feed is open"] = True


# ---------------------------------------------------------------- zeros


def change_work_offset(state, code):
    if code == state["work"]:
        return
    old, state["work"] = state["work"], code
    for axis in AXES:
        move_zero(state, axis, state["zero"].get((old, axis)), state["zero"].get((code, axis)))


def move_zero(state, axis, old, new):
    """Another zero under a standing spindle: the place reads differently, or is not known."""
    if old is not None and new is not None:
        if state["at"][axis] is not None:
            state["at"][axis] += old - new
    elif axis in state["worded"]:
        state["at"][axis] = None
    else:
        state["soft"].add(axis)


def set_work_zero(words, state):
    """G10 L2: example `G10 L2 P1 x 3.5 y 17.2` of 3.5.5."""
    if words.get("L") != 2 or not state["absolute"] or "R" in words:
        raise CannotRead("G10 other than L2 in G90")
    number = whole(words.get("P", 0))
    if not 1 <= number <= 9:
        raise Forbidden("P of G10 L2 outside 1 to 9")
    code = WORK_OFFSETS[number - 1]
    for axis in AXES:
        if axis in words:
            new = words[axis] * state["factor"]
            if code == state["work"]:
                move_zero(state, axis, state["zero"].get((code, axis)), new)
            state["zero"][code, axis] = new


def set_place(words, state):
    """G92: at X4 `G92 x7` shifts by -3, then `G92 x9` by -5 (3.5.18)."""
    if not any(axis in words for axis in AXES):
        raise Forbidden("G92 without an axis")
    for axis in AXES:
        if axis in words:
            new, old = words[axis] * state["factor"], state["at"][axis]
            known = old is not None and state["shift"][axis] is not None
            state["shift"][axis] = state["shift"][axis] + old - new if known else None
            state["at"][axis] = new
            state["soft"].discard(axis)
            state["worded"].add(axis)
    state["kept shift"] = dict(state["shift"])


def replace_shift(state, shift, keep):
    for axis in AXES:
        move_shift(state, axis, state["shift"][axis], shift[axis])
    state["shift"] = dict(shift)
    if not keep:
        state["kept shift"] = dict(shift)


def move_shift(state, axis, old, new):
    if old is None or new is None or state["at"][axis] is None:
        state["at"][axis] = None
    else:
        state["at"][axis] += old - new


# ---------------------------------------------------------------- moves


def act(words, g, state):
    """What the axis words of a block are for: a non-modal code takes them from the motion code."""
    axes = [axis for axis in AXES if axis in words]
    if {"A", "B", "C"} & set(words):
        raise CannotRead("rotary axes")
    for code in g:
        if code in (0, 1, 2, 3, 80, *CYCLES):
            choose_motion(state, code)
    if {92, 92.1, 92.2, 92.3} & set(g):
        shift(words, g, state)
    elif 10 in g:
        set_work_zero(words, state)
    elif 28 in g:
        go_home(words, state, axes)
    elif 53 in g:
        go_in_machine_coordinates(state, axes)
    elif 4 not in g:
        move(words, g, state, axes)


def shift(words, g, state):
    if 92 in g:
        set_place(words, state)
    elif 92.3 in g:
        replace_shift(state, state["kept shift"], keep=True)
    else:
        replace_shift(state, dict.fromkeys(AXES, 0.0), keep=92.2 in g)


def choose_motion(state, code):
    if code == 80:
        code = None
    if code != state["motion"] or code not in CYCLES:
        state["cycle"] = {}
    state["motion"] = code


def move(words, g, state, axes):
    motion = state["motion"]
    centre = any(letter in words for letter in "IJK")
    if not axes and not (motion in (2, 3) and motion in g and centre):
        if centre or "R" in words or "Q" in words or (motion in CYCLES and motion in g):
            raise CannotRead("words without a move")
        return
    if motion is None:
        raise Forbidden("axis words without a motion code")
    if motion in CYCLES:
        run_cycle(words, state)
    elif motion in (2, 3):
        forget_inverse_time(words, state)
        run_arc(words, state)
    else:
        refuse_words(words, "IJKRQ")
        if motion == 1:
            forget_inverse_time(words, state)
        straight(state, motion == 1, targets(words, state))


def refuse_words(words, letters):
    if any(letter in words for letter in letters):
        raise CannotRead(f"a word of {letters} without use")


def forget_inverse_time(words, state):
    """In G93 each feed move needs an F of its own; without it its time is not known."""
    if state["feed mode"] == 93 and "F" not in words:
        state["feed"] = None


def targets(words, state):
    """Where the axis words lead, by axis [mm]; None where that is not known."""
    found = {}
    for axis in AXES:
        if axis in words:
            value = words[axis] * state["factor"]
            if not state["absolute"]:
                value = None if state["at"][axis] is None else state["at"][axis] + value
            found[axis] = value
            state["worded"].add(axis)
    return found


def straight(state, feeding, target):
    """A straight move; what cannot be known of it is marked, never guessed."""
    use, start = use_of(state), dict(state["at"])
    depth = DEPTH if feeding else RAPID_DEPTH
    certainty = surest(state, target)
    end = {**start, **target}
    state["at"] = end
    if certainty:
        leave_out(state, feeding, certainty)
    else:
        add_length(state, feeding, math.hypot(*(end[axis] - start[axis] for axis in target)))
    note_depth(state, use, depth, start["Z"], end["Z"], feeding)
    if state["absolute"] or state["cycle"]:
        state["soft"] -= set(target)


def surest(state, target):
    """How much of a move is known: "" all, "open" by convention, "unknown" not at all."""
    if any(target[axis] is None for axis in target):
        return "open"
    if any(state["at"][axis] is None for axis in target):
        return "unknown"
    return "open" if state["soft"] & set(target) else ""


def note_depth(state, use, figures, start, end, feeding):
    if feeding and (start is None or end is None):
        use["unknown"].update(figures)
    elif end is None or "Z" in state["soft"]:
        use["open"].update(figures)
    elif feeding:
        note_feed_depth(state, min(start, end))
    else:
        use["deepest_z_rapid"] = smaller(use["deepest_z_rapid"], end)


def note_feed_depth(state, z):
    use, name = use_of(state), f"G{state['work']}"
    use["deepest_z"] = smaller(use["deepest_z"], z)
    by_offset = use["deepest_z_by_work_offset"]
    by_offset[name] = smaller(by_offset.get(name), z)


def add_length(state, feeding, length):
    use = use_of(state)
    if not feeding:
        use["rapid_path_length"] += length
        return
    use["feed_path_length"] += length
    rate = note_feed(state, use)
    if rate:
        use["cutting_time"] += length / rate


def leave_out(state, feeding, certainty):
    """A move whose length is not known; its feed is, and in inverse time its minutes."""
    use = use_of(state)
    if not feeding:
        use[certainty].update(RAPID)
        return
    use[certainty].update(FEED if note_feed(state, use) else ("feed_path_length",))


def note_feed(state, use):
    """The feed rate of this move [mm/min], kept with the others; None where it is not known."""
    feed, mode = state["feed"], state["feed mode"]
    if state["feed is open"]:
        use["open"].update((*FEED_RATES, "feed_per_revolution_max", "cutting_time"))
    if not feed:
        use["unknown"].update(("cutting_time",) if feed == 0 else ("cutting_time", *FEED_RATES))
        use["open"].update(FEED_RATES)
        return None
    if mode == 93:
        use["cutting_time"] += 1 / feed
        use["open"].update(FEED_RATES)
        return None
    if mode == 95:
        use["feed_per_revolution_max"] = larger(use["feed_per_revolution_max"], feed)
        if not (state["turning"] and state["speed"]):
            use["unknown"].update((*FEED_RATES, "cutting_time"))
            return None
        feed *= state["speed"]
    use["feed_rate_max"] = larger(use["feed_rate_max"], feed)
    use["feed_rate_min"] = smaller(use["feed_rate_min"], feed)
    return feed


def go_home(words, state, axes):
    """G28: over the point of the words to a place nobody has written down."""
    if axes:
        straight(state, False, targets(words, state))
    leave_out_rapid(state)
    lose(state, axes or AXES)


def go_in_machine_coordinates(state, axes):
    if state["motion"] not in (0, 1):
        raise Forbidden("G53 needs G0 or G1")
    if state["motion"] == 1 and axes:
        leave_out(state, True, "unknown")
        z = None if "Z" in axes else state["at"]["Z"]
        note_depth(state, use_of(state), DEPTH, state["at"]["Z"], z, True)
    elif axes:
        leave_out_rapid(state)
    lose(state, axes)


def lose(state, axes):
    for axis in axes:
        state["at"][axis] = None
        state["soft"].discard(axis)
        state["worded"].add(axis)


def leave_out_rapid(state):
    use_of(state)["unknown"].update(RAPID)
    use_of(state)["open"].update(RAPID_DEPTH)


# ---------------------------------------------------------------- arcs


def run_arc(words, state):
    refuse_words(words, "PQ")
    first, second, across = PLANES[state["plane"]]
    if CENTRES[across] in words:
        raise CannotRead("centre word outside the plane")
    target, start = targets(words, state), dict(state["at"])
    end = {**start, **target}
    if None in (*start.values(), *end.values()) or state["soft"] & {*target, first, second}:
        leave_out(state, True, "open")
        use_of(state)["open"].update(DEPTH)
    else:
        here, there = (complex(p[first], p[second]) for p in (start, end))
        turn = walk_arc(words, state, here, there)
        points = [(p.real, p.imag, w) for p, w in climb(turn, start[across], end[across])]
        add_length(state, True, sum(math.dist(*pair) for pair in pairwise(points)))
        z = (first, second, across).index("Z")
        note_feed_depth(state, min(point[z] for point in points))
    state["at"] = end
    if state["absolute"]:
        state["soft"] -= set(target)


def climb(turn, start, end):
    """The points of a turn with their place across the plane, which changes with the way."""
    ways = [0.0, *accumulate(abs(after - before) for before, after in pairwise(turn))]
    return [
        (point, start + (end - start) * way / ways[-1])
        for point, way in zip(turn, ways, strict=True)
    ]


def walk_arc(words, state, here, there):
    counter_clockwise = state["motion"] == 3
    first, second, _ = PLANES[state["plane"]]
    offset = [words.get(CENTRES[axis]) for axis in (first, second)]
    if "R" in words:
        if any(part is not None for part in offset):
            raise Forbidden("R and a centre")
        return turn_of_radius(state, here, there, words["R"] * state["factor"])
    if not any(offset):
        raise Forbidden("arc without a centre")
    centre = here + complex(*(state["factor"] * (part or 0.0) for part in offset))
    return turn_about(centre, here, there, counter_clockwise, state["steps"])


def turn_about(centre, here, there, counter_clockwise, steps):
    """Points from here to there about the centre, one small step of angle after the other.

    >>> len(turn_about(0, 1 + 0j, -1 + 0j, True, 100))
    51
    """
    out, goal = here - centre, there - centre
    if abs(abs(out) - abs(goal)) > max(RADIUS_SLACK, RADIUS_SHARE * abs(out)):
        raise Forbidden("the end is not on the circle")
    if 0 < abs(there - here) < 0.003:
        raise CannotRead("a full circle or nearly nothing")
    angle = 2 * math.pi / steps
    step = complex(math.cos(angle), math.sin(angle) if counter_clockwise else -math.sin(angle))
    walked = [out] if here != there else [out, out * step]
    while not within_one_step(walked[-1], goal, step):
        walked.append(walked[-1] * step)
    return spiral(centre, walked, here, there)


def within_one_step(place, goal, step):
    """Whether the direction of the goal lies between this place and the next one."""
    rest = goal / place
    ahead = rest.imag if step.imag > 0 else -rest.imag
    return rest.real > 0 and -1e-9 <= ahead * abs(place) / abs(goal) < abs(step.imag) - 1e-9


def spiral(centre, walked, here, there):
    """The walked points, drawn evenly to the radius of the end where that differs a little."""
    inner, outer = abs(here - centre), abs(there - centre)
    growth = (outer / inner - 1) / len(walked)
    points = [centre + point * (1 + growth * n) for n, point in enumerate(walked)]
    return [*points, there] if abs(points[-1] - there) > 1e-9 else [*points[:-1], there]


def turn_of_radius(state, here, there, radius):
    """The one of the two circles whose arc is short (R above 0) or long (R below 0)."""
    if here == there:
        raise Forbidden("R format to the same point")
    half = abs(there - here) / 2
    if half > abs(radius) + 0.01:
        raise Forbidden("R is too small for the way")
    if half > abs(radius) - 0.0005 or half < 0.01:
        raise CannotRead("half a circle within rounding")
    turns = [
        turn_about(centre, here, there, state["motion"] == 3, state["steps"])
        for centre in two_centres(here, there, abs(radius))
    ]
    return (min if radius > 0 else max)(turns, key=len)


def two_centres(here, there, radius):
    """Both points that far from here and there, found by halving the distance searched."""
    middle, across = (here + there) / 2, (there - here) * 1j / abs(there - here)
    low, high = 0.0, radius
    for _ in range(60):
        mid = (low + high) / 2
        low, high = (mid, high) if abs(middle + across * mid - here) < radius else (low, mid)
    return middle + across * low, middle - across * low


# ---------------------------------------------------------------- rows of holes


def run_cycle(words, state):
    code, (first, second, own) = state["motion"], PLANES[state["plane"]]
    if state["feed mode"] == 93:
        raise Forbidden("holes in inverse time")
    numbers = state["cycle"]
    for letter in (own, "R", "Q", "K"):
        if letter in words:
            numbers[letter] = words[letter] * state["factor"]
    if "P" in words:
        numbers["P"] = words["P"]
    check_cycle(words, state, own)
    use_of(state)["cycles"].add(code)
    retract, bottom = levels(state, numbers, own)
    drill_row(words, state, (first, second, own), retract, bottom)


def check_cycle(words, state, own):
    code, numbers = state["motion"], state["cycle"]
    needed = {73: "Q", 83: "Q", 82: "P", 86: "P", 88: "P", 89: "P", 87: "K"}.get(code, "")
    if "R" not in numbers or own not in numbers or needed not in ("", "P", *numbers):
        raise Forbidden("a number of the cycle is missing")
    if needed == "P" and "P" not in numbers:
        use_of(state)["unknown"].add("dwell_time")
    if ("P" in numbers and needed != "P") or ("Q" in numbers and needed != "Q"):
        raise CannotRead("a word the cycle does not have")
    if needed == "Q" and numbers["Q"] <= 0:
        raise Forbidden("Q at 0 or below")
    if "L" in words and not 1 <= whole(words["L"]) <= MOST_REPEATS:
        raise CannotRead("L below 1, or too many holes")


def levels(state, numbers, own):
    """R and the bottom in program coordinates; in G91 R counts from here, the bottom from R."""
    if state["absolute"]:
        retract, bottom = numbers["R"], numbers[own]
    else:
        if state["at"][own] is None or own in state["soft"]:
            raise CannotRead("row of holes in G91 from a place not known")
        retract = state["at"][own] + numbers["R"]
        bottom = retract + numbers[own]
    if bottom >= retract:
        raise CannotRead("hole upwards")
    return retract, bottom


def drill_row(words, state, axes, retract, bottom):
    *plane, own = axes
    initial = state["at"][own]
    if initial is not None and initial < retract:
        straight(state, False, {own: retract})
    clear = initial if initial is None else max(initial, retract)
    clear = clear if state["return"] == 98 else retract
    for _ in range(whole(words.get("L", 1))):
        flat = {axis: words[axis] for axis in plane if axis in words}
        if flat:
            straight(state, False, targets(flat, state))
        if state["at"][own] != retract:
            straight(state, False, {own: retract})
        drill(words, state, own, retract, bottom)
        if clear is None:
            leave_out_rapid(state)
            lose(state, [own])
        elif clear != retract or state["at"][own] != retract:
            straight(state, False, {own: clear})


def drill(words, state, own, retract, bottom):
    code, numbers = state["motion"], state["cycle"]
    if code in (73, 83):
        peck(state, own, retract, bottom)
        return
    if code == 87:
        bore_back(state, own, retract, bottom)
        return
    straight(state, True, {own: bottom})
    if "P" in numbers:
        wait(words, state, numbers["P"])
    if code in (84, 85, 89):
        straight(state, True, {own: retract})
    if code == 88:
        use_of(state)["open"].update(RAPID)


def peck(state, own, retract, bottom):
    """G83 goes out to R and back to the last depth by rapid, G73 back by the setting only."""
    level, step, back = retract, state["cycle"]["Q"], state["back off"]
    while level > bottom + 1e-9:
        if level < retract:
            if state["motion"] == 83:
                straight(state, False, {own: retract})
            if state["motion"] == 83 or back:
                straight(state, False, {own: min(level + back, retract)})
        level = max(level - step, bottom)
        straight(state, True, {own: level})


def bore_back(state, own, retract, bottom):
    """G87: down beside the bore, cut up to K, cut down again; its rapids are not compared."""
    if not state["absolute"] or state["cycle"]["K"] <= bottom:
        raise CannotRead("back boring other than upwards in G90")
    state["at"][own] = bottom
    straight(state, True, {own: state["cycle"]["K"]})
    straight(state, True, {own: bottom})
    use_of(state)["open"].update((*RAPID, *RAPID_DEPTH))


# ---------------------------------------------------------------- programs


def read_slowly(text, steps=600, back_off=0.0):
    """Figures by tool number of a whole program; raises `CannotRead`."""
    lines = [strip_line(line) for line in text.splitlines()]
    lines, closed = within_percent(lines)
    state = new_state(steps, back_off)
    try:
        ended = run_lines(state, lines, 0, 0)
    except (ValueError, ZeroDivisionError, OverflowError) as fault:
        raise Forbidden(f"an expression has no value: {fault}") from None
    if ended == "M99":
        raise CannotRead("M99 in the main program")
    if ended != "end" and not closed:
        raise CannotRead("no end")
    return state["uses"]


def within_percent(lines):
    """The lines between a pair of `%`, and whether there was one."""
    full = [n for n, line in enumerate(lines) if line]
    if not full or lines[full[0]] != "%":
        if "%" in lines:
            raise CannotRead("% that does not open the file")
        return lines, False
    inner = lines[full[0] + 1 :]
    if "%" not in inner:
        return inner, False
    return inner[: inner.index("%")], True


def run_lines(state, lines, place, depth):
    """Run from a line to the end; gives what ended it: `end`, `M99` or nothing."""
    started = False
    while place < len(lines):
        text = lines[place]
        place += 1
        if text.startswith("/"):
            raise CannotRead("block delete")
        words = read_words(text, state["parameters"])
        if "O" in words:
            if started or set(words) - {"O", "N", "G", "M"} or words["G"] or words["M"]:
                raise CannotRead("program number in the middle")
        elif {98, 99} & set(words["M"]):
            if call(state, lines, words, depth) == "M99":
                return "M99"
            if state.get("over"):
                return "end"
        elif run_block(words, state):
            state["over"] = True
            return "end"
        started = started or bool(text)
        state["blocks"] += 1
        if state["blocks"] > MOST_BLOCKS:
            raise CannotRead("too many blocks")
    return None


def call(state, lines, words, depth):
    if words["G"] or len(words["M"]) > 1 or set(words) - {*"GMNPL", "P without a point"}:
        raise CannotRead("call or return with other words")
    if words["M"] == [99]:
        if "P" in words or "L" in words:
            raise CannotRead("return to a line")
        return "M99"
    if "P" not in words or depth >= DEEPEST_CALL:
        raise CannotRead("call without a name, or too deep")
    place = find_program(lines, whole(words["P"]))
    if not 0 <= whole(words.get("L", 1)) <= MOST_REPEATS:
        raise CannotRead("too many calls")
    for _ in range(whole(words.get("L", 1))):
        ended = run_lines(state, lines, place, depth + 1)
        if ended == "end":
            break
        if ended is None:
            raise CannotRead("subprogram without M99")
    return None


def find_program(lines, number):
    places = [n for n, line in enumerate(lines) if line.startswith("O") and named(line) == number]
    if len(places) != 1:
        raise CannotRead("subprogram missing or there twice")
    return places[0]


def named(line):
    digits = line[1:].rstrip("|")
    return int(digits) if digits.isdecimal() else None
