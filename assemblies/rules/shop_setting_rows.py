"""The table of limits that a shop may set otherwise: words, usual value, span, and why it ends."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Kind(StrEnum):
    """What is stored: a length [um], a whole number, one of some words, or bands of runout."""

    LENGTH = "length"
    WHOLE = "whole"
    CHOICE = "choice"
    BANDS = "bands"


class Asked(StrEnum):
    """Where the limit is asked, and so whose answers a change of it can turn."""

    #: Of the build alone.
    BUILD = "build"
    #: Of the build at the spindle, by its age.
    AGE = "age"
    #: Together with a program, which is not known before the spindle.
    PROGRAM = "program"


@dataclass(frozen=True, slots=True, kw_only=True)
class Setting:
    """One limit that a shop may change.

    `least` and `most` are the ends of the allowed span, both included, in the stored unit; of
    bands the ends of one allowed runout [um]. `beyond` says why the span ends there.
    """

    name: str
    words: str
    effect: str
    usual_from: str
    beyond: str
    asked: Asked
    kind: Kind = Kind.WHOLE
    unit: str = ""
    decimals: int = 2
    least: int = 0
    most: int = 0
    may_be_uncounted: bool = False


SETTINGS: tuple[Setting, ...] = (
    Setting(
        name="grip_rule",
        words="Least grip, on top of two thirds of the collet",
        effect="Less is a stop at the bench that toolroom or lead answer for.",
        usual_from="two thirds of the collet: common practice; a mark on the shank wins",
        beyond="Two thirds of the collet and the mark on the shank are always asked for.",
        asked=Asked.BUILD,
        kind=Kind.CHOICE,
    ),
    Setting(
        name="shank_spare_um",
        words="Plain shank kept clear of the fillet",
        effect="Less left outside is a stop that toolroom or lead answer for.",
        usual_from="decided here: 1 mm",
        beyond="0 leaves the fillet to the eye; above 10 mm hardly any shank is left to hold.",
        asked=Asked.BUILD,
        kind=Kind.LENGTH,
        unit="mm",
        decimals=1,
        least=0,
        most=10_000,
    ),
    Setting(
        name="collet_closing_um",
        words="How far a collet may be closed",
        effect="Closed further below its largest size is a check.",
        usual_from="decided here: 0.5 mm; collets close by 0.5 or 1 mm, by their series",
        beyond="Collets of all series but ER50 close by 1 mm at most.",
        asked=Asked.BUILD,
        kind=Kind.LENGTH,
        unit="mm",
        least=0,
        most=1_000,
    ),
    Setting(
        name="collet_hours_limit",
        words="Hours of a collet",
        effect="More is a check, far more a stop. A limit recorded with the collet goes first.",
        usual_from="400 to 600 h is common practice for router collets",
        beyond="Above 2000 h nobody on record keeps a collet.",
        asked=Asked.BUILD,
        unit="h",
        least=50,
        most=2_000,
        may_be_uncounted=True,
    ),
    Setting(
        name="collet_hours_stop_percent",
        words="Hours of a collet that stop, as a share of its limit",
        effect="More is a stop that toolroom or lead answer for.",
        usual_from="decided here: one and a half times the limit",
        beyond="The stop lies at the limit or above, and never beyond twice the limit.",
        asked=Asked.BUILD,
        unit="%",
        least=100,
        most=200,
    ),
    Setting(
        name="closure_um",
        words="Gap between the measured gauge length and the sum",
        effect="More is a check.",
        usual_from="decided here: 0.5 mm, for a stick-out measured by hand",
        beyond="Above 2 mm another holder would pass unseen.",
        asked=Asked.BUILD,
        kind=Kind.LENGTH,
        unit="mm",
        least=20,
        most=2_000,
    ),
    Setting(
        name="diameter_over_um",
        words="Measured diameter above the cutter's own",
        effect="More is a check.",
        usual_from="decided here: 0.05 mm; sharpening never makes a cutter larger",
        beyond="3.175 mm must never pass for 3 mm.",
        asked=Asked.BUILD,
        kind=Kind.LENGTH,
        unit="mm",
        least=0,
        most=150,
    ),
    Setting(
        name="diameter_under_um",
        words="Measured diameter below the cutter's own",
        effect="More is a check.",
        usual_from="sharpening takes some tenths of a millimetre: common practice",
        beyond="Above 2 mm another cutter would pass unseen.",
        asked=Asked.BUILD,
        kind=Kind.LENGTH,
        unit="mm",
        least=0,
        most=2_000,
    ),
    Setting(
        name="runout_bands_um",
        words="Runout allowed, by cutting diameter",
        effect="More is a check.",
        usual_from="decided here, by cutting diameter: 0.005, 0.010, 0.015, 0.025 mm",
        beyond="Bands rise in diameter, and a larger cutter is never allowed less than a"
        " smaller one.",
        asked=Asked.BUILD,
        kind=Kind.BANDS,
        unit="mm",
        decimals=3,
        least=1,
        most=100,
    ),
    Setting(
        name="router_runout_factor",
        words="Runout on a router, as a multiple",
        effect="The limit of a machine that is marked as a router.",
        usual_from="decided here: twice",
        beyond="1 treats routers as mills; more than 3 times is no limit any more.",
        asked=Asked.BUILD,
        unit="×",
        least=1,
        most=3,
    ),
    Setting(
        name="runout_stop_factor",
        words="Runout that stops, as a multiple of the limit",
        effect="More is a stop that toolroom or lead answer for.",
        usual_from="decided here: twice the limit",
        beyond="1 stops at the limit; more than 3 times is no stop any more.",
        asked=Asked.BUILD,
        unit="×",
        least=1,
        most=3,
    ),
    Setting(
        name="mark_needed_from_um",
        words="Cutting diameter from which a cutter needs a marked speed",
        effect="Without the mark: a check.",
        usual_from="EN 847-1, from memory: its scope starts at a cutting circle of 16 mm",
        beyond="Above 16 mm the standard asks for the mark, and so do we.",
        asked=Asked.BUILD,
        kind=Kind.LENGTH,
        unit="mm",
        least=1_000,
        most=16_000,
    ),
    Setting(
        name="rim_caution_m_s",
        words="Rim speed of a cutter without a marked speed",
        effect="Faster is a check.",
        usual_from="decided here: 50 m/s; public tables imply 53 to 59 m/s",
        beyond="53 m/s is the lowest that the public tables imply.",
        asked=Asked.PROGRAM,
        unit="m/s",
        least=10,
        most=53,
    ),
    Setting(
        name="remeasure_after_days",
        words="How old a measurement may be",
        effect="Older is a check at the spindle.",
        usual_from="decided here: 180 days",
        beyond="Above two years nobody remembers how it was measured.",
        asked=Asked.AGE,
        unit="days",
        least=1,
        most=730,
    ),
    Setting(
        name="unstated_diameter_tolerance_um",
        words="Diameter off where the program states no tolerance",
        effect="More is a stop that toolroom or lead answer for; within it the missing"
        " tolerance is still said to be not known.",
        usual_from="decided here: 0.05 mm",
        beyond="3.175 mm must never pass for 3 mm.",
        asked=Asked.PROGRAM,
        kind=Kind.LENGTH,
        unit="mm",
        least=0,
        most=150,
    ),
    Setting(
        name="unstated_length_tolerance_um",
        words="Gauge length off where the program states no tolerance",
        effect="More is a stop that toolroom or lead answer for; within it the missing"
        " tolerance is still said to be not known.",
        usual_from="decided here: 1 mm",
        beyond="Above 5 mm another build would pass unseen.",
        asked=Asked.PROGRAM,
        kind=Kind.LENGTH,
        unit="mm",
        least=0,
        most=5_000,
    ),
    Setting(
        name="long_stickout_percent",
        words="Stick-out above the program's largest, as a share",
        effect="Up to it a check, beyond it a stop that toolroom or lead answer for.",
        usual_from="decided here: 10 %",
        beyond="Above 25 % a cutter is another tool: it bends twice as far.",
        asked=Asked.PROGRAM,
        unit="%",
        least=0,
        most=25,
    ),
)

#: What never changes, whatever is set above. Said on the page of the limits.
FIXED = (
    "What is marked on a part beats every limit of the shop.",
    "Two thirds of the collet, and the mark on the shank.",
    "A speed over the lowest marked limit stops, and nobody may override it.",
    "A shank outside the collet's range stops, and nobody may override it.",
    "What is not known is never a pass.",
)
