"""Do the lengths of an assembly add up: overall length, gauge length."""

from __future__ import annotations

from assemblies.rules.stack import BuildFigures, CutterPart, HolderPart, ShopLimits
from assemblies.rules.wording import in_mm
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

_GEOMETRY = "geometry"
_CLOSURE = "geometry; 0.5 mm for hand-measured stick-out is a shop setting"


def overall_finding(
    cutter: CutterPart, stickout_um: int | None, grip_um: int | None, *, spare_um: int = 0
) -> Finding:
    """Whether grip and stick-out [um] together fit into the cutter's overall length.

    No equality is asked: a cutter may reach deeper than the collet's face is set back. On an
    arbor the whole height stands out: `spare_um` [um] is how far a measured one may lie above the
    recorded one.

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
    fits = used_um <= cutter.overall_um + spare_um
    what = "Grip + stick-out" if grip_um else "Stick-out"
    return Finding(
        "length.within_overall" if fits else "length.over_overall",
        Level.PASS if fits else Level.STOP_HARD,
        f"{what} {show_mm(used_um, 1)}, cutter {show_mm(cutter.overall_um, 1)} mm long.",
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


def room_findings(
    holder: HolderPart, cutter: CutterPart, stickout_um: int | None, limits: ShopLimits
) -> list[Finding]:
    """Whether what does not stick out [um] has room in the seat; nothing where a length lacks.

    A bore takes no more than it is deep, and on an arbor the whole height stands out. A gap means
    the same as one of the gauge length, and has its tolerance.

    Source: geometry; tolerance 0.5 mm is a shop setting.

    >>> bore = HolderPart(clamping="shrink", bore_depth_um=46_000)
    >>> room_findings(bore, CutterPart(overall_um=100_000), 40_000, ShopLimits())[0].text
    'Shank goes in 60.0 mm, 14.0 more than the bore is deep, 46.0.'
    """
    if stickout_um is None or cutter.overall_um is None:
        return []
    inside_um = cutter.overall_um - stickout_um
    if holder.is_an_arbor:
        return [_not_its_height(stickout_um, inside_um)] if inside_um > limits.closure_um else []
    depth_um = holder.bore_depth_um if holder.holds_a_shank else None
    if depth_um is None or inside_um - depth_um <= limits.closure_um:
        return []
    return [_no_room(inside_um, depth_um)]


def _not_its_height(stickout_um: int, short_um: int) -> Finding:
    height_um = stickout_um + short_um
    return Finding(
        "length.arbor_fixed",
        Level.CHECK,
        f"Stick-out {show_mm(stickout_um, 1)} on an arbor, cutter {show_mm(height_um, 1)} high:"
        f" {show_mm(short_um, 1)} less.",
        measured=in_mm(stickout_um),
        limit=in_mm(height_um),
        unit="mm",
        remedy="Measure again, or it is another cutter.",
        source=_CLOSURE,
    )


def _no_room(inside_um: int, depth_um: int) -> Finding:
    return Finding(
        "gauge.does_not_close",
        Level.CHECK,
        f"Shank goes in {show_mm(inside_um, 1)} mm, {show_mm(inside_um - depth_um, 1)} more than"
        f" the bore is deep, {show_mm(depth_um, 1)}.",
        measured=in_mm(inside_um),
        limit=in_mm(depth_um),
        unit="mm",
        remedy="Measure the stick-out again: wrong holder, wrong cutter or a slip of the pen.",
        source=_CLOSURE,
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
