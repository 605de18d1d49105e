"""Do the lengths of an assembly add up: overall length, gauge length."""

from __future__ import annotations

from assemblies.rules.stack import BuildFigures, CutterPart, HolderPart, ShopLimits
from assemblies.rules.wording import in_mm
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

_GEOMETRY = "geometry"
_CLOSURE = "geometry; 0.5 mm for hand-measured stick-out is a shop setting"


def overall_finding(cutter: CutterPart, stickout_um: int | None, grip_um: int | None) -> Finding:
    """Whether grip and stick-out [um] together fit into the cutter's overall length.

    No equality is asked: a cutter may reach deeper than the collet's face is set back.

    Source: geometry.

    >>> overall_finding(CutterPart(overall_um=76_000), 44_000, 32_000).code
    'length.within_overall'
    """
    missing = [
        name
        for name, um in (
            ("stick-out", stickout_um),
            ("grip", grip_um),
            ("overall length", cutter.overall_um),
        )
        if um is None
    ]
    if missing:
        return _not_known("length.not_known", missing)
    used_um = stickout_um + grip_um
    fits = used_um <= cutter.overall_um
    return Finding(
        "length.within_overall" if fits else "length.over_overall",
        Level.PASS if fits else Level.STOP_HARD,
        f"Grip + stick-out {show_mm(used_um, 1)}, cutter {show_mm(cutter.overall_um, 1)} mm long.",
        measured=in_mm(used_um),
        limit=in_mm(cutter.overall_um),
        unit="mm",
        remedy="" if fits else "Measure both again, or it is another cutter.",
        source=_GEOMETRY,
    )


def _not_known(code: str, missing: list[str]) -> Finding:
    return Finding(
        code,
        Level.UNKNOWN,
        f"Not recorded: {', '.join(missing)}.",
        remedy="Measure and record.",
        source=_GEOMETRY,
    )


def expected_gauge_um(holder: HolderPart, stickout_um: int | None) -> int | None:
    """Gauge length [um] that holder and stick-out [um] promise; None when one is not known.

    Source: gauge line to nut face plus nut face to tip.

    >>> expected_gauge_um(HolderPart(gauge_length_um=60_000), 44_000)
    104000
    """
    if holder.gauge_length_um is None or stickout_um is None:
        return None
    return holder.gauge_length_um + stickout_um


def closure_finding(holder: HolderPart, figures: BuildFigures, limits: ShopLimits) -> Finding:
    """Whether the measured gauge length agrees with holder plus stick-out.

    A gap means a slip of the pen, another holder, another cutter or another gauge plane.

    Source: geometry; tolerance 0.5 mm is a shop setting.

    >>> figures = BuildFigures(stickout_um=44_000, gauge_length_um=104_501)
    >>> closure_finding(HolderPart(gauge_length_um=60_000), figures, ShopLimits()).code
    'gauge.does_not_close'
    """
    expected_um = expected_gauge_um(holder, figures.stickout_um)
    if expected_um is None or figures.gauge_length_um is None:
        return _not_known("gauge.not_known", _missing_lengths(holder, figures))
    gap_um = figures.gauge_length_um - expected_um
    closes = abs(gap_um) <= limits.closure_um
    difference = f"{show_mm(abs(gap_um), 1)} {'longer' if gap_um > 0 else 'shorter'} than the sum"
    agrees = "agrees with the sum" if closes else difference
    return Finding(
        "gauge.closes" if closes else "gauge.does_not_close",
        Level.PASS if closes else Level.CHECK,
        f"Gauge length {show_mm(figures.gauge_length_um, 1)} {agrees} {show_mm(expected_um, 1)}.",
        measured=in_mm(figures.gauge_length_um),
        limit=in_mm(expected_um),
        unit="mm",
        remedy="" if closes else "Measure again: wrong holder, wrong cutter or a slip of the pen.",
        source=_CLOSURE,
    )


def _missing_lengths(holder: HolderPart, figures: BuildFigures) -> list[str]:
    lengths = (
        ("gauge length", figures.gauge_length_um),
        ("stick-out", figures.stickout_um),
        ("holder's gauge length", holder.gauge_length_um),
    )
    return [name for name, um in lengths if um is None]
