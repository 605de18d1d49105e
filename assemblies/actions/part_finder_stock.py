"""What lies in the racks, as the part finder sees it. Reads only, in a fixed number of queries."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from django.db.models import Q, Sum

from assemblies.actions import stack_facts
from assemblies.models import BuildPart, Load
from assemblies.rules.finder.facts import Part, Shelved, Stock
from assemblies.rules.stack import StudPart, StudState
from crib.models import Condition, Item, ItemKind, Movement, Piece, Place, PlaceKind, Use

#: What the finder puts together; cutter and inserts are those asked for.
_KINDS = (
    ItemKind.HOLDER,
    ItemKind.PULL_STUD,
    ItemKind.COLLET,
    ItemKind.NUT,
    ItemKind.SLEEVE,
)
_FACTS = tuple(f"{kind}_facts" for kind in (*_KINDS, ItemKind.CUTTER))
#: From the row of a part to its plain facts.
_FACTS_OF = {
    ItemKind.HOLDER: stack_facts.holder_part,
    ItemKind.COLLET: stack_facts.collet_part,
    ItemKind.NUT: stack_facts.nut_part,
    ItemKind.SLEEVE: stack_facts.sleeve_part,
}
_PIECE_COLUMNS = (
    *("id", "mark", "item_id", "place_id", "condition", "condition_note"),
    *("stud_state", "stud_pattern", "measured_diameter_um", "measured_shank_um"),
)


def stock_for(cutter: Item, piece: Piece | None = None) -> Stock:
    """All that could go into a stack with this cutter; with a piece, only that very cutter."""
    return _Crib(cutter, piece).stock()


def cutter_facts(cutter: Item, piece: Piece | None = None):
    """The plain facts of a cutter, with what was measured on its piece."""
    return stack_facts.cutter_part(BuildPart(role="cutter", item=cutter, piece=piece), None)


@dataclass
class _Crib:
    """The rows of one question, each table read once."""

    cutter: Item
    piece: Piece | None

    def stock(self) -> Stock:
        on_shelf, elsewhere = list(self._loose()), []
        for row in self._pieces:
            place = self._places.get(row.place_id)
            in_rack = place is not None and place.kind == PlaceKind.STORAGE
            if in_rack and row.condition == Condition.IN_SERVICE:
                on_shelf.append(self._shelved(row, place.shown))
            elif self._is_worth_naming(row):
                elsewhere.append(self._shelved(row, self._where(row, place)))
        parts = tuple(each for each in on_shelf if each.kind != ItemKind.PULL_STUD)
        return Stock(parts, tuple(elsewhere), tuple(self._studs(on_shelf)))

    def _studs(self, on_shelf: list[Shelved]) -> Iterator[tuple[str, str]]:
        """Pattern and place of the pull studs in the racks."""
        patterns = {
            item.code: item.facts.pattern
            for item in self._items.values()
            if item.kind == ItemKind.PULL_STUD and item.facts is not None
        }
        for each in on_shelf:
            if each.kind == ItemKind.PULL_STUD and each.code in patterns:
                yield patterns[each.code], each.place

    def _is_worth_naming(self, row) -> bool:
        """Parts in use could be had; of the cutter itself every piece is told."""
        if self._items[row.item_id].kind == ItemKind.PULL_STUD:
            return False
        return row.condition == Condition.IN_SERVICE or row.item_id == self.cutter.pk

    # ---- rows
    @cached_property
    def _items(self) -> dict[int, Item]:
        """Items of the kinds that are put together, with their facts."""
        wanted = Q(kind__in=_KINDS) | Q(pk=self.cutter.pk)
        facts = self.cutter.facts
        if facts is not None and facts.insert_item_id is not None:
            wanted |= Q(pk=facts.insert_item_id)
        return {item.pk: item for item in Item.objects.filter(wanted).select_related(*_FACTS)}

    @cached_property
    def _pieces(self) -> list:
        """Marked pieces that are not gone; of cutters only those asked for."""
        rows = Piece.objects.filter(
            Q(item__kind__in=_KINDS) | Q(item=self.cutter), place__isnull=False
        ).exclude(place__kind=PlaceKind.GONE)
        if self.piece is not None:
            rows = rows.exclude(Q(item=self.cutter) & ~Q(pk=self.piece.pk))
        return list(rows.order_by("mark_key").values_list(*_PIECE_COLUMNS, named=True))

    @cached_property
    def _places(self) -> dict[int, Place]:
        return {place.pk: place for place in Place.objects.select_related("parent", "assembly")}

    @cached_property
    def _minutes(self) -> dict[int, int]:
        """Minutes charged to each collet."""
        rows = Use.objects.filter(piece__item__kind=ItemKind.COLLET).order_by()
        return dict(rows.values_list("piece_id").annotate(n=Sum("minutes")))

    @cached_property
    def _runouts(self) -> dict[int, list[int]]:
        """Readings of runout [um] of the builds that each holder and collet was in."""
        rows = BuildPart.objects.filter(
            role__in=("holder", "collet"),
            piece__condition=Condition.IN_SERVICE,
            piece__place__kind=PlaceKind.STORAGE,
            build__measurements__quantity="runout",
        )
        read: dict[int, list[int]] = {}
        for piece_id, value_um in rows.order_by().values_list(
            "piece_id", "build__measurements__value_um"
        ):
            read.setdefault(piece_id, []).append(value_um)
        return read

    @cached_property
    def _machines(self) -> dict[int, str]:
        """Assembly -> the machine that it is in."""
        rows = Load.objects.filter(out_at=None).select_related("machine")
        return {row.assembly_id: row.machine.name for row in rows}

    # ---- facts
    @cached_property
    def _bare(self) -> dict[int, Part | None]:
        """The facts of each item without anything of a piece."""
        return {pk: _facts_of(item) for pk, item in self._items.items()}

    def _shelved(self, row, place: str) -> Shelved:
        item = self._items[row.item_id]
        return Shelved(
            kind=item.kind,
            code=item.code,
            part=self._part(row, item),
            stud=_stud(row) if item.kind == ItemKind.HOLDER else StudPart(),
            mark=row.mark,
            place=place,
            name=item.description,
            runouts_um=tuple(self._runouts.get(row.id, ())),
        )

    def _part(self, row, item: Item) -> Part | None:
        part = self._bare[row.item_id]
        if part is None:
            return None
        changed = {"mark": row.mark, "condition": row.condition}
        if item.kind == ItemKind.COLLET:
            changed["hours"] = -(-self._minutes.get(row.id, 0) // 60)
        if item.kind == ItemKind.CUTTER:
            changed["shank_measured_um"] = row.measured_shank_um
            changed["diameter_um"] = row.measured_diameter_um or part.diameter_um
        return replace(part, **changed)

    def _loose(self) -> Iterator[Shelved]:
        """Unmarked parts at each rack: what the ledger has there less the marked pieces."""
        marked: dict[tuple[int, int], int] = {}
        for key in Piece.objects.values_list("item_id", "place_id"):
            marked[key] = marked.get(key, 0) + 1
        for (item_id, place_id), n in Movement.objects.balances().items():
            item, place = self._items.get(item_id), self._places[place_id]
            left = n - marked.get((item_id, place_id), 0)
            if self._may_be_loose(item) and place.kind == PlaceKind.STORAGE and left > 0:
                yield Shelved(
                    kind=item.kind,
                    code=item.code,
                    part=self._bare[item_id],
                    count=left,
                    place=place.shown,
                    name=item.description,
                )

    def _may_be_loose(self, item: Item | None) -> bool:
        """A holder goes in by its mark only, and so does a cutter that was named by its mark."""
        if item is None or item.kind == ItemKind.HOLDER:
            return False
        return self.piece is None or item.pk != self.cutter.pk

    def _where(self, row, place: Place | None) -> str:
        """Where a part is that is not to be had, in words."""
        if row.condition != Condition.IN_SERVICE:
            why = f": {row.condition_note}" if row.condition_note else ""
            return f"{Condition(row.condition).label.lower()}{why}"
        assembly = getattr(place, "assembly", None)
        if assembly is None:
            return PlaceKind(place.kind).label.lower()
        stands = self._machines.get(assembly.pk) or (place.parent.shown if place.parent else "")
        state = assembly.get_state_display().lower()
        return ", ".join(text for text in (f"in {assembly.number}", state, stands) if text)


def _facts_of(item: Item) -> Part | None:
    if item.kind == ItemKind.CUTTER:
        return cutter_facts(item)
    if item.kind not in _FACTS_OF:
        return None
    return _FACTS_OF[item.kind](BuildPart(role=item.kind, item=item))


def _stud(row) -> StudPart:
    return StudPart(StudState(row.stud_state), row.stud_pattern or None)
