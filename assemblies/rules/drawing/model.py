"""What a drawing is made of: the facts of one assembly, and the lines and dimensions they become.

Lengths are whole micrometres; y counts downwards from the gauge line, x from the axis to the
right.

Source: kinds of line after ISO 128, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

Point = tuple[int, int]


class Stroke(StrEnum):
    """What a line stands for."""

    OUTLINE = "outline"
    FORM = "form"
    HIDDEN = "hidden"
    UNKNOWN = "unknown"
    AXIS = "axis"
    DIMENSION = "dimension"


class TaperForm(StrEnum):
    """How the spindle side looks.

    `STEEP` has a flange with a gripper groove, `STEEP_THICK` a thicker one (form J of ISO 7388-2),
    `MANUAL` a plain flange and a tail for a draw-bar, `ROUTER` a thin plain flange; `HOLLOW` and
    `POLYGON` seat on their face, `HOLLOW_MANUAL` without a groove.
    """

    STEEP = "steep"
    STEEP_THICK = "steep_thick"
    MANUAL = "manual"
    ROUTER = "router"
    HOLLOW = "hollow"
    HOLLOW_MANUAL = "hollow_manual"
    POLYGON = "polygon"

    @property
    def is_steep(self) -> bool:
        return self in (self.STEEP, self.STEEP_THICK, self.MANUAL, self.ROUTER)


class NutForm(StrEnum):
    """How a collet nut is turned: by flats, by slots, or by the grooves of a small one."""

    HEX = "hex"
    SLOTTED = "slotted"
    MINI = "mini"


@dataclass(frozen=True, slots=True, kw_only=True)
class SideFacts:
    """What is known of one assembly for its side view; None is a figure nobody recorded.

    stud               of the pull stud: fitted, none_fitted, unknown, "" where none is asked for
    gauge_diameter_um  of the taper at the gauge line [um]
    clamping           one of the ways of clamping; None: nobody recorded it
    holder_um          gauge line to nut face, or to the locating face, by the holder's record [um]
    nose_diameter_um   of the nut or nose, as recorded with the holder [um]
    nut_um             outside diameter that nuts of this series usually have [um]
    collet_gauge_um    gauge diameter of the collet series [um]
    bore_um            bore of the holder, or diameter of an arbor's spigot [um]
    sleeve_um          outside diameter of a reduction sleeve, None without one [um]
    grip_um            shank inside the clamping bore, as built [um]
    gauge_length_um    gauge line to tip, as measured [um]
    shank_um           diameter of the shank, None for a shell cutter [um]
    diameter_um        cutting diameter [um]; measured unless `diameter_is_nominal`
    nominal_diameter_um  cutting diameter of the item [um]
    flute_um           length of the cutting part from the tip [um]
    """

    taper: TaperForm = TaperForm.STEEP
    stud: str = ""
    gauge_diameter_um: int | None = None
    flange_diameter_um: int | None = None
    clamping: str | None = "collet"
    holder_um: int | None = None
    nose_diameter_um: int | None = None
    nut_um: int | None = None
    nut_form: NutForm = NutForm.SLOTTED
    collet_gauge_um: int | None = None
    collet_length_um: int | None = None
    bore_um: int | None = None
    bore_depth_um: int | None = None
    spigot_um: int | None = None
    key_um: int | None = None
    square_um: int | None = None
    sleeve_um: int | None = None
    sleeve_length_um: int | None = None
    grip_um: int | None = None
    stickout_um: int | None = None
    gauge_length_um: int | None = None
    shank_um: int | None = None
    shank_form: str = ""
    kind: str | None = None
    left_hand: bool = False
    teeth: int | None = None
    seats: int = 0
    diameter_um: int | None = None
    diameter_is_nominal: bool = False
    nominal_diameter_um: int | None = None
    bought_in_inches: bool = False
    flute_um: int | None = None
    corner_radius_um: int | None = None
    corner_is_measured: bool = False
    nominal_corner_um: int | None = None
    point_angle_tenths: int | None = None
    pitch_um: int | None = None

    @property
    def has_collet(self) -> bool:
        return self.clamping == "collet"

    @property
    def is_arbor(self) -> bool:
        return self.clamping == "arbor"

    @property
    def nominal_length_um(self) -> int | None:
        """Gauge line to tip by the holder's record and the stick-out as built [um]."""
        if self.holder_um is None or self.stickout_um is None:
            return None
        return self.holder_um + self.stickout_um

    @property
    def face_um(self) -> int | None:
        """Gauge line to nut face [um]: measured length less the stick-out, else the record."""
        if self.gauge_length_um is not None and self.stickout_um is not None:
            return max(0, self.gauge_length_um - self.stickout_um)
        return self.holder_um

    @property
    def tip_um(self) -> int | None:
        """Gauge line to tip [um]: as measured, else by the record."""
        return self.nominal_length_um if self.gauge_length_um is None else self.gauge_length_um


@dataclass(frozen=True, slots=True)
class Trace:
    """One run of straight lines; a `filled` one hides what was drawn before it."""

    stroke: Stroke
    points: tuple[Point, ...]
    closed: bool = False
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Measure:
    """A distance to be dimensioned; `text` says "not known" where it is so."""

    name: str
    text: str
    start: Point
    end: Point
    known: bool


@dataclass(frozen=True, slots=True)
class Callout:
    """A text that points at one place of the drawing."""

    text: str
    at: Point
    known: bool


@dataclass(frozen=True, slots=True)
class Figure:
    """One dimension in words: what was measured, and what it is by the records; "" for neither."""

    name: str
    measured: str
    nominal: str


@dataclass(frozen=True, slots=True)
class SideView:
    """Outlines and dimensions of one assembly in its own size, and what is missing in words.

    length, stickout, diameter  the three that every drawing carries
    before, after  further upright dimensions, left and right of the axis, the innermost first
    callouts       diameters, radius and angle, to be written beside what they belong to
    figures        all of them as a table
    """

    traces: tuple[Trace, ...]
    length: Measure
    stickout: Measure
    diameter: Measure
    missing: tuple[str, ...]
    description: str
    before: tuple[Measure, ...] = ()
    after: tuple[Measure, ...] = ()
    callouts: tuple[Callout, ...] = ()
    figures: tuple[Figure, ...] = ()
