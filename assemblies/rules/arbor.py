"""Does a cutter with a bore sit on an arbor as it should; and nothing else on it."""

from __future__ import annotations

from assemblies.rules.stack import CutterPart, HolderPart
from assemblies.rules.wording import in_mm
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

_KEYS = "driving keys and slots after DIN 138 and ISO 240, from memory: play 0.4 to 0.5 mm"
_PRACTICE = "common practice"

#: The slot of a shell cutter is this much wider than the key at most [um].
MOST_PLAY_UM = 500


def mount_findings(holder: HolderPart, cutter: CutterPart) -> list[Finding]:
    """Refuses a cutter with a shank on an arbor, and one with a bore in a chuck.

    Source: common practice.

    >>> mount_findings(HolderPart(clamping="arbor"), CutterPart(shank_um=12_000))[0].code
    'cutter.no_bore'
    """
    has_bore = cutter.bore_um is not None
    has_shank = cutter.shank_um is not None or cutter.shank_measured_um is not None
    if holder.is_an_arbor and has_shank and not has_bore:
        return [_not_mounted("cutter.no_bore", "This cutter has a shank. An arbor takes a bore.")]
    if not holder.is_an_arbor and has_bore and not has_shank:
        text = "This cutter has a bore. It needs an arbor, not a chuck."
        return [_not_mounted("cutter.no_shank", text)]
    return []


def _not_mounted(code: str, text: str) -> Finding:
    remedy = "One of the two is not what is in your hand."
    return Finding(code, Level.STOP_HARD, text, remedy=remedy, source=_PRACTICE)


def arbor_findings(holder: HolderPart, cutter: CutterPart) -> list[Finding]:
    """Whether the arbor's keys drive the cutter, and whether its spigot leaves the screw room.

    Source: keys and slots after DIN 138 and ISO 240, from memory.

    >>> arbor = HolderPart(clamping="arbor", key_um=10_000, spigot_um=19_000)
    >>> [f.code for f in arbor_findings(arbor, CutterPart(keyway_um=8_400, overall_um=40_000))]
    ['arbor.key_too_wide']
    """
    return [_key_finding(holder.key_um, cutter.keyway_um), *_spigot(holder, cutter)]


def _key_finding(key_um: int | None, slot_um: int | None) -> Finding:
    if key_um is None or slot_um is None:
        whose = "Width of the arbor's keys" if key_um is None else "Width of the cutter's slot"
        return Finding(
            "arbor.keys_not_known",
            Level.UNKNOWN,
            f"{whose} not recorded.",
            remedy="Measure it and record it.",
            source=_KEYS,
        )
    code, level, remedy = "arbor.keys_fit", Level.PASS, ""
    if key_um > slot_um:
        code, level = "arbor.key_too_wide", Level.STOP_HARD
        remedy = "The cutter cannot seat. Take the arbor that belongs to it."
    elif slot_um - key_um > MOST_PLAY_UM:
        code, level = "arbor.keys_loose", Level.CHECK
        remedy = "The cutter hammers on the keys. Take the arbor that belongs to it."
    return Finding(
        code,
        level,
        f"Keys {show_mm(key_um)} wide, slot {show_mm(slot_um)}.",
        measured=in_mm(key_um),
        limit=in_mm(slot_um),
        unit="mm",
        remedy=remedy,
        source=_KEYS,
    )


def _spigot(holder: HolderPart, cutter: CutterPart) -> list[Finding]:
    spigot_um, height_um = holder.spigot_um, cutter.overall_um
    if spigot_um is None or height_um is None or spigot_um < height_um:
        return []
    return [
        Finding(
            "arbor.spigot_long",
            Level.NOTE,
            f"Spigot {show_mm(spigot_um, 1)} long, cutter {show_mm(height_um, 1)} high.",
            measured=in_mm(spigot_um),
            limit=in_mm(height_um),
            unit="mm",
            remedy="See that the screw pulls on the cutter, not on the end of the spigot.",
            source=_PRACTICE,
        )
    ]
