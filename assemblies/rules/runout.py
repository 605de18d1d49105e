"""Does the assembly run true enough for its cutting diameter."""

from __future__ import annotations

from assemblies.rules.stack import BuildFigures, CutterPart, ShopLimits
from assemblies.rules.wording import in_mm
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

_SETTING = "shop setting by cutting diameter, doubled on routers"


def runout_limit_um(diameter_um: int, for_router: bool, limits: ShopLimits) -> int | None:
    """Runout [um] allowed at a cutting diameter [um]; None when the shop's bands end below it.

    Source: shop setting; upper edges of the bands are included.

    >>> runout_limit_um(6_000, False, ShopLimits()), runout_limit_um(6_001, True, ShopLimits())
    (10, 30)
    """
    for upper_um, allowed_um in limits.runout_bands_um:
        if upper_um is None or diameter_um <= upper_um:
            return allowed_um * (limits.router_runout_factor if for_router else 1)
    return None


def runout_finding(
    figures: BuildFigures, cutter: CutterPart, for_router: bool, limits: ShopLimits
) -> Finding:
    """Whether the measured runout is within the limit of the cutting diameter.

    The smaller of nominal and measured diameter chooses the limit, which is the stricter one.

    Source: shop setting; over the limit is a check, over twice the limit a soft stop.

    >>> cutter = CutterPart(diameter_um=6_000)
    >>> runout_finding(BuildFigures(runout_um=28), cutter, True, ShopLimits()).code
    'runout.over'
    """
    if figures.runout_um is None:
        return _not_known("runout.not_known", "Runout not measured.", "Measure it and record it.")
    sizes_um = [um for um in (cutter.diameter_um, figures.diameter_um) if um is not None]
    allowed_um = runout_limit_um(min(sizes_um), for_router, limits) if sizes_um else None
    if allowed_um is None:
        remedy = "Record the cutting diameter."
        return _not_known("runout.limit_not_known", "Runout limit not known.", remedy)
    return _judged(figures.runout_um, allowed_um, limits)


def _not_known(code: str, text: str, remedy: str) -> Finding:
    return Finding(code, Level.UNKNOWN, text, remedy=remedy, source=_SETTING)


def _judged(runout_um: int, allowed_um: int, limits: ShopLimits) -> Finding:
    code, level = "runout.within", Level.PASS
    if runout_um > allowed_um * limits.runout_stop_factor:
        code, level = "runout.far_over", Level.STOP_SOFT
    elif runout_um > allowed_um:
        code, level = "runout.over", Level.CHECK
    return Finding(
        code,
        level,
        f"Runout {show_mm(runout_um, 3)}. Limit {show_mm(allowed_um, 3)}.",
        measured=in_mm(runout_um),
        limit=in_mm(allowed_um),
        unit="mm",
        remedy="" if level == Level.PASS else "Clean, turn the collet, measure again.",
        source=_SETTING,
    )
