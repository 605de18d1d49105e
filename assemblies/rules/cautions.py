"""Build steps and cautions, as data: who reads them where, in our words."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

FOOTER = (
    "Follow the machine and tool makers' instructions and your local safety rules; they come first."
)


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution; `where` names the page or paper that carries it.

    `clamping` names the ways of clamping it speaks of; empty: all of them.
    """

    code: str
    where: str
    text: str
    clamping: frozenset[str] = frozenset()


_IN_A_COLLET: Final = frozenset({"collet"})
_WITH_A_TORQUE: Final = frozenset({"collet", "side_lock", "arbor", "hydraulic"})
_HELD_BY_A_SHANK: Final = frozenset(
    {"collet", "side_lock", "shrink", "hydraulic", "milling_chuck", "drill_chuck", "tap"}
)

#: The steps in general: `build_steps.py` has those of each way of clamping.
BUILD_STEPS: tuple[str, ...] = (
    "Clean taper, nose, collet, nut and shank, and look at each of them.",
    "Snap the collet into the nut; it must sit straight and turn freely.",
    "Start the nut on the nose by hand, two turns.",
    "Slide the shank in to its grip length, then draw it back a little: it must not bottom.",
    "Tighten with the torque wrench, holder in its fixture, and record the torque.",
    "Measure stick-out, gauge length, cutting diameter and runout, and record them.",
    "Compare the mark engraved on the holder with the screen, then print the label.",
)

CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "bench",
        "build",
        "Build and measure at the bench, never in the spindle. Edges are sharp: gloves for"
        " handling, no gloves near anything that turns.",
    ),
    Caution(
        "look",
        "build",
        "Rust, fretting, burrs, cracks, a dented cone or a split collet: set the part aside and"
        " mark it. Do not file it right.",
    ),
    Caution(
        "range",
        "build",
        "Use the collet whose range covers the shank. Never close a collet on a smaller shank,"
        " never tighten it empty.",
        _IN_A_COLLET,
    ),
    Caution(
        "grip",
        "build",
        "Hold at least {needs} mm of plain shank. Keep flutes and fillet out of the seat.",
        _HELD_BY_A_SHANK,
    ),
    Caution(
        "torque",
        "build",
        "Tighten with a torque wrench to the figure the rules name. No hammer, no pipe.",
        _WITH_A_TORQUE,
    ),
    Caution(
        "hot_nose",
        "build",
        "A shrink nose burns long after it stopped glowing. Heat-proof gloves, nothing that burns"
        " near it, eyes away from the coil.",
        frozenset({"shrink"}),
    ),
    Caution(
        "never_empty",
        "build",
        "Never tighten this chuck without a shank in it: its bore stays closed.",
        frozenset({"hydraulic", "milling_chuck"}),
    ),
    Caution(
        "key_out",
        "build",
        "A key left in a chuck is thrown when the spindle starts. No milling cutter in a drill"
        " chuck.",
        frozenset({"drill_chuck"}),
    ),
    Caution("label_speed", "label", "n max {limit} 1/min ({part})"),
    Caution("label_speed_unknown", "label", "n max NOT KNOWN"),
    Caution(
        "large_cutter",
        "label",
        "Large cutter: check the speed before start. Check every insert screw.",
    ),
    Caution(
        "loading",
        "spindle",
        "Spindle stopped, control in the state your site requires for tool changes. Isolate and"
        " lock off whenever you reach past the guard to service, unjam or clean.",
    ),
    Caution(
        "confirm",
        "spindle",
        "Confirm only what you have seen: number, cutter, stick-out, speed. In doubt, refuse."
        " Refusing is always right.",
    ),
    Caution(
        "first_run",
        "spindle",
        "Guards closed, people clear of the line of throw. Start below full speed, listen, stop"
        " on any new sound or vibration.",
    ),
    Caution(
        "after_a_crash",
        "spindle",
        "After a crash or a drop take the whole assembly out of use until holder, stud and cutter"
        " have been inspected. Do not use the pull stud again.",
    ),
    Caution(
        "scrap",
        "care",
        "Cut or mark a cracked, spread or galled nut or collet so that it cannot come back.",
    ),
    Caution("dust", "spindle", "Extraction on. No compressed air towards people."),
)


@dataclass(frozen=True, slots=True)
class Step:
    """One thing that hands and eyes do around a load; `before` fitting or after it."""

    key: str
    before: bool
    text: str


#: Asked for once, recorded as said. Source: common practice, in our words; makers' instructions
#: and local rules come first.
HANDS_ON: tuple[Step, ...] = (
    Step("stopped", True, "Spindle stopped, and it cannot start."),
    Step("clean", True, "Taper, seat and spindle nose wiped; stud tight."),
    Step("tug", False, "Tugged down by hand on the holder, not on the edges."),
    Step("turn", False, "Turned once by hand: no wobble, clear of the dust foot."),
    Step("number", False, "Number keyed equals number shown."),
    Step("closed", False, "Guards and dust foot closed."),
)
#: Height above the work for the first run, as it is proposed [um]. Source: shop setting.
FIRST_RUN_UM = 25_000

#: From this cutting diameter [um] the label carries the caution for large cutters.
LARGE_CUTTER_UM = 50_000


def cautions_for(where: str) -> tuple[Caution, ...]:
    """The cautions of one place: `build`, `label`, `spindle` or `care`.

    Source: common practice, in our words.

    >>> [caution.code for caution in cautions_for("care")]
    ['scrap']
    """
    return tuple(caution for caution in CAUTIONS if caution.where == where)


def bench_cautions(clamping: str | None, least_grip_mm: str = "") -> tuple[str, ...]:
    """The cautions of the bench for one way of clamping, with the least grip of the very build.

    `least_grip_mm` [mm] comes as printed. The caution that names it is left out where it is not
    known: a finding says what is missing. Not known how it clamps: as for a collet.

    Source: common practice, in our words.

    >>> len(bench_cautions("collet")), bench_cautions("collet", "26.7")[3][:21]
    (4, 'Hold at least 26.7 mm')
    """
    return tuple(
        caution.text.replace("{needs}", least_grip_mm)
        for caution in cautions_for("build")
        if (not caution.clamping or (clamping or "collet") in caution.clamping)
        and (least_grip_mm or "{needs}" not in caution.text)
    )


def steps_done(keys: Collection[str]) -> tuple[str, ...]:
    """What was said to be done, in the order of doing it; keys that are no step are left out.

    >>> steps_done({"turn", "stopped"})[0]
    'Spindle stopped, and it cannot start.'
    """
    return tuple(step.text for step in HANDS_ON if step.key in keys)


def is_large_cutter(diameter_um: int | None) -> bool:
    """Whether a cutting diameter [um] calls for the caution; not known counts as large.

    Source: shop setting of 50 mm.

    >>> is_large_cutter(50_000), is_large_cutter(49_999), is_large_cutter(None)
    (True, False, True)
    """
    return diameter_um is None or diameter_um >= LARGE_CUTTER_UM
