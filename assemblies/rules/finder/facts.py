"""What the part finder is asked, what lies in the racks, and what it answers."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import ceil
from statistics import median

from assemblies.rules.closure import expected_gauge_um
from assemblies.rules.purpose import Wanted
from assemblies.rules.shank import working_shank_um
from assemblies.rules.stack import (
    ColletPart,
    CutterPart,
    HolderPart,
    MachineFacts,
    NutPart,
    ProgramCall,
    SleevePart,
    Stack,
    StudPart,
)
from crib.rules.finding import Finding, Level, worst_level

#: From the spindle to the tip: the order in which a stack is shown.
KINDS = ("holder", "collet", "nut", "sleeve", "cutter", "insert")
#: Kinds in words, one and several.
KIND_WORDS = {
    "holder": ("holder", "holders"),
    "collet": ("collet", "collets"),
    "nut": ("nut", "nuts"),
    "sleeve": ("reduction sleeve", "reduction sleeves"),
    "cutter": ("cutter", "cutters"),
    "insert": ("insert", "inserts"),
}

Part = HolderPart | ColletPart | NutPart | SleevePart | CutterPart


@dataclass(frozen=True, slots=True)
class Shelved:
    """One marked piece, or the loose parts of one item at one place.

    `place` is where it lies; of a part that is in use, words that say where. `runouts_um` are
    the readings [um] of the assemblies that this very piece was built into.
    """

    kind: str
    code: str
    part: Part | None = None
    stud: StudPart = field(default_factory=StudPart)
    mark: str = ""
    count: int = 1
    place: str = ""
    name: str = ""
    runouts_um: tuple[int, ...] = ()

    @property
    def shown(self) -> str:
        return self.mark or self.code

    @property
    def runout_um(self) -> int | None:
        """Median of its readings [um], rounded up; None without any."""
        return ceil(median(self.runouts_um)) if self.runouts_um else None


@dataclass(frozen=True, slots=True)
class Sought:
    """The question: which cutter, on which machine, how far out, how fast.

    `stickout_um` None: the shortest that is allowed. A `call` without a rotation asks nothing
    about the way of turning. `insert_code` is the item that fills the seats of the cutter.
    """

    cutter: CutterPart
    cutter_code: str = ""
    machine: MachineFacts | None = None
    call: ProgramCall | None = None
    stickout_um: int | None = None
    insert_code: str = ""
    coolant_wanted: bool | None = None
    purpose: Wanted | None = None


@dataclass(frozen=True, slots=True)
class Stock:
    """What may be taken, and what is in use or set aside elsewhere.

    `studs` are pattern and place of pull studs in the racks.
    """

    on_shelf: tuple[Shelved, ...] = ()
    elsewhere: tuple[Shelved, ...] = ()
    studs: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Same:
    """Parts that no rule tells apart; the first one is the one to take.

    Without any it is one that is not here: `to_get` says what would have to be got.
    """

    kind: str
    code: str
    part: Part | None
    stud: StudPart
    lots: tuple[Shelved, ...] = ()
    to_get: str = ""

    @property
    def first(self) -> Shelved | None:
        return self.lots[0] if self.lots else None

    @property
    def count(self) -> int:
        return sum(lot.count for lot in self.lots)

    @property
    def marks(self) -> tuple[str, ...]:
        return tuple(lot.mark for lot in self.lots if lot.mark)

    @property
    def loose(self) -> int:
        return sum(lot.count for lot in self.lots if not lot.mark)

    @property
    def shown(self) -> str:
        return self.first.shown if self.first else self.to_get


@dataclass(frozen=True, slots=True, eq=False)
class FoundStack:
    """Parts that go together, the lengths proposed for them, and all that the rules say."""

    parts: tuple[Same, ...]
    stack: Stack
    findings: tuple[Finding, ...]

    def part(self, kind: str) -> Same | None:
        return next((part for part in self.parts if part.kind == kind), None)

    @property
    def level(self) -> Level:
        return worst_level(self.findings)

    @property
    def doubts(self) -> tuple[Finding, ...]:
        """Checks and unknown points."""
        return tuple(f for f in self.findings if f.level in (Level.CHECK, Level.UNKNOWN))

    @property
    def stopped(self) -> bool:
        return any(finding.level.is_stop for finding in self.findings)

    @property
    def to_get(self) -> tuple[str, ...]:
        """What is not in the racks."""
        return tuple(part.to_get for part in self.parts if part.to_get)

    @property
    def closing_um(self) -> int:
        """How far the collet closes below its largest size [um]; 0 without a collet."""
        collet, shank_um = self.stack.collet, working_shank_um(self.stack.cutter)
        if collet is None or collet.clamp_max_um is None or shank_um is None:
            return 0
        return collet.clamp_max_um - shank_um

    @property
    def gauge_um(self) -> int | None:
        """Gauge length to be expected [um]: holder and stick-out."""
        return expected_gauge_um(self.stack.holder, self.stack.figures.stickout_um)

    @property
    def histories(self) -> tuple[tuple[str, int | None, int], ...]:
        """Mark, median runout [um] and number of readings of holder and collet."""
        lots = [part.first for part in self.parts if part.kind in ("holder", "collet")]
        return tuple(
            (lot.shown, lot.runout_um, len(lot.runouts_um)) for lot in lots if lot is not None
        )


@dataclass(frozen=True, slots=True)
class Dropped:
    """Parts that are in no stack, and the one reason they share."""

    kind: str
    count: int
    reason: str
    shown: tuple[str, ...]
    remedy: str = ""

    @property
    def text(self) -> str:
        """`7 holders: other interface`."""
        one, several = KIND_WORDS[self.kind]
        return f"{self.count} {one if self.count == 1 else several}: {self.reason}"


@dataclass(frozen=True, slots=True, eq=False)
class Unlock:
    """What to get, and the best stack that could be built then; `holders` that it helps."""

    to_get: tuple[str, ...]
    stack: FoundStack
    holders: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Away:
    """A part that would do, but is in use or set aside: where it is, and what it would go into."""

    kind: str
    shown: str
    where: str
    goes_with: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """The answer: stacks, best first; why other parts fall out; what would help.

    `against` stops every stack there could be: the speed, the machine and the cutter do not go
    together, whatever lies in the racks.
    """

    stacks: tuple[FoundStack, ...] = ()
    dropped: tuple[Dropped, ...] = ()
    unlocks: tuple[Unlock, ...] = ()
    away: tuple[Away, ...] = ()
    #: False where so much is in use that not all of it was tried.
    away_all_tried: bool = True
    against: tuple[Finding, ...] = ()
    cutter_on_shelf: bool = True
