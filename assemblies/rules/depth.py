"""How deep a program takes a tool, against how far the tool stands out and how far it cuts.

What was read of the path is never an agreement of its own: a depth nobody knows is said, and
only a depth that is known can be too great.
"""

from __future__ import annotations

from dataclasses import dataclass

from assemblies.rules.wording import in_mm
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

_SOURCE = "lowest feed move of the program, from the top of the work"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """One tool number's deepest feed move and the tool that makes it; None is not known.

    `deepest_z_um` and `top_um` are heights in program coordinates, Z upwards. `depth_exact` is
    False where the reading gives "at least this deep" only.
    """

    deepest_z_um: int | None
    depth_exact: bool | None
    top_um: int | None
    stickout_um: int | None
    flute_um: int | None

    @property
    def depth_um(self) -> int | None:
        """From the top of the work down to the deepest feed move [um]; None: not known."""
        if self.deepest_z_um is None or self.top_um is None:
            return None
        return self.top_um - self.deepest_z_um


def top_of_work_um(stated_um: int | None, zero_is_top: bool | None) -> int | None:
    """Height of the top of the work in program coordinates [um]; None when nobody said it.

    What was stated for the program comes first. Else Z0 is the top where the machine's programs
    have their zero there; where Z0 is the table, the top is not known from it.

    >>> top_of_work_um(None, True), top_of_work_um(18_000, False), top_of_work_um(None, False)
    (0, 18000, None)
    """
    if stated_um is not None:
        return stated_um
    return 0 if zero_is_top else None


def reach_findings(reach: Reach) -> list[Finding]:
    """The depth [um] against stick-out (a check) and flute length (a note).

    A nut or holder whose face stands `stickout_um` above the tip comes down to the top of the
    work when the tip is that deep. Deeper than the flutes the shank rubs, but only against
    walls of full depth.

    Source: geometry of the side view; own classes.

    >>> deep = Reach(
    ...     deepest_z_um=-48_000, depth_exact=True, top_um=0, stickout_um=45_000, flute_um=50_000
    ... )
    >>> reach_findings(deep)[0].code
    'depth.stick_out'
    """
    why_not = _not_compared(reach)
    return why_not or [*_against_stickout(reach), *_against_flutes(reach)]


def _not_compared(reach: Reach) -> list[Finding]:
    if reach.deepest_z_um is None:
        return [_note("Depth not compared: no Z of a feed move was read.")]
    if reach.top_um is None:
        remedy = "Programmer: state where the top of the work is."
        return [_note("Depth not compared: the top of the work is not stated.", remedy)]
    if reach.depth_um <= 0:
        # Nothing that cuts stays above the work: then the top is not where we think it is.
        remedy = f"{_top(reach)} Is the zero of this program there?"
        return [_note("Depth not compared: it never goes below the top.", remedy)]
    return []


def _note(text: str, remedy: str = "") -> Finding:
    return Finding("depth.not_compared", Level.NOTE, text, remedy=remedy, source=_SOURCE)


def _against_stickout(reach: Reach) -> list[Finding]:
    depth = show_mm(reach.depth_um, 1)
    if reach.stickout_um is None:
        return [_note(f"Goes {depth} deep. Stick-out not on record.", _top(reach))]
    stickout = show_mm(reach.stickout_um, 1)
    if reach.depth_um > reach.stickout_um:
        text = f"Goes {depth} deep; stick-out {stickout}. The nut may reach the work."
        remedy = f"Rebuild longer, or look where it cuts deepest. {_top(reach)}"
        return [_finding("depth.stick_out", Level.CHECK, text, reach, reach.stickout_um, remedy)]
    if not reach.depth_exact:
        text = f"Goes {depth} deep at least; how deep is not known."
        return [_note(text, f"Its path was not fully read. {_top(reach)}")]
    text = f"Goes {depth} deep; stick-out {stickout}."
    return [_finding("depth.within", Level.PASS, text, reach, reach.stickout_um, _top(reach))]


def _against_flutes(reach: Reach) -> list[Finding]:
    depth = show_mm(reach.depth_um, 1)
    if reach.flute_um is None:
        return [_note(f"Goes {depth} deep. Flute length not on record.", _top(reach))]
    if reach.depth_um <= reach.flute_um:
        return []
    text = f"Goes {depth} deep; cuts {show_mm(reach.flute_um, 1)}. The shank may rub."
    remedy = f"Only walls of full depth matter. {_top(reach)}"
    return [_finding("depth.flute", Level.NOTE, text, reach, reach.flute_um, remedy)]


def _finding(
    code: str, level: Level, text: str, reach: Reach, limit_um: int, remedy: str
) -> Finding:
    measured, limit = in_mm(reach.depth_um), in_mm(limit_um)
    return Finding(code, level, text, measured, limit, "mm", remedy, _SOURCE)


def _top(reach: Reach) -> str:
    """Said beside each depth, because each depends on it."""
    return f"Top of the work: Z{show_mm(reach.top_um, 1)}."
