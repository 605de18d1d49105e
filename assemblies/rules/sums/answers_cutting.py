"""Sums of cutting, in words: speed and feed, chip, runout on the teeth, rim speed, life."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from assemblies.rules.speed import general_speeds_rpm, rim_speed_limit_rpm, rim_speed_m_s
from assemblies.rules.sums.answer import Answer, Line, show_number, show_size
from assemblies.rules.sums.chip import chip_load_for_mean_um, chip_thickness
from assemblies.rules.sums.cutting_speed import (
    chip_load_um,
    cutting_speed_m_min,
    feed_mm_min,
    feet_per_minute,
    miles_per_hour,
    removal_cm3_min,
    spindle_speed_rpm,
)
from assemblies.rules.sums.life_sums import MeasuredLife, life_used_percent, taylor_line
from assemblies.rules.sums.tooth_load import runout_share_percent, share_in_words, worst_load

_ISO = "ISO 3002-1 and 3002-3, from memory"
_MARKED = "A marked limit of cutter, holder, nut or machine always comes first."


@dataclass(frozen=True, slots=True)
class Cut:
    """A cut as typed, None where nothing was.

    Lengths [um], speeds [m/min, 1/min], feed [mm/min].
    """

    diameter_um: float
    cutting_m_min: float | None = None
    speed_rpm: float | None = None
    teeth: int | None = None
    feed_mm_min: float | None = None
    chip_load_um: float | None = None
    depth_um: float | None = None
    width_um: float | None = None


def speed_and_feed(cut: Cut) -> Answer:
    """Spindle speed or cutting speed, feed or chip load, and volume cut in a minute.

    Raises ValueError without either speed.

    >>> speed_and_feed(Cut(diameter_um=250_000, cutting_m_min=80)).lines[0].text
    '101 1/min (exactly 101.859)'
    """
    if cut.speed_rpm is None and cut.cutting_m_min is None:
        raise ValueError("a speed is needed")
    exact_rpm = cut.speed_rpm or spindle_speed_rpm(cut.cutting_m_min, cut.diameter_um)
    lines = [_speed_line(cut, exact_rpm), _cutting_line(cut.diameter_um, exact_rpm)]
    lines += _feed_lines(cut, exact_rpm)
    missing = [] if cut.teeth else ["Teeth not typed: no feed and no chip load."]
    return Answer(
        tuple(lines),
        "n = v / (π D);  f = fz · z · n;  Q = ap · ae · f",
        _ISO,
        notes=(*missing, _MARKED),
    )


def _speed_line(cut: Cut, exact_rpm: float) -> Line:
    """A speed worked out is rounded down: limits go to the safe side."""
    if cut.speed_rpm is not None:
        return Line("Spindle speed", f"{show_number(cut.speed_rpm, 6)} 1/min, as typed")
    return Line("Spindle speed", f"{int(exact_rpm)} 1/min (exactly {show_number(exact_rpm, 6)})")


def _cutting_line(diameter_um: float, speed_rpm: float) -> Line:
    m_min = cutting_speed_m_min(diameter_um, speed_rpm)
    feet = show_number(feet_per_minute(m_min))
    return Line("Cutting speed", f"{show_number(m_min)} m/min = {feet} ft/min")


def _feed_lines(cut: Cut, speed_rpm: float) -> list[Line]:
    if not cut.teeth:
        return []
    feed = cut.feed_mm_min
    if feed is None and cut.chip_load_um is not None:
        feed = feed_mm_min(cut.chip_load_um, cut.teeth, speed_rpm)
    if feed is None:
        return []
    lines = [
        Line("Feed", f"{show_number(feed)} mm/min = {show_number(feed / 25.4)} in/min"),
        Line("Chip load, each tooth", show_size(chip_load_um(feed, cut.teeth, speed_rpm))),
    ]
    if cut.depth_um and cut.width_um:
        volume = removal_cm3_min(cut.depth_um, cut.width_um, feed)
        lines.append(Line("Volume cut", f"{show_number(volume)} cm³/min"))
    return lines


def chip_of_width(load_um: float, width_um: float, diameter_um: float) -> Answer:
    """Mean and largest chip at a chip load, a width of cut and a diameter [um].

    >>> chip_of_width(100, 1_000, 10_000).lines[0].text
    '0.03108 mm = 0.001224 in'
    """
    chip = chip_thickness(load_um, width_um, diameter_um)
    makes_up_um = chip_load_for_mean_um(
        chip_thickness(load_um, diameter_um, diameter_um).mean_um, width_um, diameter_um
    )
    lines = (
        Line("Mean chip", show_size(chip.mean_um)),
        Line("Thickest chip", show_size(chip.largest_um)),
        Line("Each tooth cuts over", f"{show_number(chip.arc_deg, 3)}° of a turn"),
        Line("Width of cut", f"{show_number(100 * width_um / diameter_um, 3)} % of the diameter"),
        Line("Chip load for the mean chip of a full slot", show_size(makes_up_um)),
    )
    return Answer(
        lines,
        "hm = 2 · fz · ae / (D · φ);  cos φ = 1 - 2 · ae / D",
        "circle geometry",
        notes=("Straight teeth, without runout.",),
    )


def runout_on_teeth(load_um: float, runout_um: float, teeth_count: int) -> Answer:
    """What runout (TIR) does to the chips of the single teeth, sizes [um].

    >>> runout_on_teeth(50, 20, 4).lines[1].text
    '0.06414 mm = 0.002525 in'
    """
    share = runout_share_percent(runout_um, load_um)
    load = worst_load(load_um, runout_um, teeth_count)
    notes = ["10 % is commonly quoted and 25 % our own choice; no test data stand behind them."]
    if teeth_count == 1:
        notes.append("With one tooth runout changes the width of the cut, not the chip.")
    if load.thinnest_um == 0:
        notes.append("At least one tooth cuts nothing in the worst position.")
    lines = (
        Line("Runout of the chip load", f"{show_number(share, 3)} %: {share_in_words(share)}"),
        Line("Thickest chip, worst position", show_size(load.thickest_um)),
        Line("Thinnest chip, worst position", show_size(load.thinnest_um)),
        Line("Cut is wider by at most", show_size(runout_um)),
    )
    return Answer(
        lines,
        "thickest = fz + TIR · sin(π / z) while every tooth cuts",
        "geometry of Kline and DeVor 1983, from memory",
        estimate=True,
        notes=tuple(notes),
    )


def rim_speed(diameter_um: float, speed_rpm: float | None, ceiling_m_s: float) -> Answer:
    """Rim speed of a diameter [um] at a speed [1/min], and the speed for a ceiling [m/s].

    >>> rim_speed(63_500, 18_000, 50).lines[0].text
    '59.85 m/s = 11780 ft/min = 133.9 miles an hour'
    """
    lines = []
    if speed_rpm is not None:
        m_s = rim_speed_m_s(diameter_um, speed_rpm)
        feet, miles = feet_per_minute(m_s * 60), miles_per_hour(m_s * 60)
        text = f"{show_number(m_s)} m/s = {show_number(feet)} ft/min"
        lines.append(Line("Rim speed", f"{text} = {show_number(miles)} miles an hour"))
    most = rim_speed_limit_rpm(diameter_um, ceiling_m_s)
    lines.append(Line(f"At most, for {show_number(ceiling_m_s)} m/s", f"{most} 1/min"))
    general = general_speeds_rpm(diameter_um)
    if general:
        usual = f"{general[0]} to {general[1]} 1/min"
        lines.append(Line("Usual for an unmarked router cutter", usual))
    return Answer(
        tuple(lines),
        "v = π · D · n",
        "ISO 3002-1, from memory; usual speeds: two public woodworking tables that agree",
        notes=(_MARKED, "The usual speeds are a caution, no limit."),
    )


def life_at_speed(first: MeasuredLife, second: MeasuredLife, wanted_m_min: float) -> Answer:
    """Life [min] at a speed [m/min] between two own tests.

    Raises ValueError where the tests settle no line, and outside the tested speeds.

    >>> life_at_speed(MeasuredLife(60, 81), MeasuredLife(90, 36), 75).lines[0].text
    '51.84 min'
    """
    line = taylor_line(first, second)
    low, high = sorted((first.speed_m_min, second.speed_m_min))
    if not low <= wanted_m_min <= high:
        raise ValueError("Outside the speeds that were tested nothing is known.")
    lines = (
        Line("Life", f"{show_number(line.life_min(wanted_m_min))} min"),
        Line("Exponent n", show_number(line.exponent, 3)),
        Line("Speed for one minute (C)", f"{show_number(line.one_minute_m_min)} m/min"),
    )
    return Answer(
        lines,
        "v · Tⁿ = C",
        "F. W. Taylor 1907; tests after ISO 3685 and ISO 8688-2, from memory",
        estimate=True,
        notes=(
            "One cutter, one material, one limit of wear, and only between the tested speeds.",
            "Two tests say nothing about the spread of lives.",
        ),
    )


def life_used(runs: Sequence[tuple[float, float]]) -> Answer:
    """Share of a life used up by runs, each so long [min] out of a life [min].

    >>> life_used([(20, 81), (10, 36)]).lines[0].text
    '52.5 %'
    """
    return Answer(
        (Line("Life used", f"{show_number(life_used_percent(runs), 3)} %"),),
        "sum of t / T",
        "linear sum of damage (Miner), an assumption",
        estimate=True,
    )
