"""The G and M numbers the reader knows, with the group each belongs to.

G numbers are kept times ten, so that G59.3 is 593. Source of the groups: NIST IR 6556 (2000),
3.4; G73, G74, G95 and G97 are common practice on milling controls.
"""

from __future__ import annotations

_G_GROUPS: dict[str, tuple[int, ...]] = {
    "motion": (0, 10, 20, 30, 382, 730, 740, *range(800, 900, 10)),
    "plane": (170, 180, 190),
    "units": (200, 210),
    "distance": (900, 910),
    "arc centres": (911,),
    "feed mode": (930, 940, 950),
    "speed mode": (970,),
    "radius offset": (400, 410, 420),
    "length offset": (430, 490),
    "return": (980, 990),
    "work offset": (540, 550, 560, 570, 580, 590, 591, 592, 593),
    "path": (90, 610, 611, 640),
    "rotation": (690,),
    "scale": (500,),
    "mirror": (501,),
    "polar": (150,),
    "cylinder": (131,),
    "once": (40, 100, 280, 300, 530, 920, 921, 922, 923),
}
#: Group of each known G number times ten.
G_GROUP = {code: group for group, codes in _G_GROUPS.items() for code in codes}

_M_GROUPS: dict[str, tuple[int, ...]] = {
    "stop": (0, 1, 2, 30, 60),
    "change": (6,),
    "spindle": (3, 4, 5),
    "coolant": (7, 8, 9),
    "override": (48, 49),
}
#: Group of each known M number.
M_GROUP = {code: group for group, codes in _M_GROUPS.items() for code in codes}

#: Not followed, but known to bend the path only: the tools, speeds and feeds stay right.
G_PATH_ONLY = frozenset(
    {50, 51, 52, 53, 71, 121, 160, 411, 421, 431, 432, 434, 435, 440}
    | {510, 511, 520, 541, 600, 620, 680, 682, 901}
)
#: The code that ends what a code of the path bends; the others bend it to the end.
BENDS_UNTIL = (
    {680: 690, 682: 690, 510: 500, 511: 501, 160: 150, 121: 131, 901: 911}
    | dict.fromkeys((431, 432, 434, 435, 440), 490)
    | dict.fromkeys((411, 421), 400)
)
#: Ends of such bends: harmless where nothing is bent, and read only without further words.
BEND_ENDS = frozenset(("rotation", "scale", "mirror", "polar", "cylinder"))
#: Calls of other programs and macros.
G_SUBPROGRAM = frozenset((650, 660, 661, 670))
M_SUBPROGRAM = frozenset((96, 97, 198))
#: Call of a program of the same file, and the way back.
M98, M99 = 98, 99
M_CALLS = frozenset((M98, M99))

CYCLES = frozenset((730, 740, *range(810, 900, 10)))
ARCS = frozenset((20, 30))
PLAIN_MOTIONS = frozenset((0, 10, 20, 30))
END_CODES = frozenset((2, 30))
#: Axis words: a block that has one moves, unless another code uses it.
AXES = frozenset("XYZABCUVW")
PROBE, G0, G1, G2, G80, G84, G74, G87 = 382, 0, 10, 20, 800, 840, 740, 870
G4, G10, G28, G30, G53 = 40, 100, 280, 300, 530
G92, G92_1, G92_2, G92_3 = 920, 921, 922, 923
G17, G20, G64 = 170, 200, 640
G40, G41, G42, G43, G49 = 400, 410, 420, 430, 490


def g_name(tenfold: int) -> str:
    """The code as written: 593 is G59.3.

    >>> g_name(593), g_name(10)
    ('G59.3', 'G1')
    """
    whole, tenth = divmod(tenfold, 10)
    return f"G{whole}.{tenth}" if tenth else f"G{whole}"
