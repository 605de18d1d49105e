"""Which parts of the rack go with what is in the draft, by the same rules that judge the draft."""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

from assemblies.actions import stack_facts
from assemblies.models import BuildPart
from assemblies.rules.fit import seat_findings
from assemblies.rules.stack import HolderPart, ShopLimits, Stack
from crib.models import Item, ItemKind
from crib.reference import tables
from crib.rules.finding import Finding, Level


class Likely:
    """Asks of many items whether each goes with one draft; what the draft has is read once."""

    def __init__(self, parts: dict[str, BuildPart], limits: ShopLimits) -> None:
        self._parts, self._limits = parts, limits
        self._known: dict[int, bool] = {}
        self._judge: dict[str, Callable[[Item], bool]] = {
            ItemKind.COLLET: self._collet_goes,
            ItemKind.NUT: self._nut_goes,
            ItemKind.SLEEVE: self._sleeve_goes,
            ItemKind.CUTTER: self._cutter_goes,
            ItemKind.INSERT: self._insert_goes,
        }

    def goes(self, item: Item) -> bool:
        """Whether nothing speaks against it; False where its own facts are not recorded.

        An item is judged once, however many pieces of it lie in the racks.
        """
        if item.pk not in self._known:
            judge = self._judge.get(item.kind)
            self._known[item.pk] = item.facts is not None and (judge is None or judge(item))
        return self._known[item.pk]

    def suits(self, item: Item) -> bool:
        """Whether a sleeve may be offered at all: made for this way of clamping and this bore."""
        facts, holder = item.facts, self.holder
        if item.kind != ItemKind.SLEEVE or facts is None or holder is None:
            return item.kind != ItemKind.SLEEVE
        return facts.suits == holder.clamping and holder.bore_um in (None, facts.outer_um)

    @cached_property
    def holder(self) -> HolderPart | None:
        return stack_facts.holder_part(self._parts.get("holder"))

    @cached_property
    def _cutter(self):
        part = self._parts.get("cutter")
        return stack_facts.cutter_part(part, self._parts.get("insert"))

    @cached_property
    def _collet(self):
        part = self._parts.get("collet")
        # Without its piece: how long it ran does not tell whether a shank goes in.
        return stack_facts.collet_part(part and BuildPart(item=part.item))

    @cached_property
    def _sleeve(self):
        return stack_facts.sleeve_part(self._parts.get("sleeve"))

    def _speaks_against(self, stack: Stack) -> list[Finding]:
        """Stops and checks; not known does not speak against a part, the rules ask for it later."""
        found = seat_findings(stack, self._limits, tables())
        return [f for f in found if f.level.is_stop or f.level is Level.CHECK]

    def _collet_goes(self, item: Item) -> bool:
        collet = stack_facts.collet_part(BuildPart(item=item))
        stack = Stack(holder=self.holder, collet=collet, cutter=self._cutter)
        return not self._speaks_against(stack)

    def _nut_goes(self, item: Item) -> bool:
        nut = stack_facts.nut_part(BuildPart(item=item))
        return not self._speaks_against(Stack(holder=self.holder, nut=nut))

    def _sleeve_goes(self, item: Item) -> bool:
        sleeve = stack_facts.sleeve_part(BuildPart(item=item))
        stack = Stack(holder=self.holder, sleeve=sleeve, cutter=self._cutter)
        return not self._speaks_against(stack)

    def _cutter_goes(self, item: Item) -> bool:
        """Held against what holds the shank: the collet that is in, else the holder itself."""
        cutter = stack_facts.cutter_part(BuildPart(item=item), None)
        if self._collet is not None:
            return not self._speaks_against(Stack(collet=self._collet, cutter=cutter))
        stack = Stack(holder=self.holder, sleeve=self._sleeve, cutter=cutter)
        return not self._speaks_against(stack)

    def _insert_goes(self, item: Item) -> bool:
        cutter = self._parts.get("cutter")
        facts = cutter.item.facts if cutter else None
        return facts is not None and facts.insert_item_id == item.pk
