"""Which stick-out and which grip the part finder proposes for a stack."""

from __future__ import annotations

from assemblies.rules.grip import collet_length_um
from assemblies.rules.stack import BuildFigures, CutterPart, HolderPart, ShopLimits, Stack
from assemblies.rules.wording import in_mm
from crib.rules.finding import Finding, Level
from crib.rules.standards import ReferenceTables
from crib.rules.units import show_mm

_GEOMETRY = "geometry; 1 mm clear of the fillet is a shop setting"


def holdable_um(cutter: CutterPart, limits: ShopLimits) -> int | None:
    """Length [um] from the shank's end that may be held: no fillet, no flutes; None: not known.

    Source: geometry; 1 mm kept clear of the fillet is a shop setting.

    >>> cutter = CutterPart(plain_shank_um=41_000, overall_um=83_000, flute_um=45_000)
    >>> holdable_um(cutter, ShopLimits())
    38000
    """
    ends_um = []
    if cutter.plain_shank_um is not None:
        ends_um.append(cutter.plain_shank_um - limits.shank_spare_um)
    if cutter.overall_um is not None and cutter.flute_um is not None:
        ends_um.append(cutter.overall_um - cutter.flute_um)
    return max(0, min(ends_um)) if ends_um else None


def shortest_stickout_um(holder: HolderPart, cutter: CutterPart, limits: ShopLimits) -> int | None:
    """Shortest stick-out [um] with nothing but plain shank inside, up to the next 0.1 mm.

    On an arbor it is the cutter's height. None where a length is not recorded.

    Source: geometry: overall length less the shank that may go in; a bore may be less deep.

    >>> cutter = CutterPart(plain_shank_um=41_000, overall_um=83_000, flute_um=42_000)
    >>> shortest_stickout_um(HolderPart(clamping="collet"), cutter, ShopLimits())
    43000
    """
    if cutter.overall_um is None:
        return None
    if holder.is_an_arbor:
        return cutter.overall_um
    if cutter.plain_shank_um is None:
        return None
    inside_um = holdable_um(cutter, limits)
    if holder.bore_depth_um is not None and not holder.takes_a_collet:
        inside_um = min(inside_um, holder.bore_depth_um)
    return max(0, -(-(cutter.overall_um - inside_um) // 100) * 100)


def proposed_figures(
    stack: Stack, stickout_um: int | None, limits: ShopLimits, tables: ReferenceTables
) -> BuildFigures:
    """Stick-out as wanted [um], else the shortest allowed, and the grip that follows from it.

    The grip is the plain shank that then lies inside collet, sleeve or bore. It is proposed
    for collets and exact bores only; jaws and spigots have no such length.

    Source: geometry.

    >>> from assemblies.rules.stack import ColletPart
    >>> cutter = CutterPart(plain_shank_um=41_000, overall_um=83_000)
    >>> holder, collet = HolderPart(clamping="collet"), ColletPart(length_um=40_000)
    >>> stack = Stack(holder=holder, collet=collet, cutter=cutter)
    >>> found = proposed_figures(stack, 47_000, ShopLimits(), ReferenceTables())
    >>> found.stickout_um, found.grip_um
    (47000, 36000)
    """
    shortest_um = shortest_stickout_um(stack.holder, stack.cutter, limits)
    # On an arbor nobody can choose: it is the height of the cutter.
    if stickout_um is None or (stack.holder.is_an_arbor and shortest_um is not None):
        stickout_um = shortest_um
    return BuildFigures(
        stickout_um=stickout_um, grip_um=_grip_um(stack, stickout_um, limits, tables)
    )


def _grip_um(
    stack: Stack, stickout_um: int | None, limits: ShopLimits, tables: ReferenceTables
) -> int | None:
    holder, overall_um = stack.holder, stack.cutter.overall_um
    if not asks_for_a_grip(holder) or overall_um is None or stickout_um is None:
        return None
    inside_um = overall_um - stickout_um
    held_to_um = min(inside_um, _or(holdable_um(stack.cutter, limits), inside_um))
    if holder.takes_a_collet:
        seat_um = collet_length_um(stack.collet, tables.collet_series)
    else:
        seat_um = stack.sleeve.length_um if stack.sleeve else inside_um
    if seat_um is None:
        return None
    # What reaches deeper than the seat is not held; nor is what is no longer plain shank.
    return max(0, held_to_um - max(0, inside_um - seat_um))


def _or(value_um: int | None, otherwise_um: int) -> int:
    return otherwise_um if value_um is None else value_um


def asks_for_a_grip(holder: HolderPart) -> bool:
    """Whether a grip length belongs to a holder: collets and exact bores.

    Source: common practice.

    >>> asks_for_a_grip(HolderPart(clamping="shrink")), asks_for_a_grip(HolderPart(clamping="tap"))
    (True, False)
    """
    return holder.takes_a_collet or holder.takes_an_exact_shank


def length_findings(stack: Stack, wanted_um: int | None, limits: ShopLimits) -> list[Finding]:
    """What the proposed lengths leave open: not known, not as wanted [um], or fillet pushed in.

    Source: geometry; a cutter may reach deeper than the seat, but its fillet should not.

    >>> stack = Stack(holder=HolderPart(clamping="collet"), cutter=CutterPart())
    >>> [finding.code for finding in length_findings(stack, None, ShopLimits())]
    ['grip.not_proposed']
    """
    figures, cutter = stack.figures, stack.cutter
    if figures.stickout_um is None:
        return [_not_proposed("stick-out")]
    if asks_for_a_grip(stack.holder) and figures.grip_um is None:
        return [_not_proposed("grip")]
    if stack.holder.is_an_arbor:
        differs = wanted_um is not None and wanted_um != figures.stickout_um
        return [_height_of_the_cutter(figures.stickout_um, wanted_um)] if differs else []
    plain_um = holdable_um(cutter, limits)
    if plain_um is None or cutter.overall_um is None:
        return []
    over_um = cutter.overall_um - figures.stickout_um - plain_um
    return [_fillet_inside(figures.stickout_um, over_um)] if over_um > 0 else []


def _not_proposed(what: str) -> Finding:
    return Finding(
        "grip.not_proposed",
        Level.UNKNOWN,
        f"No {what} proposed: lengths of cutter or collet not recorded.",
        remedy="Record overall length and plain shank with the cutter's item.",
        source=_GEOMETRY,
    )


def _fillet_inside(stickout_um: int, over_um: int) -> Finding:
    least_um = stickout_um + over_um
    return Finding(
        "grip.fillet_in_holder",
        Level.CHECK,
        f"Stick-out {show_mm(stickout_um, 1)} takes {show_mm(over_um, 1)} mm of fillet in.",
        measured=in_mm(stickout_um),
        limit=in_mm(least_um),
        unit="mm",
        remedy=f"Leave at least {show_mm(least_um, 1)} mm out.",
        source=_GEOMETRY,
    )


def _height_of_the_cutter(height_um: int, wanted_um: int) -> Finding:
    return Finding(
        "length.arbor_fixed",
        Level.CHECK,
        f"Stick-out {show_mm(height_um, 1)} on an arbor. Wanted {show_mm(wanted_um, 1)} mm.",
        measured=in_mm(height_um),
        limit=in_mm(wanted_um),
        unit="mm",
        remedy="Take a longer or shorter arbor, or another cutter.",
        source="geometry",
    )
