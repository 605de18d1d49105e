"""What is known when an assembly is held against a machine and a program.

Plain facts, gathered elsewhere. `None` always means *not known*; the lines that compare
turn it into a finding and never into agreement. Only a requirement uses `None` for *not
stated*, because a figure nobody asked for cannot be missed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, time
from enum import StrEnum

from assemblies.rules.stack import ShopLimits as BenchLimits
from crib.rules.finding import Finding


class FoundBy(StrEnum):
    """How the record was reached. Only a scanned label vouches for a revision."""

    LABEL = "label"
    NUMBER = "number"
    HOLDER_MARK = "holder_mark"


class CodeKind(StrEnum):
    """What a scanned code stands for."""

    ASSEMBLY = "assembly"
    NOT_OURS = "not_ours"
    BADGE = "badge"
    PLACE = "place"
    MACHINE = "machine"
    PROGRAM = "program"
    PIECE = "piece"


class State(StrEnum):
    """Where an assembly stands between the first scan at the bench and the end of its life."""

    DRAFT = "draft"
    BUILT = "built"
    RELEASED = "released"
    QUARANTINED = "quarantined"
    RETIRED = "retired"


class Stud(StrEnum):
    """What the record says of the pull stud in the holder."""

    FITTED = "fitted"
    NONE_FITTED = "none_fitted"
    UNKNOWN = "unknown"
    NOT_USED = "not_used"


class StudRule(StrEnum):
    """Whether a machine pulls on a stud."""

    NEEDED = "needed"
    NOT_USED = "not_used"


class Approval(StrEnum):
    """What was decided about this program revision on this machine."""

    APPROVED = "approved"
    WITHDRAWN = "withdrawn"
    NONE = "none"


class LengthRule(StrEnum):
    """How a program settles the gauge length of a tool number."""

    WINDOW = "window"
    TOUCH_OFF = "touch_off"
    NOT_STATED = "not_stated"


class Change(StrEnum):
    """How tools get into the spindle."""

    BY_HAND = "by_hand"
    CHANGER = "changer"


class NumberNames(StrEnum):
    """What a T number names at a control. NIST IR 6556 (2000): the slot of the changer."""

    SLOT = "slot"
    TOOL = "tool"


class ZeroAt(StrEnum):
    """Where programs for a machine have their Z0 when nobody states it for a program."""

    TOP = "top"
    TABLE = "table"


class Hand(StrEnum):
    """The way a cutter cuts."""

    RIGHT = "right"
    LEFT = "left"


class Turn(StrEnum):
    """The way a spindle turns, seen from the spindle towards the work: M3 is clockwise."""

    CW = "cw"
    CCW = "ccw"


#: A right-hand cutter cuts clockwise (M3), a left-hand one counter-clockwise (M4).
TURN_OF_HAND = {Hand.RIGHT: Turn.CW, Hand.LEFT: Turn.CCW}


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelFacts:
    """The paper, and how the record was reached."""

    found_by: FoundBy | None
    code_kind: CodeKind | None = CodeKind.ASSEMBLY
    #: The assembly the scanned label was printed for; only asked of a label.
    assembly_number: int | None = None
    #: The revision the scanned label was printed for; only asked of a label.
    label_revision: int | None = None
    #: The row of the label itself says void (a newer print, a quarantine), with the reason.
    cancelled: bool | None = None
    cancelled_reason: str | None = ""
    #: What the operator's eye said of the mark on the metal; None: not asked yet.
    holder_mark_agrees: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SpeedLimitFacts:
    """Lowest speed limit of the parts, the part that sets it, and the parts without one."""

    limit_rpm: int | None
    limiting_part: str | None = ""
    #: Any of `holder`, `nut`, `cutter` weighs; other names are only mentioned.
    unknown_parts: tuple[str, ...] | None = ()


@dataclass(frozen=True, slots=True)
class ReadAs:
    """The single readings behind a figure, and the U (k = 2) of what read them [um]."""

    least_um: int
    most_um: int
    uncertainty_um: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AssemblyFacts:
    """The live build of one assembly number."""

    number: int
    state: State | None = None
    #: Why it is in that state, for people: "runout not measured".
    state_reason: str | None = ""
    revision: int | None = None
    rebuilt_on: date | None = None
    holder_mark: str | None = None
    interface: str | None = None
    stud: Stud | None = None
    stud_pattern: str | None = None
    cutter_kind: str | None = None
    #: Measured on this build; None: not measured, whatever the nominal says.
    diameter_um: int | None = None
    nominal_diameter_um: int | None = None
    bought_in_inches: bool | None = False
    corner_radius_um: int | None = None
    hand: Hand | None = None
    flute_length_um: int | None = None
    stickout_um: int | None = None
    #: Measured; None: not measured.
    gauge_length_um: int | None = None
    measured_on: date | None = None
    mass_g: int | None = None
    #: What the parts of known mass weigh together; a limit may be passed by them alone.
    mass_at_least_g: int | None = 0
    #: As the scale and the edge said, never a sum; only a tilting moment asks for them.
    weighed_mass_g: int | None = None
    weighed_centre_um: int | None = None
    #: What the parts of known mass add up to, whatever the scale said.
    parts_mass_g: int | None = 0
    #: Whether coolant is to come through the tool; None: nobody said.
    coolant_wanted: bool | None = None
    #: Findings on coolant through this machine and every part; None: not worked out.
    coolant: tuple[Finding, ...] | None = None
    #: Today's fit rules held the shank, or the cutter's bore, against its seat.
    seat_compared: bool | None = None
    runout_um: int | None = None
    #: The runout was read on nose or test bar, not on this cutter.
    runout_read_elsewhere: bool | None = False
    #: How the figures were read, by quantity; what is not in it was not read. None: not looked up.
    read: Mapping[str, ReadAs] | None = field(default_factory=dict)
    speed_limit: SpeedLimitFacts | None = None
    #: Cautions accepted at the bench, frozen with the build; None: not read.
    cautions: tuple[Finding, ...] | None = None
    #: Findings on runout, collet hours, inserts, life; None: not worked out.
    condition: tuple[Finding, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MachineFacts:
    """The machine the operator stands at."""

    mark: str | None = None
    name: str | None = None
    interface: str | None = None
    stud_rule: StudRule | None = None
    stud_pattern: str | None = None
    change: Change | None = None
    #: Pockets of the changer; only asked where there is one.
    pockets: int | None = None
    #: Whether T is a pocket or a tool; only asked where there is a changer.
    number_names: NumberNames | None = None
    zero_at: ZeroAt | None = None
    max_length_um: int | None = None
    max_diameter_um: int | None = None
    max_mass_g: int | None = None
    #: Largest diameter beside full pockets; None: the maker names none, or it is not on record.
    max_diameter_beside_um: int | None = None
    #: The first and the last pocket are neighbours; None: not known, which counts as yes.
    pockets_in_a_ring: bool | None = None
    #: Tilting moment that the changer bears; None: the maker names none, or it is not on record.
    max_moment_mnm: int | None = None
    moment_plane_um: int | None = None
    speed_min_rpm: int | None = None
    speed_max_rpm: int | None = None
    override_ceiling_percent: int | None = None
    turns: frozenset[Turn] | None = None
    touch_off_every_load: bool | None = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgramFacts:
    """The chosen program revision and what was decided about it on this machine."""

    name: str | None = None
    revision: str | None = None
    approval: Approval | None = None
    #: The revision that is approved on this machine; None: none is, or not known.
    approved_revision: str | None = None
    approved_on: date | None = None
    #: The machine stands in the program's list; None: not asked.
    machine_listed: bool | None = None
    reading_complete: bool | None = None
    #: Top of the work in program coordinates as stated for this revision; None: not stated.
    top_of_stock_um: int | None = None
    tool_numbers: tuple[int, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ToolCallFacts:
    """What the program asks of the spindle while one tool number is in it."""

    #: Highest S in effect, carried ones included.
    speed_max_rpm: int | float | None = None
    #: False: the reading gives "at least" only.
    speed_exact: bool | None = None
    #: Lowest S in effect; only held against the machine's lowest.
    speed_min_rpm: int | float | None = None
    #: What the reader noted about this tool number that a person has to weigh; None: not read.
    notes: tuple[Finding, ...] | None = ()
    #: The spindle was started without an S of its own since the tool change.
    speed_carried: bool | None = None
    turns: frozenset[Turn] | None = None
    turns_exact: bool | None = None
    #: Lowest Z of a feed move, in program coordinates.
    deepest_z_um: int | None = None
    #: False: it may go deeper than that.
    depth_exact: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RequirementFacts:
    """What one tool number must be. `None` means the requirement does not state it."""

    confirmed: bool | None = None
    kind: str | None = None
    diameter_um: int | None = None
    diameter_tolerance_um: int | None = None
    #: The program cuts on the diameter entered at the control.
    controller_diameter: bool | None = None
    corner_radius_um: int | None = None
    #: None: the radius has to be met exactly.
    corner_tolerance_um: int | None = None
    hand: Hand | None = None
    flute_min_um: int | None = None
    stickout_min_um: int | None = None
    stickout_max_um: int | None = None
    length_rule: LengthRule | None = None
    gauge_length_um: int | None = None
    gauge_tolerance_um: int | None = None
    preferred_assembly: int | None = None
    allowed_alternatives: frozenset[int] | None = frozenset()
    #: The program's own words about the tool, shown and never compared.
    text: str | None = ""
    #: Where a fitting assembly is: "1041, rack B3".
    fetch: str | None = ""

    @property
    def says_nothing(self) -> bool:
        """True when neither kind nor diameter is stated: the program gives a number, or words."""
        return self.kind is None and self.diameter_um is None


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedTool:
    """One assembly that is in the machine by the record; pocket None is the spindle."""

    assembly_number: int
    pocket: int | None = None
    tool_number: int | None = None
    #: The larger of measured and nominal; only asked where the machine limits neighbours.
    diameter_um: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ControlFacts:
    """What was said at the machines: values entered, what is in them, what was accepted.

    None: nothing was said. An acceptance of something that stops is never among it.
    """

    confirmed_length_um: int | None = None
    confirmed_diameter_um: int | None = None
    #: A tool was loaded here under this T number before: then a value that nobody said is one
    #: that may have been changed at the control since.
    loaded_before: bool | None = False
    #: The pocket it is to go to; None: straight into the spindle, or the pocket that T names.
    pocket: int | None = None
    #: What is in this machine; None: not looked up.
    loads: tuple[LoadedTool, ...] | None = None
    #: Another machine that holds this assembly by the record: "Mill 1, 20 min ago".
    seen_elsewhere: str | None = ""
    #: The day this very build last came out of a machine, if that was as worn.
    came_out_worn_on: date | None = None
    #: The day this very build was refused at a spindle for what it is like, and how: "dull".
    refused_on: date | None = None
    refused_as: str | None = ""
    #: Cautions of the bench that were shown and accepted here with this build in this shift.
    cautions_seen: tuple[Finding, ...] | None = ()
    cautions_seen_at: time | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShopLimits:
    """Limits a shop may change; each is a caution of ours, none lifts a marked limit.

    What the bench asks as well stands there, once.

    Source: shop settings; the rim speed of 50 m/s lies below the 53 to 59 m/s that public
    router tables imply; 16 mm is where EN 847-1 starts to ask for a marked speed (its scope).
    """

    bench: BenchLimits = field(default_factory=BenchLimits)
    remeasure_after_days: int = 180
    #: Difference that stops where a requirement states no tolerance.
    unstated_diameter_tolerance_um: int = 50
    unstated_length_tolerance_um: int = 1000
    #: Stick-out above its largest by up to this share is a check, beyond it a stop.
    long_stickout_percent: int = 10

    @property
    def rim_caution_m_s(self) -> int:
        return self.bench.rim_caution_m_s

    @property
    def marked_speed_from_um(self) -> int:
        return self.bench.mark_needed_from_um


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckFacts:
    """Everything `judge` looks at."""

    today: date | None
    label: LabelFacts
    assembly: AssemblyFacts | None
    machine: MachineFacts | None = None
    program: ProgramFacts | None = None
    #: The T number the operator chose; None: find the one this assembly meets.
    tool_number: int | None = None
    calls: Mapping[int, ToolCallFacts] = field(default_factory=dict)
    requirements: Mapping[int, RequirementFacts] = field(default_factory=dict)
    control: ControlFacts = ControlFacts()
    limits: ShopLimits = ShopLimits()
