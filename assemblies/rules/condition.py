"""Are the parts fit for use: state of each piece, hours of the collet, seats of the inserts."""

from __future__ import annotations

from assemblies.rules.stack import ColletPart, Condition, CutterPart, ShopLimits, Stack
from crib.rules.finding import Finding, Level

_PRACTICE = "common practice"
_HOURS = "mark or shop setting; 400 to 600 h is common practice for router collets"

_OUT_OF_USE = {
    Condition.QUARANTINED: "quarantined",
    Condition.REGRIND: "out for re-sharpening",
    Condition.WORN: "worn",
    Condition.SCRAPPED: "scrapped",
    Condition.LOST: "recorded as lost",
}


def condition_findings(stack: Stack) -> list[Finding]:
    """One finding for each piece that is out of use or whose state is not known.

    Source: common practice: a piece set aside stays aside until somebody has looked at it.

    >>> from assemblies.rules.stack import HolderPart
    >>> condition_findings(Stack(holder=HolderPart(condition="worn")))[0].code
    'condition.out_of_use'
    """
    parts = {
        "Holder": stack.holder,
        "Collet": stack.collet,
        "Nut": stack.nut,
        "Sleeve": stack.sleeve,
        "Pull stud": stack.stud,
        "Cutter": stack.cutter,
    }
    findings = []
    for name, part in parts.items():
        if part is not None:
            findings += _piece_findings(name, getattr(part, "mark", ""), part.condition)
    return findings


def _piece_findings(name: str, mark: str, condition: str | None) -> list[Finding]:
    called = f"{name} {mark}".strip()
    if condition in (Condition.IN_SERVICE, Condition.NOT_TRACKED):
        return []
    if condition in _OUT_OF_USE:
        return [
            Finding(
                "condition.out_of_use",
                Level.STOP_HARD,
                f"{called} is {_OUT_OF_USE[condition]}.",
                remedy="Take another, or have the toolroom put it back in service.",
                source=_PRACTICE,
            )
        ]
    return [
        Finding(
            "condition.not_known",
            Level.UNKNOWN,
            f"State of {called[0].lower()}{called[1:]} not recorded.",
            remedy="Look at it and record its state.",
            source=_PRACTICE,
        )
    ]


def collet_hours_findings(collet: ColletPart, limits: ShopLimits) -> list[Finding]:
    """Running hours [h] of a collet against its own limit, else the shop's.

    Nothing is asked where neither sets a limit. A collet without a mark has no history of its
    own: that is said as a note, because hours are counted per marked piece only.

    Source: 400 to 600 h, common practice.

    >>> collet_hours_findings(ColletPart(hours=640), ShopLimits())[0].code
    'collet.hours_over'
    """
    allowed = collet.hours_limit if collet.hours_limit is not None else limits.collet_hours_limit
    if allowed is None:
        return []
    if collet.hours is None and collet.condition == Condition.NOT_TRACKED:
        return [
            Finding(
                "collet.hours_not_counted",
                Level.NOTE,
                "Hours of an unmarked collet are not counted.",
                remedy="Engrave a mark, and its hours are kept.",
                source=_HOURS,
            )
        ]
    if collet.hours is None:
        return [
            Finding(
                "collet.hours_not_known",
                Level.UNKNOWN,
                f"Hours of the collet not recorded. Limit {allowed} h.",
                remedy="Estimate them and record them, or fit a new collet.",
                source=_HOURS,
            )
        ]
    return [_hours_finding(collet.hours, allowed, limits.collet_hours_stop_percent)]


def _hours_finding(hours: int, allowed: int, stop_percent: int) -> Finding:
    code, level = "collet.hours_within", Level.PASS
    if hours * 100 > allowed * stop_percent:
        code, level = "collet.hours_far_over", Level.STOP_SOFT
    elif hours > allowed:
        code, level = "collet.hours_over", Level.CHECK
    return Finding(
        code,
        level,
        f"Collet {hours} h of {allowed}.",
        measured=hours,
        limit=allowed,
        unit="h",
        remedy="" if level == Level.PASS else "Fit a new collet of the same range.",
        source=_HOURS,
    )


def insert_findings(cutter: CutterPart) -> list[Finding]:
    """Whether every insert seat of a cutter is filled; solid cutters have 0 seats.

    Source: common practice: an empty seat unbalances the cutter and overloads the next edge.

    >>> insert_findings(CutterPart(insert_seats=4, empty_seats=1))[0].code
    'insert.seat_empty'
    """
    if cutter.insert_seats == 0:
        return []
    if cutter.insert_seats is None or cutter.empty_seats is None:
        return [
            Finding(
                "insert.seats_not_known",
                Level.UNKNOWN,
                "Not recorded whether every insert seat is filled.",
                remedy="Look at each seat and screw, and record it.",
                source=_PRACTICE,
            )
        ]
    empty = cutter.empty_seats
    return [
        Finding(
            "insert.seat_empty" if empty else "insert.seats_filled",
            Level.STOP_HARD if empty else Level.PASS,
            f"{empty} of {cutter.insert_seats} insert seats empty."
            if empty
            else f"All {cutter.insert_seats} insert seats filled.",
            measured=empty,
            limit=0,
            unit="seats",
            remedy="Fit the missing inserts, screws to their torque." if empty else "",
            source=_PRACTICE,
        )
    ]
