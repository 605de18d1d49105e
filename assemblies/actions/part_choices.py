"""What could go into a draft from usable stock, likely ones first. Reads only."""

from __future__ import annotations

from dataclasses import dataclass

from assemblies.actions.shop_limits import current_limits
from assemblies.models import Build, BuildPart, PartRole
from assemblies.rules.collet_fit import collet_range_findings
from assemblies.rules.stack import ColletPart, CutterPart
from assemblies.rules.wording import shown_range
from crib.models import Clamping, Condition, Item, ItemKind, Movement, Piece, PlaceKind
from crib.rules.finding import Level, worst_level
from crib.rules.keys import key_of
from crib.rules.units import show_length, show_mm

#: So many likely parts stand as buttons; with more of them a list is quicker to read.
MOST_BUTTONS = 6

_FACTS = tuple(f"item__{kind}_facts" for kind in ItemKind.values if kind != ItemKind.SPARE)


@dataclass(frozen=True)
class Choice:
    """One part that lies in a rack. `entry` is what the bench's field takes for it."""

    entry: str
    size: str
    text: str
    likely: bool


@dataclass(frozen=True)
class Slot:
    """One role of a draft: what is in it, and what could be."""

    role: str
    name: str
    part: BuildPart | None
    choices: list[Choice]
    #: False where the holder in the draft has no room for such a part.
    used: bool = True

    @property
    def buttons(self) -> list[Choice]:
        """The likely ones, when they are few enough to be told apart at a glance."""
        likely = [choice for choice in self.choices if choice.likely]
        return likely if len(likely) <= MOST_BUTTONS else []

    @property
    def listed(self) -> list[Choice]:
        """All that does not stand as a button."""
        shown = self.buttons
        return [choice for choice in self.choices if choice not in shown]


#: From the spindle to the tip. A pull stud stays in its holder, so none is offered from stock.
_SLOTS = (
    PartRole.HOLDER,
    PartRole.PULL_STUD,
    PartRole.COLLET,
    PartRole.NUT,
    PartRole.CUTTER,
    PartRole.INSERT,
)
_ONLY_WITH_COLLET = (PartRole.COLLET, PartRole.NUT)


def slots_of(build: Build, parts: dict[str, BuildPart]) -> list[Slot]:
    """The roles of a draft with their choices. Inserts only where the cutter has seats."""
    stock = _stock()
    return [
        _slot(role, parts, stock)
        for role in _SLOTS
        if role != PartRole.INSERT or _seats(parts) or role in parts
    ]


def _slot(role: PartRole, parts: dict[str, BuildPart], stock: _Stock) -> Slot:
    used = _takes_collet(parts) or role not in _ONLY_WITH_COLLET
    offered = used and role != PartRole.PULL_STUD
    choices = _choices(role, parts, stock) if offered else []
    return Slot(role, PartRole(role).label, parts.get(role), choices, used)


def _takes_collet(parts: dict[str, BuildPart]) -> bool:
    holder = _facts(parts, "holder")
    return holder is None or holder.clamping == Clamping.COLLET


def _facts(parts: dict[str, BuildPart], role: str):
    return parts[role].item.facts if role in parts else None


@dataclass(frozen=True)
class _Stock:
    pieces: dict[str, list[Piece]]
    loose: dict[str, list[tuple[Item, int]]]


def _stock() -> _Stock:
    pieces: dict[str, list[Piece]] = {}
    marked: dict[int, int] = {}
    rows = Piece.objects.filter(
        condition=Condition.IN_SERVICE, place__kind=PlaceKind.STORAGE
    ).select_related("place", "item", *_FACTS)
    for piece in rows:
        pieces.setdefault(piece.item.kind, []).append(piece)
        marked[piece.item_id] = marked.get(piece.item_id, 0) + 1
    return _Stock(pieces, _loose(marked))


def _loose(marked: dict[int, int]) -> dict[str, list[tuple[Item, int]]]:
    counts = {
        item_id: n - marked.get(item_id, 0)
        for item_id, n in Movement.objects.usable_by_item().items()
    }
    items = Item.objects.filter(pk__in=[key for key, n in counts.items() if n > 0])
    loose: dict[str, list[tuple[Item, int]]] = {}
    for item in items.select_related(*(name.removeprefix("item__") for name in _FACTS)):
        loose.setdefault(item.kind, []).append((item, counts[item.pk]))
    return loose


def _choices(role: str, parts: dict[str, BuildPart], stock: _Stock) -> list[Choice]:
    found = [
        Choice(
            piece.mark,
            _size(piece.item),
            f"{piece.mark} · {piece.item.description} · {piece.place.shown}",
            _is_likely(piece.item, parts),
        )
        for piece in stock.pieces.get(role, [])
    ]
    if role != ItemKind.HOLDER:
        found += [
            Choice(
                item.code,
                _size(item),
                f"{item.code} · {item.description} · {n} loose",
                _is_likely(item, parts),
            )
            for item, n in stock.loose.get(role, [])
        ]
    return sorted(found, key=lambda choice: not choice.likely)


def _size(item: Item) -> str:
    """The figure by which people tell parts of one kind apart; "" where none is recorded."""
    facts = item.facts
    if facts is None:
        return ""
    make = {
        ItemKind.HOLDER: lambda: f"{facts.interface} {facts.collet_series}".strip(),
        ItemKind.COLLET: lambda: (
            f"{facts.series} {shown_range(facts.clamp_max_um, facts.clamp_min_um)}"
        ),
        ItemKind.NUT: lambda: f"{facts.series} {facts.get_style_display().lower()}",
        ItemKind.PULL_STUD: lambda: facts.pattern,
        ItemKind.CUTTER: lambda: f"Ø {show_length(facts.diameter_um, item.bought_in_inches)}",
        ItemKind.INSERT: lambda: str(facts),
    }
    return make[item.kind]()


def _is_likely(item: Item, parts: dict[str, BuildPart]) -> bool:
    """Whether it goes with what is in the draft already; False where that is not known."""
    facts = item.facts
    if facts is None:
        return False
    holder, cutter = _facts(parts, "holder"), _facts(parts, "cutter")
    if item.kind == ItemKind.COLLET:
        return _collet_goes(facts, holder, cutter)
    if item.kind == ItemKind.NUT:
        return holder is None or facts.series == holder.collet_series
    if item.kind == ItemKind.INSERT:
        return cutter is not None and cutter.insert_item_id == item.pk
    if item.kind == ItemKind.CUTTER:
        return _cutter_goes(facts, _facts(parts, "collet"))
    return True


def _collet_goes(collet, holder, cutter) -> bool:
    if holder is not None and holder.collet_series != collet.series:
        return False
    return cutter is None or _closes_well(collet, cutter)


def _cutter_goes(cutter, collet) -> bool:
    return collet is None or _closes_well(collet, cutter)


def _closes_well(collet, cutter) -> bool:
    """Whether the collet takes the shank with nothing to be said about it."""
    held = ColletPart(
        series=collet.series, clamp_max_um=collet.clamp_max_um, clamp_min_um=collet.clamp_min_um
    )
    found = collet_range_findings(held, CutterPart(shank_um=cutter.shank_um), current_limits())
    return worst_level(found).weight < Level.CHECK.weight


def _seats(parts: dict[str, BuildPart]) -> int:
    facts = _facts(parts, "cutter")
    return facts.seats if facts is not None else 0


def entry_item(entry: str) -> tuple[Item | None, Piece | None]:
    """The part that a typed or scanned entry names: a mark first, else an item's code."""
    key = key_of(entry)
    piece = Piece.objects.select_related("item", "place").filter(mark_key=key).first()
    if piece is not None:
        return piece.item, piece
    return Item.objects.select_related("home_place").filter(code_key=key).first(), None


def longest_grip_text(parts: dict[str, BuildPart], stickout_um: int | None) -> str:
    """What is left of the cutter for the collet at a stick-out, in words; "" when not known."""
    cutter = _facts(parts, "cutter")
    if cutter is None or cutter.overall_um is None or stickout_um is None:
        return ""
    left_um = cutter.overall_um - stickout_um
    if left_um <= 0:
        return ""
    return (
        f"Overall {show_mm(cutter.overall_um, 1)} less stick-out {show_mm(stickout_um, 1)}"
        f" leaves {show_mm(left_um, 1)} mm of cutter inside."
    )
