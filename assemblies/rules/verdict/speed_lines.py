"""Can the assembly take the speed the program asks for?

Source: marked limits of the makers (EN 847-1 marks n max on woodworking cutters from 16 mm,
scope); peripheral speed v = pi D n (symbols as in ISO 3002-1). No calculation lifts a mark.
"""

from __future__ import annotations

from assemblies.rules.speed import rim_speed_m_s
from assemblies.rules.verdict.facts import CheckFacts, SpeedLimitFacts, ToolCallFacts
from assemblies.rules.verdict.wording import note, short_name, unknown
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

#: Parts whose missing limit is a check; the cutter only from the shop's size on.
_PARTS_THAT_MUST_BE_MARKED = ("holder", "nut", "spindle")


def speed_findings(facts: CheckFacts, tool_number: int | None) -> list[Finding]:
    """In order: over the limit, limit not known, speed not known or out of range."""
    limits = facts.assembly.speed_limit
    call = facts.calls.get(tool_number)
    if limits is None or limits.unknown_parts is None:
        return [unknown("speed.limits_not_known", "The speed limits of the parts are not known.")]
    limit_rpm, part = _lowest_limit(facts, limits)
    unmarked = _unmarked_parts(facts, limits)
    return [
        *_limit_known(limits, unmarked),
        *_against_limit(facts, call, limit_rpm, part),
        *_missing_marks(unmarked),
        *_rim_speed(facts, limits, call),
        *_range(facts, call),
    ]


def _lowest_limit(facts: CheckFacts, limits: SpeedLimitFacts) -> tuple[int | None, str]:
    """The lowest known limit [1/min] of parts and spindle, and whose it is."""
    known = []
    if limits.limit_rpm is not None:
        known.append((limits.limit_rpm, short_name(limits.limiting_part, "assembly", 15)))
    if facts.machine is not None and facts.machine.speed_max_rpm is not None:
        known.append((facts.machine.speed_max_rpm, "spindle"))
    return min(known, key=lambda limit: limit[0], default=(None, ""))


def _unmarked_parts(facts: CheckFacts, limits: SpeedLimitFacts) -> list[str]:
    """Parts without a limit that a person must look at, in the order given."""
    parts = [part for part in limits.unknown_parts if _must_be_marked(facts, part)]
    if facts.machine is not None and facts.machine.speed_max_rpm is None:
        parts.append("spindle")
    return list(dict.fromkeys(parts))


def _must_be_marked(facts: CheckFacts, part: str) -> bool:
    if part != "cutter":
        return part in _PARTS_THAT_MUST_BE_MARKED
    diameter_um = _largest_diameter_um(facts)
    return diameter_um is None or diameter_um >= facts.limits.marked_speed_from_um


def _largest_diameter_um(facts: CheckFacts) -> int | None:
    """Largest known cutting diameter [um]: the safe side for speed."""
    both = (facts.assembly.diameter_um, facts.assembly.nominal_diameter_um)
    return max((d for d in both if d is not None), default=None)


def _limit_known(limits: SpeedLimitFacts, unmarked: list[str]) -> list[Finding]:
    # The spindle's own limit says nothing of what the parts can take.
    if limits.limit_rpm is None and not unmarked:
        return [unknown("speed.no_limit_on_record", "No speed limit of any part is on record.")]
    return []


def _against_limit(
    facts: CheckFacts, call: ToolCallFacts | None, limit_rpm: int | None, part: str
) -> list[Finding]:
    """S over the limit, and how sure S itself is."""
    speed_rpm = call.speed_max_rpm if call is not None else None
    if not speed_rpm or speed_rpm < 0:
        told = f" Limit {limit_rpm} 1/min ({part})." if limit_rpm is not None else ""
        text = f"S not in program.{told}"
        return [unknown("speed.not_in_program", text, "Ask the programmer for the speed.")]
    if limit_rpm is not None and speed_rpm > limit_rpm:
        return [_over_limit(facts, speed_rpm, limit_rpm, part)]
    if not call.speed_exact:
        text = f"S{speed_rpm:g} is “at least”: the program was not fully read."
        return [unknown("speed.not_exact", text)]
    if limit_rpm is None:
        return []
    text = f"S{speed_rpm:g} is within {limit_rpm} 1/min ({part})."
    within = Finding("speed.within_limit", Level.PASS, text, speed_rpm, limit_rpm, "1/min")
    return [within, *_override(facts, speed_rpm, limit_rpm)]


def _over_limit(facts: CheckFacts, speed_rpm: float, limit_rpm: int, part: str) -> Finding:
    diameter_um = _largest_diameter_um(facts)
    rim = f" (rim {rim_speed_m_s(diameter_um, speed_rpm):.0f} m/s)" if diameter_um else ""
    return Finding(
        "speed.over_limit",
        Level.STOP_HARD,
        f"S{speed_rpm:g}{rim}. Limit of the {part} is {limit_rpm} 1/min.",
        speed_rpm,
        limit_rpm,
        "1/min",
        "The programmer lowers S; the operator does not.",
    )


def _override(facts: CheckFacts, speed_rpm: float, limit_rpm: int) -> list[Finding]:
    if facts.machine is None:
        return []
    percent = facts.machine.override_ceiling_percent
    if percent is None:
        text = "How far this machine's speed override goes is not on record."
        return [unknown("speed.override_not_known", text, "Enter it with the machine.")]
    if speed_rpm * percent <= limit_rpm * 100:
        return []
    reached_rpm = speed_rpm * percent / 100
    text = f"Do not raise the override: {percent} % is {reached_rpm:.0f}, over {limit_rpm} 1/min."
    remedy = "Keep the speed override at 100 %."
    code = "speed.override_over_limit"
    return [Finding(code, Level.CHECK, text, reached_rpm, limit_rpm, "1/min", remedy)]


def _missing_marks(unmarked: list[str]) -> list[Finding]:
    if not unmarked:
        return []
    text = f"No speed limit on record: {', '.join(unmarked)}."
    remedy = "Read the marking on the part and enter it."
    return [Finding("speed.limit_not_known", Level.CHECK, text, remedy=remedy)]


def _rim_speed(
    facts: CheckFacts, limits: SpeedLimitFacts, call: ToolCallFacts | None
) -> list[Finding]:
    """The rim speed, for a cutter without a marked limit of its own."""
    if "cutter" not in limits.unknown_parts:
        return []
    diameter_um = _largest_diameter_um(facts)
    speed_rpm = call.speed_max_rpm if call is not None else None
    caution = facts.limits.rim_caution_m_s
    if diameter_um and speed_rpm and rim_speed_m_s(diameter_um, speed_rpm) > caution:
        rim = rim_speed_m_s(diameter_um, speed_rpm)
        text = f"Cutter without a marked limit. Rim speed {rim:.0f} m/s, over {caution}."
        remedy = "Read the marking on the cutter and enter it."
        return [Finding("speed.rim_high", Level.CHECK, text, rim, caution, "m/s", remedy)]
    if _must_be_marked(facts, "cutter"):
        return []
    small = show_mm(facts.limits.marked_speed_from_um)
    text = f"Cutter under Ø {small} without a marked limit."
    return [note("speed.small_cutter_unmarked", text)]


def _range(facts: CheckFacts, call: ToolCallFacts | None) -> list[Finding]:
    """Carried speeds and speeds below the machine's lowest."""
    if call is None or not call.speed_max_rpm:
        return []
    lowest = call.speed_max_rpm if call.speed_min_rpm is None else call.speed_min_rpm
    return [*_carried(call), *_below_lowest(facts, min(lowest, call.speed_max_rpm))]


def _carried(call: ToolCallFacts) -> list[Finding]:
    if call.speed_carried is None:
        text = "Whether S is this tool's own is not known."
        return [unknown("speed.carried_not_known", text)]
    if not call.speed_carried:
        return []
    text = f"S{call.speed_max_rpm:g} is carried over from the tool before."
    remedy = "Ask the programmer; S belongs behind each tool call."
    return [Finding("speed.carried", Level.CHECK, text, remedy=remedy)]


def _below_lowest(facts: CheckFacts, speed_rpm: float) -> list[Finding]:
    if facts.machine is None:
        return []
    lowest_rpm = facts.machine.speed_min_rpm
    if lowest_rpm is None:
        return [note("speed.lowest_not_known", "This machine's lowest speed is not on record.")]
    if speed_rpm >= lowest_rpm:
        return []
    text = f"S{speed_rpm:g} in the program. This machine starts at {lowest_rpm} 1/min."
    remedy = "Ask the programmer."
    code = "speed.below_lowest"
    return [Finding(code, Level.CHECK, text, speed_rpm, lowest_rpm, "1/min", remedy)]
