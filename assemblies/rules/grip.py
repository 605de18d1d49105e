"""How much shank is held, and whether it can be: in millimetres, with the rule's name."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

from assemblies.rules.shank import working_shank_um
from assemblies.rules.stack import ColletPart, CutterPart, ShopLimits
from assemblies.rules.wording import at_least, in_mm
from crib.rules.finding import Finding, Level
from crib.rules.standards import ColletSeries, series_named
from crib.rules.units import show_mm

_PRACTICE = "common practice; the mark on the shank wins"

#: Code -> words. Three quarters "of the shank" and "of an inch" are two different rules.
GRIP_RULES: dict[str, str] = {
    "three_quarters_inch": "three quarters of an inch",
    "two_diameters": "2 × shank diameter",
    "two_thirds_collet": "two thirds of the collet",
    "three_quarters_shank": "three quarters of the shank",
    "three_quarters_collet": "three quarters of the collet",
    "eighty_percent_collet": "80 % of the collet",
    "full_collet": "the full collet",
}

#: Rule -> (numerator, denominator, of what); an exact share, so that a limit is not blurred.
_SHARES = {
    "two_diameters": (2, 1, "shank"),
    "two_thirds_collet": (2, 3, "collet"),
    "three_quarters_shank": (3, 4, "plain"),
    "three_quarters_collet": (3, 4, "collet"),
    "eighty_percent_collet": (4, 5, "collet"),
    "full_collet": (1, 1, "collet"),
}

THREE_QUARTERS_INCH_UM = 19_050


def needed_grip_um(
    rule: str,
    *,
    collet_um: int | None = None,
    shank_um: int | None = None,
    plain_um: int | None = None,
) -> int | None:
    """Least grip [um] that a named rule asks for, rounded up; None when its length is not known.

    `collet_um` length of the collet [um], `shank_um` shank diameter [um], `plain_um` length of
    plain shank [um]. Raises KeyError for a rule that is not in `GRIP_RULES`.

    Source: two thirds of the collet and three quarters of the shank, common practice.

    >>> needed_grip_um("two_thirds_collet", collet_um=40_000)
    26667
    >>> needed_grip_um("three_quarters_shank", plain_um=38_000)
    28500
    """
    if rule == "three_quarters_inch":
        return THREE_QUARTERS_INCH_UM
    numerator, denominator, of_what = _SHARES[rule]
    length_um = {"collet": collet_um, "shank": shank_um, "plain": plain_um}[of_what]
    return None if length_um is None else -(-length_um * numerator // denominator)


def collet_length_um(collet: ColletPart, series: Sequence[ColletSeries]) -> int | None:
    """Length of the collet [um]: as recorded, else that of its series.

    Source: DIN 6499, overall length by series.

    >>> collet_length_um(ColletPart(length_um=40_000), [])
    40000
    """
    row = series_named(series, collet.series)
    return collet.length_um or (row.length_um if row else None)


def en_847_grip_um(shank_um: int) -> int:
    """Clamping length [um] of a woodworking shank tool by its shank diameter [um].

    Source: EN 847-1, from memory: 20 mm to Ø 10, 2.0 × d below Ø 25, 1.8 × d from there.

    >>> en_847_grip_um(10_000), en_847_grip_um(12_000), en_847_grip_um(25_000)
    (20000, 24000, 45000)
    """
    if shank_um <= 10_000:
        return 20_000
    return shank_um * 2 if shank_um < 25_000 else ceil(shank_um * 9 / 5)


def collet_grip_findings(
    grip_um: int | None,
    collet: ColletPart,
    cutter: CutterPart,
    limits: ShopLimits,
    series: Sequence[ColletSeries],
    for_router: bool,
    holder_grip_um: int | None = None,
) -> list[Finding]:
    """Grip in a collet: enough, and not more than there is to hold.

    `holder_grip_um` [um] is the least insertion marked on the holder.

    Source: two thirds of the collet, common practice; EN 847-1 from memory, as advice only.

    >>> collet = ColletPart(length_um=40_000)
    >>> cutter = CutterPart(shank_um=12_700, plain_shank_um=38_000, overall_um=76_000)
    >>> found = collet_grip_findings(25_000, collet, cutter, ShopLimits(), [], False)
    >>> found[0].text
    'Grip 25.0 mm. Needs 26.7 mm (two thirds of the collet).'
    """
    if grip_um is None:
        return [_not_known("grip.not_known", "Grip length not recorded.")]
    length_um = collet_length_um(collet, series)
    marks = _marks(cutter, holder_grip_um)
    findings = [_enough_in_collet(grip_um, length_um, cutter, limits, for_router, marks)]
    if length_um is not None and grip_um > length_um:
        findings.append(_longer_than_collet(grip_um, length_um))
    return findings + held_shank_findings(grip_um, cutter, limits)


def _not_known(code: str, text: str) -> Finding:
    remedy = "Measure it and record it."
    return Finding(code, Level.UNKNOWN, text, remedy=remedy, source=_PRACTICE)


def _enough_in_collet(
    grip_um: int,
    length_um: int | None,
    cutter: CutterPart,
    limits: ShopLimits,
    for_router: bool,
    marks: list[tuple[int, str]],
) -> Finding:
    needed = _needed(length_um, cutter, limits) + marks
    known = [(um, name) for um, name in needed if um is not None]
    worst_um, worst_name = max(known, default=(0, ""))
    if grip_um < worst_um:
        return _short_of(
            "grip.too_short",
            Level.STOP_SOFT,
            grip_um,
            worst_um,
            f"Needs {at_least(worst_um)} mm ({worst_name}).",
        )
    if len(known) < len(needed) or length_um is None:
        return _not_known("grip.need_not_known", _missing_length(length_um))
    return _advice(grip_um, length_um, cutter, limits, for_router)


def _needed(
    length_um: int | None, cutter: CutterPart, limits: ShopLimits
) -> list[tuple[int | None, str]]:
    """What must be met whatever the marks say: two thirds, and the shop's own rule."""
    rules = dict.fromkeys(("two_thirds_collet", limits.grip_rule))
    return [
        (
            needed_grip_um(
                rule,
                collet_um=length_um,
                shank_um=working_shank_um(cutter),
                plain_um=cutter.plain_shank_um,
            ),
            GRIP_RULES[rule],
        )
        for rule in rules
    ]


def _marks(cutter: CutterPart, holder_grip_um: int | None) -> list[tuple[int, str]]:
    """Least grip as marked [um]; each mark has to be met as well."""
    marks = ((cutter.marked_grip_um, "mark on the shank"), (holder_grip_um, "mark on the holder"))
    return [(um, name) for um, name in marks if um is not None]


def _missing_length(length_um: int | None) -> str:
    what = "Length of the collet" if length_um is None else "Shank length or diameter"
    return f"{what} not recorded, so the least grip is not known."


def _advice(
    grip_um: int, length_um: int, cutter: CutterPart, limits: ShopLimits, for_router: bool
) -> Finding:
    advised = [(needed_grip_um("eighty_percent_collet", collet_um=length_um), "80 % of the collet")]
    shank_um = working_shank_um(cutter)
    if shank_um is not None:
        advised.append((2 * shank_um, "2 × shank"))
        if for_router and (cutter.diameter_um or 0) >= limits.mark_needed_from_um:
            advised.append((en_847_grip_um(shank_um), "EN 847-1, from memory"))
    best_um, name = max(advised, key=lambda pair: pair[0])
    if grip_um < best_um:
        wanted = f"Advised {at_least(best_um)} mm ({name})."
        return _short_of("grip.below_advice", Level.CHECK, grip_um, best_um, wanted)
    return Finding(
        "grip.enough",
        Level.PASS,
        f"Grip {show_mm(grip_um, 1)} mm of {show_mm(length_um, 1)} mm collet.",
        measured=in_mm(grip_um),
        limit=in_mm(best_um),
        unit="mm",
        source=_PRACTICE,
    )


def _short_of(code: str, level: Level, grip_um: int, least_um: int, wanted: str) -> Finding:
    return Finding(
        code,
        level,
        f"Grip {show_mm(grip_um, 1)} mm. {wanted}",
        measured=in_mm(grip_um),
        limit=in_mm(least_um),
        unit="mm",
        remedy=f"Push the shank in at least {at_least(least_um - grip_um)} mm further.",
        source=_PRACTICE,
    )


def _longer_than_collet(grip_um: int, length_um: int) -> Finding:
    return Finding(
        "grip.longer_than_collet",
        Level.STOP_HARD,
        f"Grip {show_mm(grip_um, 1)} mm is more than the collet's {show_mm(length_um, 1)} mm.",
        measured=in_mm(grip_um),
        limit=in_mm(length_um),
        unit="mm",
        remedy="Measure the grip again: only shank inside the collet counts.",
        source="geometry",
    )


def held_shank_findings(grip_um: int, cutter: CutterPart, limits: ShopLimits) -> list[Finding]:
    """Whether only plain shank is held: no fillet, no flute inside the seat.

    Source: geometry; 1 mm kept clear of the fillet is a shop setting.

    >>> cutter = CutterPart(plain_shank_um=38_000)
    >>> held_shank_findings(37_500, cutter, ShopLimits())[0].code
    'grip.fillet_inside'
    """
    findings = []
    if cutter.plain_shank_um is None:
        findings.append(_not_known("grip.shank_not_known", "Plain shank length not recorded."))
    elif grip_um > cutter.plain_shank_um:
        findings.append(
            _too_much("grip.longer_than_shank", Level.STOP_HARD, grip_um, cutter.plain_shank_um)
        )
    elif grip_um > cutter.plain_shank_um - limits.shank_spare_um:
        spare_um = cutter.plain_shank_um - limits.shank_spare_um
        findings.append(_too_much("grip.fillet_inside", Level.STOP_SOFT, grip_um, spare_um))
    if cutter.overall_um is not None and cutter.flute_um is not None:
        clear_um = cutter.overall_um - cutter.flute_um
        if grip_um > clear_um:
            findings.append(_too_much("grip.flutes_inside", Level.STOP_SOFT, grip_um, clear_um))
    return findings


_TOO_MUCH = {
    "grip.longer_than_shank": "Grip {grip} mm is more than the plain shank, {most} mm.",
    "grip.fillet_inside": "Grip {grip} mm. At most {most} mm keeps the fillet out.",
    "grip.flutes_inside": "Grip {grip} mm. Flutes begin {most} mm from the shank end.",
}


def _too_much(code: str, level: Level, grip_um: int, most_um: int) -> Finding:
    return Finding(
        code,
        level,
        _TOO_MUCH[code].format(grip=show_mm(grip_um, 1), most=show_mm(most_um, 1)),
        measured=in_mm(grip_um),
        limit=in_mm(most_um),
        unit="mm",
        remedy="Draw the cutter out, or measure the grip again.",
        source="geometry; 1 mm clear of the fillet is a shop setting",
    )
