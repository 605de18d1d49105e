"""What could go into a draft from usable stock, likely ones first. Reads only."""

from __future__ import annotations

from dataclasses import dataclass

from assemblies.actions.part_likely import Likely
from assemblies.actions.part_stock import Stock, usable_stock
from assemblies.actions.shop_limits import current_limits
from assemblies.models import Build, BuildPart, PartRole
from assemblies.rules.stack import ShopLimits
from assemblies.rules.wording import shown_range
from crib.models import Clamping, Item, ItemKind, Piece
from crib.rules.keys import key_of
from crib.rules.standards import SLEEVED
from crib.rules.units import show_length, show_mm

#: So many likely parts stand as buttons; with more of them a list is quicker to read.
MOST_BUTTONS = 6


@dataclass(frozen=True)
class Choice:
    """One part that lies in a rack. `entry` is what the bench's field takes for it."""

    entry: str
    size: str
    text: str
    likely: bool
    #: Loose collets are picked by series and size: what to print, and to sort sizes by [um].
    series: str = ""
    range: str = ""
    count: int = 0
    order_um: int = 0


@dataclass(frozen=True)
class SizeGroup:
    """The loose collets of one series, by size; open where the holder in the draft takes them."""

    series: str
    choices: list[Choice]
    is_open: bool


@dataclass(frozen=True)
class Slot:
    """One role of a draft: what is in it, and what could be."""

    role: str
    name: str
    part: BuildPart | None
    choices: list[Choice]
    #: False where the holder in the draft has no room for such a part.
    used: bool = True
    #: Series of the holder in the draft, "" where none is in or it has none.
    series: str = ""
    #: Whether the cutter narrows the choice down; before that a loose collet goes by its size.
    narrowed: bool = True

    @property
    def buttons(self) -> list[Choice]:
        """The likely ones, when they are few enough to be told apart at a glance."""
        likely = [c for c in self.choices if c.likely and (self.narrowed or not c.series)]
        return likely if len(likely) <= MOST_BUTTONS else []

    @property
    def sizes(self) -> list[SizeGroup]:
        """Loose collets that do not stand as a button, to be picked by series and size."""
        loose = [choice for choice in self._not_a_button if choice.series]
        return [
            SizeGroup(
                series,
                sorted((c for c in loose if c.series == series), key=lambda c: c.order_um),
                is_open=series == self.series,
            )
            for series in sorted({choice.series for choice in loose})
        ]

    @property
    def listed(self) -> list[Choice]:
        """All that stands neither as a button nor among the sizes."""
        return [choice for choice in self._not_a_button if not choice.series]

    @property
    def _not_a_button(self) -> list[Choice]:
        shown = self.buttons
        return [choice for choice in self.choices if choice not in shown]


#: From the spindle to the tip. A pull stud stays in its holder, so none is offered from stock.
_SLOTS = (
    PartRole.HOLDER,
    PartRole.PULL_STUD,
    PartRole.COLLET,
    PartRole.NUT,
    PartRole.SLEEVE,
    PartRole.CUTTER,
    PartRole.INSERT,
)
_ONLY_WITH_COLLET = (PartRole.COLLET, PartRole.NUT)


def slots_of(
    build: Build, parts: dict[str, BuildPart], limits: ShopLimits | None = None
) -> list[Slot]:
    """The roles of a draft with their choices; `limits` are those of the page, when it has them.

    Inserts only where the cutter has seats, a sleeve only where the holder takes one, collet and
    nut not at all where the holder has its own way of holding: unless such a part is in.
    """
    stock = usable_stock()
    likely = Likely(parts, limits or current_limits())
    holder = likely.holder
    shown = {
        PartRole.INSERT: bool(_seats(parts)),
        PartRole.SLEEVE: holder is not None and holder.clamping in SLEEVED,
    }
    return [
        _slot(role, parts, stock, likely)
        for role in _SLOTS
        if shown.get(role, True) or role in parts
    ]


def _slot(role: PartRole, parts: dict[str, BuildPart], stock: Stock, likely: Likely) -> Slot:
    holder = likely.holder
    used = _has_room(role, holder)
    offered = used and role != PartRole.PULL_STUD
    choices = _choices(role, stock, likely) if offered else []
    series = (holder.series or "") if holder else ""
    return Slot(
        role,
        PartRole(role).label,
        parts.get(role),
        choices,
        used,
        series,
        narrowed="cutter" in parts,
    )


def _has_room(role: PartRole, holder) -> bool:
    if holder is None or holder.clamping is None:
        return True
    if role == PartRole.SLEEVE:
        return holder.clamping in SLEEVED
    return role not in _ONLY_WITH_COLLET or holder.clamping == Clamping.COLLET


def _choices(role: str, stock: Stock, likely: Likely) -> list[Choice]:
    found = [
        Choice(
            piece.mark,
            _size(piece.item),
            f"{piece.mark} · {piece.item.description} · {piece.place.shown}",
            likely.goes(piece.item),
        )
        for piece in stock.pieces.get(role, [])
        if likely.suits(piece.item)
    ]
    if role != ItemKind.HOLDER:
        found += [
            _loose_choice(item, n, likely)
            for item, n in stock.loose.get(role, [])
            if likely.suits(item)
        ]
    return sorted(found, key=lambda choice: not choice.likely)


def _loose_choice(item: Item, count: int, likely: Likely) -> Choice:
    text = f"{item.code} · {item.description} · {count} loose"
    facts = item.facts
    if item.kind != ItemKind.COLLET or facts is None:
        return Choice(item.code, _size(item), text, likely.goes(item))
    return Choice(
        item.code,
        _size(item),
        text,
        likely.goes(item),
        series=facts.series,
        range=shown_range(facts.clamp_max_um, facts.clamp_min_um),
        count=count,
        order_um=facts.clamp_max_um,
    )


def _size(item: Item) -> str:
    """The figure by which people tell parts of one kind apart; "" where none is recorded."""
    facts = item.facts
    if facts is None:
        return ""
    make = {
        ItemKind.HOLDER: lambda: _holder_size(facts),
        ItemKind.COLLET: lambda: (
            f"{facts.series} {shown_range(facts.clamp_max_um, facts.clamp_min_um)}"
        ),
        ItemKind.NUT: lambda: f"{facts.series} {facts.get_style_display().lower()}",
        ItemKind.PULL_STUD: lambda: facts.pattern,
        ItemKind.SLEEVE: lambda: (
            f"{show_mm(facts.outer_um, 1)} to {show_length(facts.bore_um, item.bought_in_inches)}"
        ),
        ItemKind.CUTTER: lambda: f"Ø {show_length(facts.diameter_um, item.bought_in_inches)}",
        ItemKind.INSERT: lambda: str(facts),
    }
    return make[item.kind]()


def _holder_size(facts) -> str:
    """Interface, then what it holds: the series, else its way of clamping with the bore."""
    if facts.clamping == Clamping.COLLET:
        return f"{facts.interface} {facts.collet_series}".strip()
    bore = "" if facts.bore_um is None else f" {show_mm(facts.bore_um, 1)} mm"
    return f"{facts.interface} {facts.get_clamping_display().lower()}{bore}"


def _seats(parts: dict[str, BuildPart]) -> int:
    facts = parts["cutter"].item.facts if "cutter" in parts else None
    return facts.seats if facts is not None else 0


def entry_item(entry: str) -> tuple[Item | None, Piece | None]:
    """The part that a typed or scanned entry names: a mark first, else an item's code."""
    key = key_of(entry)
    piece = Piece.objects.select_related("item", "place").filter(mark_key=key).first()
    if piece is not None:
        return piece.item, piece
    return Item.objects.select_related("home_place").filter(code_key=key).first(), None


def longest_grip_text(parts: dict[str, BuildPart], stickout_um: int | None) -> str:
    """What is left of the cutter for the seat at a stick-out, in words; "" when not known."""
    cutter = parts["cutter"].item.facts if "cutter" in parts else None
    if cutter is None or cutter.overall_um is None or stickout_um is None:
        return ""
    left_um = cutter.overall_um - stickout_um
    if left_um <= 0:
        return ""
    return (
        f"Overall {show_mm(cutter.overall_um, 1)} less stick-out {show_mm(stickout_um, 1)}"
        f" leaves {show_mm(left_um, 1)} mm of cutter inside."
    )
