"""The reader against a second, slow reading that shares nothing with it, on random programs.

The programs come from a seeded writer, so every run sees the same ones; the figures come from
`nc_oracle.py`, which walks arcs in small steps. Where the reader admits a figure it is not wrong,
but it may not admit much: that is counted too.
"""

import math
import random
import re

import pytest

from assemblies.rules.nc.reader import read_program
from assemblies.rules.nc.reading import ReaderSettings
from tests.assemblies.nc_oracle import read_slowly
from tests.assemblies.nc_oracle_moves import CENTRES, PLANES
from tests.assemblies.nc_oracle_state import new_use
from tests.assemblies.nc_oracle_words import CannotRead, Forbidden

#: How far a figure may be from the slow one: the share of it, or so much.
EXACTLY = (0.0, 0.0)
CLOSE = {
    "feed_path_length": (0.002, 0.02),
    "rapid_path_length": (0.002, 0.02),
    "cutting_time": (0.002, 0.0005),
    "dwell_time": (0.002, 0.0005),
    "deepest_z": (0.0, 0.002),
    "deepest_z_rapid": (0.0, 0.002),
    "deepest_z_by_work_offset": (0.0, 0.002),
    "feed_rate_max": (1e-9, 0.0),
    "feed_rate_min": (1e-9, 0.0),
    "feed_per_revolution_max": (1e-9, 0.0),
    "spindle_speed_max": EXACTLY,
    "spindle_speed_min": EXACTLY,
    "spindle_speed_carried": EXACTLY,
    "rotation": EXACTLY,
    "cycles": EXACTLY,
}
MEASURED = ("feed_path_length", "cutting_time", "deepest_z", "spindle_speed_max", "feed_rate_max")


# ---------------------------------------------------------------- the writer


class Writer:
    """Writes programs that keep the rules, each in the hand of somebody else.

    `at` is where the tool stands [mm], None where the writer does not want to know.
    """

    def __init__(self, seed):
        self.dice = random.Random(seed)
        self.lines, self.subprograms = [], []
        self.at = dict.fromkeys("XYZ", 0.0)
        self.factor, self.absolute, self.plane, self.motion = 1.0, True, 17, None
        self.feed_mode, self.needs_feed, self.row = 94, True, False
        self.tidy = self.dice.random() < 0.5
        self.spoken_of = 0.0

    def chance(self, share):
        return self.dice.random() < share

    # -- words

    def length(self, letter, millimetres):
        """A word for a length in the unit in force, and what it really says [mm]."""
        places = 3 if self.factor == 1.0 else 4
        value = round(millimetres / self.factor, places) + 0.0
        return letter + self.spelled(value, places), value * self.factor

    def spelled(self, value, places=3):
        text = f"{value:.{places}f}"
        if self.chance(0.7):
            text = text.rstrip("0")
            if not self.tidy and self.chance(0.3):
                text = text.rstrip(".").replace("0.", ".", 1) if abs(value) < 1 else text
        return "+" + text if not self.tidy and value > 0 and self.chance(0.1) else text

    def write(self, *words, fixed=False):
        """One block; word order, blanks, case, N numbers and comments as the hand pleases."""
        words = [word for word in words if word]
        if not self.tidy and not fixed:
            self.dice.shuffle(words)
        if self.chance(0.2) and not self.tidy and not fixed:
            words.insert(self.dice.randrange(len(words) + 1), "(T9 M6 S99999)")
        text = self.dice.choice(["", " ", " ", "  "]).join(words)
        if not self.tidy and self.chance(0.2):
            text = text.lower()
        number = f"N{10 * len(self.lines) + 10} " if self.chance(0.4) else ""
        self.lines.append(number + text)

    def code(self, code, share=0.5):
        """The word of a motion code, left away now and then where it is still in force."""
        spoken = code != self.motion or self.chance(share)
        self.motion, self.row = code, False
        if not spoken:
            return ""
        return f"G0{code}" if self.chance(0.5) else f"G{code}"

    def feed(self):
        if self.feed_mode == 93:
            return "F" + self.spelled(self.dice.uniform(0.5, 20))
        if not self.needs_feed and self.chance(0.8):
            return ""
        self.needs_feed = False
        if self.feed_mode == 95:
            return self.length("F", self.dice.uniform(0.05, 0.4))[0]
        return self.length("F", self.dice.randint(200, 6000))[0]

    def spot(self, axis):
        return self.dice.uniform(-12, 20) if axis == "Z" else self.dice.uniform(-60, 60)

    def axis_word(self, axis, target):
        """A word that leads to the target [mm], in G90 or G91; keeps what it really says."""
        if self.absolute:
            word, self.at[axis] = self.length(axis, target)
        elif self.at[axis] is None:
            word, _ = self.length(axis, self.dice.uniform(-5, 5))
        else:
            word, step = self.length(axis, target - self.at[axis])
            self.at[axis] += step
        return word

    # -- moves

    def go(self, code=None, axes=None):
        code = self.dice.choice([0, 1, 1]) if code is None else code
        axes = axes or self.dice.sample("XYZ", self.dice.choice([1, 1, 2, 2, 3]))
        words = [self.axis_word(axis, self.spot(axis)) for axis in axes]
        self.write(self.code(code), *words, self.feed() if code else "")

    def find_back(self):
        """All three axes are known again."""
        if not self.absolute:
            self.absolute = True
            self.write("G90")
        self.go(0, "XYZ")

    def know(self):
        if None in self.at.values():
            self.find_back()

    def arc(self):
        self.know()
        first, second, across = PLANES[self.plane]
        centre = [self.dice.uniform(-20, 20) for _ in range(2)]
        if math.hypot(*centre) < 2:
            centre[0] += 5
        centre_words, centre = self.centre_words(first, second, centre)
        angle = math.radians(self.dice.uniform(10, 350))
        reach = complex(-centre[0], -centre[1]) * complex(math.cos(angle), math.sin(angle))
        ends = {first: centre[0] + reach.real, second: centre[1] + reach.imag}
        words = [self.axis_word(axis, self.at[axis] + step) for axis, step in ends.items()]
        if self.chance(0.3):
            words.append(self.axis_word(across, self.spot(across)))
        self.write(self.code(self.dice.choice([2, 3])), *words, *centre_words, self.feed())

    def centre_words(self, first, second, centre):
        pairs = [
            self.length(CENTRES[axis], part)
            for axis, part in zip((first, second), centre, strict=True)
        ]
        return [word for word, _ in pairs], [part for _, part in pairs]

    def circle(self):
        self.know()
        first, _, across = PLANES[self.plane]
        words = [self.length(CENTRES[first], self.dice.uniform(2, 25))[0]]
        if self.chance(0.5):
            words.append(self.axis_word(across, self.spot(across)))
        self.write(self.code(self.dice.choice([2, 3]), 1.0), *words, self.feed())

    def arc_by_radius(self):
        self.know()
        axes = PLANES[self.plane][:2]
        before = dict(self.at)
        words = [self.axis_word(axis, self.at[axis] + self.dice.uniform(3, 15)) for axis in axes]
        way = math.dist([before[axis] for axis in axes], [self.at[axis] for axis in axes])
        radius = way / 2 * self.dice.uniform(1.05, 3) * self.dice.choice([1, 1, -1])
        words.append(self.length("R", radius)[0])
        self.write(self.code(self.dice.choice([2, 3])), *words, self.feed())

    # -- rows of holes

    def holes(self, codes=(73, 81, 82, 83, 84, 85, 86, 87, 88, 89)):
        if self.feed_mode == 93:
            return
        self.know()
        first, second, own = PLANES[self.plane]
        code = self.dice.choice([code for code in codes if code != 87 or self.absolute])
        top = self.dice.uniform(0, 6)
        depth = self.dice.uniform(1, 15)
        retract = top if self.absolute else top - self.at[own]
        bottom = top - depth if self.absolute else -depth
        where = [self.dice.uniform(-30, 30) for _ in range(2)]
        repeats = f"L{self.dice.randint(2, 4)}" if self.chance(0.2) else ""
        self.write(
            f"G{code}",
            self.dice.choice(["G98", "G99"]),
            *(self.length(a, v)[0] for a, v in zip((first, second), where, strict=True)),
            self.length(own, bottom)[0],
            self.length("R", retract)[0],
            self.hole_extra(code, bottom, depth),
            repeats,
            self.feed(),
        )
        for _ in range(self.dice.randrange(4)):
            self.write(self.length(self.dice.choice([first, second]), self.spot("X"))[0])
        self.end_row()

    def hole_extra(self, code, bottom, depth):
        if code == 87:
            return self.length("K", bottom + depth * self.dice.uniform(0.2, 0.9))[0]
        if code in (73, 83):
            return self.length("Q", depth / self.dice.uniform(0.8, 5.5))[0]
        return f"P{self.dice.choice(['0.5', '1', '.25'])}" if code in (82, 86, 88, 89) else ""

    def end_row(self):
        self.motion = None
        self.at = dict.fromkeys("XYZ")
        if self.chance(0.7) or not self.absolute:
            self.write("G80")
        self.find_back()

    # -- the rest

    def tool(self):
        number = self.dice.randint(1, 6)
        speed = f"S{self.dice.randint(5, 240) * 100}"
        turn = self.dice.choice(["M3", "M3", "M03", "M4"])
        if self.chance(0.3):
            self.write(f"T{number}", "M6", speed, turn)
        else:
            self.write(f"T{number}", "M6", "M8") if self.chance(0.5) else self.stage(number)
            self.write(speed if self.chance(0.93) or not self.spoken_of else "", turn)
        self.spoken_of = speed
        self.needs_feed = True
        if self.chance(0.2):
            self.write("G43", f"H{number}", self.code(0, 1.0), self.axis_word("Z", 30))

    def stage(self, number):
        self.write(f"T0{number}")
        self.write("M06", "; (", fixed=True)

    def other_speed(self):
        self.write(f"S{self.dice.randint(5, 240) * 100}")

    def pause(self):
        self.write("G4", f"P{self.dice.choice(['0.5', '2', '1.', '.75'])}")

    def other_unit(self):
        self.factor = 25.4 if self.factor == 1.0 else 1.0
        self.needs_feed = True
        self.write("G21" if self.factor == 1.0 else "G20")

    def other_distance(self):
        self.absolute = not self.absolute
        self.write("G90" if self.absolute else "G91")

    def other_plane(self):
        self.plane = self.dice.choice([17, 18, 19])
        self.write(f"G{self.plane}")

    def other_feed_mode(self):
        self.feed_mode, self.needs_feed = self.dice.choice([93, 94, 95]), True
        self.write(f"G{self.feed_mode}")

    def other_work_offset(self):
        self.write(f"G{self.dice.randint(54, 59)}")
        self.lost()

    def lost(self, axes="XYZ"):
        for axis in axes:
            self.at[axis] = None
        if self.chance(0.7):
            self.find_back()

    def work_zero(self):
        if self.absolute:
            axes = self.dice.sample("XYZ", 2)
            words = [self.length(axis, self.spot(axis))[0] for axis in axes]
            self.write("G10", "L2", f"P{self.dice.randint(1, 3)}", *words)
            self.lost()

    def shifted_zero(self):
        if self.chance(0.3):
            self.write(self.dice.choice(["G92.1", "G92.2", "G92.3"]))
            self.lost()
            return
        words = []
        for axis in self.dice.sample("XYZ", self.dice.randint(1, 3)):
            word, self.at[axis] = self.length(axis, self.spot(axis))
            words.append(word)
        self.write("G92", *words)

    def home(self):
        if self.chance(0.5):
            self.write("G28", self.length("Z", 25)[0])
        elif self.absolute:
            self.motion = 0
            self.write("G53", "G0", "Z0")
        self.lost("Z")

    def parameters(self):
        number = self.dice.randint(1, 90)
        value = self.dice.randint(-40, 40) / 2
        self.write(f"#{number}={value}")
        text, value = self.dice.choice(
            [
                (f"#{number}", value),
                (f"[#{number}+2.5]", value + 2.5),
                (f"[2*#{number}-3/2]", 2 * value - 1.5),
                (f"[[#{number}-1]*0.5]", (value - 1) * 0.5),
                (f"[#{number} + 10*COS[60]]", value + 5),
            ]
        )
        known = self.at["X"] is not None and not self.absolute
        self.at["X"] = value * self.factor + (self.at["X"] if known else 0.0)
        self.write(self.code(1), f"X{text}", self.feed())
        if not self.absolute and not known:
            self.at["X"] = None

    def call(self):
        """A subprogram of incremental moves, which fit wherever it is called."""
        self.know()
        name, main = 1000 + len(self.subprograms), self.lines
        times = self.dice.choice([None, 1, 2, 3])
        self.write(f"M98 P{name}" + (f" L{times}" if times else ""), fixed=True)
        if self.chance(0.3):
            self.write(f"M98 P{name}", fixed=True)
        self.lines, self.motion, before = [], None, self.absolute
        self.write("G91")
        self.absolute = False
        for _ in range(self.dice.randint(1, 4)):
            self.dice.choice([self.go, self.arc, self.circle])()
        self.write("G90")
        self.absolute = True
        self.subprograms.append([f"O{name}", *self.lines, "M99"])
        self.lines, self.motion = main, None
        self.at = dict.fromkeys("XYZ")
        if not before:
            self.other_distance()
        self.find_back()

    # -- programs

    def program(self, steps, moves=12):
        """A whole program: a head, then moves of the given kinds, tools in between."""
        self.write("G21 G90 G17 G94", fixed=True)
        self.write("G54", fixed=True)
        self.tool()
        for _ in range(moves):
            self.dice.choice(steps)()
        self.write("M5")
        body = [*self.lines, "M30", *(line for sub in self.subprograms for line in sub)]
        return "\n".join(["%", "O1", *body, "%"] if self.chance(0.5) else body) + "\n"


def everyday(seed):
    w = Writer(seed)
    often = [w.go, w.go, w.arc, w.arc, w.circle, w.other_speed]
    return w.program([*often, lambda: w.holes((73, 81, 82, 83)), w.pause, w.tool])


def unusual(seed):
    w = Writer(seed)
    moves = [w.go, w.go, w.arc, w.circle, w.arc_by_radius, w.holes, w.parameters]
    modes = [w.other_unit, w.other_distance, w.other_plane, w.other_feed_mode, w.other_speed]
    zeros = [w.other_work_offset, w.work_zero, w.shifted_zero, w.home, w.call, w.pause, w.tool]
    return w.program([*moves, *moves, *modes, *zeros], moves=14)


ODD_WORDS = (
    "X1 G1 G0 G2 Z-3 F100 S900 M3 M5 M6 T2 G91 G90 G20 R2 I1 K1 G80 G81 L2 P1 Q1 G28 G53 M30 M0 "
    "G18 G54 G55 G92 A5 U3 E1 X1. F0 S0 ( % / ; G5 G41 M98 #1=2 X#1 X#9 [1] G04 X-Y N G G43 H1"
).split()


def spoiled(seed):
    """A program somebody has worked on: words and lines gone, moved, doubled or strange."""
    dice = random.Random(-seed)
    lines = (everyday if seed % 2 else unusual)(seed).splitlines()
    for _ in range(dice.randint(1, 3)):
        dice.choice([drop_word, swap_lines, insert_word, cut_short, drop_line])(lines, dice)
    return "\n".join(lines) + "\n"


def drop_word(lines, dice):
    place = dice.randrange(len(lines))
    words = lines[place].split()
    if words:
        words.pop(dice.randrange(len(words)))
    lines[place] = " ".join(words)


def swap_lines(lines, dice):
    place = dice.randrange(len(lines) - 1)
    lines[place], lines[place + 1] = lines[place + 1], lines[place]


def insert_word(lines, dice):
    place = dice.randrange(len(lines))
    words = lines[place].split()
    words.insert(dice.randrange(len(words) + 1), dice.choice(ODD_WORDS))
    lines[place] = " ".join(words)


def cut_short(lines, dice):
    place = dice.randrange(len(lines) // 2, len(lines))
    lines[place] = lines[place][: dice.randrange(len(lines[place]) + 1)]
    if dice.random() < 0.3:
        del lines[place + 1 :]


def drop_line(lines, dice):
    if len(lines) > 2:
        lines.pop(dice.randrange(len(lines)))


# ---------------------------------------------------------------- the comparison


def differences(reading, slow):
    """Figures the reader calls exact and the slow reading does not confirm."""
    found = []
    for tool in {*slow, *reading.tool_uses}:
        use, known = reading.tool_uses.get(tool), slow.get(tool, new_use())
        if use is None:
            found += [(tool, "missing", None, known)] if known != new_use() else []
            continue
        for figure in CLOSE:
            said, true = getattr(use, figure), known[figure]
            if not use.exact[figure] or figure in known["open"]:
                continue
            if figure in known["unknown"]:
                found.append((tool, figure, said, "cannot be known"))
            elif not agree(said, true, *CLOSE[figure]):
                found.append((tool, figure, said, true))
    return found


def agree(said, true, share, amount):
    if isinstance(true, dict):
        return said.keys() == true.keys() and all(
            agree(said[name], true[name], share, amount) for name in true
        )
    if said is None or true is None or isinstance(true, set):
        return said == true
    return abs(said - true) <= max(share * abs(true), amount)


def read(text, **settings):
    return read_program(text.encode(), ReaderSettings(**settings))


def faults(text, back_off=0.0):
    """What a reading that says it is whole got wrong; None where it does not or none compares."""
    reading = read(text, peck_back_off_mm=back_off)
    if not reading.complete:
        return None
    try:
        return differences(reading, read_slowly(text, back_off=back_off))
    except Forbidden as rule:
        return [("-", "complete", True, str(rule))]
    except CannotRead:
        return None


def first_fault(program, seeds):
    """The first program read wrongly, to be seen in the failure, and how many were compared."""
    compared = 0
    for seed in seeds:
        found = faults(program(seed))
        if found:
            return seed, found, program(seed)
        compared += found is not None
    return compared


# ---------------------------------------------------------------- the tests


@pytest.mark.parametrize(("program", "seeds", "least"), [(everyday, 120, 114), (unusual, 200, 150)])
def test_what_the_reader_calls_exact_is_what_the_slow_reading_finds(program, seeds, least):
    outcome = first_fault(program, range(seeds))
    assert isinstance(outcome, int), outcome
    assert outcome >= least


def test_a_spoiled_program_is_admitted_or_read_right():
    outcome = first_fault(spoiled, range(400))
    assert isinstance(outcome, int), outcome
    assert outcome >= 110


def test_everyday_programs_are_read_whole():
    readings = [read(everyday(seed)) for seed in range(100)]
    whole = [
        all(use.exact[figure] for use in reading.tool_uses.values() for figure in MEASURED)
        for reading in readings
        if reading.complete
    ]
    assert sum(whole) >= 0.95 * len(readings)


def test_a_way_back_between_pecks_counts_as_far_as_the_machine_says():
    found = [faults(everyday(seed), back_off=0.25) for seed in range(60)]
    assert not any(found), next(fault for fault in found if fault)
    assert found.count(None) <= 3


LENGTH_WORD = re.compile(r"([XYZIJKRQ])([+-]?[0-9]*\.?[0-9]*)", re.IGNORECASE)


def in_thousandths(text):
    """The program with every length word counted in 0.001 mm, without a point."""
    return LENGTH_WORD.sub(lambda word: f"{word[1]}{round(float(word[2]) * 1000)}", text)


@pytest.mark.parametrize("seed", range(0, 40, 2))
def test_a_program_in_least_increments_says_the_same_as_with_points(seed):
    text = everyday(seed)
    counted = read(in_thousandths(text), counts_least_increments=True)
    plain = read(text)
    assert counted.complete == plain.complete
    assert set(counted.tool_uses) == set(plain.tool_uses)
    for tool, use in plain.tool_uses.items():
        for figure in MEASURED:
            assert getattr(counted.tool_uses[tool], figure) == pytest.approx(getattr(use, figure))


#: Sums by hand of `test_nc_report_examples.py`, so that the slow reading is no judge of itself.
KNOWN_ARCS = [
    ("G0 X7 Y7 Z9\nG17 G2 X10 Y16 I3 J4 Z9 F1", 5 * math.radians(143.1301)),
    ("G2 I5 F1", 10 * math.pi),
    ("G3 X0 Y0 Z-4 I3 F1", math.hypot(6 * math.pi, 4)),
    ("G18 G2 X6 Z-6 K-6 F1", 9 * math.pi),
    ("G2 X10 R-10 F1", 10 * math.radians(300)),
]


@pytest.mark.parametrize(("blocks", "length"), KNOWN_ARCS)
def test_twenty_thousand_small_steps_give_the_length_of_an_arc(blocks, length):
    uses = read_slowly(f"T1 M6\n{blocks}\nM30", steps=20_000)
    assert uses[1]["feed_path_length"] == pytest.approx(length, rel=1e-6)


FORBIDDEN = [
    "G0 G1 X1",
    "X1 X2",
    "G1 X",
    "G1 X--1",
    "G1 X-+1",
    "G1 X1 (open",
    "G1 X1 ((twice)",
    "G81 X1 Z-1",
    "G83 X1 Z-1 R1",
    "G2 X9 Y9 I1",
    "G2 X5 R1",
    "G2 X0 Y0 R1",
    "G92",
    "T1.5 M6",
    "G1 X[1/0]",
    "G1 X[1+",
    "G81 X1 Z-1 R1\nG53 X1",
]


@pytest.mark.parametrize("block", FORBIDDEN)
def test_a_block_the_standard_forbids_is_never_called_understood(block):
    text = f"G21 G90 T1 M6\nS900 M3 F100\n{block}\nM30\n"
    with pytest.raises(Forbidden):
        read_slowly(text)
    assert not read(text).complete
