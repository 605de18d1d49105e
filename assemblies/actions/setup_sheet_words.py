"""What a set-up sheet says of one tool number, in words: the same on the page and on paper."""

from __future__ import annotations

from dataclasses import dataclass

from assemblies.models import LengthRule, ToolRequirement, ToolUse
from crib.rules.units import show_mm

NOT_KNOWN = "not known"


@dataclass(frozen=True)
class UseWords:
    """The reading of one tool number. What is only a lowest bound says "at least"."""

    said: str
    speed: str
    turns: str
    feed: str
    depth: str
    time: str
    more: str


def use_words(use: ToolUse | None) -> UseWords:
    """The words of one row of a reading; without a row nothing is known."""
    if use is None:
        return UseWords("", *[NOT_KNOWN] * 5, "")
    return UseWords(
        said=use.description,
        speed=_speed(use),
        turns=_turns(use),
        feed=_feed(use),
        depth=_depth(use),
        time=_time(use),
        more=_more(use),
    )


def is_exact(use: ToolUse, figure: str) -> bool:
    """Whether a figure of the reading is the whole truth; a reading that does not say is not."""
    return use.details.get("exact", {}).get(figure, False)


def _bound(exact: bool) -> str:
    return "" if exact else "at least "


def _speed(use: ToolUse) -> str:
    fastest, slowest = use.spindle_speed_max_rpm, use.spindle_speed_min_rpm
    if fastest is None:
        return NOT_KNOWN
    span = f"{fastest}" if slowest in (None, fastest) else f"{slowest}–{fastest}"
    carried = ", carried from the tool before" if use.speed_carried else ""
    return f"{_bound(use.speed_exact)}{span} 1/min{carried}"


def _turns(use: ToolUse) -> str:
    seen = [word for word, on in _directions(use) if on]
    if not seen:
        return NOT_KNOWN
    return ", ".join(seen) + ("" if use.rotation_exact else ", not certain")


def _directions(use: ToolUse) -> tuple[tuple[str, bool], ...]:
    return (("right (M3)", use.turns_cw), ("left (M4)", use.turns_ccw))


def _feed(use: ToolUse) -> str:
    said = []
    if use.feed_max_mm_min is not None:
        low, high = use.feed_min_mm_min, use.feed_max_mm_min
        span = f"{high:.0f}" if low in (None, high) else f"{low:.0f}–{high:.0f}"
        said.append(f"{_bound(is_exact(use, 'feed_rate_max'))}{span} mm/min")
    per_turn = use.details.get("feed_per_revolution_max")
    if per_turn is not None:
        said.append(f"{_bound(is_exact(use, 'feed_per_revolution_max'))}{per_turn:.3f} mm per turn")
    return ", ".join(said) or NOT_KNOWN


def _depth(use: ToolUse) -> str:
    """Lowest Z in program coordinates, and for each work offset where there are several."""
    if use.deepest_z_um is None:
        return NOT_KNOWN
    shown = f"Z {show_mm(use.deepest_z_um)}{'' if use.depth_exact else ' or deeper'}"
    by_offset = use.details.get("deepest_z_by_work_offset") or {}
    if len(by_offset) < 2:
        return shown
    each = (f"{name} {show_mm(round(z * 1000))}" for name, z in sorted(by_offset.items()))
    return f"{shown} ({', '.join(each)})"


def _time(use: ToolUse) -> str:
    minutes = use.details.get("cutting_time")
    if minutes is None:
        return NOT_KNOWN
    dwell = use.details.get("dwell_time") or 0
    waits = f" and {minutes_text(dwell)} dwell" if dwell else ""
    return f"{_bound(is_exact(use, 'cutting_time'))}{minutes_text(minutes)}{waits}"


def minutes_text(minutes: float) -> str:
    """Minutes as people plan with them.

    >>> minutes_text(0.123), minutes_text(12.34), minutes_text(95)
    ('0.12 min', '12.3 min', '95 min')
    """
    places = 2 if minutes < 1 else 1 if minutes < 60 else 0
    return f"{minutes:.{places}f} min"


def _more(use: ToolUse) -> str:
    """Cycles, registers that are not T, and coolant; "" where there is nothing to say."""
    details = use.details
    parts = [f"G{cycle}" for cycle in details.get("cycles", ())]
    for letter, name in (("H", "length_offsets"), ("D", "radius_offsets")):
        used = details.get(name, ())
        parts += [f"{letter}{n}" for n in used if n != use.tool_number]
    parts += [f"coolant: {word}" for word in details.get("coolant", ())]
    return ", ".join(parts)


def must_be_text(row: ToolRequirement | None) -> str:
    """What a tool number must be, in one line; "not stated" where nobody said so."""
    if row is None or not row.kind or row.diameter_um is None:
        return "not stated"
    tolerance = f" ±{show_mm(row.diameter_tolerance_um)}" if row.diameter_tolerance_um else ""
    parts = [f"{row.get_kind_display()}, Ø {show_mm(row.diameter_um)}{tolerance}"]
    if row.corner_radius_um is not None:
        parts.append(f"R {show_mm(row.corner_radius_um)}")
    if row.hand:
        parts.append(row.get_hand_display().lower())
    parts += [*_length(row), *_window(row)]
    if row.flute_min_um is not None:
        parts.append(f"cutting length from {show_mm(row.flute_min_um, 1)}")
    return ", ".join(parts) + ("" if row.is_confirmed else " (proposed, not confirmed)")


def _length(row: ToolRequirement) -> list[str]:
    if row.length_rule == LengthRule.TOUCH_OFF:
        return ["length touched off"]
    if row.length_rule != LengthRule.WINDOW:
        return []
    tolerance = show_mm(row.gauge_tolerance_um, 1)
    return [f"gauge length {show_mm(row.gauge_length_um, 1)} ±{tolerance}"]


def _window(row: ToolRequirement) -> list[str]:
    least_um, most_um = row.stickout_min_um, row.stickout_max_um
    if least_um is None and most_um is None:
        return []
    least = "" if least_um is None else show_mm(least_um, 1)
    most = "" if most_um is None else show_mm(most_um, 1)
    return [f"stick-out {least}–{most}"]
