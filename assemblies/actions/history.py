"""What was measured over time on an assembly, and on every build that a piece was part of.

Reads only. A reading that another revision was given is left out: nobody took it anew.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from django.db.models import QuerySet
from django.utils import timezone

from assemblies.actions.measure import CARRIED_OVER
from assemblies.actions.measured_facts import allowed_runout_um
from assemblies.actions.shop_limits import current_limits
from assemblies.actions.stack_facts import stack_of
from assemblies.models import Assembly, Build, Measurement, Quantity, ReadOn
from assemblies.rules.closure import expected_gauge_um
from assemblies.rules.repeatability import median_um
from assemblies.rules.stack import Stack
from crib.models import ItemKind, Piece
from crib.rules.plot import Level, Line, Mark, Point, Scale, Series
from crib.rules.units import show_mm

#: Readings of a page, the newest ones; the page says so where there are more.
MOST_ROWS = 400
#: Decimals of a quantity in mm.
DECIMALS = {Quantity.RUNOUT: 3}
#: Form of a mark by what the indicator touched.
_MARKS = {
    "": ("Not said on what", Mark.RING),
    ReadOn.SHANK: ("On the shank", Mark.DISC),
    ReadOn.BAR: ("On a test bar", Mark.SQUARE),
    ReadOn.FLUTES: ("On the flutes", Mark.TRIANGLE),
    ReadOn.NOSE: ("On the nose", Mark.DIAMOND),
}
#: Least height of the axis [um]: smaller differences are noise.
_SPAN_UM = {Quantity.GAUGE_LENGTH: 100, Quantity.RUNOUT: 10}


@dataclass(frozen=True)
class HistoryPart:
    """One quantity over time: the rows, and of each what is plotted [um]."""

    key: str
    title: str
    rows: tuple[Measurement, ...]
    values_um: tuple[int, ...]
    series: tuple[Series, ...]
    levels: tuple[Level, ...]
    scale: Scale
    decimals: int
    note: str = ""

    @property
    def median_um(self) -> int:
        return median_um(self.values_um)

    @property
    def limits(self) -> list[Level]:
        return [level for level in self.levels if level.line == Line.LIMIT]


@dataclass(frozen=True)
class History:
    """All that was measured, by quantity; `cut_off` when older readings are not shown.

    `left_out` counts gauge lengths without a sum to hold them against.
    """

    parts: tuple[HistoryPart, ...]
    cut_off: bool = False
    left_out: int = 0


def history_of_assembly(assembly: Assembly) -> History:
    """Gauge length, diameter, runout and corner radius over all revisions of an assembly."""
    rows, cut_off = _newest(_taken().filter(build__assembly=assembly))
    build = (
        Build.objects.filter(assembly=assembly, live=True, revision__gt=0)
        .select_related("meant_for")
        .first()
    )
    levels = _levels(build) if build and rows else {}
    parts = [_part(quantity, rows, levels.get(quantity, [])) for quantity in Quantity]
    return History(tuple(part for part in parts if part is not None), cut_off)


def history_of_piece(piece: Piece) -> History:
    """Runout of every build a piece was part of; of a holder the closure, of a cutter its size.

    There is no one limit: it goes by the cutter of each build.
    """
    rows, cut_off = _newest(_taken().filter(build__parts__piece=piece).distinct())
    note = "No limit is drawn: it goes by the cutter of each build."
    parts, left_out = [_part(Quantity.RUNOUT, rows, [], note=note)], 0
    if piece.item.kind == ItemKind.HOLDER:
        closure, left_out = _closure(piece, rows)
        parts.append(closure)
    if piece.item.kind == ItemKind.CUTTER:
        facts = piece.item.facts
        wanted = [_level(facts.diameter_um, "bought", Line.WANTED)] if facts else []
        parts.append(_part(Quantity.DIAMETER, rows, wanted))
    return History(tuple(part for part in parts if part is not None), cut_off, left_out)


def _taken() -> QuerySet[Measurement]:
    rows = Measurement.objects.exclude(note__startswith=CARRIED_OVER)
    return rows.select_related("build__assembly", "measured_with")


def _newest(rows: QuerySet[Measurement]) -> tuple[list[Measurement], bool]:
    """The newest rows, oldest first, and whether older ones were left out."""
    found = list(rows.order_by("-at", "-id")[: MOST_ROWS + 1])
    return found[:MOST_ROWS][::-1], len(found) > MOST_ROWS


def _part(
    quantity: Quantity, rows: Sequence[Measurement], levels: list[Level], note: str = ""
) -> HistoryPart | None:
    mine = [row for row in rows if row.quantity == quantity]
    return _made(quantity, quantity.label, mine, levels, lambda row: row.value_um, note=note)


def _closure(piece: Piece, rows: Sequence[Measurement]) -> tuple[HistoryPart | None, int]:
    """Measured gauge length less holder and stick-out, and how many have no such sum."""
    facts = piece.item.facts
    holder_um = facts.gauge_length_um if facts else None
    mine = [row for row in rows if row.quantity == Quantity.GAUGE_LENGTH]
    known = [r for r in mine if r.build.stickout_um is not None and holder_um is not None]
    closure_um = current_limits().closure_um
    allowed = show_mm(closure_um, 1)
    levels = [
        _level(closure_um, f"{allowed} too long"),
        _level(-closure_um, f"{allowed} too short"),
    ]
    part = _made(
        Quantity.GAUGE_LENGTH,
        "Gauge length less the sum of holder and stick-out",
        known,
        levels,
        lambda row: row.value_um - holder_um - row.build.stickout_um,
    )
    return part, len(mine) - len(known)


def _made(
    quantity: Quantity,
    title: str,
    rows: Sequence[Measurement],
    levels: list[Level],
    value_of: Callable[[Measurement], int],
    *,
    note: str = "",
) -> HistoryPart | None:
    """The part of a quantity; None where nothing was read."""
    if not rows:
        return None
    decimals = DECIMALS.get(quantity, 2)
    values = tuple(value_of(row) for row in rows)
    middle = median_um(values)
    median = Level(middle, f"median {show_mm(middle, decimals)}", Line.MEDIAN)
    from_zero = quantity == Quantity.RUNOUT
    return HistoryPart(
        quantity,
        title,
        tuple(rows),
        values,
        _series(quantity, rows, values, decimals),
        (*levels, median),
        Scale("mm", 1000, from_zero, _SPAN_UM.get(quantity, 20)),
        decimals,
        note,
    )


def _series(
    quantity: Quantity, rows: Sequence[Measurement], values: Sequence[int], decimals: int
) -> tuple[Series, ...]:
    """Runout by what was touched, everything else as one series."""
    kinds = _MARKS if quantity == Quantity.RUNOUT else {"": (quantity.label, Mark.DISC)}
    found = []
    for kind, (name, mark) in kinds.items():
        points = tuple(
            Point(_day(row), value, _said(row, value, decimals))
            for row, value in zip(rows, values, strict=True)
            if quantity != Quantity.RUNOUT or row.read_on == kind
        )
        found.append(Series(name, points, mark))
    return tuple(one for one in found if one.points)


def _day(row: Measurement) -> float:
    """The moment of a reading as an ordinal day with its fraction."""
    at = timezone.localtime(row.at)
    return at.toordinal() + (at.hour * 60 + at.minute) / (24 * 60)


def _said(row: Measurement, value_um: int, decimals: int) -> str:
    at = timezone.localtime(row.at)
    return f"{row.build}: {show_mm(value_um, decimals)} mm, {at.day} {at:%b %Y}"


def _level(um: int, name: str, line: Line = Line.LIMIT) -> Level:
    return Level(um, name, line)


def _levels(build: Build) -> dict[str, list[Level]]:
    """What limits the live build, by quantity: shop, drawing of the parts, tool number."""
    stack, wanted = stack_of(build), build.meant_for
    found: dict[str, list[Level]] = {quantity: [] for quantity in Quantity}
    allowed_um = allowed_runout_um(stack, current_limits())
    if allowed_um is not None:
        found[Quantity.RUNOUT].append(_level(allowed_um, f"limit {show_mm(allowed_um, 3)}"))
    _put_nominal(found, stack)
    if wanted is not None:
        for quantity, nominal_um, around_um in (
            (Quantity.GAUGE_LENGTH, wanted.gauge_length_um, wanted.gauge_tolerance_um),
            (Quantity.DIAMETER, wanted.diameter_um, wanted.diameter_tolerance_um),
        ):
            if nominal_um is not None and around_um is not None:
                found[quantity] += _window(wanted.tool_number, nominal_um, around_um)
    return found


def _put_nominal(found: dict[str, list[Level]], stack: Stack) -> None:
    sum_um = expected_gauge_um(stack.holder, stack.figures.stickout_um) if stack.holder else None
    if sum_um is not None:
        found[Quantity.GAUGE_LENGTH].append(
            _level(sum_um, f"sum {show_mm(sum_um, 1)}", Line.WANTED)
        )
    cutter_um = stack.cutter.diameter_um if stack.cutter else None
    if cutter_um is not None:
        found[Quantity.DIAMETER].append(
            _level(cutter_um, f"cutter {show_mm(cutter_um)}", Line.WANTED)
        )


def _window(tool_number: int, nominal_um: int, around_um: int) -> list[Level]:
    return [
        _level(um, f"T{tool_number} {show_mm(um)}")
        for um in (nominal_um + around_um, nominal_um - around_um)
    ]
