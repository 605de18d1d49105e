"""Do collet, nut, nose and shank go together."""

from __future__ import annotations

from assemblies.rules.shank import working_shank_um
from assemblies.rules.stack import ColletPart, CutterPart, HolderPart, NutPart, ShopLimits
from assemblies.rules.wording import in_mm, shown_range
from crib.rules.finding import Finding, Level
from crib.rules.standards import same_code
from crib.rules.units import show_mm

_ISO_15488 = "ISO 15488:2003, collets with 8 degrees setting angle"
_PRACTICE = "common practice"


def collet_series_finding(holder: HolderPart, collet: ColletPart | None) -> Finding:
    """Whether the collet is of the series of the holder's nose.

    Source: ISO 15488:2003: each series has its own cone.

    >>> holder, collet = HolderPart(series="ER32"), ColletPart(series="ER25")
    >>> collet_series_finding(holder, collet).level
    <Level.STOP_HARD: 'stop_hard'>
    """
    if collet is None:
        return _unknown("collet.missing", "No collet recorded.", "Say which collet is in.")
    if collet.series is None or holder.series is None:
        whose = "collet" if collet.series is None else "holder's nose"
        return _unknown(
            "collet.series_not_known",
            f"Series of the {whose} not recorded.",
            f"Read the series on the {whose} and record it.",
        )
    if same_code(collet.series, holder.series):
        text = f"{collet.series} collet in {holder.series} nose."
        return Finding("collet.series_same", Level.PASS, text, source=_ISO_15488)
    return Finding(
        "collet.series_differs",
        Level.STOP_HARD,
        f"{collet.series} collet. This nose takes {holder.series}.",
        remedy=f"Take a collet {holder.series}.",
        source=_ISO_15488,
    )


def _unknown(code: str, text: str, remedy: str, source: str = _ISO_15488) -> Finding:
    return Finding(code, Level.UNKNOWN, text, remedy=remedy, source=source)


def nut_findings(holder: HolderPart, nut: NutPart | None) -> list[Finding]:
    """Whether the nut is of the nose's series and thread.

    Source: ISO 15488:2003 for series; nose threads standard and mini, common practice.

    >>> [f.code for f in nut_findings(HolderPart(series="ER32"), None)]
    ['nut.missing']
    """
    if nut is None:
        return [_unknown("nut.missing", "No nut recorded.", "Say which nut is on.")]
    return [_nut_series_finding(holder, nut), _nut_thread_finding(holder, nut)]


def _nut_series_finding(holder: HolderPart, nut: NutPart) -> Finding:
    if nut.series is None or holder.series is None:
        whose = "nut" if nut.series is None else "holder's nose"
        return _unknown(
            "nut.series_not_known",
            f"Series of the {whose} not recorded.",
            f"Read the series on the {whose} and record it.",
        )
    if same_code(nut.series, holder.series):
        text = f"{nut.series} nut on {holder.series} nose."
        return Finding("nut.series_same", Level.PASS, text, source=_ISO_15488)
    return Finding(
        "nut.series_differs",
        Level.STOP_HARD,
        f"{nut.series} nut. This nose takes {holder.series}.",
        remedy=f"Take a nut {holder.series}.",
        source=_ISO_15488,
    )


def _nut_thread_finding(holder: HolderPart, nut: NutPart) -> Finding:
    if nut.thread is None or holder.nose_thread is None:
        whose = "nut" if nut.thread is None else "holder's nose"
        return _unknown(
            "nut.thread_not_known",
            f"Thread of the {whose} not recorded.",
            f"Measure the thread of the {whose} and record it.",
            _PRACTICE,
        )
    if same_code(nut.thread, holder.nose_thread):
        text = f"Nut and nose both {nut.thread}."
        return Finding("nut.thread_same", Level.PASS, text, source=_PRACTICE)
    kind = f" ({nut.nut_type})" if nut.nut_type else ""
    return Finding(
        "nut.thread_differs",
        Level.STOP_HARD,
        f"Nut {nut.thread}{kind}. This nose has {holder.nose_thread}.",
        remedy="Take the nut of this nose. Standard and mini threads look alike.",
        source=_PRACTICE,
    )


def collet_range_findings(
    collet: ColletPart, cutter: CutterPart, limits: ShopLimits
) -> list[Finding]:
    """Whether the shank lies in the collet's range, and how far the collet is closed on it.

    Source: ISO 15488:2003 for ranges; closing of more than 0.5 mm is a shop setting.

    >>> collet = ColletPart(clamp_max_um=6_000, clamp_min_um=5_000)
    >>> collet_range_findings(collet, CutterPart(shank_um=6_350), ShopLimits())[0].text
    "Shank 6.35 is larger than the collet's largest, 6.00."
    """
    shank_um = working_shank_um(cutter)
    if shank_um is None:
        return [
            _unknown("shank.not_known", "Shank of the cutter not recorded.", "Measure the shank.")
        ]
    max_um, min_um = collet.clamp_max_um, collet.clamp_min_um
    # An end that is known refuses, whatever the other one is.
    if max_um is not None and shank_um > max_um:
        return [_outside("collet.shank_too_large", shank_um, max_um, "larger", "largest")]
    if min_um is not None and shank_um < min_um:
        return [_outside("collet.shank_too_small", shank_um, min_um, "smaller", "smallest")]
    if max_um is None or min_um is None:
        return [
            _unknown(
                "collet.range_not_known",
                "Range of the collet not recorded.",
                "Read largest and smallest on the collet and record them.",
            )
        ]
    return [_within_range(shank_um, max_um, min_um, limits)]


def _within_range(shank_um: int, max_um: int, min_um: int, limits: ShopLimits) -> Finding:
    closed_um = max_um - shank_um
    if closed_um > limits.collet_closing_um:
        return Finding(
            "collet.closed_far",
            Level.CHECK,
            f"Collet closed {show_mm(closed_um)} below its largest, {show_mm(max_um)}.",
            measured=in_mm(closed_um),
            limit=in_mm(limits.collet_closing_um),
            unit="mm",
            remedy="Take a collet whose largest size is nearer to the shank.",
            source="shop setting",
        )
    return Finding(
        "collet.shank_fits",
        Level.PASS,
        f"Shank {show_mm(shank_um)} fits the {shown_range(max_um, min_um)} collet.",
        measured=in_mm(shank_um),
        limit=in_mm(max_um),
        unit="mm",
        source=_ISO_15488,
    )


def _outside(code: str, shank_um: int, edge_um: int, comparative: str, edge: str) -> Finding:
    gap = show_mm(abs(shank_um - edge_um))
    bigger = "bigger" if shank_um > edge_um else "smaller"
    return Finding(
        code,
        Level.STOP_HARD,
        f"Shank {show_mm(shank_um)} is {comparative} than the collet's {edge}, {show_mm(edge_um)}.",
        measured=in_mm(shank_um),
        limit=in_mm(edge_um),
        unit="mm",
        remedy=f"{gap} {bigger}. One of the two is not what is in your hand.",
        source=_ISO_15488,
    )


def no_seat_findings(
    holder: HolderPart, collet: ColletPart | None, nut: NutPart | None
) -> list[Finding]:
    """Refuses a collet or a nut on a holder that has no seat for one.

    Source: common practice.

    >>> no_seat_findings(HolderPart(clamping="arbor"), ColletPart(), None)[0].code
    'collet.no_seat'
    """
    recorded = [name for name, part in (("collet", collet), ("nut", nut)) if part is not None]
    return [
        Finding(
            f"{name}.no_seat",
            Level.STOP_HARD,
            f"This holder takes no {name}, but one is recorded.",
            remedy="One of the two is not what is in your hand.",
            source=_PRACTICE,
        )
        for name in recorded
    ]
