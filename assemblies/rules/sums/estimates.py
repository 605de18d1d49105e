"""What may be estimated of one assembly, each with its formula and with what was not known.

An estimate informs; it never refuses an assembly and never lifts a marked limit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

from assemblies.rules.drill_chuck import DRILLING_KINDS
from assemblies.rules.speed import rim_speed_m_s
from assemblies.rules.sums.answer import show_number
from assemblies.rules.sums.cutting_speed import chip_load_um
from assemblies.rules.sums.deflection import relative_deflection
from assemblies.rules.sums.tooth_load import (
    FAIR_TO_PERCENT,
    GOOD_TO_PERCENT,
    runout_share_percent,
    share_in_words,
    worst_load,
)
from crib.rules.units import show_mm

#: They are pushed along their axis, or turn freely: bending by a side force says nothing.
NO_SIDE_LOAD = DRILLING_KINDS | {"tap", "probe"}
#: The feed of a tap is its pitch, and a probe cuts nothing.
NO_CHIP_LOAD = frozenset({"tap", "probe"})
_SHARE_SOURCE = (
    f"{GOOD_TO_PERCENT} % is commonly quoted, {FAIR_TO_PERCENT} % is our own choice;"
    " no test data stand behind them"
)


@dataclass(frozen=True, slots=True)
class Estimate:
    """One estimate. `text` is empty where `missing` says what it would need.

    `assumed` is what was taken for granted; `lines` are further figures under the first.
    """

    code: str
    title: str
    text: str = ""
    formula: str = ""
    source: str = ""
    assumed: str = ""
    missing: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()

    @property
    def is_known(self) -> bool:
        return bool(self.text)


@dataclass(frozen=True, slots=True)
class ProgramCut:
    """How a program cuts under one tool number: speeds [1/min], feeds; None where not read.

    `feed_per_turn_mm` [mm] where the program feeds by the turn. `exact` is False where the
    reading of feed or speed is only what could be read.
    """

    name: str
    speed_max_rpm: int | None = None
    speed_min_rpm: int | None = None
    feed_max_mm_min: float | None = None
    feed_per_turn_mm: float | None = None
    exact: bool = True


@dataclass(frozen=True, slots=True)
class LifeSoFar:
    """Minutes charged to one part and how they were come by; limit [min] where there is one."""

    part: str
    used_minutes: int | None
    limit_minutes: int | None
    basis: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class EstimateFacts:
    """What the estimates look at. `compared_with` names the stick-out compared with [um]."""

    kind: str | None = None
    has_bore: bool = False
    diameter_um: int | None = None
    shank_um: int | None = None
    teeth: int | None = None
    stickout_um: int | None = None
    compared_um: int | None = None
    compared_with: str = ""
    runout_um: int | None = None
    cut: ProgramCut | None = None
    lives: tuple[LifeSoFar, ...] = ()


def estimates(facts: EstimateFacts) -> list[Estimate]:
    """Every estimate that means something for this cutter, known or not.

    >>> [one.code for one in estimates(EstimateFacts(kind="tap"))]
    ['estimate.rim_speed', 'estimate.life']
    """
    made = []
    if facts.kind not in NO_SIDE_LOAD and not facts.has_bore:
        made.append(bending(facts))
    if facts.kind not in NO_CHIP_LOAD:
        made += [chip_load(facts), runout_share(facts)]
    return [*made, rim_speed(facts), life_so_far(facts.lives)]


def bending(facts: EstimateFacts) -> Estimate:
    """How much more it bends than at the stick-out compared with, and stick-out by diameter.

    Source: cantilever, third power of the length.

    >>> bending(EstimateFacts(stickout_um=60_000, compared_um=50_000, compared_with="r1")).text
    'Bends 1.7 times as far as at 50.0 mm (r1).'
    """
    about = Estimate(
        "estimate.bending",
        "Bending with stick-out",
        formula="(L / L₀)³",
        source="cantilever; needs neither force nor material",
        assumed="same cutter; holder, taper and spindle left out",
    )
    ratio = _by_diameter(facts)
    if facts.stickout_um is None or facts.compared_um is None:
        missing = ["stick-out"] if facts.stickout_um is None else []
        if facts.compared_um is None:
            missing.append("a stick-out to compare with")
        return _with(about, missing=missing, lines=ratio)
    times = show_number(relative_deflection(facts.stickout_um, facts.compared_um), 2)
    compared = f"{show_mm(facts.compared_um, 1)} mm ({facts.compared_with})"
    text = "Bends as far as" if times == "1" else f"Bends {times} times as far as"
    return _with(about, text=f"{text} at {compared}.", lines=ratio)


def _by_diameter(facts: EstimateFacts) -> list[str]:
    """The thinner of cutting diameter and shank bends, so that is the one that counts."""
    sizes_um = [um for um in (facts.diameter_um, facts.shank_um) if um]
    if not facts.stickout_um or not sizes_um:
        return []
    thin_um = min(sizes_um)
    times = show_number(facts.stickout_um / thin_um, 2)
    return [f"Stick-out is {times} times Ø {show_mm(thin_um)}."]


def chip_load(facts: EstimateFacts) -> Estimate:
    """The chip load at the program's highest feed and lowest speed: the thickest there is.

    Source: fz = f / (z n).

    >>> cut = ProgramCut("T3 in A", 18_000, 18_000, 3_600)
    >>> chip_load(EstimateFacts(teeth=2, cut=cut)).text
    'Up to 0.100 mm a tooth in T3 in A.'
    """
    about = Estimate(
        "estimate.chip_load",
        "Chip load",
        formula="fz = f / (z · n)",
        source="ISO 3002-3, from memory",
        assumed="highest feed at the lowest speed of the program; override at 100 %",
    )
    largest_um = largest_chip_um(facts)
    if largest_um is None:
        return _with(about, missing=_chip_missing(facts))
    text = f"Up to {show_mm(round(largest_um), 3)} mm a tooth in {facts.cut.name}."
    return _with(about, text=text, lines=_doubt(facts.cut))


def _doubt(cut: ProgramCut) -> list[str]:
    return [] if cut.exact else ["The program was not fully read: it may be another."]


def largest_chip_um(facts: EstimateFacts) -> float | None:
    """Largest chip load [um] that the program asks for; None where something is missing.

    Source: fz = f / (z n); by the turn fz = f / z.

    >>> cut = ProgramCut("T3 in A", feed_per_turn_mm=0.2)
    >>> largest_chip_um(EstimateFacts(teeth=2, cut=cut))
    100.0
    """
    cut = facts.cut
    if cut is None or not facts.teeth:
        return None
    found = []
    if cut.feed_max_mm_min and cut.speed_min_rpm:
        found.append(chip_load_um(cut.feed_max_mm_min, facts.teeth, cut.speed_min_rpm))
    if cut.feed_per_turn_mm:
        found.append(1000 * cut.feed_per_turn_mm / facts.teeth)
    return max(found, default=None)


def smallest_chip_um(facts: EstimateFacts) -> float | None:
    """Chip load [um] of the highest feed at the highest speed: the thinnest that can be told.

    None where something is missing; a slower feed than the highest is not read.

    Source: fz = f / (z n); by the turn fz = f / z.

    >>> cut = ProgramCut("T3 in A", 18_000, 9_000, feed_max_mm_min=3_600)
    >>> smallest_chip_um(EstimateFacts(teeth=2, cut=cut))
    100.0
    """
    cut = facts.cut
    if cut is None or not facts.teeth:
        return None
    found = []
    fastest_rpm = cut.speed_max_rpm or cut.speed_min_rpm
    if cut.feed_max_mm_min and fastest_rpm:
        found.append(chip_load_um(cut.feed_max_mm_min, facts.teeth, fastest_rpm))
    if cut.feed_per_turn_mm:
        found.append(1000 * cut.feed_per_turn_mm / facts.teeth)
    return min(found, default=None)


def _chip_missing(facts: EstimateFacts) -> list[str]:
    missing = [] if facts.teeth else ["number of teeth"]
    if facts.cut is None:
        return [*missing, "a program that it is built for"]
    if not facts.cut.feed_max_mm_min and not facts.cut.feed_per_turn_mm:
        missing.append("feed in the program")
    elif not facts.cut.feed_per_turn_mm and not facts.cut.speed_min_rpm:
        missing.append("speed in the program")
    return missing


def runout_share(facts: EstimateFacts) -> Estimate:
    """Runout as a share of the chip load, and what it does to the teeth.

    Source: common practice; geometry of Kline and DeVor 1983.

    >>> cut = ProgramCut("T3 in A", 18_000, 18_000, 3_600)
    >>> runout_share(EstimateFacts(teeth=2, cut=cut, runout_um=12)).text
    'Runout is 12 % of the chip load: noticeable.'
    """
    about = Estimate(
        "estimate.runout_share",
        "Runout by chip load",
        formula="TIR / fz",
        source=_SHARE_SOURCE,
        assumed="runout as read, highest feed at the highest speed; a lower feed makes it larger",
    )
    smallest_um = smallest_chip_um(facts)
    if smallest_um is None or facts.runout_um is None:
        missing = ["runout"] if facts.runout_um is None else []
        return _with(about, missing=missing + (["chip load"] if smallest_um is None else []))
    if facts.teeth == 1:
        return _with(about, text="One tooth: runout changes the width of the cut, not the chip.")
    share = runout_share_percent(facts.runout_um, smallest_um)
    text = f"Runout is {show_number(share, 2)} % of the chip load: {share_in_words(share)}."
    return _with(about, text=text, lines=[_teeth_line(facts, smallest_um), *_doubt(facts.cut)])


def _teeth_line(facts: EstimateFacts, smallest_um: float) -> str:
    """The thinnest chip of the smallest chip load, the thickest of the largest."""
    largest_um = largest_chip_um(facts) or smallest_um
    thinnest_um = worst_load(smallest_um, facts.runout_um, facts.teeth).thinnest_um
    thickest_um = worst_load(largest_um, facts.runout_um, facts.teeth).thickest_um
    thick, thin = show_mm(round(thickest_um), 3), show_mm(round(thinnest_um), 3)
    return f"Teeth cut between {thin} and {thick} mm in the worst position."


def rim_speed(facts: EstimateFacts) -> Estimate:
    """Rim speed at the program's highest speed.

    Source: v = pi D n.

    >>> cut = ProgramCut("T3 in A", 18_000)
    >>> rim_speed(EstimateFacts(diameter_um=63_500, cut=cut)).text
    '59.8 m/s at S18000 in T3 in A.'
    """
    about = Estimate(
        "estimate.rim_speed",
        "Rim speed",
        formula="v = π · D · n",
        source="ISO 3002-1, from memory",
        assumed="override at 100 %",
    )
    speed_rpm = facts.cut.speed_max_rpm if facts.cut else None
    if not facts.diameter_um or not speed_rpm:
        missing = [] if facts.diameter_um else ["cutting diameter"]
        if facts.cut is None:
            missing.append("a program that it is built for")
        elif not speed_rpm:
            missing.append("speed in the program")
        return _with(about, missing=missing)
    m_s = rim_speed_m_s(facts.diameter_um, speed_rpm)
    text = f"{m_s:.1f} m/s at S{speed_rpm} in {facts.cut.name}."
    return _with(about, text=text, lines=_doubt(facts.cut))


def life_so_far(lives: Sequence[LifeSoFar]) -> Estimate:
    """How long its marked parts have worked, with the basis of the figure.

    Source: minutes as recorded; each basis is named.

    >>> life_so_far([LifeSoFar("collet C-06", 19_800, 30_000, ("Entered by hand",))]).text
    'collet C-06: about 330 of 500 h (entered by hand).'
    """
    about = Estimate(
        "estimate.life",
        "Life so far",
        formula="sum of the minutes recorded",
        source="own records",
        assumed="time in cut where programs are the basis, time in the spindle otherwise",
    )
    known = [_life_line(life) for life in lives if life.used_minutes is not None]
    missing = [f"minutes of {life.part}" for life in lives if life.used_minutes is None]
    if not lives:
        missing = ["a marked part; loose ones have no history"]
    return _with(about, text=known[0] if known else "", lines=known[1:], missing=missing)


def _life_line(life: LifeSoFar) -> str:
    # From ten hours on to the next whole one: past its limit it never prints as the limit.
    used_h = life.used_minutes / 60
    hours = show_number(used_h, 2) if used_h < 10 else str(ceil(used_h))
    basis = ", ".join(life.basis).lower()
    if life.limit_minutes is None:
        return f"{life.part}: about {hours} h, no limit recorded ({basis})."
    return f"{life.part}: about {hours} of {show_number(life.limit_minutes / 60, 3)} h ({basis})."


def _with(
    about: Estimate, *, text: str = "", missing: Sequence[str] = (), lines: Sequence[str] = ()
) -> Estimate:
    """The estimate filled in; what is not known is said, whether or not there is a figure."""
    return Estimate(
        about.code,
        about.title,
        text,
        about.formula,
        about.source,
        about.assumed,
        tuple(missing),
        tuple(lines),
    )
