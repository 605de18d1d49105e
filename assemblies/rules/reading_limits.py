"""Whether a reading stands clear of its limit, with what its instrument is known for."""

from __future__ import annotations

from dataclasses import dataclass

from assemblies.rules.wording import in_mm
from crib.rules.finding import Finding, Level
from crib.rules.units import show_mm

_ISO = "ISO 14253-1, from memory: agreement is proven inside T − U only"


@dataclass(frozen=True, slots=True)
class Judged:
    """A reading against what is wanted.

    `name` as printed ("Gauge length"), `value_um` [um] what counts, `wanted_um` [um] the nominal
    value, `tolerance_um` [um] T each way, `uncertainty_um` [um] U with k = 2 of the instrument,
    None where not recorded. A limit from above, as of runout, is a wanted value of zero.
    """

    name: str
    value_um: int
    wanted_um: int
    tolerance_um: int
    uncertainty_um: int | None = None

    @property
    def off_um(self) -> int:
        """How far the reading is from what is wanted [um], without sign."""
        return abs(self.value_um - self.wanted_um)


def closeness_finding(judged: Judged) -> Finding | None:
    """Whether a reading inside its limit is proven to be so, or too close to call.

    None beyond the limit, where the limit's own rule speaks, and where U is not recorded, which
    `unproven_finding` says once for all readings. Inside T − U, the edge included, it is proven.

    Source: ISO 14253-1, from memory.

    >>> closeness_finding(Judged("Runout", 14, 0, 15, 2)).code
    'reading.too_close'
    """
    if judged.uncertainty_um is None or judged.off_um > judged.tolerance_um:
        return None
    if judged.uncertainty_um >= judged.tolerance_um:
        return _too_coarse(judged)
    room_um = judged.tolerance_um - judged.uncertainty_um
    close = judged.off_um > room_um
    said = "too close to call" if close else "clear of its limit"
    return Finding(
        "reading.too_close" if close else "reading.clear",
        Level.CHECK if close else Level.PASS,
        f"{judged.name} {said}: {show_mm(judged.off_um, 3)} off, sure up to {show_mm(room_um, 3)}.",
        measured=in_mm(judged.off_um),
        limit=in_mm(room_um),
        unit="mm",
        remedy="Read it with a finer instrument, or bring it closer." if close else "",
        source=_ISO,
    )


def _too_coarse(judged: Judged) -> Finding:
    return Finding(
        "reading.too_coarse",
        Level.CHECK,
        f"{judged.name}: instrument too coarse, U {show_mm(judged.uncertainty_um, 3)}.",
        measured=in_mm(judged.uncertainty_um),
        limit=in_mm(judged.tolerance_um),
        unit="mm",
        remedy="Read it with an instrument whose U is far below the limit.",
        source=_ISO,
    )


def unproven_finding(names: list[str]) -> Finding | None:
    """One note for readings whose instrument has no uncertainty on record; None without any.

    Source: what is not recorded is said to be missing.

    >>> unproven_finding(["Gauge length", "Runout"]).text
    'Uncertainty not recorded for: gauge length, runout.'
    """
    if not names:
        return None
    return Finding(
        "reading.uncertainty_not_recorded",
        Level.NOTE,
        f"Uncertainty not recorded for: {', '.join(names).lower()}.",
        remedy="Pick an instrument whose U is on record.",
        source=_ISO,
    )
