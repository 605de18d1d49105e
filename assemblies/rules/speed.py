"""How fast the whole assembly may turn, which part says so, and what is not known."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from assemblies.rules.stack import CutterPart, HolderPart, ShopLimits, Stack
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

_MARKS = "marked limits of the parts; EN 847-1 and ISO 15641 ask for the mark on cutters"
_USUAL = ShopLimits()
_RIM = "shop setting; public speed tables imply 53 to 59 m/s at their row tops"

#: Cutting diameter below [um], slowest and fastest speed [1/min] for unmarked woodworking
#: cutters. An edge takes the slower row. Two public tables agree; a caution, not a limit.
GENERAL_SPEEDS = (
    (25_400, 22_000, 24_000),
    (50_800, 18_000, 22_000),
    (63_500, 12_000, 16_000),
    (88_901, 8_000, 12_000),
)


@dataclass(frozen=True, slots=True)
class SpeedLimit:
    """Lowest known limit [1/min], the part that sets it, and the parts whose limit is not known.

    `unmarked_parts` are parts that normally carry no mark: cutters below
    `mark_needed_from_um` [um].
    """

    limit_rpm: int | None
    limiting_part: str
    unknown_parts: tuple[str, ...] = ()
    unmarked_parts: tuple[str, ...] = ()
    mark_needed_from_um: int = _USUAL.mark_needed_from_um


@dataclass(frozen=True, slots=True)
class _PartSpeed:
    name: str
    max_rpm: int | None
    needs_a_mark: bool
    small_cutter: bool = False


def speed_limit(stack: Stack, mark_needed_from_um: int = _USUAL.mark_needed_from_um) -> SpeedLimit:
    """Speed limit [1/min] of a stack: the lowest of its parts.

    Holder, nut, machine spindle and a cutter from 16 mm must have a known limit; a collet, a
    sleeve or a stud counts only when it is marked; a balance rating counts with its own speed.

    Source: marked limits beat calculation; EN 847-1 scope starts at 16 mm cutting circle.

    >>> from assemblies.rules.stack import HolderPart
    >>> speed_limit(Stack(holder=HolderPart(max_rpm=24_000))).limit_rpm
    24000
    """
    parts = _part_speeds(stack, mark_needed_from_um)
    known = [part for part in parts if part.max_rpm is not None]
    lowest = min(known, key=lambda part: part.max_rpm, default=None)
    return SpeedLimit(
        lowest.max_rpm if lowest else None,
        lowest.name if lowest else "",
        tuple(p.name for p in parts if p.max_rpm is None and p.needs_a_mark),
        tuple(p.name for p in parts if p.max_rpm is None and p.small_cutter),
        mark_needed_from_um,
    )


def _part_speeds(stack: Stack, mark_needed_from_um: int) -> list[_PartSpeed]:
    holder = stack.holder or HolderPart()
    parts = [
        _PartSpeed("holder", holder.max_rpm, True),
        _PartSpeed("balance rating", holder.balance_rpm, False),
        _cutter_speed(stack, mark_needed_from_um),
        _PartSpeed("pull stud", stack.stud.max_rpm, False),
    ]
    if holder.takes_a_collet or holder.clamping is None or stack.nut is not None:
        parts.insert(2, _PartSpeed("nut", stack.nut.max_rpm if stack.nut else None, True))
    if stack.collet is not None:
        parts.append(_PartSpeed("collet", stack.collet.max_rpm, False))
    if stack.sleeve is not None:
        parts.append(_PartSpeed("sleeve", stack.sleeve.max_rpm, False))
    if stack.machine is not None:
        parts.append(_PartSpeed("machine spindle", stack.machine.max_rpm, True))
    return parts


def _cutter_speed(stack: Stack, mark_needed_from_um: int) -> _PartSpeed:
    cutter = stack.cutter or CutterPart()
    sizes_um = [um for um in (cutter.diameter_um, stack.figures.diameter_um) if um is not None]
    large = not sizes_um or max(sizes_um) >= mark_needed_from_um
    return _PartSpeed("cutter", cutter.max_rpm, needs_a_mark=large, small_cutter=not large)


def mark_findings(limit: SpeedLimit) -> list[Finding]:
    """What the marks say before any speed is known: the limit, or whose limit is missing.

    Source: marked limits of the parts.

    >>> mark_findings(SpeedLimit(18_000, "cutter"))[0].text
    'Runs up to 18000 1/min (cutter).'
    """
    if limit.unknown_parts or limit.limit_rpm is None:
        return [_limit_not_known(limit)]
    text = f"Runs up to {limit.limit_rpm} 1/min ({limit.limiting_part})."
    known = Finding(
        "speed.limit_known",
        Level.PASS,
        text,
        limit=limit.limit_rpm,
        unit="1/min",
        source=_MARKS,
    )
    return [known, *_small_cutter_note(limit)]


def _limit_not_known(limit: SpeedLimit) -> Finding:
    parts = ", ".join(limit.unknown_parts) or "all parts"
    return Finding(
        "speed.limit_not_known",
        Level.CHECK if limit.limit_rpm is not None else Level.UNKNOWN,
        f"Speed limit not known for: {parts}.",
        limit=limit.limit_rpm,
        unit="1/min",
        remedy="Read the mark on the part and record it.",
        source=_MARKS,
    )


def _small_cutter_note(limit: SpeedLimit) -> list[Finding]:
    if not limit.unmarked_parts:
        return []
    return [
        Finding(
            "speed.small_cutter_unmarked",
            Level.NOTE,
            f"Cutter under Ø {show_mm(limit.mark_needed_from_um)} without a marked speed. Usual.",
            source="EN 847-1 scope: cutting circle from 16 mm",
        )
    ]


def speed_findings(
    limit: SpeedLimit,
    programmed_rpm: int | None,
    override_ceiling_percent: int,
    cutter: CutterPart | None,
    *,
    rim_caution_m_s: int = _USUAL.rim_caution_m_s,
    lowest_rpm: int | None = None,
) -> list[Finding]:
    """A program's speed [1/min] against the assembly's limit, with the override in mind.

    `override_ceiling_percent` is the highest the override knob goes, 100 = not above the
    program; `lowest_rpm` the machine's lowest speed [1/min].

    Source: marked limits of the parts; rim caution is a shop setting.

    >>> speed_findings(SpeedLimit(16_000, "cutter"), 18_000, 100, None)[0].code
    'speed.over_limit'
    """
    if programmed_rpm is None or programmed_rpm <= 0:
        return [_no_speed(limit)]
    findings = [_against_limit(limit, programmed_rpm, override_ceiling_percent)]
    if limit.unknown_parts and limit.limit_rpm is not None:
        findings.append(_limit_not_known(limit))
    findings += _small_cutter_note(limit)
    findings += rim_findings(programmed_rpm, cutter, rim_caution_m_s)
    return findings + _too_slow(programmed_rpm, lowest_rpm)


def _no_speed(limit: SpeedLimit) -> Finding:
    known = f" Limit {limit.limit_rpm} 1/min." if limit.limit_rpm is not None else ""
    return Finding(
        "speed.not_in_program",
        Level.UNKNOWN,
        f"No speed in the program.{known}",
        limit=limit.limit_rpm,
        unit="1/min",
        remedy="Set it by hand, below the limit.",
        source=_MARKS,
    )


def _against_limit(limit: SpeedLimit, programmed_rpm: int, ceiling_percent: int) -> Finding:
    if limit.limit_rpm is None:
        return _limit_not_known(limit)
    by = f" ({limit.limiting_part})"
    code, level, remedy = "speed.within", Level.PASS, ""
    text = f"S{programmed_rpm} is within {limit.limit_rpm} 1/min{by}."
    if programmed_rpm > limit.limit_rpm:
        code, level = "speed.over_limit", Level.STOP_HARD
        text = f"S{programmed_rpm}. Limit {limit.limit_rpm} 1/min{by}."
        remedy = "The programmer lowers S. Do not turn the override down instead."
    elif programmed_rpm * ceiling_percent > limit.limit_rpm * 100:
        code, level = "speed.override_over_limit", Level.CHECK
        text = f"S{programmed_rpm} at {ceiling_percent} % is over {limit.limit_rpm} 1/min{by}."
        remedy = "Do not raise the override."
    return Finding(
        code,
        level,
        text,
        measured=programmed_rpm,
        limit=limit.limit_rpm,
        unit="1/min",
        remedy=remedy,
        source=_MARKS,
    )


def _too_slow(programmed_rpm: int, lowest_rpm: int | None) -> list[Finding]:
    if lowest_rpm is None or programmed_rpm >= lowest_rpm:
        return []
    return [
        Finding(
            "speed.under_machine",
            Level.CHECK,
            f"S{programmed_rpm} is below this spindle's lowest, {lowest_rpm} 1/min.",
            measured=programmed_rpm,
            limit=lowest_rpm,
            unit="1/min",
            remedy="Ask the programmer which speed is meant.",
            source="machine's own figure",
        )
    ]


def rim_speed_m_s(diameter_um: int, speed_rpm: float) -> float:
    """Peripheral speed [m/s] of a cutting diameter [um] at a speed [1/min].

    Source: v = pi · D · n / 60000 with D in mm (ISO 3002-1).

    >>> round(rim_speed_m_s(63_500, 18_000), 3)
    59.847
    """
    return pi * diameter_um * speed_rpm / 60_000_000


def rim_speed_limit_rpm(diameter_um: int, rim_m_s: int) -> int:
    """Highest speed [1/min], rounded down, that keeps a diameter [um] at a rim speed [m/s].

    Source: v = pi · D · n / 60000 with D in mm (ISO 3002-1).

    >>> rim_speed_limit_rpm(63_500, 50), rim_speed_limit_rpm(63_500, 60)
    (15038, 18045)
    """
    return int(60_000_000 * rim_m_s / (pi * diameter_um))


def general_speeds_rpm(diameter_um: int) -> tuple[int, int] | None:
    """Slowest and fastest speed [1/min] of the general table for a diameter [um]; None above it.

    Source: two public woodworking tables that agree; caution only, for unmarked cutters.

    >>> general_speeds_rpm(63_499), general_speeds_rpm(63_500), general_speeds_rpm(90_000)
    ((12000, 16000), (8000, 12000), None)
    """
    for below_um, slowest_rpm, fastest_rpm in GENERAL_SPEEDS:
        if diameter_um < below_um:
            return slowest_rpm, fastest_rpm
    return None


def rim_findings(speed_rpm: int, cutter: CutterPart | None, rim_caution_m_s: int) -> list[Finding]:
    """Caution when an unmarked cutter's rim is fast; a marked cutter is judged by its mark.

    Source: shop setting of 50 m/s; public tables imply 53 to 59 m/s.

    >>> rim_findings(18_000, CutterPart(diameter_um=63_500), 50)[0].code
    'speed.rim_fast'
    """
    if cutter is None or cutter.max_rpm is not None:
        return []
    if cutter.diameter_um is None:
        return [
            Finding(
                "speed.rim_not_known",
                Level.UNKNOWN,
                "Rim speed not known: cutter has neither diameter nor mark.",
                remedy="Measure the cutting diameter and record it.",
                source=_RIM,
            )
        ]
    rim_m_s = rim_speed_m_s(cutter.diameter_um, speed_rpm)
    if rim_m_s <= rim_caution_m_s:
        return []
    return [_rim_fast(rim_m_s, rim_caution_m_s, cutter.diameter_um)]


def _rim_fast(rim_m_s: float, caution_m_s: int, diameter_um: int) -> Finding:
    general = general_speeds_rpm(diameter_um)
    usual = f" General table: {general[0]} to {general[1]} 1/min." if general else ""
    return Finding(
        "speed.rim_fast",
        Level.CHECK,
        f"Rim speed {rim_m_s:.1f} m/s, no marked limit. Caution from {caution_m_s} m/s.",
        measured=round(rim_m_s, 3),
        limit=caution_m_s,
        unit="m/s",
        remedy=f"Read the cutter's mark; at most {rim_speed_limit_rpm(diameter_um, caution_m_s)}"
        f" 1/min until then.{usual}",
        source=_RIM,
    )
