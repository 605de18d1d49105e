"""Is the assembly what the program wants under this T number?

Only the requirement is compared. The numbers of assembly and tool never are.

Source: the tolerances stated with the requirement; where none is stated, shop settings.
"""

from __future__ import annotations

from assemblies.rules.reading_limits import Judged, closeness_finding
from assemblies.rules.verdict.facts import (
    AssemblyFacts,
    CheckFacts,
    LengthRule,
    RequirementFacts,
    ShopLimits,
)
from assemblies.rules.verdict.wording import (
    agrees,
    difference,
    length_finding,
    note,
    short_name,
    unknown,
)
from crib.rules.cutter_kinds import kind_name
from crib.rules.finding import Finding, Level
from crib.rules.units import show_length, show_mm


def requirement_findings(facts: CheckFacts, tool_number: int) -> list[Finding]:
    """Kind, diameter, radius, length, stick-out, flute: in order, for one T number."""
    wanted = facts.requirements.get(tool_number)
    if facts.program is None:
        return []
    if wanted is None or wanted.says_nothing:
        return [_nothing_to_compare(wanted, tool_number)]
    assembly = facts.assembly
    return [
        _confirmed(wanted, tool_number),
        *_named(assembly, wanted),
        _kind(assembly, wanted),
        _diameter(facts, wanted),
        *_radius(assembly, wanted),
        _gauge_length(facts, wanted),
        *_stickout(assembly, wanted, facts.limits),
        *_flute(assembly, wanted),
        *_too_close(facts, wanted),
    ]


def _nothing_to_compare(wanted: RequirementFacts | None, tool_number: int) -> Finding:
    if wanted is not None and wanted.text:
        text = f"T{tool_number} has only a text. Compare it by eye."
        return unknown("program.text_only", text, "Programmer: state kind and diameter.")
    text = f"The program says only T{tool_number}. No figures to compare."
    return unknown("program.number_only", text, "Programmer: state what this T must be.")


def _confirmed(wanted: RequirementFacts, tool_number: int) -> Finding:
    if wanted.confirmed:
        return agrees("program.requirement_confirmed", f"T{tool_number} was confirmed.")
    text = f"What T{tool_number} must be was not confirmed by a person."
    return unknown("program.requirement_not_confirmed", text, "Programmer: confirm it.")


def _named(assembly: AssemblyFacts, wanted: RequirementFacts) -> list[Finding]:
    listed, this = wanted.preferred_assembly, assembly.number
    if listed is None or listed == this:
        return []
    if this in (wanted.allowed_alternatives or ()):
        text = f"Listed is {listed}. This is {this}, an allowed alternative."
        return [note("program.allowed_alternative", text)]
    text = f"Listed is {listed}. This is {this}; its figures decide."
    return [note("program.other_assembly", text)]


def _fetch(assembly: AssemblyFacts, wanted: RequirementFacts, otherwise: str) -> str:
    """Where the right one is; the assembly being refused is never the right one."""
    if not wanted.fetch or wanted.preferred_assembly == assembly.number:
        return otherwise
    return f"Right one: {wanted.fetch}."


def _kind(assembly: AssemblyFacts, wanted: RequirementFacts) -> Finding:
    if wanted.kind is None:
        return unknown("program.kind_not_stated", "The program states no kind of cutter.")
    if assembly.cutter_kind is None:
        return unknown("program.kind_not_known", "The kind of this cutter is not on record.")
    if assembly.cutter_kind == wanted.kind:
        return agrees("program.kind_agrees", f"Kind as wanted: {kind_name(wanted.kind)}.")
    found = kind_name(assembly.cutter_kind)
    text = f"{found[0].upper()}{found[1:]}. Program wants {kind_name(wanted.kind)}."
    remedy = _fetch(assembly, wanted, "Fetch the kind the program wants.")
    return Finding("program.kind_differs", Level.STOP_SOFT, text, remedy=remedy)


def _diameter(facts: CheckFacts, wanted: RequirementFacts) -> Finding:
    """An unmeasured cutter can be refused by its nominal, never passed by it."""
    assembly = facts.assembly
    if wanted.diameter_um is None:
        return unknown("program.diameter_not_stated", "The program states no diameter.")
    found_um = assembly.diameter_um
    if found_um is None:
        found_um = assembly.nominal_diameter_um
    if found_um is None:
        return unknown("program.diameter_not_known", "Diameter not on record.", "Measure it.")
    tolerance_um = wanted.diameter_tolerance_um
    allowed_um = (
        facts.limits.unstated_diameter_tolerance_um if tolerance_um is None else tolerance_um
    )
    if abs(found_um - wanted.diameter_um) > allowed_um:
        return _diameter_differs(assembly, wanted, found_um)
    if assembly.diameter_um is None:
        text = f"Diameter not measured. Nominal is {show_mm(found_um)}."
        return unknown("program.diameter_not_measured", text, "Measure it.")
    if tolerance_um is None:
        text = "The program states no tolerance of the diameter."
        return unknown("program.diameter_tolerance_not_stated", text, "Programmer: state it.")
    return _diameter_within(facts, wanted)


def _diameter_differs(assembly: AssemblyFacts, wanted: RequirementFacts, found_um: int) -> Finding:
    shown = show_length(found_um, bool(assembly.bought_in_inches))
    by = difference(found_um, wanted.diameter_um, ("bigger", "smaller"))
    text = f"{shown}. Program wants {show_mm(wanted.diameter_um)} ({by})."
    remedy = _fetch(assembly, wanted, "Fetch the diameter the program wants.")
    code = "program.diameter_differs"
    return length_finding(code, Level.STOP_SOFT, text, found_um, wanted.diameter_um, remedy)


def _diameter_within(facts: CheckFacts, wanted: RequirementFacts) -> Finding:
    found_um = facts.assembly.diameter_um
    if found_um == wanted.diameter_um or wanted.controller_diameter is False:
        return agrees("program.diameter_agrees", f"Ø {show_mm(found_um)} as wanted.")
    if wanted.controller_diameter is None:
        text = f"Ø {show_mm(found_um)}. Does the program cut on the control's Ø?"
        return unknown("program.controller_diameter_not_stated", text, "Programmer: state it.")
    text = (
        f"Enter {_length_to_enter(facts, wanted)}D {show_mm(found_um)} (was {_was(facts, wanted)})."
    )
    remedy = "Enter it at the control, then accept."
    code = "program.enter_diameter"
    return length_finding(code, Level.CHECK, text, found_um, wanted.diameter_um, remedy)


def _was(facts: CheckFacts, wanted: RequirementFacts) -> str:
    confirmed_um = facts.control.confirmed_diameter_um
    return show_mm(wanted.diameter_um if confirmed_um is None else confirmed_um)


def _length_to_enter(facts: CheckFacts, wanted: RequirementFacts) -> str:
    length_um = facts.assembly.gauge_length_um
    if length_um is None or wanted.length_rule is not LengthRule.WINDOW or _touches_off(facts):
        return ""
    return f"L {show_mm(length_um)}, "


def _radius(assembly: AssemblyFacts, wanted: RequirementFacts) -> list[Finding]:
    wanted_um, found_um = wanted.corner_radius_um, assembly.corner_radius_um
    if wanted_um is None:
        return []
    if found_um is None:
        text = f"Corner radius not on record. Program wants R{show_mm(wanted_um)}."
        return [unknown("program.radius_not_known", text, "Measure it.")]
    if abs(found_um - wanted_um) <= (wanted.corner_tolerance_um or 0):
        return [agrees("program.radius_agrees", f"R{show_mm(found_um)} as wanted.")]
    text = f"R{show_mm(found_um)}. Program wants R{show_mm(wanted_um)}."
    remedy = _fetch(assembly, wanted, "Fetch the radius the program wants.")
    code = "program.radius_differs"
    return [length_finding(code, Level.STOP_SOFT, text, found_um, wanted_um, remedy)]


def _touches_off(facts: CheckFacts) -> bool:
    return facts.machine is not None and facts.machine.touch_off_every_load is True


def _gauge_length(facts: CheckFacts, wanted: RequirementFacts) -> Finding:
    """Touching off replaces a missing length; it does not excuse a wrong one."""
    if wanted.length_rule is LengthRule.TOUCH_OFF:
        return note("program.length_touch_off", "Any length. Touch off before the first move.")
    if wanted.length_rule is LengthRule.WINDOW:
        return _length_window(facts, wanted)
    if _touches_off(facts):
        return note("program.length_touch_off", "Length not stated. Touch off before moving.")
    text = "The program states no gauge length."
    return unknown("program.length_not_stated", text, "Programmer: state it, or touch off.")


def _length_window(facts: CheckFacts, wanted: RequirementFacts) -> Finding:
    found_um, wanted_um = facts.assembly.gauge_length_um, wanted.gauge_length_um
    if wanted_um is None:
        text = "The program wants a length window but states no length."
        return unknown("program.length_not_stated", text, "Programmer: state it.")
    if found_um is None and _touches_off(facts):
        text = "Length not on record. Touch off before the first move."
        return note("program.length_touch_off", text)
    if found_um is None:
        return unknown("program.length_not_known", "Gauge length not on record.", "Measure it.")
    tolerance_um = wanted.gauge_tolerance_um
    allowed_um = facts.limits.unstated_length_tolerance_um if tolerance_um is None else tolerance_um
    if abs(found_um - wanted_um) > allowed_um:
        return _length_differs(facts.assembly, wanted, allowed_um)
    if tolerance_um is None:
        text = "The program states no tolerance of the gauge length."
        return unknown("program.length_tolerance_not_stated", text, "Programmer: state it.")
    return agrees("program.length_agrees", f"{show_mm(found_um, 1)} mm long as wanted.")


def _length_differs(assembly: AssemblyFacts, wanted: RequirementFacts, allowed_um: int) -> Finding:
    found_um, wanted_um = assembly.gauge_length_um, wanted.gauge_length_um
    window = f"{show_mm(wanted_um, 1)} ±{show_mm(allowed_um, 1)}"
    by = difference(found_um, wanted_um, ("longer", "shorter"), 1)
    text = f"{show_mm(found_um, 1)} mm. Program wants {window} ({by})."
    remedy = _fetch(assembly, wanted, "Rebuild to the length the program wants.")
    code = "program.length_differs"
    return length_finding(code, Level.STOP_SOFT, text, found_um, wanted_um, remedy)


def _stickout(
    assembly: AssemblyFacts, wanted: RequirementFacts, limits: ShopLimits
) -> list[Finding]:
    least_um, most_um = wanted.stickout_min_um, wanted.stickout_max_um
    if least_um is None and most_um is None:
        return []
    found_um = assembly.stickout_um
    if found_um is None:
        return [unknown("program.stickout_not_known", "Stick-out not on record.", "Measure it.")]
    text = f"Stick-out {show_mm(found_um, 1)}. Program allows {_window(least_um, most_um)}."
    if least_um is not None and found_um < least_um:
        remedy = "Nut or holder will touch: rebuild longer."
        code = "program.stickout_short"
        return [length_finding(code, Level.STOP_SOFT, text, found_um, least_um, remedy)]
    if most_um is not None and found_um > most_um:
        far = found_um * 100 > most_um * (100 + limits.long_stickout_percent)
        code = "program.stickout_far_too_long" if far else "program.stickout_long"
        level = Level.STOP_SOFT if far else Level.CHECK
        remedy = "Rebuild with less stick-out."
        return [length_finding(code, level, text, found_um, most_um, remedy)]
    return [agrees("program.stickout_agrees", f"Stick-out {show_mm(found_um, 1)} as wanted.")]


def _window(least_um: int | None, most_um: int | None) -> str:
    if most_um is None:
        return f"{show_mm(least_um, 1)} or more"
    if least_um is None:
        return f"{show_mm(most_um, 1)} or less"
    return f"{show_mm(least_um, 1)}–{show_mm(most_um, 1)}"


def _flute(assembly: AssemblyFacts, wanted: RequirementFacts) -> list[Finding]:
    least_um, found_um = wanted.flute_min_um, assembly.flute_length_um
    if least_um is None:
        return []
    if found_um is None:
        return [unknown("program.flute_not_known", "Flute length not on record.", "Measure it.")]
    if found_um >= least_um:
        return [agrees("program.flute_agrees", f"Cuts {show_mm(found_um, 1)} mm deep.")]
    text = f"Cuts {show_mm(found_um, 1)} mm deep at most. Program needs {show_mm(least_um, 1)}."
    remedy = _fetch(assembly, wanted, "Fetch a cutter with longer flutes.")
    code = "program.flute_short"
    return [length_finding(code, Level.STOP_SOFT, text, found_um, least_um, remedy)]


def _too_close(facts: CheckFacts, wanted: RequirementFacts) -> list[Finding]:
    """Figures inside their tolerance that the readings behind them do not prove.

    Source: ISO 14253-1, from memory: agreement is proven inside T − U only.
    """
    if facts.assembly.read is None:
        return []  # a needed comparison that was not made
    length_um = wanted.gauge_length_um
    if wanted.length_rule is not LengthRule.WINDOW or _touches_off(facts):
        length_um = None
    asked = (
        ("diameter", "Diameter", wanted.diameter_um, wanted.diameter_tolerance_um),
        ("gauge_length", "Gauge length", length_um, wanted.gauge_tolerance_um),
        ("corner_radius", "Corner radius", wanted.corner_radius_um, wanted.corner_tolerance_um),
    )
    found = [f for f in (_proven(facts.assembly, *figure) for figure in asked) if f is not None]
    if not found:
        return [agrees("reading.clear", "No reading speaks against what was measured.")]
    # What was accepted at the bench stands among its cautions already.
    told = {(f.code, f.measured, f.limit) for f in facts.assembly.cautions or ()}
    return [f for f in found if (f.code, f.measured, f.limit) not in told]


def _proven(
    assembly: AssemblyFacts, quantity: str, name: str, wanted_um: int | None, within_um: int | None
) -> Finding | None:
    read = assembly.read.get(quantity)
    found_um = getattr(assembly, f"{quantity}_um")
    if read is None or found_um is None or wanted_um is None or within_um is None:
        return None
    if abs(found_um - wanted_um) > within_um:
        return None  # that stops by itself
    if not wanted_um - within_um <= read.least_um <= read.most_um <= wanted_um + within_um:
        shown = f"{show_mm(read.least_um, 3)} to {show_mm(read.most_um, 3)}"
        text = f"{name}: single readings {shown}, not all within ±{show_mm(within_um, 3)}."
        worst_um = max(read.least_um, read.most_um, key=lambda um: abs(um - wanted_um))
        remedy = "Clean, look whether something moved, read again."
        code = "reading.too_close"
        return length_finding(code, Level.CHECK, text, worst_um, wanted_um, remedy)
    close = closeness_finding(Judged(name, found_um, wanted_um, within_um, read.uncertainty_um))
    return close if close is not None and close.level is Level.CHECK else None


def expected_text(tool_number: int, wanted: RequirementFacts | None) -> str:
    """What the T number must be, in one line; the program's own words where nothing is stated."""
    if wanted is None or (wanted.says_nothing and not wanted.text):
        return f"T{tool_number}: not stated"
    if wanted.says_nothing:
        return f"T{tool_number}: {short_name(wanted.text, '', 60)}"
    parts = [kind_name(wanted.kind) if wanted.kind else "kind not stated"]
    if wanted.diameter_um is not None:
        parts.append(
            f"Ø {show_mm(wanted.diameter_um)}{_plus_minus(wanted.diameter_tolerance_um, 2)}"
        )
    if wanted.gauge_length_um is not None:
        shown = show_mm(wanted.gauge_length_um, 1)
        parts.append(f"length {shown}{_plus_minus(wanted.gauge_tolerance_um, 1)}")
    return f"T{tool_number}: {', '.join(parts)}"


def _plus_minus(tolerance_um: int | None, decimals: int) -> str:
    return "" if tolerance_um is None else f" ±{show_mm(tolerance_um, decimals)}"
