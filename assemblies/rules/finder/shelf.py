"""What lies in the racks, sorted for the part finder: parts that no rule tells apart together."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from math import inf

from assemblies.rules.condition import collet_hours_findings
from assemblies.rules.finder.facts import Part, Same, Shelved
from assemblies.rules.stack import ColletPart, Condition, ShopLimits
from crib.rules.finding import Level


def same_parts(parts: Iterable[Shelved], limits: ShopLimits) -> list[Same]:
    """Pieces and loose parts of one item, put together as long as no rule tells them apart.

    A re-sharpened cutter, a holder with another stud and a collet with too many hours stand
    alone. First in each comes the one that ran truest, then fewest hours, then by mark.

    >>> nuts = [Shelved("nut", "N-32", mark="N-02"), Shelved("nut", "N-32", mark="N-01")]
    >>> same_parts(nuts, ShopLimits())[0].marks
    ('N-01', 'N-02')
    """
    groups: dict[tuple, list[Shelved]] = {}
    for each in parts:
        groups.setdefault(_likeness(each, limits), []).append(each)
    return [_same(sorted(lots, key=_take_first)) for lots in groups.values()]


def _likeness(each: Shelved, limits: ShopLimits) -> tuple:
    return each.kind, each.code, each.stud, _without_marks(each.part), _doubt(each.part, limits)


def _without_marks(part: Part | None) -> Part | None:
    """The facts that rules compare. Loose and in service are both fit for use."""
    if part is None:
        return None
    usable = part.condition in (Condition.IN_SERVICE, Condition.NOT_TRACKED)
    cleared = {"mark": "", "condition": None if usable else part.condition}
    if isinstance(part, ColletPart):
        cleared["hours"] = None
    return replace(part, **cleared)


def _doubt(part: Part | None, limits: ShopLimits) -> str:
    """What the hours of a collet give cause to say; "" for nothing that weighs."""
    if not isinstance(part, ColletPart):
        return ""
    found = collet_hours_findings(part, limits)
    return "".join(f.code for f in found if f.level.weight > Level.NOTE.weight)


def _take_first(lot: Shelved) -> tuple:
    runout_um = lot.runout_um
    hours = getattr(lot.part, "hours", None)
    return (inf if runout_um is None else runout_um, hours or 0, not lot.mark, lot.mark, lot.place)


def _same(lots: list[Shelved]) -> Same:
    first = lots[0]
    return Same(first.kind, first.code, first.part, first.stud, tuple(lots))


def series_key(series: str | None) -> str | None:
    """A collet series as it is compared; None where it is not recorded.

    >>> series_key("er 32"), series_key(None)
    ('ER32', None)
    """
    return "".join(series.split()).upper() if series else None


@dataclass
class Shelf:
    """Parts by kind; collets and nuts also by series."""

    by_kind: dict[str, list[Same]] = field(default_factory=dict)
    by_series: dict[tuple[str, str | None], list[Same]] = field(default_factory=dict)

    @classmethod
    def of(cls, parts: Iterable[Shelved], limits: ShopLimits) -> Shelf:
        """The shelf of all `parts`."""
        shelf = cls()
        for same in same_parts(parts, limits):
            shelf.by_kind.setdefault(same.kind, []).append(same)
            if same.kind in ("collet", "nut"):
                key = (same.kind, series_key(same.part.series))
                shelf.by_series.setdefault(key, []).append(same)
        return shelf

    def of_kind(self, kind: str) -> list[Same]:
        return self.by_kind.get(kind, [])

    def of_series(self, kind: str, series: str | None) -> list[Same]:
        """Parts of a series; none for a series that is not recorded, which fits nothing known."""
        key = series_key(series)
        return self.by_series.get((kind, key), []) if key else []
