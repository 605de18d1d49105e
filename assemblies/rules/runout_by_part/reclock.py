"""The re-clock test: runout read, one part turned by half a turn, runout read again.

What keeps its direction sits in the rest of the stack; what turns along sits in the part.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from math import hypot, radians, sin

from assemblies.rules.runout_by_part.geometry import Arrow
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

#: How far a high spot may be off the hour that was tapped, k = 2 [deg]. Own choice: half an hour.
ANGLE_DEG = 15
#: Step of a common shop dial [um]; it stands in where the step was not recorded. Common practice.
COARSE_STEP_UM = 10
#: Where the indicator can stand: a round shank or a test bar; flutes give no continuous trace.
READ_PLACES = ("shank", "bar")

_SOURCE = "two readings added and subtracted as arrows; common practice in tracing runout"

#: Part -> its name in a sentence, what turning it means, what to do if it is the part, if the rest.
TURNS: dict[str, tuple[str, str, str, str]] = {
    "collet": (
        "Collet",
        "Turn the collet half a turn in its seat. Leave the cutter facing as before.",
        "Clean collet and seat, test again. If it stays, take another collet.",
        "Wipe taper and spindle, test again. If it stays, turn the cutter.",
    ),
    "sleeve": (
        "Sleeve",
        "Turn the reduction sleeve half a turn in the bore. Leave the cutter facing as before.",
        "Clean sleeve and bore, test again. If it stays, take another sleeve.",
        "Wipe taper and spindle, test again. If it stays, turn the cutter.",
    ),
    "cutter": (
        "Cutter",
        "Turn the cutter half a turn. Leave everything else facing as before.",
        "Wipe the shank, look for burrs and slip marks. If it stays, take another cutter.",
        "Wipe taper and spindle, test again. If it stays, turn the collet or sleeve.",
    ),
    "holder": (
        "Holder and all in it",
        "Turn the holder half a turn in the spindle. Count the clock from the spindle's mark.",
        "Wipe the taper, test again. If it stays, turn the collet or the cutter.",
        "Wipe the spindle, test again. If it stays, put a test bar in the spindle.",
    ),
}

#: Ways of clamping whose shank has one position only: a flat faces the screw, a square its driver.
_ONE_POSITION = frozenset({"side_lock", "tap"})


def turnable(roles: Collection[str], clamping: str | None) -> tuple[str, ...]:
    """Parts of a stack that can be turned by half a turn on purpose, in the order to try them.

    A nut stops where its torque is reached, so it is swapped, never turned. A shank with a flat
    or a square goes in one way only.

    >>> turnable({"holder", "nut", "collet", "cutter"}, "collet")
    ('collet', 'cutter', 'holder')
    >>> turnable({"holder", "cutter"}, "side_lock")
    ('holder',)
    """
    fixed = {"cutter"} if clamping in _ONE_POSITION else set()
    return tuple(role for role in ("collet", "sleeve", "cutter", "holder") if role in roles - fixed)


def loosens(turned: str, read_on: str) -> bool:
    """Whether the test takes the assembly apart: a bar in place of the cutter does so as well.

    >>> loosens("collet", "shank"), loosens("holder", "shank"), loosens("holder", "bar")
    (True, False, True)
    """
    return turned != "holder" or read_on == "bar"


def tells(turned: str, read_on: str) -> bool:
    """Whether such a test can tell anything: with a bar in place there is no cutter to turn.

    >>> tells("cutter", "bar"), tells("cutter", "shank"), tells("collet", "flutes")
    (False, True, False)
    """
    return read_on in READ_PLACES and (turned, read_on) != ("cutter", "bar")


@dataclass(frozen=True, slots=True)
class Split:
    """Runout taken apart: the rest of the stack and the part that was turned.

    uncertainty_um  of the size of either, k = 2 [um]
    apart_um        difference of the two sizes that can be told, k = 2 [um]
    """

    rest: Arrow
    part: Arrow
    uncertainty_um: float
    apart_um: float
    step_known: bool

    @property
    def bigger_um(self) -> float:
        """By how much the part exceeds the rest [um]; negative where the rest exceeds it."""
        return self.part.size_um - self.rest.size_um


def split(first: Arrow, second: Arrow, step_um: int | None) -> Split:
    """Take two readings [um, deg] apart; `step_um` [um] is the indicator's step, None not recorded.

    One reading is off by a step along its arrow and by `ANGLE_DEG` across it. The difference of
    the sizes is then known to the worse of the two readings.

    Source: rest = (first + second) / 2, part = (first - second) / 2, as arrows; derived.

    >>> found = split(Arrow(14, 30), Arrow(6, 200), 1)
    >>> round(found.rest.size_um, 1), round(found.part.size_um, 1), round(found.apart_um, 1)
    (4.1, 10.0, 3.8)
    """
    (x1, y1), (x2, y2) = first.xy, second.xy
    off1, off2 = (_off_um(arrow, step_um or COARSE_STEP_UM) for arrow in (first, second))
    return Split(
        rest=Arrow.of((x1 + x2) / 2, (y1 + y2) / 2),
        part=Arrow.of((x1 - x2) / 2, (y1 - y2) / 2),
        uncertainty_um=hypot(off1, off2) / 2,
        apart_um=max(off1, off2),
        step_known=bool(step_um),
    )


def _off_um(arrow: Arrow, step_um: int) -> float:
    return hypot(step_um, arrow.size_um * sin(radians(ANGLE_DEG)))


def reclock_finding(turned: str, found: Split) -> Finding:
    """Which is larger, by how much, and what to do next. Raises KeyError for a part never turned.

    Source: `split`; what to do next is common practice.

    >>> print(reclock_finding("collet", split(Arrow(14, 30), Arrow(6, 200), 1)).text)
    Collet 0.010, rest of the stack 0.004: 0.006 bigger.
    """
    name, _, if_part, if_rest = TURNS[turned]
    sizes = f"{name} {_mm(found.part.size_um)}, rest of the stack {_mm(found.rest.size_um)}"
    if max(found.part.size_um, found.rest.size_um) <= found.uncertainty_um:
        text = f"Both within what can be read, {_mm(found.uncertainty_um)}."
        return Finding(
            "reclock.both_small",
            Level.NOTE if found.step_known else Level.UNKNOWN,
            text,
            remedy=_finer(found, "Nothing to hunt at this place."),
            source=_SOURCE,
        )
    if abs(found.bigger_um) <= found.apart_um:
        remedy = _finer(found, "Read both again, or turn another part.")
        return Finding(
            "reclock.too_close",
            Level.UNKNOWN,
            f"{sizes}: too close.",
            remedy=remedy,
            source=_SOURCE,
        )
    # The difference of what is printed, so that nobody has to wonder about the last digit.
    shown_um = round(found.part.size_um) - round(found.rest.size_um)
    if found.bigger_um > 0:
        text = f"{sizes}: {_mm(shown_um)} bigger."
        return Finding("reclock.part", Level.CHECK, text, remedy=if_part, source=_SOURCE)
    text = f"{sizes}: {_mm(-shown_um)} smaller."
    return Finding("reclock.rest", Level.CHECK, text, remedy=if_rest, source=_SOURCE)


def _finer(found: Split, known: str) -> str:
    if found.step_known:
        return known
    step = _mm(COARSE_STEP_UM)
    return f"The indicator's step is not recorded and counts as {step}. Record it, then look again."


def _mm(size_um: float) -> str:
    return show_mm(round(size_um), 3)
