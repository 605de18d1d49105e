"""Rows of the reference tables, and look-ups over them.

The rows are read elsewhere and passed in, so that a rule stays a calculation. A look-up answers
None when the tables do not say: that is "not known", never "no limit".
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

#: How a holder holds: the code stored with an item, and its words.
CLAMPING_KINDS: dict[str, str] = {
    "collet": "collet",
    "arbor": "shell-mill arbor",
    "side_lock": "side-lock bore",
    "hydraulic": "hydraulic bore",
    "shrink": "shrink-fit bore",
    "milling_chuck": "milling chuck",
    "drill_chuck": "drill chuck",
    "tap": "tap holder",
}

#: Holders whose bore takes exactly one shank diameter.
FIXED_BORES = frozenset({"side_lock", "hydraulic", "shrink", "milling_chuck"})

#: Holders that may hold a smaller shank in a reduction sleeve.
SLEEVED = frozenset({"side_lock", "hydraulic", "milling_chuck"})

#: Holders whose clamping screw has a torque.
SCREWED = frozenset({"side_lock", "arbor", "hydraulic"})


@dataclass(frozen=True, slots=True)
class ColletSeries:
    """One collet series: its range, length and nut threads."""

    series: str
    in_iso_15488: bool
    gauge_diameter_um: int
    length_um: int
    min_shank_um: int
    max_shank_um: int
    special_max_shank_um: int | None
    closing_um: int
    nut_thread_standard: str
    nut_thread_mini: str
    source: str = ""
    confidence: str = ""
    note: str = ""

    def nut_threads(self) -> dict[str, str]:
        """Nut type -> thread, only the types this series has."""
        threads = {"standard": self.nut_thread_standard, "mini": self.nut_thread_mini}
        return {nut_type: thread for nut_type, thread in threads.items() if thread}


@dataclass(frozen=True, slots=True)
class ColletBore:
    """One collet of a series: what it is called and the shanks it takes."""

    series: str
    bore_system: str
    label: str
    nominal_um: int
    clamp_min_um: int
    clamp_max_um: int
    clamp_min_cautious_um: int
    metric_collet: str
    source: str = ""
    confidence: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class NutTorqueBand:
    """Recommended and largest nut torque for one span of shank diameters."""

    series: str
    nut_type: str
    shank_from_um: int
    shank_to_um: int
    recommended_mnm: int
    max_mnm: int
    source: str = ""
    confidence: str = ""
    note: str = ""
    #: What other published texts say for the same nut; it shows how far they differ.
    found_low_mnm: int | None = None
    found_high_mnm: int | None = None
    small_below_um: int | None = None
    small_low_mnm: int | None = None
    small_high_mnm: int | None = None


@dataclass(frozen=True, slots=True)
class PullStudRow:
    """One pull-stud pattern."""

    code: str
    standard: str
    for_taper: str
    thread: str
    under_head_angle_deg: float | None
    coolant: str
    torque_low_mnm: int | None
    torque_high_mnm: int | None
    source: str = ""
    confidence: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class TaperRow:
    """One spindle interface."""

    code: str
    family: str
    form: str
    size: str
    standard: str
    gauge_diameter_um: int
    flange_diameter_um: int | None
    retention: str
    retention_thread: str
    usual_speed_limit_rpm: int | None
    look_alikes: tuple[str, ...]
    source: str = ""
    confidence: str = ""
    note: str = ""

    @property
    def takes_a_stud(self) -> bool:
        return self.retention == "pull stud"

    @property
    def for_routers(self) -> bool:
        return self.form == "router form"


@dataclass(frozen=True, slots=True)
class GripRule:
    """One published or customary rule for the least length of shank held."""

    rule_id: str
    applies_to: str
    series_or_shank: str
    shank_from_um: int | None
    shank_to_um: int | None
    min_grip_um: int | None
    formula: str
    severity: str
    source: str = ""
    confidence: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class ShankTolerance:
    """Limits of one shank diameter in h6 and h7; the upper deviation is 0."""

    system: str
    label: str
    shank_um: int
    h6_lower_um: int
    h7_lower_um: int
    source: str = ""
    confidence: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class ShankLength:
    """Plain length of one standard shank."""

    standard: str
    shank_um: int
    length_um: int
    source: str = ""
    confidence: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class ColletRunoutBand:
    """Runout allowed to a collet on a test mandrel, by bore."""

    bore_from_um: int
    bore_to_um: int
    from_inclusive: bool
    test_length_um: int
    max_class1_um: int | None
    max_class2_um: int
    source: str = ""
    confidence: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class InsertLetter:
    """One letter or figure at one place of an insert's designation."""

    position: str
    position_name: str
    code: str
    meaning: str
    value: str
    unit: str
    source: str = ""
    confidence: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class TapSquare:
    """The square that drives a tap of one shank, across flats, by one standard."""

    standard: str
    shank_um: int
    square_um: int
    source: str = ""
    confidence: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class ArborKeys:
    """One arbor size: its driving keys, the slot of the cutter, the length of the spigot."""

    spigot_um: int
    key_um: int
    slot_um: int
    spigot_length_um: int
    source: str = ""
    confidence: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class ReferenceTables:
    """Every table a rule may ask; an empty one answers "not known"."""

    collet_series: tuple[ColletSeries, ...] = ()
    collet_bores: tuple[ColletBore, ...] = ()
    torque_bands: tuple[NutTorqueBand, ...] = ()
    pull_studs: tuple[PullStudRow, ...] = ()
    tapers: tuple[TaperRow, ...] = ()
    grip_rules: tuple[GripRule, ...] = ()
    shank_tolerances: tuple[ShankTolerance, ...] = ()
    shank_lengths: tuple[ShankLength, ...] = ()
    collet_runout: tuple[ColletRunoutBand, ...] = ()
    insert_letters: tuple[InsertLetter, ...] = ()
    tap_squares: tuple[TapSquare, ...] = ()
    arbor_keys: tuple[ArborKeys, ...] = ()


def same_code(left: str | None, right: str | None) -> bool:
    """Whether two codes of one kind are the same, whatever their spacing and capitals.

    The sign of a thread may be typed `x`, `×` or with a comma: `M40 × 1,5` is `M40x1.5`.

    >>> same_code("M40 × 1,5", "m40x1.5"), same_code("HSK-A63", "HSK-F63"), same_code(None, None)
    (True, False, False)
    """
    return left is not None and right is not None and _plain(left) == _plain(right)


@lru_cache(maxsize=4_096)
def _plain(code: str) -> str:
    return "".join(code.casefold().replace("×", "x").replace(",", ".").split())


def series_named(rows: Iterable[ColletSeries], series: str | None) -> ColletSeries | None:
    """The series of that name, None when the tables have none.

    Source: ISO 15488:2003 for ER11 to ER40; ER8 and ER50 after DIN 6499.

    >>> series_named([], "ER32") is None
    True
    """
    return next((row for row in rows if same_code(row.series, series)), None)


def bores_of(rows: Iterable[ColletBore], series: str | None) -> tuple[ColletBore, ...]:
    """The collets of one series, in the order of the table.

    Source: bores by rule, one collet per closing step of the series; common practice.

    >>> bores_of([], "ER32")
    ()
    """
    return tuple(row for row in rows if same_code(row.series, series))


def taper_coded(rows: Iterable[TaperRow], code: str | None) -> TaperRow | None:
    """The spindle interface of that code, None when the tables have none.

    Source: ISO 7388, ISO 12164-1, DIN 69893, ASME B5.50 and ISO 26623-1, by code.

    >>> taper_coded([], "BT30") is None
    True
    """
    return next((row for row in rows if same_code(row.code, code)), None)


def cones_look_alike(one: TaperRow, other: TaperRow) -> bool:
    """Whether two different interfaces share a cone, so that one seems to seat in the other.

    Source: 7/24 gauge diameters of ISO 7388; the cone of HSK forms B, D and F is one size
    smaller than that of A, C and E at the same flange (DIN 69893).

    >>> row = TaperRow("BT30", "7/24", "J", "30", "", 31750, 46000, "pull stud", "M12", None, ())
    >>> cones_look_alike(row, row)
    False
    """
    if same_code(one.code, other.code):
        return False
    return one.family == other.family and one.gauge_diameter_um == other.gauge_diameter_um


def torque_band(
    bands: Iterable[NutTorqueBand], *, series: str | None, nut_type: str | None, shank_um: int
) -> NutTorqueBand | None:
    """The band for a nut and a shank [um]: lower edge excluded, except in the first band.

    Source: shop tables for bore-dependent torque; common practice, partly from memory.

    >>> band = NutTorqueBand("ER32", "standard", 2500, 20000, 136000, 170000)
    >>> torque_band([band], series="ER32", nut_type="standard", shank_um=20000).max_mnm
    170000
    """
    mine = sorted(
        (b for b in bands if same_code(b.series, series) and same_code(b.nut_type, nut_type)),
        key=lambda band: band.shank_from_um,
    )
    if mine and shank_um == mine[0].shank_from_um:
        return mine[0]
    return next((b for b in mine if b.shank_from_um < shank_um <= b.shank_to_um), None)


def table_grip(rules: Iterable[GripRule], *, applies_to: str, shank_um: int) -> GripRule | None:
    """The rule with a millimetre figure for exactly this shank [um], None when there is none.

    Source: shop tables, from memory; the maker's figure wins.

    >>> table_grip([], applies_to="hydraulic chuck", shank_um=12000) is None
    True
    """
    return next(
        (
            rule
            for rule in rules
            if rule.applies_to == applies_to
            and rule.shank_from_um == rule.shank_to_um == shank_um
            and rule.min_grip_um is not None
        ),
        None,
    )


def squares_of(rows: Iterable[TapSquare], shank_um: int) -> tuple[int, ...]:
    """Squares [um] that the standards give a tap of this shank [um], smallest first.

    Source: DIN 10 and ISO 237.

    >>> rows = [TapSquare("ISO 237", 8_000, 6_300), TapSquare("DIN 10", 8_000, 6_200)]
    >>> squares_of(rows, 8_000), squares_of(rows, 8_100)
    ((6200, 6300), ())
    """
    return tuple(sorted({row.square_um for row in rows if row.shank_um == shank_um}))


def keys_of(rows: Iterable[ArborKeys], spigot_um: int | None) -> ArborKeys | None:
    """Keys and slot that go with an arbor's spigot [um]; None when the tables have none.

    Source: DIN 138, ISO 240, DIN 6357, from memory.

    >>> keys_of([ArborKeys(22_000, 10_000, 10_400, 19_000)], 22_000).key_um
    10000
    """
    return next((row for row in rows if row.spigot_um == spigot_um), None)


#: Upper end of a diameter step [um], then IT6 and IT7 [um]: ISO 286-1:2010, table 1.
IT_STEPS_UM = (
    (3_000, 6, 10),
    (6_000, 8, 12),
    (10_000, 9, 15),
    (18_000, 11, 18),
    (30_000, 13, 21),
    (50_000, 16, 25),
    (80_000, 19, 30),
)


def h6_lower_um(shank_um: int) -> int | None:
    """Lower deviation [um] of tolerance h6 for a nominal shank [um]; None above 80 mm.

    Source: ISO 286-1:2010, table 1.

    >>> h6_lower_um(12_000), h6_lower_um(6_000), h6_lower_um(6_350)
    (-11, -8, -9)
    """
    return next((-it6 for upper_um, it6, _it7 in IT_STEPS_UM if 0 < shank_um <= upper_um), None)


def h7_lower_um(shank_um: int) -> int | None:
    """Lower deviation [um] of tolerance h7 for a nominal shank [um]; None above 80 mm.

    h6 lies inside h7: a shank within h6 is within h7.

    Source: ISO 286-1:2010, table 1.

    >>> h7_lower_um(12_000), h7_lower_um(6_000), h7_lower_um(6_350)
    (-18, -12, -15)
    """
    return next((-it7 for upper_um, _it6, it7 in IT_STEPS_UM if 0 < shank_um <= upper_um), None)


def is_within_h7(measured_um: int, nominal_um: int) -> bool:
    """Whether a measured shank [um] lies within h7 of its nominal size [um].

    Source: ISO 286-1:2010: upper deviation of h is 0.

    >>> is_within_h7(11_993, 12_000), is_within_h7(11_981, 12_000), is_within_h7(12_001, 12_000)
    (True, False, False)
    """
    lower_um = h7_lower_um(nominal_um)
    return lower_um is not None and nominal_um + lower_um <= measured_um <= nominal_um


#: Inch sizes and the metric sizes they are taken for [um]; common practice.
LOOK_ALIKE_SHANKS_UM = (
    (3_175, 3_000),
    (4_762, 5_000),
    (6_350, 6_000),
    (7_938, 8_000),
    (9_525, 10_000),
    (11_112, 11_000),
    (12_700, 12_000),
    (14_288, 14_000),
    (15_875, 16_000),
    (19_050, 19_000),
    (19_050, 20_000),
    (25_400, 25_000),
)


def shanks_taken_for_um(shank_um: int) -> tuple[int, ...]:
    """Sizes [um] of the other measuring system that this size [um] is easily taken for.

    Source: common practice in shops that hold inch and metric cutters side by side.

    >>> shanks_taken_for_um(6_350), shanks_taken_for_um(12_000), shanks_taken_for_um(7_000)
    ((6000,), (12700,), ())
    """
    partners = [metric for inch, metric in LOOK_ALIKE_SHANKS_UM if inch == shank_um]
    return tuple(partners + [inch for inch, metric in LOOK_ALIKE_SHANKS_UM if metric == shank_um])
