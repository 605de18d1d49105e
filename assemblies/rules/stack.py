"""What the fit rules look at: the parts of one assembly, its figures, a machine, a program's call.

Every field may be None: that is "not recorded" and makes a finding "unknown", never a pass.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from crib.rules.standards import CLAMPING_KINDS, FIXED_BORES, SLEEVED


class Stage(StrEnum):
    """How far the assembly has come; later stages ask more."""

    BUILD = "build"
    RELEASE = "release"


class StudState(StrEnum):
    """What is known about the pull stud of a holder."""

    FITTED = "fitted"
    NONE_FITTED = "none_fitted"
    UNKNOWN = "unknown"
    NOT_USED = "not_used"


class Condition(StrEnum):
    """State of a marked piece; `NOT_TRACKED` is a part counted by number, without a mark."""

    IN_SERVICE = "in_service"
    QUARANTINED = "quarantined"
    REGRIND = "regrind"
    WORN = "worn"
    SCRAPPED = "scrapped"
    LOST = "lost"
    NOT_TRACKED = "not_tracked"


@dataclass(frozen=True, slots=True)
class HolderPart:
    """The holder. `gauge_length_um` runs from the gauge line to the nut face as built.

    `bore_um` is the bore or the arbor's spigot; of a drill chuck the largest shank, with
    `bore_min_um` the smallest. `square_um` drives a tap, `key_um` is the width of an arbor's keys.
    `grip_min_um` and `bore_depth_um` are marked by the maker; `centre_um` [um] is the centre of
    mass from the gauge line, towards the tip.
    """

    mark: str = ""
    interface: str | None = None
    clamping: str | None = None
    series: str | None = None
    nose_thread: str | None = None
    bore_um: int | None = None
    bore_min_um: int | None = None
    bore_depth_um: int | None = None
    grip_min_um: int | None = None
    square_um: int | None = None
    spigot_um: int | None = None
    key_um: int | None = None
    screw_torque_mnm: int | None = None
    nose_diameter_um: int | None = None
    gauge_length_um: int | None = None
    max_rpm: int | None = None
    balance_grade_tenths: int | None = None
    balance_rpm: int | None = None
    mass_g: int | None = None
    centre_um: int | None = None
    coolant_through: bool | None = None
    condition: str | None = None

    @property
    def takes_a_collet(self) -> bool:
        return self.clamping == "collet"

    @property
    def takes_an_exact_shank(self) -> bool:
        return self.clamping in FIXED_BORES

    @property
    def takes_a_sleeve(self) -> bool:
        return self.clamping in SLEEVED

    @property
    def is_an_arbor(self) -> bool:
        return self.clamping == "arbor"

    @property
    def holds_a_shank(self) -> bool:
        """In a bore, in jaws or in a tap holder: neither a collet nor an arbor."""
        return self.clamping in CLAMPING_KINDS and self.clamping not in ("collet", "arbor")


@dataclass(frozen=True, slots=True)
class ColletPart:
    """The collet with the largest and smallest shank it takes."""

    mark: str = ""
    series: str | None = None
    clamp_max_um: int | None = None
    clamp_min_um: int | None = None
    length_um: int | None = None
    runout_class: int | None = None
    sealed: bool | None = None
    square_um: int | None = None
    bought_in_inches: bool = False
    hours: int | None = None
    hours_limit: int | None = None
    max_rpm: int | None = None
    mass_g: int | None = None
    condition: str | None = None


@dataclass(frozen=True, slots=True)
class NutPart:
    """The nut; the torques are those marked on it, None where it carries no mark."""

    mark: str = ""
    series: str | None = None
    thread: str | None = None
    nut_type: str | None = None
    recommended_mnm: int | None = None
    max_mnm: int | None = None
    sealed: bool | None = None
    seal_max_um: int | None = None
    seal_min_um: int | None = None
    max_rpm: int | None = None
    mass_g: int | None = None
    condition: str | None = None


@dataclass(frozen=True, slots=True)
class SleevePart:
    """A reduction sleeve. `suits` is the way of clamping it is made for."""

    mark: str = ""
    suits: str | None = None
    outer_um: int | None = None
    bore_um: int | None = None
    length_um: int | None = None
    sealed: bool | None = None
    max_rpm: int | None = None
    mass_g: int | None = None
    condition: str | None = None


@dataclass(frozen=True, slots=True)
class StudPart:
    """The pull stud: whether one is fitted and of which pattern."""

    state: StudState = StudState.UNKNOWN
    pattern: str | None = None
    coolant_through: bool | None = None
    max_rpm: int | None = None
    condition: str | None = Condition.NOT_TRACKED


@dataclass(frozen=True, slots=True)
class CutterPart:
    """The cutter. `shank_um` is nominal, `shank_measured_um` what a micrometer said.

    `shank_form` is HA, HB or HE after DIN 6535, `square`, or None where a bore or nothing is known.
    """

    mark: str = ""
    kind: str | None = None
    name: str = ""
    diameter_um: int | None = None
    shank_um: int | None = None
    shank_measured_um: int | None = None
    shank_form: str | None = None
    bore_um: int | None = None
    plain_shank_um: int | None = None
    overall_um: int | None = None
    flute_um: int | None = None
    teeth: int | None = None
    corner_radius_um: int | None = None
    point_angle_tenths: int | None = None
    material: str | None = None
    square_um: int | None = None
    pitch_um: int | None = None
    keyway_um: int | None = None
    coolant_through: bool | None = None
    marked_grip_um: int | None = None
    max_rpm: int | None = None
    hand: str | None = None
    mass_g: int | None = None
    bought_in_inches: bool = False
    insert_seats: int | None = None
    empty_seats: int | None = None
    condition: str | None = None


@dataclass(frozen=True, slots=True)
class BuildFigures:
    """What was set and measured at the bench.

    `torque_mnm` [mN·m] is that at the nut, or at the clamping screw where there is no nut.
    """

    stickout_um: int | None = None
    grip_um: int | None = None
    torque_mnm: int | None = None
    gauge_length_um: int | None = None
    diameter_um: int | None = None
    runout_um: int | None = None
    runout_distance_um: int | None = None
    mass_g: int | None = None
    centre_um: int | None = None


@dataclass(frozen=True, slots=True)
class MachineFacts:
    """What a machine takes. `rotations` holds `cw` (M3) and `ccw` (M4).

    `stud_pattern` is `not_used` where its drawbar takes no stud.
    """

    mark: str = ""
    interface: str | None = None
    stud_pattern: str | None = None
    max_rpm: int | None = None
    min_rpm: int | None = None
    override_ceiling_percent: int = 100
    rotations: frozenset[str] | None = None
    is_router: bool | None = None
    max_gauge_length_um: int | None = None
    max_diameter_um: int | None = None
    max_diameter_beside_um: int | None = None
    max_mass_g: int | None = None
    max_moment_mnm: int | None = None
    moment_plane_um: int | None = None
    coolant_through: bool | None = None


@dataclass(frozen=True, slots=True)
class ProgramCall:
    """What a program asks of the spindle under one T number. `rotation` is `cw` or `ccw`."""

    speed_rpm: int | None = None
    rotation: str | None = None


@dataclass(frozen=True, slots=True)
class ShopLimits:
    """Limits a shop may set; the defaults are common practice unless a rule names a standard.

    `runout_bands_um` pairs the upper edge of cutting diameter [um] (included, None = no end)
    with the runout allowed [um]. `collet_hours_limit` None: the shop does not count hours.
    """

    diameter_over_um: int = 50
    diameter_under_um: int = 500
    collet_closing_um: int = 500
    grip_rule: str = "two_thirds_collet"
    shank_spare_um: int = 1000
    closure_um: int = 500
    runout_bands_um: tuple[tuple[int | None, int], ...] = (
        (3_000, 5),
        (6_000, 10),
        (12_000, 15),
        (None, 25),
    )
    router_runout_factor: int = 2
    runout_stop_factor: int = 2
    collet_hours_limit: int | None = 500
    collet_hours_stop_percent: int = 150
    rim_caution_m_s: int = 50
    mark_needed_from_um: int = 16_000


@dataclass(frozen=True, slots=True)
class Stack:
    """One assembly, with the machine and the program's call where they are known."""

    holder: HolderPart | None = None
    collet: ColletPart | None = None
    nut: NutPart | None = None
    sleeve: SleevePart | None = None
    stud: StudPart = field(default_factory=StudPart)
    cutter: CutterPart | None = None
    figures: BuildFigures = field(default_factory=BuildFigures)
    machine: MachineFacts | None = None
    call: ProgramCall | None = None
    #: Whether coolant is to come through the tool; None: nobody said.
    coolant_wanted: bool | None = None
