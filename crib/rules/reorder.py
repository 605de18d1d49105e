"""What is running low: a hand-set minimum against what can be used and what is on its way."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class StockLine:
    """One item as the buyer sees it. Counts are pieces, never packs and never edges."""

    code: str
    usable: int
    on_order: int
    minimum: int | None
    pack_size: int = 1
    #: Inserts: pieces that one change of the cutter takes; 0 when it is not an insert.
    pieces_per_change: int = 0
    #: Expected use in pieces a week, and working days from order to delivery; None: not known.
    use_per_week: float | None = None
    lead_working_days: int | None = None


@dataclass(frozen=True, slots=True)
class Suggestion:
    """What to do about one item. `order` is 0 when nothing has to be ordered now."""

    order: int
    packs: int
    reason: str
    covered: bool


def changes_left(usable: int, pieces_per_change: int) -> tuple[int, int]:
    """Whole changes of a cutter that `usable` pieces make, and the pieces left over.

    >>> changes_left(6, 4)
    (1, 2)
    """
    if pieces_per_change <= 0:
        raise ValueError("a change takes at least one piece")
    return divmod(usable, pieces_per_change)


def show_changes(usable: int, pieces_per_change: int) -> str:
    """`6 pcs = 1 change (+2)`, so that pieces are not mistaken for changes.

    >>> show_changes(6, 4)
    '6 pcs = 1 change (+2)'
    """
    whole, rest = changes_left(usable, pieces_per_change)
    word = "change" if whole == 1 else "changes"
    return f"{usable} pcs = {whole} {word}" + (f" (+{rest})" if rest else "")


def suggest(line: StockLine) -> Suggestion | None:
    """What to order so that usable stock and open orders reach the minimum again, in whole packs.

    None when the item is not watched (no minimum) or stands above it with nothing to say.
    Source: common practice (position against a hand-set minimum).

    >>> suggest(StockLine("I-1", usable=6, on_order=0, minimum=24, pack_size=10)).order
    20
    """
    if line.minimum is None or line.pack_size < 1:
        return None
    short = line.minimum - line.usable - line.on_order
    if short > 0:
        packs = -(-short // line.pack_size)
        return Suggestion(packs * line.pack_size, packs, _why(line, short), covered=False)
    if line.on_order and line.usable <= line.minimum:
        return Suggestion(0, 0, _why_covered(line), covered=True)
    return None


def _why(line: StockLine, short: int) -> str:
    on_order = f", {line.on_order} on order" if line.on_order else ""
    return f"{line.usable} usable{on_order}, minimum {line.minimum}: {short} short"


def _why_covered(line: StockLine) -> str:
    where = "at minimum" if line.usable == line.minimum else f"{line.minimum - line.usable} under"
    return f"{line.usable} usable, {where}; {line.on_order} already ordered"


WORKING_DAYS_PER_WEEK = 5


def days_of_cover(line: StockLine) -> float | None:
    """Working days that the usable pieces last at the expected use; None when use is not known.

    >>> round(days_of_cover(StockLine("I-1", 6, 0, 24, use_per_week=7)), 1)
    4.3
    """
    if not line.use_per_week:
        return None
    return line.usable / line.use_per_week * WORKING_DAYS_PER_WEEK


def runs_out_first(line: StockLine) -> bool:
    """True when the usable pieces are used up before an order placed now can arrive.

    False also when use or lead time is not known: then nothing can be said.
    """
    cover = days_of_cover(line)
    if cover is None or line.lead_working_days is None:
        return False
    return cover < line.lead_working_days


def show_cover(line: StockLine) -> str:
    """Why a line is pressing, in words: `lasts about 4 working days, delivery takes 9`."""
    cover = days_of_cover(line)
    if line.use_per_week == 0:
        return "no use expected"
    if cover is None:
        return "expected use not recorded"
    lead = line.lead_working_days
    delivery = f"delivery takes {lead}" if lead is not None else "delivery time not recorded"
    days = "day" if int(cover) == 1 else "days"
    return f"lasts about {int(cover)} working {days}, {delivery}"


def urgency(line: StockLine) -> tuple[bool, float]:
    """Sorting value, larger is more pressing: runs out before delivery, then share missing.

    >>> urgency(StockLine("I-1", usable=6, on_order=0, minimum=24))
    (False, 0.75)
    """
    if not line.minimum:
        return runs_out_first(line), 0.0
    missing = (line.minimum - line.usable - line.on_order) / line.minimum
    return runs_out_first(line), max(0.0, min(1.0, missing))
